"""The last tick taken back: the step is open again, and nothing that was said goes with it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue import acting, following, phrases, phrases_led, policy
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.events import TICKS, Event, standing
from advisor.dialogue.recipe_screens import step_row

if TYPE_CHECKING:
    from advisor.dialogue.session import Session


def unticked(session: Session, state: CaseState) -> list[Block] | None:
    """Take back the last "done" or "skip", when nothing was told after it; None when something was."""
    events = standing(session.record.events)
    told = max(state.told, default=0)
    ticks = [e for e in events if _is_tick(e) and e.number > told]
    if not ticks:
        return None
    last = ticks[-1]
    asked = [e.number for e in events if e.kind == "asked" and e.number > last.number]  # because of the tick
    session.record.append("retracted", {"events": [last.number, *asked]})
    state = session.state()
    session.last_move = policy.Move("ask", state.expecting) if state.expecting else policy.Move("rest")
    return [
        Block("text", phrases.STEP_OPEN_AGAIN),
        *_open_step(session, session.state(), last),
        Block("text", phrases_led.HOW_TICK),
    ]


def found_with(session: Session, said: int) -> list[int]:
    """Numbers of the ticks that a line made by telling what their steps find out."""
    made = []
    for event in session.record.events[said:]:  # numbers begin at 1: those right behind the line
        if not (event.kind == "action_done" and event.data.get("found")):
            break
        made.append(event.number)
    return made


def _is_tick(event: Event) -> bool:
    return event.kind in TICKS and not event.data.get("found")


def _open_step(session: Session, state: CaseState, tick: Event) -> list[Block]:
    """The step that is open again."""
    if tick.kind == "step_done":
        step = following.current_step(state)
        return step_row(state.recipe or {}, step) if step is not None else []
    return acting.where(session, state)
