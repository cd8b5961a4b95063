"""Coming back to a case that was left: the offer answered, what was noted, and what stands open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue import carried, following, phrases, policy
from advisor.dialogue.blocks import Block
from advisor.dialogue.glance import recipe_at_a_glance
from advisor.dialogue.rechecks import Follower
from advisor.dialogue.screens import fact_words, standing_facts

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

_YES = {"y", "yes", "yeah", "yep", "ok", "sure", "go on", "ja", ""}
_NO = {"n", "no", "nope", "new", "nein"}


def offer_answered(session: Session, text: str) -> list[Block]:
    """What follows from the answer to the half-finished case: go on with it, or begin anew."""
    case, session.offered = session.offered, None
    low = text.lower().strip(" .!")
    if low in _YES:
        return take_up(session, int(case or 0))
    if case is not None:
        record = session.record
        session.store.append(case, "closed", {"how": "replaced"}, time=record.clock(), who=record.who)
    if low in _NO:
        return [Block("text", phrases.FRESH), Block("ask", phrases.WHAT_DO_YOU_SEE)]
    return [Block("text", phrases.FRESH), *session.say(text)]


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
    return blocks + session.go_on()
