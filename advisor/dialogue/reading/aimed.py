"""A strength with what it should be beside it: "6 % titrated on 6", "9 % (8-10)", "4 in a 3 to 5 window"."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from advisor.dialogue.reading.lexicon import Match
from advisor.dialogue.reading.measured import Reading, fitting_units
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact

#: Words for how a strength was found; they may stand between it and its target.
_TITRATED = frozenset({"titrated", "titration", "titrates", "titrating", "titriert"})
_METHOD = _TITRATED | frozenset(
    {"by", "with", "the", "factor", "factored", "multiplied", "percent", "per", "cent", "true", "real",
     "in", "included", "already", "refractometer", "right", "bang", "spot", "dead", "mit", "faktor"}
)  # fmt: skip
_JOINED = frozenset({"on", "of", "against", "for", "vs", "versus", "auf", "von", "bei", "gegen"})
_WINDOW = frozenset({"window", "range", "band", "fenster", "bereich"})
_WANTED = frozenset({"target", "wanted", "aim", "soll", "sollwert", "ziel"})
_TARGET = _WANTED | frozenset({"spec", "a", "an", "our", "which", "is"})

#: A target lies within this factor of what was found; beyond it the second number is something else.
_FACTOR = 4.0
_STRONGEST = 30.0


def aim_pairs(tokens: Sequence[Token], readings: Sequence[Reading], cues: Sequence[Match]) -> None:
    """Gives the second number of such a pair to the target, and the first to the strength it is."""
    for one, two in itertools.pairwise(readings):
        if not (_may_be_strength(one) and _may_be_strength(two)):
            continue
        between = tokens[one.measure.last + 1 : two.measure.first]
        behind = [_word(t) for t in tokens[two.measure.last + 1 : two.measure.last + 3]]
        if not _near(one, two) or not _joined(between, two, behind):
            continue
        said = {_word(t) for t in between} | set(behind[:2])
        if not (one.measure.unit or said & (_METHOD - {"in", "the", "right"}) or _named(tokens, one, cues)):
            continue
        two.base, two.distance = "concentration", 0.0
        two.frames.add("target")
        two.places.update(range(one.measure.last + 1, two.measure.first))
        two.places.update(p for p in (two.measure.last + 1,) if behind[:1] and behind[0] in _WINDOW)
        before = {_word(t) for t in tokens[max(0, one.measure.first - 3) : one.measure.first]}
        if said & _TITRATED or before & _TITRATED:
            one.base, one.distance = "titration", 0.0
        elif said & {"factor", "factored", "multiplied", "faktor"} or not one.base:
            one.base, one.distance = "concentration", 0.0


def _may_be_strength(reading: Reading) -> bool:
    measure = reading.measure
    plain = measure.bare or "fraction" in fitting_units(measure)
    return plain and not (measure.share or measure.per or measure.change) and measure.number <= _STRONGEST


def _near(one: Reading, two: Reading) -> bool:
    low, high = sorted((one.measure.number, two.measure.number))
    return low > 0 and high / low <= _FACTOR


def _joined(between: Sequence[Token], two: Reading, behind: Sequence[str]) -> bool:
    """Whether only the words that join a strength to its target stand between the two numbers."""
    words = [_word(t) for t in between if t.kind != "mark"]
    marks = {t.text for t in between if t.kind == "mark"}
    ranged = two.measure.low != two.measure.high
    if marks == {"("}:
        return ranged and behind[:1] == [")"] and set(words) <= _METHOD
    if not words or not set(words) <= _METHOD | _JOINED | _TARGET | _WINDOW:
        return False
    if marks:  # "7 percent titrated, target 7"
        return marks == {","} and words[-1] in _WANTED
    last = next((w for w in reversed(words) if w in _JOINED | {"in"} | _WINDOW | _TARGET - {"a", "an"}), "")
    if set(behind[:1]) & _WINDOW or last in _WINDOW:
        return ranged
    if last in _JOINED | _WANTED | {"spec"}:
        # "8 of 10 machines", "6 % on 3 lathes": a noun right behind counts something else.
        ends = not behind or behind[0] in _METHOD | {"and", "und", "but", "yet", "is", "so", "pH", "ph"}
        return bool(two.measure.unit) or ends or not behind[0].isalpha()
    return False


def _named(tokens: Sequence[Token], one: Reading, cues: Sequence[Match]) -> bool:
    """Whether a word for strength stands shortly before the first number."""
    reach = range(max(0, one.measure.first - 4), one.measure.first)
    named = ("concentration", "titration", "refractometer_reading", "reading")
    near = [c for c in cues if c.target.name in named and c.last in reach]
    return any(not any(t.hard for t in tokens[c.last : one.measure.first]) for c in near)


#: What says of the strength just told that it is the one wanted; read without filler words.
_AS_WANTED = tuple(
    tuple(words.split())
    for words in (
        "on target", "on the target", "as target", "the target", "our target", "same as target", "as wanted",
        "as it should be", "as should be", "like it should be", "where we want it", "where it should be",
        "what we want", "what we aim for", "just as wanted", "as the sheet says", "like the sheet says",
        "auf sollwert", "wie gewünscht", "wie es soll", "wie soll", "im soll",
    )
)  # fmt: skip
_EASING = frozenset(
    {"right", "bang", "dead", "spot", "just", "exactly", "which", "is", "and", "that", "this", "thats",
     "same", "by", "titration", "titrated", "percent", "with", "factor", ",", "still", "genau", "the"}
)  # fmt: skip
_STRENGTHS = frozenset({"concentration", "titration", "reading"})


def on_target(readings: Sequence[Reading], facts: Sequence[Fact], tokens: Sequence[Token]) -> list[Fact]:
    """ "Strength 8 on target", "titration 7, as it should be": the wanted strength is told with the strength.

    Also where the words stand before the number: "strength is on target at 6".
    """
    if any(f.id == "target" for f in facts):
        return []
    for reading in readings:
        if reading.base not in _STRENGTHS or reading.frames & {"before", "was", "target"}:
            continue
        name = "titration" if reading.base == "titration" else "concentration"
        held = next((f for f in facts if f.id == name), None)
        if held is not None and (_wanted_behind(reading, tokens) or _wanted_before(reading, tokens)):
            return [replace(held, id="target")]
    return []


def _wanted_behind(reading: Reading, tokens: Sequence[Token]) -> bool:
    at = reading.measure.last + 1
    for start in range(at, min(at + 6, len(tokens))):
        words = [_word(t) for t in tokens[start : start + 4]]
        if any(tuple(words[: len(w)]) == w for w in _AS_WANTED):
            return True
        if _word(tokens[start]) not in _EASING and tokens[start].kind != "unit":
            return False
    return False


def _wanted_before(reading: Reading, tokens: Sequence[Token]) -> bool:
    """ "On target at 6", "on target by titration at 6"."""
    at = reading.measure.first
    if not at or _word(tokens[at - 1]) not in ("at", "bei", "with", "mit"):
        return False
    words = [_word(t) for t in tokens[max(0, at - 6) : at - 1]]
    words = [w for w in words if w not in ("by", "titration", "titrated")]
    return words[-2:] == ["on", "target"] or words[-2:] in (["auf", "sollwert"], ["im", "soll"])


def _word(token: Token) -> str:
    """The word meant, where its spelling was corrected."""
    return token.guessed or token.norm
