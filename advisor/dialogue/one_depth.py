"""One depth told where it takes two to say how full a tank is: it is kept, and the other one asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue import phrases_led, procedures
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.events import standing
from advisor.dialogue.reading.depths import Told, both_depths, lone_depth
from advisor.dialogue.understanding import Understood

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

FILL = "sump_fill"


def with_the_first(session: Session, text: str, asked: str | None) -> str:
    """A depth told in answer to `asked`, with the one told right before it; any other line as it is."""
    first = _kept(session) if asked == FILL else None
    return (both_depths(first, text, session.lexicon) if first else None) or text


def _kept(session: Session) -> Told | None:
    """The depth the last line told, when it still waits for the other one."""
    last = next((e for e in reversed(standing(session.record.events)) if e.kind == "said"), None)
    if last is None or last.data.get("answered", True):
        return None
    if procedures.asked_for(session.rules, last.data.get("expecting")) != FILL:
        return None
    return lone_depth(session.record.words.get(last.number, ""), session.lexicon)


def still_asked(session: Session) -> list[Block] | None:
    """The question for the other depth, put again; None where none waits."""
    if procedures.asked_for(session.rules, session.last_move.target) != FILL:
        return None
    told = _kept(session)
    return [_question(told)] if told is not None else None


def _question(told: Told) -> Block:
    asked = phrases_led.DEPTH_NOW if told.full else phrases_led.DEPTH_WHEN_FULL
    return Block("ask", asked.format(said=told.lone))


def other_asked(session: Session, state: CaseState, text: str) -> list[Block] | None:
    """The question for the other depth, where a line tells one and nothing else; None for any other line."""
    if procedures.asked_for(session.rules, state.expecting) != FILL:
        return None
    got = session.understood(text, state.expecting)
    told = lone_depth(text, session.lexicon)
    if told is None or got.facts or got.ask or got.requests or got.unused:
        return None
    session.record.said(text, Understood(), state.expecting, answered=False)
    return [_question(told)]
