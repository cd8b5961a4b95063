"""What wants attention at each sump: due checks, limits, falls, drift. From states, not from all readings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from advisor.logbook.intervals import Interval, intervals, of_sump
from advisor.logbook.limits import NONE, Limit
from advisor.logbook.moments import days_between, moment
from advisor.logbook.states import State

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: A jump is news for this many days; common practice, no source.
NEWS_DAYS = 14
#: Without a reading for this long a limit or trend says nothing about now; common practice, no source.
STALE_DAYS = 60

#: How many sumps one statement asks for.
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class Due:
    """A check that is due.

    Attributes:
        check: its id.
        last: time of the last one, "" when there was none.
        days: days since then, None when there was none.
        interval: how often, and why.
    """

    check: str
    last: str
    days: int | None
    interval: Interval


@dataclass(frozen=True, slots=True)
class Out:
    """A last reading outside its limit: ``low`` or ``high``."""

    observable: str
    state: State
    limit: Limit
    side: str


@dataclass(frozen=True, slots=True)
class Fall:
    """pH below that of the first fill.

    Attributes:
        fall: how far.
        first: what it was; `from_sheet` when that is the data sheet's figure, not a reading.
        answer: the band it falls into (alarm, dump).
        source: of the limits.
    """

    fall: float
    first: float
    from_sheet: bool
    answer: str
    source: str
    state: State


@dataclass(frozen=True, slots=True)
class Watched:
    """One sump in the morning."""

    sump: str
    due: tuple[Due, ...]
    out: tuple[Out, ...]
    fall: Fall | None
    drifting: tuple[tuple[str, State], ...]
    jumped: tuple[tuple[str, State], ...]
    idle_since: str = ""
    hardness: State | None = None


class Watch:
    """Looks over all sumps of a desk."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.today = desk.now.date()
        self._tz = desk.now.tzinfo
        self._falls = fall_steps(desk)

    def all(self, open_cases: Iterable[str] = ()) -> list[Watched]:
        """Every sump of the shop, in the shop's order.

        Args:
            open_cases: ids of the sumps with a case left open.
        """
        by_sump: dict[str, dict[str, State]] = {}
        for (sump, observable), state in self.desk.book.states().items():
            by_sump.setdefault(sump, {})[observable] = state
        cases = set(open_cases)
        idle = self._idle()
        looks = self._looks()
        return [
            self.one(sump, by_sump.get(sump, {}), looks.get(sump, ""), sump in cases, idle.get(sump, ""))
            for sump in self.desk.shop.sumps
        ]

    def one(
        self, sump: str, states: Mapping[str, State], look: str, case_open: bool, idle_since: str = ""
    ) -> Watched:
        """One sump from its states."""
        fresh = {o: s for o, s in states.items() if self._days_since(s.time) <= STALE_DAYS}
        out = tuple(self._out(sump, fresh))
        drifting = tuple((o, s) for o, s in fresh.items() if s.drifting)
        jumped = tuple(
            (o, s) for o, s in fresh.items() if s.jumped and self._days_since(s.jumped) <= NEWS_DAYS
        )
        signs = self._signs(states, out, drifting, case_open)
        found = () if idle_since else tuple(self._due(states, look, signs))
        return Watched(sump, found, out, self._fall(sump, fresh), drifting, jumped, idle_since,
                       fresh.get("sump_hardness"))  # fmt: skip

    def _out(self, sump: str, states: Mapping[str, State]) -> Iterable[Out]:
        for observable, state in states.items():
            limit = self.desk.limits.of(sump, observable)
            side = limit.breach(state.result) if limit is not NONE else ""
            if side:
                yield Out(observable, state, limit, side)

    def _fall(self, sump: str, states: Mapping[str, State]) -> Fall | None:
        state = states.get("ph")
        if state is None:
            return None
        first = state.first if state.first is not None else self.desk.limits.first_fill_ph(sump)
        if first is None:
            return None
        fall = first - state.result
        answer = ""
        steps, source = self._falls
        for above, named in steps:
            if fall > above + 1e-9:
                answer = named
        if not answer:
            return None
        return Fall(fall, first, state.first is None, answer, source, state)

    def _signs(
        self,
        states: Mapping[str, State],
        out: Iterable[Out],
        drifting: Iterable[tuple[str, State]],
        case_open: bool,
    ) -> dict[str, list[str]]:
        """Which risks of the list of intervals hold, and for which checks."""
        held = intervals()
        met: dict[str, str] = {o: check for check, row in held["checks"].items() for o in row["met_by"]}
        signs: dict[str, list[str]] = {}
        for name, risk in held["risks"].items():
            listed = risk.get("checks", [risk.get("check")])
            when = risk["when"]
            if when == "last_out_of_limit":
                signs[name] = [met[o.observable] for o in out if o.observable in met]
            elif when == "drifting":
                signs[name] = [met[o] for o, _ in drifting if met.get(o) in listed]
            elif (
                (when == "case_open" and case_open)
                or (when == "filled_days_ago" and self._filled(states, risk["within"]))
                or (when == "three_last_below" and _three_below(states.get(listed[0]), risk["below"]))
            ):
                signs[name] = list(listed)
        return signs

    def _filled(self, states: Mapping[str, State], within: float) -> bool:
        return any(state.filled and self._days_since(state.filled) <= within for state in states.values())

    def _due(self, states: Mapping[str, State], look: str, signs: dict[str, list[str]]) -> Iterable[Due]:
        checks = intervals()["checks"]
        for check, interval in of_sump(self.desk.shop, self.desk.region, signs).items():
            times = [states[o].time for o in checks[check]["met_by"] if o in states]
            if "look" in checks[check]["met_by"] and look:
                times.append(look)
            last = max(times, default="")
            days = (self.today - self._day(last)).days if last else None
            if days is None or days >= interval.days:
                yield Due(check, last, days, interval)

    def _day(self, time: str) -> date:
        return moment(time).astimezone(self._tz).date()

    def _days_since(self, time: str) -> float:
        return days_between(time, self.desk.time)

    def _looks(self) -> dict[str, str]:
        """When each sump was last looked at."""
        last: dict[str, str] = {}
        names = list(self.desk.shop.sumps)
        with self.desk.store.reading() as db:
            for start in range(0, len(names), AT_ONCE):  # one statement for many: a server may be far away
                some = names[start : start + AT_ONCE]
                query = (
                    f"WITH s (id) AS (VALUES {', '.join(['(?)'] * len(some))}) "
                    "SELECT id, (SELECT MAX(time) FROM records WHERE kind = 'look' AND sump = s.id) FROM s"
                )
                last |= {row[0]: row[1] or "" for row in db.execute(query, some)}
        return last

    def _idle(self) -> dict[str, str]:
        """Sumps that stand still now, and since when: their last such record is not a restart."""
        with self.desk.store.reading() as db:
            rows = db.execute(
                "SELECT sump, kind, time FROM records WHERE kind IN ('idle', 'restart') AND time <= ? "
                "ORDER BY time, id",
                (self.desk.time,),
            ).fetchall()
        last = {sump: (kind, time) for sump, kind, time in rows}
        return {sump: time for sump, (kind, time) in last.items() if kind == "idle"}


def _three_below(state: State | None, below: float) -> bool:
    return state is not None and len(state.recent) >= 3 and all(v < below for v in state.recent[-3:])


def fall_steps(desk: Desk) -> tuple[list[tuple[float, str]], str]:
    """Above which fall of pH each band begins, and the source, from the rule base."""
    band: dict[str, Any] = next(b for b in desk.rules.bands if b["fills"] == "ph_fall_band")
    steps = band["scales"][0]["steps"]
    ends = [step.get("up_to", step.get("below")) for step in steps]
    begins = [(end, after["answer"]) for end, after in zip(ends, steps[1:], strict=False)]
    return begins, desk.rules.cite(band["sources"])
