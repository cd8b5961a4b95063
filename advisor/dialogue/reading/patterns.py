"""Finds compiled phrases in a line of tokens; `advisor.phrasing` describes how phrases are written."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue.reading.tokens import Token
from advisor.phrasing import WIDE_GAP

#: keys, optional, gap of other words allowed before it, commas may be crossed
Element = tuple[frozenset[str], bool, int, bool]
WINDOW = 8
_PARTING = frozenset({"and", "und", "while", "then", "also", "plus", "dann"})


def match_at(elements: Sequence[Element], tokens: Sequence[Token], at: int) -> list[int] | None:
    """Places of the tokens that `elements` take when the first stands at `at`; None when they do not fit."""
    return _match(elements, 0, tokens, at, at)


def _match(
    elements: Sequence[Element], k: int, tokens: Sequence[Token], at: int, start: int
) -> list[int] | None:
    if k == len(elements):
        return []
    keys, optional, gap, wide = elements[k]
    skipped = fillers = 0
    j = at
    while j < len(tokens):
        token = tokens[j]
        if not keys.isdisjoint(token.keys):
            rest = _match(elements, k + 1, tokens, j + 1, start)
            if rest is not None:
                return [j, *rest]
        if k == 0 or token.hard or token.barrier or (token.text == "," and not wide):
            break
        if token.filler or token.denying or token.kind == "mark":
            fillers += 1
            if fillers > (2 if not gap else WIDE_GAP):
                break
        else:
            skipped += 4 if token.norm in _PARTING else 1
            if skipped > gap:
                break
        j += 1
    if optional:
        return _match(elements, k + 1, tokens, at, start)
    return None


def match_parts(parts: Sequence[Sequence[Element]], tokens: Sequence[Token], at: int) -> list[int] | None:
    """As `match_at`, for a phrase whose further parts may stand on either side within the sentence."""
    found = match_at(parts[0], tokens, at)
    if found is None:
        return None
    for part in parts[1:]:
        other = _near(part, tokens, found)
        if other is None:
            return None
        found = sorted({*found, *other})
    return found


def _near(part: Sequence[Element], tokens: Sequence[Token], found: Sequence[int]) -> list[int] | None:
    first, last = found[0], found[-1]
    for j in range(last + 1, min(len(tokens), last + 1 + WINDOW)):
        if tokens[j].hard:
            break
        other = match_at(part, tokens, j)
        if other is not None:
            return other
    for j in range(first - 1, max(-1, first - 1 - WINDOW), -1):
        if tokens[j].hard:
            break
        other = match_at(part, tokens, j)
        if other is not None and other[-1] not in found:
            return other
    return None
