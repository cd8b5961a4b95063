"""Questions in a line: "how much antifoam do I put in" tells of no deed, it asks about one.

A sign stays a sign ("why does it foam"); only deeds and settings are not told by asking about them.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact

#: What may stand before a question word.
_LEAD = frozenset(
    {"wait", "hey", "hi", "but", "and", "so", "ok", "okay", "then", "no", "well", "now", "also", "just",
     "right", "moment", "halt", "sag", "mal", "aber", "und", "question", "frage", "sorry", "exactly"}
)  # fmt: skip
_ASKS_WITH = frozenset(
    {"do", "does", "should", "shall", "can", "could", "would", "must", "may", "cant", "cannot", "dont",
     "shouldnt", "couldnt", "wouldnt", "soll", "sollen", "sollte", "muss", "müssen", "muessen", "kann",
     "können", "koennen", "darf", "dürfen", "duerfen"}
)  # fmt: skip
_WHO = frozenset({"i", "we", "you", "one", "it", "they", "ich", "wir", "man"})
_OPENS = frozenset(
    {"how", "what", "which", "when", "where", "why", "whats", "hows", "wie", "wieviel", "wieviele", "was",
     "welche", "welcher", "welches", "welchen", "wann", "wo", "warum", "wieso", "weshalb", "womit"}
)  # fmt: skip
_MAY = frozenset({"can", "could", "may", "should", "shall", "do", "kann", "darf", "soll", "muss"})
_I = frozenset({"i", "we", "ich", "wir", "man"})
#: What ends the asking part of a sentence, and words that tell of a deed even in it.
_PARTS = frozenset({",", ";", "because", "but", "since", "after", "weil", "aber", "nachdem"})
_DONE = frozenset(
    {"yesterday", "already", "dosed", "added", "poured", "ago", "gestern", "schon", "went", "got", "did",
     "dosiert", "last", "somebody", "someone"}
)  # fmt: skip
_MUCH = frozenset({"much", "many", "viel", "viele", "wieviel", "wieviele"})
_APART = frozenset(
    {"difference", "differences", "diffrence", "differance", "differ", "unterschied", "mean", "means",
     "meaning", "bedeutet", "heisst", "heißt"}
)  # fmt: skip
_TO = frozenset({"to", "goes", "go", "needed", "required", "kommt", "gehört", "gehoert", "braucht"})
_PAST = frozenset({"did", "went", "was", "were", "has", "have", "had", "been", "wurde", "hat", "haben"})

#: What a question may be about: an amount, what a word means, a deed, or leave for one.
AMOUNT, MEANING, DEED, LEAVE = "amount", "meaning", "deed", "leave"


def question(tokens: Sequence[Token]) -> str | None:
    """What a sentence asks about (`AMOUNT`, `MEANING`, `DEED` or `LEAVE`), None where it tells something."""
    words = [t.norm for t in tokens if t.kind != "mark"]
    raw = [t.text.lower().replace("'", "") for t in tokens if t.kind != "mark"]
    while words and words[0] in _LEAD:
        words, raw = words[1:], raw[1:]
    if not words:
        return None
    first, rest = raw[0], raw[1:]
    asks = tokens[-1].text == "?"
    if first not in _OPENS:
        return LEAVE if first in _MAY and rest[:1] and rest[0] in _I else None
    if not _APART.isdisjoint(rest):
        return MEANING
    if first in ("what", "whats", "was") and (first == "whats" or rest[:1] in (["is"], ["are"], ["ist"])):
        return MEANING
    if any(word in _PAST for word in rest) and not asks:
        return None
    pairs = list(itertools.pairwise(rest))
    put = any(a in _ASKS_WITH and b in _WHO for a, b in pairs) or (first == "how" and rest[:1] == ["to"])
    if first in ("wieviel", "wieviele") or (rest[:1] and rest[0] in _MUCH):
        return AMOUNT if put or asks or not _TO.isdisjoint(rest) else None
    if first in ("why", "warum", "wieso", "weshalb"):
        return DEED if rest[:1] and rest[0] in _ASKS_WITH and put else None
    return DEED if put else None


def told_only(
    matches: Sequence[Match], spans: Sequence[tuple[int, int]], tokens: Sequence[Token], lexicon: Lexicon
) -> list[Match]:
    """The matches less the deeds and settings of the sentences that only ask about them."""
    barred: dict[str, list[str]] = lexicon.settings.get("asked_is_not_told", {})
    kept = []
    for match in matches:
        first, last = next((s for s in spans if s[0] <= match.first <= s[1]), (0, len(tokens) - 1))
        cut = next((p for p in range(first, last) if tokens[p].text.lower() in _PARTS), last)
        part = tokens[first : cut + 1]
        kind = question(part) if match.first <= cut else None
        done = match.target.name == "event" and not {t.norm for t in part}.isdisjoint(_DONE)
        if kind is None or done or match.target.name not in barred.get(kind, ()):
            kept.append(match)
    return kept


def only_asks(spans: Sequence[tuple[int, int]], tokens: Sequence[Token]) -> bool:
    """Whether every sentence of a line is a question, so that nothing in it is denied either."""
    return bool(spans) and all(question(tokens[first : last + 1]) for first, last in spans)


def undenied(facts: Sequence[Fact], tokens: Sequence[Token]) -> list[Fact]:
    """The facts less what only a question denies: "how do I get rid of the foam" denies none."""
    spans, first = [], 0
    for at, token in enumerate(tokens):
        if token.hard or at == len(tokens) - 1:
            spans += [(first, at)] if at >= first else []
            first = at + 1
    asks = only_asks(spans, tokens)
    return [f for f in facts if f.status == "present" or not asks]
