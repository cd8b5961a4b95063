"""A line as tokens: words, numbers and marks, each with its place and the keys a phrase can match it by."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from advisor.dialogue.reading.number_words import german_number
from advisor.numerals import whole_groups
from advisor.phrasing import fold, normal

#: "We're" and "he'll" are no "were" and "hell".
_WERE = {"were": "we", "hell": "he", "shell": "she", "well": "we", "ill": "ill", "wed": "we", "id": "id"}
#: Words whose "'s" belongs to them in the lists ("its", "whats"); with any other word it is an "is" apart.
_ONE_WORD = frozenset(
    {"it", "that", "what", "there", "here", "who", "he", "she", "let", "where", "how", "when", "why"}
)
HARD = frozenset(".;!?\n")
_DRAWN = re.compile(r"([^\W\d_])\1\1")
_SUPER = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
_FRACTIONS = {"½": 0.5, "¼": 0.25, "¾": 0.75, "⅓": 1 / 3, "⅔": 2 / 3, "⅛": 0.125}
_TOKEN = re.compile(
    r"""
    (?P<power>(?:\d+(?:[.,]\d+)?\s?[x*×·]\s?)?10\s?(?:\^|\*\*)\s?-?\d{1,2}(?!\d)|10[⁰¹²³⁴⁵⁶⁷⁸⁹]+
        |(?<![\w.])1[eE]\+?\d{1,2}(?!\d))
  | (?P<ratio>\b\d{1,3}\s?:\s?\d{1,3}(?:[.,]\d)?\b)
  | (?P<fraction>\d+\s\d/\d+(?![\d/])|\d/\d{1,2}(?![\d/])|\d*\s?[½¼¾⅓⅔⅛])
  | (?P<count>[1-9]\d{0,2}(?:\.\d{3}){2,}(?![\d.,])|[1-9]\d{0,2}(?:[.\x20\xa0\u202f]\d{3})+
        (?=\s*(?i:cfu|kbe|germs|keime|bact|bakt|colon|kolon|/\s?ml)))
  | (?P<number>\d{1,3}(?:,\d{3})+(?:\.\d+)?(?![\d])|\d+[.,]\d+(?![\d])|\d+|(?<![\w.])[.]\d+)
  | (?P<word>[^\W\d_]+(?:['][^\W\d_]+)*(?:\d+(?![.,]\d)[^\W\d_]*)?)
  | (?P<unit>[°%‰](?:[^\W\d_]{1,2}\b)?)
  | (?P<mark>\.{2,}|[.,;:!?\n/+&<>=~≈()\[\]"*…–—-])
    """,
    re.VERBOSE,
)


@dataclass(slots=True)
class Token:
    """One word, number or mark.

    Attributes:
        text: as written.
        norm: lower case, umlauts spelled out, apostrophes dropped.
        start, end: place in the line.
        kind: ``word``, ``number``, ``ratio``, ``unit`` or ``mark``.
        value: the number, for numbers and number words.
        glued: no blank stands before it.
        keys: what a phrase can match it by.
        barrier: a phrase may not reach across it unless it names it ("but", "no").
        filler: may stand inside a phrase without being part of it.
        denying: a "not" or "isnt", which may stand inside a phrase and denies it.
        guessed: the spelling was corrected.
    """

    text: str
    norm: str
    start: int
    end: int
    kind: str
    value: float | None = None
    glued: bool = False
    keys: frozenset[str] = frozenset()
    filler: bool = False
    barrier: bool = False
    denying: bool = False
    guessed: str = ""
    parts: tuple[float, float] | None = None

    @property
    def hard(self) -> bool:
        """Ends a sentence."""
        return self.kind == "mark" and (self.text in HARD or self.text.startswith(".."))


def tokenize(text: str, numbers: Mapping[str, float]) -> list[Token]:
    """Cuts a line into tokens; `numbers` maps number words to values."""
    tokens: list[Token] = []
    last_end = -1
    for match in _TOKEN.finditer(text):
        kind = str(match.lastgroup)
        raw = match[0]
        glued = match.start() == last_end and bool(tokens) and tokens[-1].kind != "mark"
        last_end = match.end()
        token = Token(raw, normal(raw), match.start(), match.end(), kind, glued=glued)
        if kind == "word" and token.norm in _WERE and "'" in fold(raw):
            token.norm = _WERE[token.norm]
        if kind in ("number", "count", "power", "fraction", "ratio"):
            _valued(token, kind, raw)
        elif kind == "word":
            token.value = numbers.get(token.norm, german_number(token.norm))
        elif kind == "mark" and raw == ":":
            token.text = ":"
        tokens += _parted(token) if kind == "word" else [token]
    return tokens


def counted(ends: tuple[float | None, ...], tokens: Sequence[Token]) -> tuple[float | None, ...]:
    """The ends of a count of germs: they are counted whole, so "100.000" is a hundred thousand."""
    whole = {token.value: float(text) for token in tokens if (text := whole_groups(token.text)) != token.text}
    return tuple(whole.get(end, end) for end in ends)


def _parted(token: Token) -> list[Token]:
    """ "Pump's" as "pump" and "is"; other words as they are."""
    base = token.norm[:-1]
    if not fold(token.text).endswith("'s") or base in _ONE_WORD or len(base) < 2:
        return [token]
    cut = token.end - 2
    first = Token(token.text[:-2], base, token.start, cut, "word", glued=token.glued)
    return [first, Token(token.text[-2:], "is", cut, token.end, "word", glued=True)]


def stretched(norm: str) -> bool:
    """True for a word with a letter three times running, which no word has."""
    return _DRAWN.search(norm) is not None


def unstretched(norm: str) -> list[str]:
    """What a drawn-out word may be: each run of a letter said twice or once, the nearest first."""
    found = [""]
    for run in re.finditer(r"(.)\1*", norm):
        ways = [run[0]] if len(run[0]) == 1 else [run[1] * 2, run[1]]
        found = [head + way for head in found for way in ways][:32]
    return found


def _valued(token: Token, kind: str, raw: str) -> None:
    token.kind = "number"
    if kind == "ratio":
        left, right = re.split(r"\s?:\s?", raw)
        token.kind, token.parts = "ratio", (_float(left), _float(right))
    elif kind == "power":
        if raw[0] == "1" and raw[1] in "eE":
            token.value = 10.0 ** int(raw[2:])
            return
        body = raw.translate(_SUPER) if "^" in raw or "**" in raw else "10^" + raw[2:].translate(_SUPER)
        lead = re.match(r"(\d+(?:[.,]\d+)?)\s?[x*×·]", body)
        power = int(re.split(r"\^|\*\*", body)[1])
        token.value = (_float(lead[1]) if lead else 1.0) * 10.0**power
    elif kind == "fraction":
        token.value = _fraction(raw)
    elif kind == "count":
        token.value = float(re.sub(r"\D", "", raw))
    else:
        token.value = _float(raw)


def _fraction(raw: str) -> float:
    if raw[-1] in _FRACTIONS:
        return (float(raw[:-1]) if raw[:-1].strip() else 0.0) + _FRACTIONS[raw[-1]]
    *whole, share = raw.split()
    top, bottom = share.split("/")
    return (float(whole[0]) if whole else 0.0) + float(top) / max(float(bottom), 1.0)


def _float(text: str) -> float:
    if re.fullmatch(r"[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?", text):
        return float(text.replace(",", ""))
    return float(text.replace(",", "."))
