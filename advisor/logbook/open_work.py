"""What was left open at the sumps: recipes under way, cases not closed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from advisor.dialogue.case import fold
from advisor.dialogue.events import Event, standing
from advisor.dialogue.following import doing
from advisor.errors import SumpsideError
from advisor.logbook.moments import days_between
from advisor.logbook.port import CaseRow

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: How many open cases are looked into for recipes; older ones are only counted.
LOOKED_INTO = 40


@dataclass(frozen=True, slots=True)
class OpenCase:
    """A case left open, and how far its recipe is.

    Attributes:
        sump: id of its sump in the shop, "" where it names none of the shop's.
        steps, done: steps of the recipe and how many are ticked; 0 without a recipe.
        pails, pails_in: pails of the recipe and how many are recorded as poured in since.
        last: time of the last step or pail, else of the recipe.
    """

    row: CaseRow
    sump: str
    recipe: bool
    steps: int = 0
    done: int = 0
    pails: int = 0
    pails_in: int = 0
    last: str = ""

    @property
    def under_way(self) -> bool:
        """Whether its recipe was begun and is not finished."""
        if not self.recipe:
            return False
        unfinished = self.done < self.steps or self.pails_in < self.pails
        return unfinished and (self.done > 0 or self.pails_in > 0)


@dataclass(frozen=True, slots=True)
class OpenAdvice:
    """What a round advised for a sump, as far as it is poured.

    Attributes:
        id: number of the record that holds it.
        who: who walked the round.
        made: the recipe.
        pails, pails_in, last: as of a case's recipe.
    """

    id: int
    sump: str
    who: str
    time: str
    made: dict[str, Any]
    pails: int
    pails_in: int
    last: str


#: Advice of a round that nobody took up for so many days is past; common practice, no source.
ADVICE_DAYS = 3.0


def open_advice(desk: Desk) -> list[OpenAdvice]:
    """The advice of rounds that is not all poured, not read again and not too old; one for a sump."""
    latest = {row.sump: row for row in desk.book.records("advice")}
    if not latest:
        return []
    who = {entry.id: entry.who for entry in desk.book.entries()}
    found = []
    for sump, row in latest.items():
        poured = [(r.data["litres"], r.time) for r in desk.book.records("addition", sump, since=row.time)]
        pails = recipe_pails(row.data["recipe"])
        count = _count_in(pails, sum(litres for litres, _ in poured))
        last = max([row.time, *(time for _, time in poured)])
        later = [r for r in desk.book.of(sump, "concentration", since=row.time) if r.time > row.time]
        read = any(r.measured for r in later)
        if count < len(pails) and not read and days_between(last, desk.time) <= ADVICE_DAYS:
            sign, made = who.get(row.entry or 0, ""), row.data["recipe"]
            found.append(OpenAdvice(row.id or 0, sump, sign, row.time, made, len(pails), count, last))
    return found


def open_cases(desk: Desk, limit: int = LOOKED_INTO) -> list[OpenCase]:
    """The open cases, the last touched first."""
    found = []
    for row in desk.store.cases(state="open", limit=limit):
        events = standing(desk.store.events(row.id))
        sump = case_sump(desk, row)
        found.append(_case(desk, row, sump, events))
    return found


def case_sump(desk: Desk, row: CaseRow) -> str:
    """Id of a case's sump in the shop, or ""."""
    try:
        sump, rest = desk.sump_of(row.sump.split()) if row.sump else ("", [])
    except SumpsideError:
        return ""
    return "" if rest else sump


def _case(desk: Desk, row: CaseRow, sump: str, events: Sequence[Event]) -> OpenCase:
    state = fold(events)
    made = state.recipe
    if not made or made.get("refused") or state.rechecking:
        return OpenCase(row, sump, False)
    event = next(e for e in events if e.number == state.recipe_event)
    ticked = [e.time for e in events if _ticked(e) and e.number > event.number]
    poured = _poured(desk, sump, event.time) if sump else []
    pails = recipe_pails(made)
    return OpenCase(
        row,
        sump,
        True,
        steps=len(doing(made)),
        done=sum(step in state.steps for step in doing(made)),
        pails=len(pails),
        pails_in=_count_in(pails, sum(litres for litres, _ in poured)),
        last=max([event.time, *ticked, *(time for _, time in poured)]),
    )


def _ticked(event: Event) -> bool:
    return event.kind == "step_done" and not event.data.get("skipped")


def recipe_pails(made: dict[str, Any]) -> list[tuple[float, float]]:
    """Each pail of a recipe: its litres, and its strength as a fraction."""
    pails = []
    for row in made.get("pails", []):
        litres = row["water_l"] + row["concentrate_l"]
        pails += [(litres, row["concentrate_l"] / litres if litres else 0.0)] * int(row["count"])
    return pails


def _poured(desk: Desk, sump: str, since: str) -> list[tuple[float, str]]:
    return [(r.data["litres"], r.time) for r in desk.book.records("addition", sump, since=since)]


def _count_in(pails: Sequence[tuple[float, float]], litres: float) -> int:
    """How many pails those litres fill; a pail counts when at least nine tenths of it are in."""
    count = 0
    for size, _ in pails:
        if litres < 0.9 * size:
            break
        litres -= size
        count += 1
    return count
