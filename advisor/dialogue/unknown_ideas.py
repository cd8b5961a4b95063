"""Something unknown that somebody wants to put into the sump, said at the safety question or any other.

It is answered before anything else is asked: what is it, and nothing goes in before that is known. Then the
question is put again. A name with a slip in it, or one that is known, is read like any other line.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

from advisor.dialogue import phrases_led, policy
from advisor.dialogue.asking import ABOUT_PEOPLE, plain_no, plain_yes
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.events import standing
from advisor.dialogue.reading.lexicon import Lexicon
from advisor.dialogue.understanding import Understood

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: How a thing that is named alone is read as an idea of what to put in.
_PUT_IN = "can i put {name} in"
#: What makes sure, at another question, that the thing is to go into the sump.
_INTO = re.compile(r"\b(?:in|into|rein)\b", re.I)
#: What of a line says by itself what goes in.
_KNOWN = frozenset({"proposed_action", "event"})
_IT_IS = re.compile(
    r"^(?:(?:it'?s|it is|that'?s|they call it|called|a|an|some|the|kind of|sort of|just)\b|\W)+", re.I
)
#: What opens a line that speaks of the thing and not of the sump.
_OF_IT = re.compile(
    r"\W*(?:it'?s|it is|that'?s|they call it|called|dunno|don'?t know|no idea|not sure)\b", re.I
)


def answered(session: Session, text: str, state: CaseState) -> list[Block] | None:
    """What follows from an idea with something unknown, or from the answer to what it is; else None."""
    if state.expecting is None or plain_no(text) or plain_yes(text):
        return None
    got = session.understood(text, policy.SAFETY)
    safety = state.expecting == policy.SAFETY
    name = named(text, session.lexicon) if safety or _INTO.search(text) else ""
    if name and not any(f.id in _KNOWN for f in got.facts):
        rest = re.sub(rf"\b(?:{'|'.join(map(re.escape, name.split()))})\b", " ", text, flags=re.I)
        got = session.understood(rest, policy.SAFETY)  # a name nobody knows is no slip of a word of the trade
        return _asks(session, state, text, name, replace(got, ask=()))
    return _told(session, state, text, got) if safety and not name and _waits(session) else None


def named(text: str, lexicon: Lexicon) -> str:
    """The thing a line wants to put in, "" where it wants nothing in or nothing that has a name."""
    words: dict[str, list[str]] = lexicon.settings["unknown_ideas"]
    tokens = re.findall(r"[^\W_][\w'’-]*", text.lower())
    at = next((i for i, token in enumerate(tokens) if token in words["verbs"]), None)
    if at is None or not ({*tokens[:at]} & {*words["asks"]} or (at == 0 and len(tokens) > 1)):
        return ""
    name: list[str] = []
    for token in tokens[at + 1 :]:
        if token in words["ends"]:
            break
        name += [token] if token not in words["beside"] else []
    nameless = {*name} & {*words["plain"]} or not any(c.isalpha() for c in "".join(name))
    return "" if nameless else " ".join(name)


def _asks(session: Session, state: CaseState, text: str, name: str, got: Understood) -> list[Block]:
    told = Block("warn", phrases_led.UNKNOWN_IDEA.format(name=name[:40]), phrases_led.CAREFUL)
    if got.facts:
        return [told, *session.take(text, got, state, answered=False)]
    session.record.said(text, Understood(unused=(text,)), state.expecting, answered=False)
    return [told, *session.repeat()]


def _waits(session: Session) -> bool:
    """Whether the line before wanted something unknown in, so that this one may say what it is."""
    last = next((e for e in reversed(standing(session.record.events)) if e.kind == "said"), None)
    words = session.record.words.get(last.number, "") if last is not None else ""
    return last is not None and not last.data["facts"] and bool(named(words, session.lexicon))


def _told(session: Session, state: CaseState, text: str, got: Understood) -> list[Block] | None:
    """What the unknown thing is said to be: known now, or still not."""
    if {r.kind for r in got.requests} - {"dont_know"} or "?" in text:
        return None
    what = _IT_IS.sub("", text).strip(" .!")
    idea = session.understood(_PUT_IN.format(name=what))
    meant = tuple(replace(f, said=text) for f in idea.facts if f.id == "proposed_action")
    if meant:
        return session.take(text, Understood(facts=meant), state, answered=False)
    if got.facts and (not _OF_IT.match(text) or any(f.id in ABOUT_PEOPLE for f in got.facts)):
        return None
    session.record.said(text, Understood(unused=(text,)), state.expecting, answered=False)
    told = Block("warn", phrases_led.STILL_UNKNOWN.format(said=what[:40]), phrases_led.CAREFUL)
    return [told, *session.question(again=True)]
