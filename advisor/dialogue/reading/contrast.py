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
        names = lexicon.settings.get("succeeding", ())
        if match.target.name in _REASONS and _was_the_reason(match, clauses):
            ended.append(match)
        if match.target.name in lexicon.settings.get("once", ()) and _closed_by_before(match, clauses):
            ended.append(match)
        if match.target.name not in names:
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
        if _closed_by_before(match, clauses) or _moved_on(match, [*onward, *looks], tokens) or _told_past(
            match, [*later, *looks], tokens, clauses, past
        ):
            ended.append(match)
    return ended


def _closed_by_before(match: Match, clauses: Clauses) -> bool:
    """ "It was clear and green before", "strength and pH were fine before that": over, whatever follows."""
    tokens = clauses.tokens
    first, last = clauses.of(match.first)
    words = {t.norm for t in tokens[first : match.last + 1]}
    while last > match.last and (tokens[last].norm in ("that", "then", "this", "it") or tokens[last].filler):
        last -= 1
    return bool(words & _PAST) and tokens[last].norm in _FORMERLY and last > match.last


_REASONS = frozenset({"smell", "surface", "rust", "foam"})
_DONE_WITH = frozenset(
    {"dumped", "emptied", "changed", "cleaned", "refilled", "recharged", "pumped", "drained"}
)
_STATED = frozenset({"was", "stank", "smelled", "smelt", "rusted", "foamed", "were", "had"})


def _was_the_reason(match: Match, clauses: Clauses) -> bool:
    """ "We emptied it because it was slimy": the new charge may be anything."""
    tokens = clauses.tokens
    first, last = clauses.of(match.first)
    if tokens[first].norm not in ("because", "weil") or not first:
        return False
    if any(t.norm in ("and", "und", "now") for t in tokens[first : match.first]):
        return False
    said = {t.text.lower() for t in tokens[first : last + 1]}
    start = first
    while start > 0 and not tokens[start - 1].hard:
        start -= 1
    return bool(said & _STATED) and bool({t.norm for t in tokens[start:first]} & _DONE_WITH)


_FORMERLY = frozenset({"before", "previously", "beforehand", "vorher", "davor", "bisher"})


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
    found = [m for m in matches if of_another(m, tokens)]
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


_SHAKEN = ("foam", "froth", "bubbl", "head", "flat", "shak", "shook", "suds", "test",
           "schaum", "schaeum", "schuettel")  # fmt: skip
_BESIDE = frozenset({"next", "beside", "near", "behind", "under", "by", "neben", "hinter"})


def of_another(match: Match, tokens: Sequence[Token]) -> bool:
    """A bottle nobody shook, another appliance that only says where, and a Monday that is a date."""
    name, value = match.target.name, match.target.value
    ahead = [t.norm for t in tokens[max(0, match.first - 4) : match.first]]
    if name == "shake_test":
        return not any(t.norm.startswith(_SHAKEN) for t in tokens)
    if value == "not_a_sump":
        return bool(_BESIDE & set(ahead))
    return value in ("monday", "monday_worst") and _is_date(match, tokens)


def _is_date(match: Match, tokens: Sequence[Token]) -> bool:
    """ "Since Monday", "dosed it on Monday and again Wednesday": one day, not every Monday."""
    if {tokens[p].norm for p in match.places} != {"monday"}:
        return False
    if match.first and tokens[match.first - 1].norm in ("since", "last", "from", "until", "before", "by"):
        return True
    first = match.first
    while first > 0 and not (tokens[first - 1].hard or tokens[first - 1].text == ","):
        first -= 1
    deed = {t.norm for t in tokens[first : match.first]} & _DEEDS
    return bool(deed) and tokens[match.first - 1].norm != "every"


_DEEDS = frozenset(
    {"gave", "dosed", "put", "added", "poured", "tipped", "refilled", "filled", "cleaned", "changed",
     "refill", "swapped", "switched", "topped", "fitted", "moved", "washed", "emptied", "recharged", "dumped",
     "threw"}
)  # fmt: skip
