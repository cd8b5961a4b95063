"""One figure of one sump over time, with its limits, events and cases: what a plot shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from advisor.logbook.drift import LOOK_BACK, Drift, drift
from advisor.logbook.limits import Limit
from advisor.logbook.moments import stamp
from advisor.logbook.readings import FIRST_FILL, NOT_MEASURED, Reading, Record
from advisor.logbook.states import WANDER, days_of

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: Letter of an event on a plot, and what it stands for.
LETTERS = {
    "F": "first fill",
    "A": "added",
    "C": "case",
    "S": "spill",
    "W": "waste",
    "I": "stood still",
    "R": "restarted",
    "P": "another product or metal",
    "L": "another level since",
}
_KINDS = {"addition": "A", "spill": "S", "waste": "W", "idle": "I", "restart": "R"}


@dataclass(frozen=True, slots=True)
class Event:
    """Something marked on a plot: its time, letter (`LETTERS`), and a few words."""

    time: str
    letter: str
    text: str


@dataclass(frozen=True, slots=True)
class Series:
    """What a plot shows.

    Attributes:
        readings: measured ones, oldest first; `others`: those kept but not measured.
        limit: in force now.
        events: marked below the plot.
        moves: the drift of the last readings of this charge, None when too few.
    """

    sump: str
    name: str
    observable: str
    title: str
    unit: str
    readings: tuple[Reading, ...]
    others: tuple[Reading, ...]
    limit: Limit
    events: tuple[Event, ...]
    moves: Drift | None

    @property
    def span(self) -> tuple[float, float]:
        """Lowest and highest value to show, limits included, with a margin."""
        values = [r.result for r in self.readings if r.result is not None]
        values += [end for end in (self.limit.low, self.limit.high) if end is not None]
        low, high = min(values), max(values)
        margin = 0.08 * (high - low) or abs(high) * 0.05 or 1.0
        return low - margin, high + margin


def series(desk: Desk, sump: str, observable: str, days: float | None) -> Series | None:
    """The series of the last `days` (all when None), or None when there is no reading in them."""
    since = None if days is None else stamp(desk.now - timedelta(days=days))
    held = desk.book.of(sump, observable, since=since)
    measured = tuple(r for r in held if r.measured)
    if not measured:
        return None
    moves = _moves(measured, observable)
    events = [*_events(desk, sump, measured), *_jump(measured, moves)]
    item = desk.rules.observables[observable]
    return Series(
        sump,
        desk.name(sump),
        observable,
        item.name,
        item.unit or "",
        measured,
        tuple(r for r in held if r.mark == NOT_MEASURED),
        desk.limits.of(sump, observable),
        tuple(sorted(events, key=lambda event: event.time)),
        moves,
    )


def kinds_read(desk: Desk, sump: str) -> list[str]:
    """The observables a sump has readings of, strength and pH first."""
    there = [observable for _, observable in desk.book.states(sump)]
    first = ("concentration", "refractometer_reading", "ph")
    return [o for o in first if o in there] + sorted(o for o in there if o not in first)


def _events(desk: Desk, sump: str, readings: Sequence[Reading]) -> list[Event]:
    begin = readings[0].time
    marked = [Event(r.time, "F", "first fill") for r in readings if r.mark == FIRST_FILL]
    for record in desk.book.records(sump=sump, since=begin):
        letter = "P" if _changed(record) else _KINDS.get(record.kind)
        if letter:
            litres = record.data.get("litres")
            text = LETTERS[letter] + (f" {litres:.0f} L" if litres is not None else "")
            marked.append(Event(record.time, letter, text))
    names = {sump, desk.name(sump)}
    for name in names:
        for row in desk.store.cases(sump=name, since=begin):
            lead = row.lead.replace("_", " ") or row.verdict or "open"
            marked.append(Event(row.opened, "C", f"case {row.id}: {lead}"))
    return marked


def _jump(readings: Sequence[Reading], moves: Drift | None) -> list[Event]:
    """Where the readings go to another level, as an event."""
    if moves is None or moves.jump is None:
        return []
    return [Event(readings[-moves.count :][moves.jump].time, "L", LETTERS["L"])]


def _changed(record: Record) -> bool:
    """Whether another product or metal came into the sump with this record."""
    data = record.data
    if record.kind != "changeover":
        return False
    closed = data.get("phase") == "finished" and not data.get("to")  # a change of metal alone
    return closed or (data.get("phase") == "step" and data.get("step") == "fill")


def _moves(readings: Sequence[Reading], observable: str) -> Drift | None:
    """The drift of the last readings since the last first fill."""
    begin = max((i for i, r in enumerate(readings) if r.mark == FIRST_FILL), default=0)
    last = readings[begin:][-LOOK_BACK:]
    values = [r.result for r in last if r.result is not None]
    return drift(days_of([r.time for r in last]), values, WANDER.get(observable, 0.0))
