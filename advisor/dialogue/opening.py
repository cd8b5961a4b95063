"""The first screen, drawn before rules and phrases are loaded."""

from __future__ import annotations

from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block

#: A case with no more events than this holds nothing worth offering again.
NOTHING_SAID = 2


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
        return [*blocks, Block("ask", phrases.WHAT_DO_YOU_SEE)], None
    about = phrases.RESUME_ABOUT.format(sump=row.sump or phrases.NO_MACHINE, events=row.events)
    return [*blocks, Block("ask", phrases.HALF_FINISHED.format(case=held, about=about))], held
