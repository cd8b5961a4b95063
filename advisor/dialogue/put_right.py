"""What a step has put right: a complaint that is gone is told as that, and judges nothing anew.

The verdict told stands: it says why the trouble was there. That it is gone now speaks for the step, not
against the cause; only new trouble opens the questions again.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from advisor.dialogue import acting, following, new_cautions, passed, phrases, phrases_led, policy
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.said_back import said_back
from advisor.dialogue.screens import facts_words
from advisor.dialogue.understanding import Understood
from advisor.inference.assess import complaints
from advisor.inference.knowns import Knowns
from advisor.knowledge.facts import Fact

if TYPE_CHECKING:
    from advisor.dialogue.session import Session


def gone(session: Session, state: CaseState, got: Understood) -> list[Fact]:
    """The complaints that a line says are gone, once a cause is named and nothing is asked.

    Empty where it corrects something, tells anything else, or speaks before the verdict.
    """
    judged = (state.verdict or {}).get("verdict") == "named" and not following.stands(state)
    open_ = state.expecting is None and session.last_move.name == "rest"
    if not (got.facts and judged and open_) or got.corrections or got.ask:
        return []
    known = Knowns(session.rules, state.facts)
    there = complaints(known)
    found: list[Fact] = []
    for fact in got.facts:
        held = [f for f in there if _lifts(known, fact, f)]
        if not held or not fact.firm:
            return []
        found += [f for f in held if f not in found]
    return found


def _lifts(known: Knowns, fact: Fact, complaint: Fact) -> bool:
    """Whether a fact says that a complaint no longer is."""
    item = known.rules.observables[fact.id]
    if fact.id != complaint.id:
        return fact.status == "ruled_out" and known.rules.observables[complaint.id].belongs_to == fact.id
    if fact.status == "ruled_out":
        return fact.value is None or fact.value == complaint.value
    normal = item.kind == "one_of" and isinstance(fact.value, str) and "base" not in item.answers[fact.value]
    return normal and fact.value != complaint.value


def told(
    session: Session, state: CaseState, got: Understood, lifted: Sequence[Fact], text: str
) -> list[Block]:
    """Store that it is gone and say so, what is still there, and the step that comes now."""
    session.record.said(text, got, None, answered=False, gone=True)
    now = session.state()
    named = phrases.listed(_words(session, lifted))
    blocks = [b for b in said_back(session, got, state, None) if b.label != "Noted"]
    blocks.append(Block("head", phrases_led.GONE.format(what=phrases.sentence(named).rstrip(".")), "GONE"))
    left = complaints(Knowns(session.rules, now.facts))
    if left:
        still = phrases.sentence(phrases.listed(_words(session, left)))
        blocks.append(Block("row", still, "STILL THERE"))
    blocks += passed.not_lifted(session, state, now) + new_cautions.told(session)
    step = acting.where(session, now)
    session.last_move = policy.Move("rest")
    if not step:
        return [*blocks, session.rest()]
    return [*blocks, *step, Block("text", phrases_led.HOW_TICK)]


def _words(session: Session, facts: Sequence[Fact]) -> list[str]:
    """Complaints in a word or two each: what is one of many things seen needs no name of its kind."""
    held = session.rules.observables
    many = [f for f in facts if held[f.id].kind == "any_of" and isinstance(f.value, str)]
    means = [str(held[f.id].answers[str(f.value)]["means"]) for f in many]
    return [*means, *facts_words([f for f in facts if f not in many], session.rules)]
