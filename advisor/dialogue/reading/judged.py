"""Figures that the line itself calls right: "8 %, pH 9.1, both in range", "6 % and pH 9.0, all normal"."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue.reading.measured import Reading
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact

_BANDS = {"concentration": "concentration_band", "titration": "concentration_band", "ph": "ph_band"}
#: What calls figures right; longest first, read without filler words.
_RIGHT = tuple(
    tuple(words.split())
    for words in (
        "as they should be", "where they should be", "where they belong", "as they should", "in the window",
        "as it should be", "where it should be", "within the window", "in the range", "within the limits",
        "inside the window", "our normal", "in range", "within range", "in spec", "within spec", "in limits",
        "within limits", "in the green", "in order", "spot on", "normal", "fine", "right", "ok", "okay",
        "good", "correct", "alright", "im rahmen", "im bereich", "in ordnung", "im soll", "im fenster",
        "gruenen bereich", "unauffaellig", "passen", "passt", "stimmen", "stimmt", "okay so",
    )
)  # fmt: skip
_SEVERAL = frozenset({"both", "all", "everything", "they", "those", "theyre", "beide", "beides", "alles"})
_EASING = frozenset(
    {"that", "thats", "which", "is", "are", "so", "its", "and", "just", "still", "too", "also", "percent",
     "with", "factor", "by", "titration", "titrated", "sind", "ist", "das", "noch", "right", "well",
     "were", "dead", "bang", "quite", "perfectly", "für", "uns", "what", "we", "call", "damit"}
)  # fmt: skip


def called_right(
    readings: Sequence[Reading], facts: Sequence[Fact], tokens: Sequence[Token]
) -> tuple[list[Fact], set[int]]:
    """The bands that a figure's own line calls right, where no wanted strength says it, and their words.

    "Both" and "all" reach the figures of their sentence, or of the one before where they open one; else
    the words must follow the figure directly.
    """
    held = {f.id for f in facts if f.status == "present"}
    made: dict[str, Fact] = {}
    used: set[int] = set()
    for at in range(len(tokens)):
        phrase = _phrase_at(tokens, at)
        if not phrase:
            continue
        for reading in _meant(readings, tokens, at):
            band = _BANDS.get(reading.base, "")
            told = {reading.base, band, "target"} if band == "concentration_band" else {reading.base, band}
            wanted = told & held - {reading.base}
            if not band or reading.base not in held or wanted:
                continue
            said = " ".join(t.text for t in tokens[at : at + len(phrase)])
            made.setdefault(band, Fact(band, "ok", None, "present", not reading.measure.loose, said))
            used.update(range(reading.measure.last + 1, at + len(phrase)))
    return list(made.values()), used


def _phrase_at(tokens: Sequence[Token], at: int) -> tuple[str, ...]:
    """The words at a place that call something right and say nothing further."""
    words = tuple(t.norm for t in tokens[at : at + 4])
    for phrase in _RIGHT:
        if words[: len(phrase)] != phrase:
            continue
        behind = tokens[at + len(phrase)] if at + len(phrase) < len(tokens) else None
        ends = behind is None or behind.kind == "mark" or behind.norm in ("and", "und", "too", "but", "for")
        return phrase if ends else ()
    return ()


def _meant(readings: Sequence[Reading], tokens: Sequence[Token], at: int) -> list[Reading]:
    """The figures of today that stand before a place and that its words are said of."""
    now = [r for r in readings if not r.frames & {"before", "was", "target", "first_fill"}]
    before = [r for r in now if r.measure.last < at and r.base in _BANDS]
    if not before:
        return []
    between = [t for t in tokens[before[-1].measure.last + 1 : at] if t.kind not in ("mark", "unit")]
    several = any(t.norm in _SEVERAL for t in between)
    if not all(t.filler or t.norm in _EASING | _SEVERAL for t in between):
        return []
    hard = [p for p in range(before[-1].measure.last + 1, at) if tokens[p].hard]
    if not several:
        return [] if hard else before[-1:]
    start = before[-1].measure.first
    while start > 0 and not tokens[start - 1].hard:
        start -= 1
    return [r for r in before if r.measure.first >= start]
