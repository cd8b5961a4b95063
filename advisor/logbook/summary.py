"""A case in one row, folded from its events."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

from advisor.dialogue.events import Event, standing
from advisor.logbook.port import CaseRow

LEVELS = ("", "note", "warn", "stop", "emergency")


def summarise(events: Sequence[Event]) -> CaseRow:
    """The row of a case, from all its events (at least one).

    The verdict is the last one that stands. The caution level is the worst there ever was, taken back
    or not; a recheck opens a closed case again.
    """
    row = first_row(events[0])
    for event in events[1:]:
        row = _happened(row, event)
    return _judged(row, standing(events))


def first_row(opened: Event) -> CaseRow:
    """The row of a case that holds only its ``opened`` event."""
    return CaseRow(
        id=opened.case,
        opened=opened.time,
        touched=opened.time,
        sump=sump_name(opened.data),
        verdict="",
        run="",
        lead="",
        level="",
        state="open",
        who=opened.who,
        visit=opened.visit,
        events=1,
        head=opened.hash,
    )


def next_row(row: CaseRow, event: Event, before: Callable[[], Sequence[Event]]) -> CaseRow:
    """The row after one more event; equals `summarise` of them all.

    Args:
        before: gives the events before this one; asked for only when something is taken back.
    """
    row = _happened(row, event)
    if event.kind in ("back", "retracted"):
        return _judged(row, standing([*before(), event]))
    return _judged(row, [event]) if event.kind == "verdict" else row


def _happened(row: CaseRow, event: Event) -> CaseRow:
    """What an event changes whether or not it is taken back later."""
    level, state, sump = row.level, row.state, row.sump
    if event.kind == "shown":
        level = worst([level, *_levels(event.data.get("cautions"))])
    elif event.kind == "verdict":
        level = worst([level, *_levels(_map(event.data.get("verdict")).get("cautions"))])
    elif event.kind in ("closed", "recheck"):
        state = "closed" if event.kind == "closed" else "open"
    if event.kind == "said" and event.data.get("sump"):
        sump = str(event.data["sump"])
    return replace(
        row,
        touched=event.time,
        sump=sump,
        level=level,
        state=state,
        visit=max(row.visit, event.visit),
        events=event.number,
        head=event.hash,
    )


def _judged(row: CaseRow, events: Iterable[Event]) -> CaseRow:
    """The row with the last verdict among some events, or with none."""
    verdict: dict[str, Any] = {}
    for event in events:
        if event.kind == "verdict":
            verdict = _map(event.data.get("verdict"))
    causes = verdict.get("causes") or [{}]
    lead = _map(causes[0] if isinstance(causes, list) else None).get("id", "")
    return replace(
        row, verdict=str(verdict.get("verdict", "")), run=str(verdict.get("run", "")), lead=str(lead)
    )


def sump_name(opened: dict[str, Any]) -> str:
    """The sump an ``opened`` event is about: its id, else its name, else ""."""
    sump = opened.get("sump")
    if isinstance(sump, dict):
        return str(sump.get("id") or sump.get("name") or "")
    return str(sump or "")


def worst(levels: Iterable[str]) -> str:
    """The gravest of some caution levels; unknown ones are passed over."""
    return max((level for level in levels if level in LEVELS), key=LEVELS.index, default="")


def _levels(cautions: object) -> list[str]:
    return [str(_map(caution).get("level", "")) for caution in cautions] if isinstance(cautions, list) else []


def _map(value: object) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}
