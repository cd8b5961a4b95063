"""Misspelt words: the nearest words of the closed vocabulary, when one is near enough."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from advisor.dialogue.reading.lexicon import Lexicon


def respell(word: str, lexicon: Lexicon) -> tuple[str, ...]:
    """Words of the lexicon that `word` (unknown to it) was probably meant to be, nearest first.

    One slip (a letter wrong, missing, doubled or swapped) is allowed in words of up to eight letters, two in
    longer ones; the first letter must be right unless the word is long. Empty when nothing is near.
    """
    known = lexicon.known_spellings.get(word)
    if known is None:
        known = lexicon.known_spellings[word] = _nearest(word, lexicon)
    return known


def _nearest(word: str, lexicon: Lexicon) -> tuple[str, ...]:
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    limit = 1 if len(word) < 9 else 2
    hits = process.extract(word, lexicon.words, scorer=OSA.distance, score_cutoff=limit, limit=8)
    near = [(int(distance), w) for w, distance, _ in hits if _plausible(word, w, int(distance))]
    near = [(distance, w) for distance, w in near if not lexicon.grave(w) or _surely(word, w, distance)]
    if not near:
        return ()
    best = min((distance, _slip(word, w)) for distance, w in near)
    return tuple(w for distance, w in near if (distance, _slip(word, w)) == best)[:3]


def _slip(word: str, meant: str) -> int:
    """Rank of a slip: a letter left out or swapped (0), one too many or a wrong vowel (1), another (2)."""
    if len(word) != len(meant):
        return 0 if len(word) < len(meant) else 1
    if sorted(word) == sorted(meant):
        return 0
    wrong = {letter for pair in zip(word, meant, strict=True) if pair[0] != pair[1] for letter in pair}
    return 1 if wrong <= set("aeiouy") else 2


def _surely(word: str, meant: str, distance: int) -> bool:
    """Whether a slip is slight enough to tell a metal, a chemical or a danger: a common word is none.

    Nothing shorter than five letters; a letter left out or swapped, in longer words one too many or a wrong
    vowel; any other slip only in long words.
    """
    if len(word) < 5:
        return False
    slip = _slip(word, meant)
    return slip == 0 or (slip == 1 and len(word) >= 6) or (distance == 1 and len(word) >= 9)


def _plausible(word: str, meant: str, distance: int) -> bool:
    if len(meant) < 4 or distance >= len(meant) - 2 or (len(word) == 3 and not set(word) <= set(meant)):
        return False
    if word[0] != meant[0] and not (len(word) >= 6 and distance == 1) and sorted(word) != sorted(meant):
        return False
    # A lone final s or d is another form of a word, not a slip; stems already join those.
    return not (len(word) == 4 and len(meant) != 4 and sorted(word) != sorted(meant) and distance > 1)
