"""Figures said in a conversation become readings of its sump, once, with their case and visit.

A figure taken back or corrected in the conversation is corrected among the readings as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from advisor.dialogue.case import FROM_FIX, SHOP_BOOK, CaseState, fold
from advisor.dialogue.events import Event
from advisor.errors import SumpsideError
from advisor.knowledge.facts import Fact, number
from advisor.logbook.desk import Desk
from advisor.logbook.line import READ, finish
from advisor.logbook.readings import Context, Reading


def take_over(desk: Desk) -> int:
    """Take over what cases say and readings do not hold yet; how many readings were written."""
    with desk.store.reading() as db:
        waiting = db.execute(
            "SELECT c.id, c.events FROM cases c LEFT JOIN cases_read k ON k.case_id = c.id "
            "WHERE k.events IS NULL OR k.events < c.events ORDER BY c.id"
        ).fetchall()
    return sum(_take_over_case(desk, int(case), int(count)) for case, count in waiting)


def _take_over_case(desk: Desk, case: int, count: int) -> int:
    events = desk.store.events(case)
    written = 0
    for visit, part in _visits(events):
        state = fold(part)
        sump = _sump(desk, state)
        if sump is None:
            continue
        made = list(_differences(desk, case, visit, sump, state, part))
        if made:
            last = part[-1]
            desk.book.enter(made, time=desk.time, who=last.who, how="case", case=case, visit=visit)
            written += len(made)
    with desk.store.writing() as db:
        insert = "INSERT INTO cases_read VALUES (?, ?) ON CONFLICT (case_id) DO UPDATE"
        db.execute(f"{insert} SET events = excluded.events", (case, count))
    return written


def _visits(events: list[Event]) -> Iterator[tuple[int, list[Event]]]:
    """Each visit with all events up to its end."""
    for visit in sorted({event.visit for event in events}):
        yield visit, [event for event in events if event.visit <= visit]


def _sump(desk: Desk, state: CaseState) -> str | None:
    named = state.sump or (state.opened.get("sump") or {}).get("id")
    if not named:
        return None
    try:
        sump, rest = desk.sump_of(str(named).split())
    except SumpsideError:
        return None
    return None if rest else sump


def _differences(
    desk: Desk, case: int, visit: int, sump: str, state: CaseState, events: list[Event]
) -> Iterator[Reading]:
    """What the visit says now against what was taken over from it before."""
    by_number = {event.number: event for event in events}
    said = {fact.id: fact for fact in _said(state) if by_number[fact.event or 1].visit == visit}
    held = {reading.observable: reading for reading in _held(desk, sump, case, visit)}
    wanted = {}
    for fact in said.values():
        event = by_number[fact.event or 1]
        made = _reading(desk, sump, fact, event)
        if made is not None:
            wanted[made.observable] = made
    for observable, made in wanted.items():
        old = held.pop(observable, None)
        if old is None:
            yield made
        elif old.result != made.result:
            yield replace(made, corrects=old.id, reason="corrected in the conversation")
    for old in held.values():
        yield replace(old, result=None, raw=None, corrects=old.id, reason="taken back in the conversation",
                      id=None, entry=None)  # fmt: skip


def _said(state: CaseState) -> Iterator[Fact]:
    """Figures the person measured, the last of each; not what the shop's book or a derivation gave."""
    for fact in state.facts:
        if fact.id in READ and fact.event and fact.firm and fact.said not in {SHOP_BOOK, FROM_FIX}:
            yield fact


def _held(desk: Desk, sump: str, case: int, visit: int) -> list[Reading]:
    with desk.store.reading() as db:
        query = "SELECT id FROM entries WHERE case_id = ? AND visit = ?"
        entries = {row[0] for row in db.execute(query, (case, visit))}
    return [r for r in desk.book.of(sump) if r.entry in entries] if entries else []


def _reading(desk: Desk, sump: str, fact: Fact, event: Event) -> Reading | None:
    value = number(fact)
    if fact.status != "present" or value is None or isinstance(fact.value, tuple):
        return None
    try:
        context = Context(who=event.who)
        return finish(desk, sump, event.time, fact.id, float(value), str(fact.unit), context)
    except SumpsideError:
        return None  # a figure that cannot be is no reading
