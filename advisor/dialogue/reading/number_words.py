"""Numbers in words: one German word ("einundzwanzig"), and the one of "one in twenty", "einer von sechs"."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from advisor.dialogue.reading.tokens import Token

_ONES = {
    "ein": 1, "eins": 1, "zwei": 2, "zwo": 2, "drei": 3, "vier": 4, "fuenf": 5, "sechs": 6, "sieben": 7,
    "acht": 8, "neun": 9, "zehn": 10, "elf": 11, "zwoelf": 12, "dreizehn": 13, "vierzehn": 14,
    "fuenfzehn": 15, "sechzehn": 16, "siebzehn": 17, "achtzehn": 18, "neunzehn": 19,
}  # fmt: skip
_TENS = {
    "zwanzig": 20, "dreissig": 30, "vierzig": 40, "fuenfzig": 50, "sechzig": 60, "siebzig": 70, "achtzig": 80,
    "neunzig": 90,
}  # fmt: skip


@lru_cache(maxsize=2_000)
def german_number(word: str) -> float | None:
    """The number a folded word stands for; None for any other word, and for a lone "ein"."""
    if word == "ein" or len(word) < 3:
        return None
    value = _below_million(word)
    return None if value is None else float(value)


def _below_million(word: str) -> int | None:
    for name, size in (("tausend", 1000), ("hundert", 100)):
        head, sign, tail = word.partition(name)
        if sign:
            many = _below_million(head) if head else 1
            rest = _below_million(tail.removeprefix("und")) if tail else 0
            return None if many is None or rest is None else many * size + rest
    if word in _ONES or word in _TENS:
        return _ONES.get(word, _TENS.get(word))
    one, sign, ten = word.partition("und")
    if sign and ten in _TENS and 0 < _ONES.get(one, 0) < 10:
        return _TENS[ten] + _ONES[one]
    return None


_PARTED = frozenset({"split", "splits", "parted", "separated", "broke", "broken", "gone", "went", "snapped"})


def no_figure(tokens: Sequence[Token], at: int) -> bool:
    """ "8 point something", "split in two", "1 in 20 chance": nothing that could be measured."""
    words = [t.norm for t in tokens[at + 1 : at + 4]]
    ahead = [t.norm for t in tokens[max(0, at - 2) : at]]
    if ahead[-1:] == ["in"] and ahead[0] in _PARTED and tokens[at].norm in ("two", "half", "2"):
        return True
    if words[:1] in (["chance"], ["chances"]) or words[2:3] == ["chance"]:
        return True
    return words[:1] in (["point"], ["komma"]) and words[1:2] in (["something"], ["odd"], ["irgendwas"])


def over_and_over(tokens: Sequence[Token], at: int) -> bool:
    """ "Steady at 7 week in week out": the week is no unit of the 7."""
    words = [t.norm for t in tokens[at : at + 4]]
    return len(words) == 4 and words[1::2] == ["in", "out"] and words[0] == words[2]


def is_one_of(tokens: Sequence[Token], at: int) -> bool:
    """The one of "one of the four", "einer von sechs", "one to thirty", "one part in fifteen"."""
    if tokens[at].norm not in ("one", "einer", "eine", "eins", "ein", "eines", "1"):
        return False
    words = tokens[at + 1 : at + 6]
    words = words[1:] if words and words[0].norm in ("part", "teil") else words
    joint = words[0].norm if words else ""
    ends = words[1:2] if joint in ("to", "in", "zu", "auf") else words[1:4]
    if joint not in ("of", "von", "out", "to", "in", "zu", "auf"):
        return False
    if tokens[at].kind == "number" and words == tokens[at + 1 : at + 6]:
        return False
    return any(t.value is not None and t.value >= 3 and t.kind in ("word", "number") for t in ends)
