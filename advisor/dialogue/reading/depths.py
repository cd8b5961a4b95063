"""How full a tank is, told as depths: the depth now and the depth when full, in any order and unit.

Read only where that was asked, so that two plain numbers can be taken for depths as well.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.dialogue.reading.lexicon import Lexicon
from advisor.dialogue.reading.measured import fitting_units
from advisor.dialogue.reading.numbers import Measure, measures
from advisor.dialogue.reading.tokens import Token

#: Millimetres in one of each unit; a number with no unit has that of the other depth.
_MM = {"mm": 1.0, "cm": 10.0, "metres": 1000.0, "meters": 1000.0, "inch": 25.4, "inches": 25.4, "in": 25.4,
       "zoll": 25.4, "ft": 304.8, "foot": 304.8, "feet": 304.8}  # fmt: skip
_WRITTEN = re.compile(
    r"\s?(\"|”|″|''|'|′|in(?![a-z])(?!\s+(?:the|it|there|a|my|our|tank|sump)\b))", re.IGNORECASE
)
_FEET = frozenset({"'", "′"})
_FULL = frozenset(
    {"full", "brim", "brimful", "mark", "max", "maximum", "top", "total", "capacity", "line", "voll", "marke",
     "rand", "gesamt", "normally", "usually", "supposed", "should"}
)  # fmt: skip
_NOW = frozenset({"now", "currently", "current", "present", "today", "left", "jetzt", "aktuell", "moment"})
_DEEP = frozenset({"depth", "deep", "dip", "dipped", "dipstick", "tief", "tiefe"})
_WHOLE = frozenset({"of", "out", "von"})
_PARTS = frozenset({",", ";", ".", "/", "and", "und", "but", "-", "–"})
_AROUND = frozenset(
    {"is", "its", "it", "s", "at", "the", "when", "a", "to", "from", "in", "was", "be", "would", "level",
     "tank", "sump", "about", "around", "roughly", "stands", "reads", "measured", "pump", "stopped",
     "off", "stick", "say", "then", "i", "get", "got", "that", "thats", "wenn", "bei", "ist", "es",
     "fluid", "down"}
)  # fmt: skip
_ASIDE = _FULL | _NOW | _DEEP | _WHOLE | _PARTS | _AROUND
#: What stands behind a depth that is missing to the mark: "2 inches below", "3 cm from the top".
_SHORT_OF = re.compile(
    r"\s*(?:is |are )?(?:below|beneath|under|low\b|short|down(?! to)|to go|missing|unter|zu wenig|"
    r"(?:off|from) (?:the )?(?:top|mark|brim|full|line))",
    re.IGNORECASE,
)
_PLAIN = re.compile(r"\d+(?:[.,]\d+)?")
#: A depth now so many times the full one is above the mark; more is a slip of the pen (practice, no source).
_MOST = 1.5


@dataclass(frozen=True, slots=True)
class Depth:
    """One depth of a line: its number, mm in its unit (None when it has none), and where it stands."""

    measure: Measure
    mm: float | None
    start: int
    end: int
    short_of: bool = False


@dataclass(frozen=True, slots=True)
class Told:
    """What a line says of depths.

    Attributes:
        share: how full, 0 to 1.5; None when it takes another depth to tell, or they cannot be.
        places: the tokens it used.
        said: the words.
        lone: the one depth of the line, in its words; full: whether that is the depth when full.
        wrong: the depths now and when full that cannot be, as said; more than two of them, and "".
    """

    share: float | None
    places: frozenset[int]
    said: str
    loose: bool = False
    lone: str = ""
    full: bool = False
    wrong: tuple[str, str] | None = None


def told_depths(tokens: Sequence[Token], found: Sequence[Measure], text: str) -> Told | None:
    """The depths of a line that answers how full it is; None when it speaks of none."""
    depths = _joined([_depth(m, tokens, text) for m in found if _may_be(m, tokens)], tokens)
    with_unit = [d for d in depths if d.mm is not None]
    plain = len(depths) == len(found) and _says_nothing_else(tokens, depths)
    if len(with_unit) == 1 and len(depths) > 1 and not plain:
        beside = [d for d in depths if d is with_unit[0] or _has_role(d, depths, tokens)]
        depths = beside if len(beside) == 2 else with_unit
    elif len(with_unit) >= 2:
        depths = depths if plain else with_unit
    elif not with_unit and not plain:
        return None
    if len(depths) == 2:
        return _of_two(depths[0], depths[1], tokens, text)
    if len(depths) > 2:
        said = text[depths[0].start : depths[-1].end]
        return Told(None, _places(tokens, *depths), said, wrong=(said, ""))
    if len(depths) == 1 and (depths[0].mm is not None or _is_bare_depth(tokens)):
        return _of_one(depths[0], tokens, text)
    return None


def lone_depth(text: str, lexicon: Lexicon) -> Told | None:
    """The one depth a line tells, which takes another to say how full it is; None for any other line."""
    tokens = lexicon.tokens(text)
    told = told_depths(tokens, measures(tokens, lexicon.find(tokens, ("marks",)), set()), text)
    return told if told is not None and told.lone else None


def both_depths(first: Told, text: str, lexicon: Lexicon) -> str | None:
    """One line of a depth told before and the one told now, or a plain number; None for any other line."""
    said = text.strip(" .!")
    if lone_depth(said, lexicon) is None and not _PLAIN.fullmatch(said):
        return None
    known = {t.norm for t in lexicon.tokens(said)} & (_FULL | _NOW)
    if first.full:
        return f"full is {first.lone}, {said}{'' if known else ' now'}"
    return f"{first.lone}, {said}{'' if known else ' when full'}"


def _may_be(measure: Measure, tokens: Sequence[Token]) -> bool:
    """A length, or a plain number; "half", 3/4 and 70 % are shares already."""
    if (
        measure.ratio is not None
        or measure.share
        or (measure.unit and "length" not in fitting_units(measure))
    ):
        return False
    return measure.low is not None and measure.high is not None and measure.number > 0


def _depth(measure: Measure, tokens: Sequence[Token], text: str) -> Depth:
    start, end = tokens[measure.first].start, tokens[measure.last].end
    mm = _MM.get(measure.unit) if measure.unit else None
    if not measure.unit:
        written = _WRITTEN.match(text, end)
        if written:
            mm, end = (304.8 if written[1] in _FEET else 25.4), written.end()
    return Depth(measure, mm, start, end, bool(_SHORT_OF.match(text, end)) and mm is not None)


def _joined(depths: list[Depth], tokens: Sequence[Token]) -> list[Depth]:
    """Feet and inches that stand together are one depth: 1 ft 6 in."""
    made: list[Depth] = []
    for depth in depths:
        before = made[-1] if made else None
        if (
            before is not None
            and before.mm == 304.8
            and depth.mm == 25.4
            and not _between(before, depth, tokens)
        ):
            inches = before.measure.number * 12 + depth.measure.number
            one = Measure(inches, inches, before.measure.first, depth.measure.last)
            made[-1] = Depth(one, 25.4, before.start, depth.end, depth.short_of)
        else:
            made.append(depth)
    return made


def _between(one: Depth | None, two: Depth | None, tokens: Sequence[Token]) -> list[str]:
    """Words and marks between two depths, or before the first and behind the last."""
    start = one.end if one else 0
    end = two.start if two else float("inf")
    return [t.norm if t.kind == "word" else t.text for t in tokens if t.start >= start and t.end <= end]


def _says_nothing_else(tokens: Sequence[Token], depths: Sequence[Depth]) -> bool:
    inside = [any(d.start <= t.start < d.end for d in depths) for t in tokens]
    return all(
        held or t.filler or t.kind == "mark" or t.norm in _ASIDE or _SHORT_OF.match(t.text)
        for t, held in zip(tokens, inside, strict=True)
    )


def _is_bare_depth(tokens: Sequence[Token]) -> bool:
    """ "Depth 8", "full is 14": a number without a unit that is no per cent."""
    words = [t.norm for t in tokens]
    when = any(a in ("when", "wenn") and b in _FULL for a, b in itertools.pairwise(words))
    return bool({*words} & _DEEP) or when or words[:2] in (["full", "is"], ["mark", "is"])


def _has_role(depth: Depth, depths: Sequence[Depth], tokens: Sequence[Token]) -> bool:
    """Whether the words beside a plain number say that it is a depth: "of 40", "full is 14", "8 now"."""
    at = depths.index(depth)
    ahead = _between(depths[at - 1] if at else None, depth, tokens)[-3:]
    behind = _between(depth, depths[at + 1] if at + 1 < len(depths) else None, tokens)[:2]
    return bool({*ahead} & (_FULL | _NOW | _DEEP | _WHOLE) or {*behind} & (_FULL | _NOW | _DEEP))


def _roles(one: Depth, two: Depth, tokens: Sequence[Token]) -> tuple[set[str], set[str]]:
    """Words that speak of each of two depths; of those between them the comma says whose they are."""
    between = _between(one, two, tokens)
    cut = next((i for i, word in enumerate(between) if word in _PARTS), None)
    ahead, behind = {*_between(None, one, tokens)}, {*_between(two, None, tokens)}
    if cut is None:
        return ahead, behind
    return ahead | {*between[:cut]}, behind | {*between[cut:]}


def _of_two(one: Depth, two: Depth, tokens: Sequence[Token], text: str) -> Told:
    unit = one.mm or two.mm or 1.0
    sizes = [d.measure.number * (d.mm or unit) for d in (one, two)]
    said = text[one.start : two.end]
    places = _places(tokens, one, two)
    loose = one.measure.loose or two.measure.loose or any(d.measure.low != d.measure.high for d in (one, two))
    left, right = _roles(one, two, tokens)
    if one.short_of != two.short_of:
        gap, other = sizes if one.short_of else sizes[::-1]
        is_now = bool((right if one.short_of else left) & _NOW)
        full, now = (other + gap, other) if is_now else (other, other - gap)
    else:
        first = bool(left & _FULL or right & _NOW)
        second = bool(right & _FULL or left & _NOW)
        full, now = max(sizes), min(sizes)
        if first != second:
            full, now = sizes if first else sizes[::-1]
    share = now / full
    if 0 <= share <= _MOST:
        return Told(share, places, said, loose)
    pair = (text[one.start : one.end], text[two.start : two.end])
    return Told(None, places, said, wrong=pair if sizes[0] == now else pair[::-1])


def _of_one(depth: Depth, tokens: Sequence[Token], text: str) -> Told:
    words = {*_between(None, depth, tokens)[-4:], *_between(depth, None, tokens)[:3]}
    end = depth.end
    full = bool(words & _FULL) and not words & _NOW and not depth.short_of
    if depth.short_of:
        found = _SHORT_OF.match(text, end)
        end = found.end() if found else end
    said = text[depth.start : end]
    return Told(None, _places(tokens, depth), said, lone=said, full=full)


def _places(tokens: Sequence[Token], *depths: Depth) -> frozenset[int]:
    """The numbers with their units, and the words beside them that say which depth each is."""
    held = {i for i, t in enumerate(tokens) for d in depths if d.start <= t.start < d.end}
    near = {i for i, t in enumerate(tokens) if t.norm in _FULL | _NOW | _DEEP | _WHOLE | {"level"}}
    return frozenset(held | near)
