"""Coming back to a case that was left: the offer answered, what was noted, and what stands open."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from advisor.dialogue import carried, following, passed, phrases, phrases_asked, policy
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import fold
from advisor.dialogue.glance import recipe_at_a_glance
from advisor.dialogue.rechecks import Follower
from advisor.dialogue.screens import caution_blocks, fact_words, standing_facts

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

_YES = {
    "y", "yes", "yeah", "yep", "yup", "ok", "okay", "sure", "go", "ja", "jo", "jep", "jawohl", "weiter",
    "please", "bitte", "continue", "on", "it", "with", "gern", "gerne", "do", "mach", "machen", "thanks",
}  # fmt: skip
_NO = {
    "n", "no", "nope", "nah", "new", "nein", "nee", "neu", "start", "a", "one", "case", "thanks", "danke",
    "please", "bitte", "fresh", "neuer", "neue", "fall",
}  # fmt: skip
#: Words that by themselves say neither.
_POLITE = {"please", "bitte", "thanks", "danke", "it", "with", "on", "a", "one", "case", "fall"}


def offer_answered(session: Session, text: str) -> list[Block]:
    """What follows from the answer to the half-finished case: go on with it, begin anew, or ask again.

    A line that tells something of a sump begins anew. What can be read as neither abandons nothing.
    """
    case = int(session.offered or 0)
    words = {*re.findall(r"[^\W\d_]+", text.lower())}
    if not text.strip() or (words and words <= _YES and words - _POLITE):
        session.offered = None
        return take_up(session, case)
    said_no = bool(words) and words <= _NO and bool(words - _POLITE)
    told = not said_no and bool(session.understood(text).facts)
    if any(request.kind == "stop_here" for request in session.understood(text).requests):
        return session.leave()
    if not said_no and not told and not session.shop.sump_named(text):
        return [Block("ask", phrases_asked.OFFER_AGAIN.format(case=case))]
    session.offered = None
    record = session.record
    if not passed.told(fold(session.store.events(case)), session.rules):  # a stop stays to be dealt with
        session.store.append(case, "closed", {"how": "replaced"}, time=record.clock(), who=record.who)
    if said_no:
        return [Block("text", phrases.FRESH), Block("ask", phrases.WHAT_DO_YOU_SEE)]
    begun = session.say(text)
    stands = bool(begun) and begun[0].kind in carried.GRAVE  # a stop comes before anything else
    return begun if stands else [Block("text", phrases.FRESH), *begun]


def take_up(session: Session, case: int) -> list[Block]:
    """Take up a case where it was left."""
    session.record.resume(case)
    state = session.state()
    said = [fact_words(f, session.rules, session.shop.system) for f in standing_facts(state, session.rules)]
    blocks = [
        Block("text", phrases.RESUMED),
        Block("note", phrases.listed(said) or "nothing noted yet", "Noted"),
    ]
    if state.sump:
        meanwhile = carried.put_right_meanwhile(session, state.sump)
        carried.take_over(session, state.sump)
        state = session.state()
        blocks = [*carried.again(session, state), *meanwhile, *blocks]
    if following.stands(state):
        made = state.recipe or {}
        blocks += recipe_at_a_glance(session.view(state=state), made, session.shop.display)
        if not state.expecting:
            return blocks + Follower(session, state).resumed()
    if state.expecting:  # asked before, not answered: it stands again
        session.last_move = policy.Move("ask", state.expecting)
        return blocks + session.question()
    return blocks + _on_again(session)


def _on_again(session: Session) -> list[Block]:
    """What comes next; an emergency that stands is told whole, with its steps."""
    on = session.go_on()
    if session.last_move.name != "emergency":
        return on
    return [
        *caution_blocks(session.rules, [str(session.last_move.target)]),
        *(b for b in on if b.kind != "emergency"),
    ]
