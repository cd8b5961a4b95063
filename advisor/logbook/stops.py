"""Stops that still stand at the shop's sumps, from whatever case: what a shift has to know first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.dialogue.carried import GRAVE, Stop, still_standing
from advisor.dialogue.shortening import first_sentence
from advisor.logbook.moments import show_day
from advisor.logbook.open_work import case_sump

if TYPE_CHECKING:
    from advisor.dialogue.events import Event
    from advisor.logbook.desk import Desk

_WORDS = {"emergency": "EMERGENCY", "stop": "STOP"}


@dataclass(frozen=True, slots=True)
class SumpStop:
    """One stop with its sump: the sump's id in the shop, "" where the shop has none so called."""

    sump: str
    name: str
    stop: Stop


def stops(desk: Desk) -> list[SumpStop]:
    """Every stop that stands at a named sump, emergencies first, then the latest case first."""
    cases: dict[tuple[str, str], list[list[Event]]] = {}
    for row in desk.store.cases():
        if row.level in GRAVE and row.sump:
            sump = case_sump(desk, row)
            called = (sump, desk.name(sump) if sump else row.sump)
            cases.setdefault(called, []).append(desk.store.events(row.id))
    found = [
        SumpStop(sump, name, stop)
        for (sump, name), held in cases.items()
        for stop in still_standing(held, desk.rules)
    ]
    return sorted(found, key=lambda one: (GRAVE.index(one.stop.level), -one.stop.case))


def stop_line(desk: Desk, one: SumpStop) -> str:
    """A stop in one line: the sump, the caution's first sentence, the case and its day."""
    stop = one.stop
    when = show_day(stop.time, desk.now)
    return f"{one.name}: {_WORDS[stop.level]}. {first_sentence(stop.text)} (case {stop.case}, {when})"
