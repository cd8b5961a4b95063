"""What a verdict hangs on, and what would change it: the same facts judged again with one less or more."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.dialogue import phrases, phrases_led, policy, procedures
from advisor.dialogue.answer import deciding_fact, may_be_repeated
from advisor.dialogue.asking import plain_yes
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import LATEST, SHOP_BOOK, CaseState
from advisor.dialogue.screens import fact_words
from advisor.dialogue.understanding import Understood
from advisor.inference.assess import Assessment, assess
from advisor.inference.evidence import NOTHING_WRONG
from advisor.knowledge.facts import Fact, number

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: An answer that moves the leading cause by less is not what the verdict hangs on.
HANGS = 0.05
#: The strongest reasons looked at when the single answer is looked for in passing; all on request.
IN_PASSING = 2
#: Open questions, and answers of each, tried when somebody asks what would change the verdict.
QUESTIONS, ANSWERS = 3, 5
#: Readings within so many steps of the scale are the same reading (common practice, no source).
SAME_STEPS = 3.0
#: How soon the steps of looking again make room on a small screen (`advisor.dialogue.blocks`).
LOOK_RANK = 6


@dataclass(frozen=True, slots=True)
class Hanging:
    """The answer a verdict hangs on most, and the judgement without it."""

    fact: Fact
    without: Assessment

    def carries(self, view: Assessment) -> bool:
        """Whether the verdict would not be named the same without it."""
        return (self.without.verdict, self.without.chain[:1]) != (view.verdict, view.chain[:1])


def judged_without(session: Session, state: CaseState, fact: Fact) -> Assessment:
    """The judgement without one answer."""
    left = [f for f in session.shop.ruled(state.sump, state.facts) if f is not fact]
    brought = [c for _, c in state.carried]
    return assess(left, session.rules, skip=tuple(state.skipped), questions=False, carried=brought)


def hangs_on(
    session: Session, state: CaseState, view: Assessment, candidates: Iterable[Fact]
) -> Hanging | None:
    """The one of `candidates` whose loss would move the leading cause most; None when none does."""
    lead = view.lead
    if lead is None:
        return None
    found = [Hanging(fact, judged_without(session, state, fact)) for fact in candidates]
    drops = [(_chance(view, lead) - _chance(h.without, lead), -i) for i, h in enumerate(found)]
    best = max(zip(drops, found, strict=True), key=lambda pair: pair[0], default=None)
    return best[1] if best and best[0][0] > HANGS else None


def _chance(view: Assessment, cause: str) -> float:
    """How likely a cause is judged, and for "nothing wrong" whether it is named at all."""
    if cause == NOTHING_WRONG:
        return float(view.chain[:1] == (NOTHING_WRONG,))
    return view.belief.marginals.get(cause, 0.0)


def told(state: CaseState) -> list[Fact]:
    """What the person said is so; the shop's book and what was ruled out carry no verdict by themselves."""
    return [f for f in state.facts if f.status == "present" and f.said != SHOP_BOOK]


def strongest(state: CaseState, view: Assessment) -> list[Fact]:
    """The person's answers behind the leading cause's strongest reasons."""
    lead = next((j for j in view.causes if j.id == view.lead), None)
    held = {f.key: f for f in told(state)}
    if view.lead == NOTHING_WRONG:
        return [held[key] for key in view.strength.parents if key in held]
    found: dict[str, Fact] = {}
    for reason in lead.speaks_for if lead else ():
        fact = deciding_fact(view, reason)
        if fact is not None and fact.key in held:
            found.setdefault(fact.key, held[fact.key])
    return [*found.values()][:IN_PASSING]


def once_more(session: Session, state: CaseState, view: Assessment, move: policy.Move) -> policy.Move:
    """Instead of resting after a verdict, once: have the single answer repeated that it hangs on."""
    asked = bool(state.concluded) or any(t.startswith(procedures.AGAIN) for t in state.asked)
    quiet = view.verdict != "named" or view.run == "stop" or state.recipe or state.results
    if move.name != "rest" or asked or quiet or not _just_told(session):
        return move
    hanging = hangs_on(session, state, view, strongest(state, view))
    if hanging is None or not hanging.carries(view):
        return move
    order = procedures.order_of(view)
    if order and hanging.fact.id in session.rules.procedures[order]["stands_on"]:
        key = f"{order}/{procedures.LIST}"
        if key in state.asked or not procedures.untold(state, view, order):
            return move
        return policy.Move("ask", key, phrases_led.HANGS_ON_READING, lead_in=policy.HANGS_ON)
    if not may_be_repeated(hanging.fact):
        return move
    if not session.rules.observables[hanging.fact.id].look:
        return move  # what is not looked at or measured comes out the same a second time
    return policy.Move("ask", f"{procedures.AGAIN}{hanging.fact.id}", phrases_led.HANGS_ON_ANSWER)


def _just_told(session: Session) -> bool:
    """Whether the verdict was told in this turn."""
    recent = [e.kind for e in session.record.events[-3:]]
    return "verdict" in recent


def again_blocks(session: Session, target: str) -> list[Block]:
    """The question to look or read once more."""
    key = target.removeprefix(procedures.AGAIN)
    fact, item = _held(session.state(), key), session.rules.observables[key]
    what = fact_words(fact, session.rules, session.shop.system) if fact else item.name
    how = phrases_led.AGAIN_NUMBER if fact and isinstance(fact.value, float) else phrases_led.AGAIN_LOOK
    look = [Block("item", step, f"{i}.", rank=LOOK_RANK) for i, step in enumerate(item.look, 1)]
    return [Block("ask", phrases_led.AGAIN.format(what=what)), *look, Block("text", how)]


def repeated(session: Session, state: CaseState, text: str) -> list[Block] | None:
    """What follows from a line while the one answer is asked once more; None when it tells another thing."""
    key = str(state.expecting).removeprefix(procedures.AGAIN)
    fact = _held(state, key)
    if fact is None:
        return None
    got = session.understood(text, key)
    new = next((f for f in got.facts if f.id == key), None)
    says_yes = plain_yes(text) or any(r.kind == "yes" for r in got.requests)
    same = (says_yes and new is None) or (new is not None and _same(session, fact, new))
    if not same and new is None and _NO.match(text):  # "ok" or "fine" is no "no" to "is it so?"
        if not isinstance(fact.value, str):
            return [Block("ask", phrases_led.TYPE_IT)]
        got = Understood(facts=(Fact(key, fact.value, None, "ruled_out", said=text),))
    elif not same and new is None:
        return None
    blocks = [Block("text", phrases_led.TWICE_SAME if same else phrases_led.NOT_THE_SAME)]
    kept = Understood(facts=tuple(f for f in got.facts if f is not new)) if same else got
    session.record.said(text, kept, state.expecting, answered=True)
    return blocks + [b for b in session.go_on() if not (same and b.text == phrases.SAME_VERDICT)]


_NO = re.compile(r"\s*(n|no|nope|nah|nein|not|it isn'?t|isn'?t|wrong)\b", re.I)


def _held(state: CaseState, key: str) -> Fact | None:
    return next((f for f in reversed(told(state)) if f.id == key), None)


def _same(session: Session, first: Fact, second: Fact) -> bool:
    if second.status != "present":
        return False
    a, b = number(first), number(second)
    if a is None or b is None:
        return first.value == second.value
    return abs(a - b) <= SAME_STEPS * (session.rules.observables[first.id].step or 0.0)


def what_would_change(session: Session, state: CaseState, view: Assessment) -> list[tuple[str, Assessment]]:
    """Answers not given yet that would change the verdict, and the judgement each would make."""
    facts = session.shop.ruled(state.sump, state.facts)
    found, now = [], (view.verdict, view.chain[:1])
    for question in sorted(view.questions, key=lambda q: -q.changes)[:QUESTIONS]:
        for fact in _possible(session, question.id):
            then = assess([*facts, fact], session.rules, questions=False, carried=view.carried)
            if (then.verdict, then.chain[:1]) != now:
                found.append((fact_words(fact, session.rules), then))
    return found


def _possible(session: Session, key: str) -> list[Fact]:
    """The answers somebody could give to a question; a number's by its band."""
    item = session.rules.observables[key]
    if item.kind == "quantity":
        band = next((b["fills"] for b in session.rules.bands if b["of"] == key), None)
        item = session.rules.observables[band] if band else item
    return [Fact(item.id, answer, None, event=LATEST) for answer in item.offered()[:ANSWERS]]
