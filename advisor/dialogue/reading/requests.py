"""Requests in a line: go back, why, what if, so far, skip, yes, no and the like."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.tokens import Token

#: Requests that take the rest of the line as their text.
WITH_TAIL = frozenset({"why_not", "what_if", "find", "change"})
#: Answers that may be followed by facts ("no, still there").
ANSWERS = frozenset({"yes", "no"})


@dataclass(frozen=True, slots=True)
class Request:
    """Something asked of the tool rather than told about the sump.

    Attributes:
        kind: back, why, why_not, what_would_change, how_sure, what_if, so_far, help, stop_here, enough,
            skip, skip_all, dont_know, yes, no, done, restart or repeat.
        text: the rest of the line for ``why_not`` and ``what_if``; else the words themselves.
    """

    kind: str
    text: str = ""


def requests_of(
    tokens: Sequence[Token], text: str, lexicon: Lexicon
) -> tuple[tuple[Request, ...], set[int], bool]:
    """Requests, the tokens they used, and whether they are the whole line.

    A request must open the line; all but those with a tail and plain answers must be the whole of it.
    """
    opening = next((i for i, t in enumerate(tokens) if t.kind != "mark" and not _polite(t, lexicon)), None)
    if opening is None:
        return (), set(), False
    matches = [m for m in lexicon.find(tokens[: opening + 8], ("requests",)) if _opens(m, tokens, lexicon)]
    matches.sort(key=lambda m: (-len(m.places), m.target.name in ANSWERS))
    for match in matches:
        kind = match.target.name
        rest = [t for t in tokens[match.last + 1 :] if t.kind != "mark"]
        if kind in WITH_TAIL:
            tail = text[tokens[match.last].end :].strip(" ,.:;!?")
            if tail:
                return (Request(kind, tail),), set(range(len(tokens))), True
            continue
        if all(_polite(t, lexicon) for t in rest):
            return (Request(kind, text.strip()),), set(range(len(tokens))), True
        if kind in ANSWERS and _apart(match, tokens):
            return (
                (Request(kind, text[tokens[match.first].start : tokens[match.last].end]),),
                set(match.places),
                False,
            )
    return (), set(), False


def _polite(token: Token, lexicon: Lexicon) -> bool:
    return token.norm in lexicon.settings.get("polite", ())


def _opens(match: Match, tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    return (
        all(t.kind == "mark" or t.filler or _polite(t, lexicon) for t in tokens[: match.first])
        and match.places == tuple(range(match.first, match.last + 1))
    ) or all(
        t.kind == "mark" or t.filler or i in match.places or _polite(t, lexicon)
        for i, t in enumerate(tokens[: match.last + 1])
    )


def _apart(match: Match, tokens: Sequence[Token]) -> bool:
    """A yes or no that is an answer: a comma or full stop follows, not a thing ("no foam")."""
    following = tokens[match.last + 1] if match.last + 1 < len(tokens) else None
    return following is None or following.kind == "mark"
