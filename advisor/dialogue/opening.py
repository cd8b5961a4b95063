"""The first screen, drawn before rules and phrases are loaded."""

from __future__ import annotations

from typing import Any

from advisor.dialogue import phrases, phrases_asked
from advisor.dialogue.blocks import Block

#: A case with no more events than this holds nothing worth offering again.
NOTHING_SAID = 2
#: Finished cases looked into for a stop that stands, the last touched first.
LOOKED_INTO = 5


def first_screen(store: Any, who: str) -> tuple[list[Block], int | None]:
    """The first screen, and the half-finished case it offers (None when there is none).

    Args:
        store: the logbook (`advisor.logbook.port.Store`).
        who: sign or role of the person.
    """
    blocks = [
        Block("text", phrases.GREETING),
        Block("text", phrases.HOW_TO_TYPE),
        Block("text", phrases.CARE),
    ]
    held = store.open_case(who)
    row = next((r for r in store.cases(state="open") if r.id == held), None) if held is not None else None
    if row is None or row.events <= NOTHING_SAID:
        left = _stop_left(store, who)
        if left is None:
            return [*blocks, Block("ask", phrases.WHAT_DO_YOU_SEE)], None
        about = f" ({left.sump or phrases.NO_MACHINE})"
        ask = phrases_asked.STANDS_OPEN.format(case=left.id, about=about)
        return [*blocks, Block("ask", ask)], left.id
    about = phrases.RESUME_ABOUT.format(sump=row.sump or phrases.NO_MACHINE, events=row.events)
    return [*blocks, Block("ask", phrases.HALF_FINISHED.format(case=held, about=about))], held


def _stop_left(store: Any, who: str) -> Any | None:
    """The last case this person finished in which a stop or an emergency still stood, or None."""
    rows = [row for row in store.cases(state="closed", limit=LOOKED_INTO) if row.who == who]
    for row in rows:
        if row.level not in ("stop", "emergency"):
            continue
        last = store.events(row.id)[-1]
        if last.kind == "closed" and last.data.get("stands") and not _put_right_elsewhere(store, row):
            return row
    return None


def _put_right_elsewhere(store: Any, row: Any) -> bool:
    """Whether a later case of the same sump says that what stood there is put right."""
    if not row.sump:
        return False
    later = [other for other in store.cases(sump=row.sump) if other.id > row.id]
    events = [e for other in later for e in store.events(other.id) if e.kind in ("acknowledged", "review")]
    return any(one["case"] == row.id for e in events for one in e.data.get("carried", ()))
