"""Stops that still stand at the shop's sumps, from whatever case: what a shift has to know first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from advisor.dialogue.carried import GRAVE, Stop, still_standing
from advisor.dialogue.shortening import first_sentence
from advisor.errors import SumpsideError
from advisor.logbook.moments import show_day
from advisor.logbook.tables import row_event

if TYPE_CHECKING:
    from advisor.dialogue.events import Event
    from advisor.logbook.desk import Desk

_WORDS = {"emergency": "EMERGENCY", "stop": "STOP"}
#: The kinds of event that tell, carry over or lift a stop, or take something back; of all others only that
#: they happened counts here, and what they hold is left where it is.
_TELLING = ("shown", "verdict", "carried", "acknowledged", "review", "back", "retracted")
_QUERY = f"""
    SELECT c.sump, e.case_id, e.number, e.kind, e.schema, e.time, e.visit, e.who,
           CASE WHEN e.kind IN ({", ".join("?" * len(_TELLING))}) THEN e.data ELSE '{{}}' END,
           e.words_key, e.previous, e.hash
    FROM cases c JOIN events e ON e.case_id = c.id
    WHERE c.level IN ({", ".join("?" * len(GRAVE))}) AND c.sump <> ''
    ORDER BY e.case_id, e.number
"""


@dataclass(frozen=True, slots=True)
class SumpStop:
    """One stop with its sump: the sump's id in the shop, "" where the shop has none so called."""

    sump: str
    name: str
    stop: Stop


def stops(desk: Desk) -> list[SumpStop]:
    """Every stop that stands at a named sump, emergencies first, then the latest case first."""
    cases: dict[tuple[str, str], list[list[Event]]] = {}
    called: dict[str, tuple[str, str]] = {}
    for name, events in _grave_cases(desk):
        if name not in called:
            called[name] = _called(desk, name)
        cases.setdefault(called[name], []).append(events)
    found = [
        SumpStop(sump, name, stop)
        for (sump, name), held in cases.items()
        for stop in still_standing(held, desk.rules)
    ]
    return sorted(found, key=lambda one: (GRAVE.index(one.stop.level), -one.stop.case))


def _grave_cases(desk: Desk) -> Iterator[tuple[str, list[Event]]]:
    """The sump and the events of every case that ever stopped its machine, all in one query."""
    with desk.store.reading() as db:
        rows = db.execute(_QUERY, (*_TELLING, *GRAVE)).fetchall()
    for _, held in groupby(rows, key=lambda row: row[1]):
        first, *rest = held
        yield first[0], [row_event(row[1:]) for row in (first, *rest)]


def _called(desk: Desk, name: str) -> tuple[str, str]:
    """Id in the shop and name of the sump that a case calls so."""
    try:
        sump, rest = desk.sump_of(name.split())
    except SumpsideError:
        return "", name
    return ("", name) if rest else (sump, desk.name(sump))


def stop_line(desk: Desk, one: SumpStop) -> str:
    """A stop in one line: the sump, the caution's first sentence, the case and its day."""
    stop = one.stop
    when = show_day(stop.time, desk.now)
    return f"{one.name}: {_WORDS[stop.level]}. {first_sentence(stop.text)} (case {stop.case}, {when})"
