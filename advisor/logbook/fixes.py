"""Did it work: what each recipe predicted, what was measured after it, and what the misses say together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean
from typing import TYPE_CHECKING, Any

from advisor.dialogue.events import Event, standing
from advisor.dialogue.following import NOTHING_IN, PART_IN
from advisor.errors import BadInput
from advisor.logbook.case_readings import take_over
from advisor.logbook.moments import days_between
from advisor.logbook.open_work import case_sump
from advisor.logbook.readings import Reading, Record
from advisor.mixing.spread import NINETY, combine
from advisor.mixing.sump_volume import volume_from_fix

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: A reading later than this after a fix says more about use than about the fix; common practice, no source.
RECHECK_DAYS = 4.0
#: How well an entered volume is trusted before any fix speaks, as a share; common practice, no source.
NAMEPLATE_SD = 0.15
#: Sumps that must miss the same way before the instrument is suspected, and how clearly (95 %).
FEWEST_SUMPS, SURE = 3, 1.96


@dataclass(frozen=True, slots=True)
class Fix:
    """One recipe that was carried out.

    Attributes:
        before: strength before it, None when no reading tells.
        predicted, low, high: strength it promised, with its 90 % range.
        measured: strength read after it, None while nobody has.
        instrument: sign of the instrument that read it, else the method.
        fill: level before it as a share of full, None when not read.
        added_l, mix_strength: what really went in where it is on record, else what was advised.
        advice: number of the record of a round's advice, 0 for a case.
    """

    case: int
    sump: str
    time: str
    before: float | None
    predicted: float
    low: float
    high: float
    measured: float | None
    measured_at: str
    instrument: str
    added_l: float
    mix_strength: float
    removed_l: float
    fill: float | None
    advice: int = 0

    @property
    def verdict(self) -> str:
        """as predicted, stronger, weaker, or not read again."""
        if self.measured is None:
            return "not read again"
        if self.low - 1e-9 <= self.measured <= self.high + 1e-9:
            return "as predicted"
        return "stronger" if self.measured > self.high else "weaker"

    @property
    def pull(self) -> float | None:
        """The miss in standard deviations of the prediction."""
        sd = (self.high - self.low) / (2 * NINETY)
        return None if self.measured is None or sd <= 0.0 else (self.measured - self.predicted) / sd


@dataclass(frozen=True, slots=True)
class Volume:
    """The working volume of a sump when full: as entered, and after its fixes (litres, 90 % range)."""

    sump: str
    entered: float
    value: float
    sd: float
    fixes: int

    @property
    def low(self) -> float:
        """Lower end of the 90 % range."""
        return self.value - NINETY * self.sd

    @property
    def high(self) -> float:
        """Upper end of the 90 % range."""
        return self.value + NINETY * self.sd


@dataclass(frozen=True, slots=True)
class Bias:
    """An instrument whose readings miss the same way in several sumps: mean miss (fraction) and sumps."""

    instrument: str
    miss: float
    sumps: int


def fixes(desk: Desk, sump: str | None = None, cases_of: Sequence[int] | None = None) -> list[Fix]:
    """Every recipe carried out, oldest first.

    Args:
        sump: only of this sump.
        cases_of: only of the cases with these numbers.
    """
    take_over(desk)
    with desk.store.reading() as db:
        rows = db.execute("SELECT DISTINCT case_id FROM events WHERE kind = 'recipe' ORDER BY case_id")
        cases = {int(row[0]) for row in rows if cases_of is None or int(row[0]) in cases_of}
    found: list[Fix] = []
    for row in desk.store.cases():
        about = case_sump(desk, row) if row.id in cases else ""
        if about and sump in (None, about):
            found += _of_case(desk, row.id, about)
    for advice in desk.book.records("advice", sump) if cases_of is None else ():
        found += _of_advice(desk, advice)
    return sorted(found, key=lambda fix: fix.time)


def _of_case(desk: Desk, case: int, sump: str) -> Iterable[Fix]:
    events = standing(desk.store.events(case))
    recipes = [e for e in events if e.kind == "recipe"]
    for place, event in enumerate(recipes):
        made = event.data["recipe"]
        later = recipes[place + 1] if place + 1 < len(recipes) else None
        after = [e for e in events if e.number > event.number and (later is None or e.number < later.number)]
        done = [e for e in after if _carried_out(e, made)]
        poured = _poured(desk, sump, event.time, "case", case)
        poured = [r for r in poured if later is None or r.time < later.time]
        if made.get("refused") or made.get("strength_after") is None or not (done or _whole(made, poured)):
            continue
        times = [e.time for e in done if e.kind == "step_done"] + [r.time for r in poured]
        rechecks = [e.time for e in done if e.kind == "recheck"]
        if _whole(made, poured):  # steps ticked after the last pail are paper: the fix was done before
            times = [r.time for r in poured]
        finished = max(times, default=event.time)
        judged = next((e for e in reversed(done) if e.data.get("strength") is not None), None)
        since = (rechecks or [finished])[0]
        yield _fix(desk, (case, 0), sump, event.time, made, poured, finished, since, judged)


def _carried_out(event: Event, made: dict[str, Any]) -> bool:
    """Whether an event says that something of a recipe went in: a step that fills, or a reading after it."""
    if event.kind == "recheck":  # one that waits for what went in says nothing yet
        return event.data.get("result") not in (NOTHING_IN, PART_IN) and not event.data.get("asked")
    ticked = event.kind == "step_done" and not event.data.get("skipped")
    return ticked and int(event.data["step"]) >= made.get("begins", 0)


def _of_advice(desk: Desk, row: Record) -> Iterable[Fix]:
    made = row.data["recipe"]
    poured = _poured(desk, row.sump, row.time, "advice", row.id or 0)
    if made.get("strength_after") is None or not _whole(made, poured):
        return
    finished = poured[-1].time
    yield _fix(desk, (0, row.id or 0), row.sump, row.time, made, poured, finished, finished)


def _poured(desk: Desk, sump: str, since: str, key: str, number: int) -> list[Record]:
    """What went in by a recipe, as its pails were counted."""
    return [r for r in desk.book.records("addition", sump, since=since) if r.data.get(key) == number]


def _whole(made: dict[str, Any], poured: Sequence[Record]) -> bool:
    """Whether what was advised is in: nine tenths of it at least."""
    wanted = made.get("add_l") or 0.0
    return bool(poured) and sum(r.data["litres"] for r in poured) >= 0.9 * wanted


def _fix(
    desk: Desk,
    of: tuple[int, int],
    sump: str,
    made_at: str,
    made: dict[str, Any],
    poured: Sequence[Record],
    finished: str,
    since: str,
    judged: Event | None = None,
) -> Fix:
    strengths = [r for r in desk.book.of(sump, "concentration") if r.measured]
    before = [r for r in strengths if r.time <= made_at]
    after = [r for r in strengths if r.time >= since and r not in before]
    read = next((r for r in after if days_between(finished, r.time) <= RECHECK_DAYS), None)
    levels = [r for r in desk.book.of(sump, "sump_fill", until=finished) if r.measured]
    fill = levels[-1].result if levels and days_between(levels[-1].time, made_at) <= 1 else None
    litres = sum(r.data["litres"] for r in poured)
    carried = sum(r.data["litres"] * (r.data.get("strength") or 0.0) for r in poured)
    told = judged.data if judged else {}  # a reading half way is held against what was expected there
    measured = told.get("strength", read.result if read else None)
    return Fix(
        of[0],
        sump,
        made_at,
        before[-1].result if before else None,
        told.get("predicted", made["strength_after"]),
        told.get("low", made["strength_low"]),
        told.get("high", made["strength_high"]),
        measured,
        judged.time if judged else read.time if read else "",
        _instrument(read),
        told.get("poured_l", litres or made["add_l"]),
        carried / litres if litres else made["mix_strength"],
        made["remove_l"] or 0.0,
        fill,
        of[1],
    )


def _instrument(reading: Reading | None) -> str:
    return "" if reading is None else reading.context.instrument or reading.context.method


def volumes(desk: Desk, found: Sequence[Fix]) -> list[Volume]:
    """The working volume of each sump with a fix that tells one: entered figure and fixes, weighted.

    Normal prior from the entered volume (`NAMEPLATE_SD`), normal likelihood from each fix
    (`volume_from_fix`), so the weights are inverse variances.
    """
    made = []
    for sump in dict.fromkeys(fix.sump for fix in found):
        entered = desk.limits.volume(sump)
        if entered is None:
            continue
        told = [one for fix in found if fix.sump == sump for one in _told(fix)]
        value, sd = entered, NAMEPLATE_SD * entered
        for litres, own_sd in told:
            value, sd = combine(value, sd, litres, own_sd)
        if told:
            made.append(Volume(sump, entered, value, sd, len(told)))
    return made


def _told(fix: Fix) -> Iterable[tuple[float, float]]:
    """What one fix says about the full volume, with its standard deviation; nothing where it cannot."""
    if fix.measured is None or fix.before is None or not fix.fill:
        return
    try:
        found = volume_from_fix(fix.before, fix.measured, fix.added_l, fix.mix_strength, fix.removed_l)
    except BadInput:
        return
    if found.certain and found.before_l.value > 0:
        yield found.before_l.value / fix.fill, found.before_l.sd / fix.fill


def biases(found: Sequence[Fix]) -> list[Bias]:
    """Instruments that miss the same way in several sumps, more clearly than chance."""
    by_instrument: dict[str, dict[str, list[Fix]]] = {}
    for fix in found:
        if fix.pull is not None and fix.instrument:
            by_instrument.setdefault(fix.instrument, {}).setdefault(fix.sump, []).append(fix)
    made = []
    for instrument, sumps in by_instrument.items():
        # One figure for each sump, so that one sump with a wrong volume does not accuse the instrument.
        pulls = [fmean(fix.pull or 0.0 for fix in rows) for rows in sumps.values()]
        same = max(sum(p > 0 for p in pulls), sum(p < 0 for p in pulls))
        clear = abs(fmean(pulls)) * sqrt(len(pulls)) > SURE if pulls else False
        if len(pulls) >= FEWEST_SUMPS and same >= len(pulls) - len(pulls) // 4 and clear:
            misses = [(fix.measured or 0.0) - fix.predicted for rows in sumps.values() for fix in rows]
            made.append(Bias(instrument, fmean(misses), len(pulls)))
    return made
