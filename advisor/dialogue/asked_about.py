"""Questions a person asks in the middle of a case: can it run, which limits, how much, what is meant.

Each is answered with what is known, nothing of it is noted, and the open question stands again.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from advisor.dialogue import passed, phrases, phrases_asked, policy
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.following import stands
from advisor.dialogue.glance import recipe_at_a_glance
from advisor.dialogue.reading.acts import sentences
from advisor.dialogue.reading.asked import AMOUNT, MEANING, only_asks, question
from advisor.dialogue.screens import run_because, run_words
from advisor.dialogue.unknown_ideas import named
from advisor.inference.assess import Assessment

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

_MAY_RUN = re.compile(
    r"^(?:so |and |but |ok |okay |well |now |then |hey |also |aber |und )*"
    r"(?:(?:can|could|may|should|shall|will|does|is|are|do|ok|okay|safe|kann|darf|soll|läuft|laeuft)\b)"
)
_RUNS = frozenset({"run", "running", "runs", "laufen", "läuft", "laeuft", "weiterlaufen", "weiterfahren"})
_LIMITS = re.compile(
    r"^(?:so |and |but |ok |wait )*(?:what|which|whats|what are|which are|what do you mean(?: by| with)?"
    r"|welche|was für|what sort of|what kind of)? ?(?:the |only |with |are )*"
    r"(?:limits?|einschränkungen|grenzen)"
    r"(?: are (?:these|those|they|that|there)| do you mean| then| please| sind das)?$"
)


def told_to_a_question(session: Session, state: CaseState, text: str) -> list[Block] | None:
    """The answer to a question about running, limits, an amount or a word; None where it is none."""
    low = " ".join(re.findall(r"[^\W_]+", text.lower().replace("'", "")))
    words = low.split()
    alarmed = session.last_move.name == "emergency" and session.last_move.target not in state.acknowledged
    beside = {*session.lexicon.settings["asks_to_run"]}  # a word beside these asks about something else
    if _MAY_RUN.match(low) and _RUNS & {*words} and not {*words} - beside - _RUNS - {*_digits(words)}:
        return [*run_blocks(session, state), *_then(session, alarmed)]
    if _LIMITS.match(low):
        return [*run_blocks(session, state, whole=True), *_then(session, alarmed)]
    if alarmed and (helped := _in_alarm(session, state, text, words)):
        return [*helped, Block("ask", phrases.NOT_YET)]
    tokens = session.lexicon.tokens(text)
    if not tokens or not only_asks(sentences(tokens), tokens) or named(text, session.lexicon):
        return None
    got = session.understood(text)
    if alarmed or got.facts or got.requests or got.ask:
        return None
    kinds = {question(tokens[first : last + 1]) for first, last in sentences(tokens)}
    return [*_known(session, state, kinds), *session.repeat()]


def _in_alarm(session: Session, state: CaseState, text: str, words: list[str]) -> list[Block]:
    """What the emergency that stands says to a question or a word about how it is met."""
    item = session.rules.cautions[str(session.last_move.target)]
    told = {f.key for f in state.facts}
    if any(f.key not in told for f in session.understood(text).facts):
        return []
    found = [one["text"] for one in item.get("asked", []) if not {*one["words"]}.isdisjoint(words)]
    return [Block("emergency", str(found[0]), "NOW")] if found else []


def _digits(words: list[str]) -> list[str]:
    return [word for word in words if word.isdigit()]


def run_blocks(session: Session, state: CaseState, *, whole: bool = False) -> list[Block]:
    """Whether it may run as far as is known, why, and the stops that stand; `whole`: every reason."""
    view = session.view(state=state)
    if not policy.told(state):
        return [Block("head", phrases_asked.TOO_LITTLE, "CAN IT RUN?")]
    why = run_because(view)
    text = " ".join([run_words(view), *why[:1]])
    blocks = [Block("head", text, "CAN IT RUN?")]
    blocks += [Block("text", more) for more in why[1:]] if whole else []
    grave = passed.standing(view, session.rules)
    blocks += passed.still_blocks(session.rules, grave if whole else grave[:1])[:-1]
    if whole and view.run == "run":
        blocks.append(Block("text", phrases_asked.NO_LIMITS))
    return blocks


def _then(session: Session, alarmed: bool) -> list[Block]:
    return [Block("ask", phrases.NOT_YET)] if alarmed else session.repeat()


def _known(session: Session, state: CaseState, kinds: set[str | None]) -> list[Block]:
    """What is known about an amount, a word or a deed, and that nothing of it was noted."""
    if AMOUNT in kinds and stands(state):
        view: Assessment = session.view(state=state)
        return recipe_at_a_glance(view, state.recipe or {}, session.shop.display)
    if AMOUNT in kinds:
        return [Block("text", phrases_asked.HOW_MUCH)]
    if MEANING in kinds:
        return [Block("text", phrases_asked.MEANING)]
    return [Block("text", phrases_asked.ONLY_ASKED)]
