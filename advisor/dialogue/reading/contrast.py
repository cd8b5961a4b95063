"""What a line says to set something off: a state that is over, and what a thing is only compared with."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue.reading.clauses import SINCE, Clauses
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.tokens import Token

_FROM, _TO = frozenset({"from", "von", "vom"}), frozenset({"to", "into", "auf", "zu", "zum", "nach"})
_LOOKS = frozenset({"state_white", "state_dark", "state_yellow"})
_PAST = frozenset({"was", "were", "war", "waren", "been"})
_NOT_AS = frozenset({"well", "soon", "far", "long", "such", "same", "good", "much", "bad"})


def over(matches: Sequence[Match], clauses: Clauses, marks: Sequence[Match], lexicon: Lexicon) -> list[Match]:
    """Findings that held before and no longer do: the white of "from white to coffee"."""
    tokens = clauses.tokens
    past = [m for m in marks if m.target.name in ("used_to_be", "before")]
    states = [m for m in marks if m.target.name in _LOOKS]
    ended = []
    for match in matches:
        if match.target.name not in lexicon.settings.get("succeeding", ()):
            continue
        later = [
            m
            for m in matches
            if m.target.name == match.target.name
            and m.target.value != match.target.value
            and m.first > match.last
        ]
        looks = [m for m in states if m.first > match.last] if match.target.name == "colour" else []
        others = [
            m for m in matches if m.target.name in lexicon.settings.get("succeeding", ()) and m is not match
        ]
        onward = [m for m in others if m.first > match.last]
        if _moved_on(match, [*onward, *looks], tokens) or _told_past(
            match, [*later, *looks], tokens, clauses, past
        ):
            ended.append(match)
    return ended


def _moved_on(match: Match, later: Sequence[Match], tokens: Sequence[Token]) -> bool:
    """ "From milky white to a sort of coffee colour"."""
    ahead = [t.norm for t in tokens[max(0, match.first - 3) : match.last]]
    if not _FROM & set(ahead):
        return False
    return any(
        m.first <= match.last + 8 and _TO & {t.norm for t in tokens[match.last + 1 : m.first]} for m in later
    )


def _told_past(
    match: Match, later: Sequence[Match], tokens: Sequence[Token], clauses: Clauses, past: Sequence[Match]
) -> bool:
    """ "It was yellow in spring, its white again": a past clause, and one of today that says otherwise."""
    span = clauses.of(match.first)
    words = {t.norm for t in tokens[span[0] : match.first]}
    dated = any(span[0] <= m.first < match.first for m in past)
    if not (words & _PAST or dated):
        return False
    for other in later:
        there = clauses.of(other.first)
        ahead = tokens[there[0] : other.first]
        denied = any(t.denying or t.norm in ("no", "kein", "keine") for t in ahead)
        if there != span and not denied and not {t.norm for t in ahead} & _PAST:
            return True
    return False


def likened(matches: Sequence[Match], tokens: Sequence[Token], lexicon: Lexicon) -> list[Match]:
    """Findings in what a thing is only likened to: "right as rain", "a skin like custard".

    The settings ``likened_allowed`` hold what a comparison may tell, ``likened_of`` what it tells only
    where nothing else was named before it ("looks like tea", but not "a skin on top like custard").
    """
    allowed = set(lexicon.settings.get("likened_allowed", ()))
    unless = set(lexicon.settings.get("likened_of", ()))
    others = set(lexicon.settings.get("coloured", ()))
    found = []
    for at, token in enumerate(tokens):
        if not _compares(at, tokens):
            continue
        end = at + 1
        while end < len(tokens) and end <= at + 4 and not _ends(tokens[end]):
            end += 1
        for match in matches:
            if not (at <= match.first and match.last < end):
                continue
            name = match.target.name
            named = any(m.target.name in others and at - 5 <= m.last < at for m in matches)
            whole = match.first == at and token.norm in ("like", "wie") and name not in unless
            if (name not in allowed and not whole) or (name in unless and named):
                found.append(match)
    return found


def _ends(token: Token) -> bool:
    """True for what a comparison does not reach across."""
    return token.kind == "mark" or token.barrier or token.norm in SINCE


def _compares(at: int, tokens: Sequence[Token]) -> bool:
    """A "like" or "wie" in front of a noun, or the second "as" of "black as your hat"."""
    word = tokens[at].norm
    if word in ("like", "wie"):
        return at > 0
    if word != "as" or at == 0:
        return False
    return tokens[at - 1].norm not in _NOT_AS and tokens[at - 1].kind == "word"
