"""Figures that go on with what an earlier sentence named: "The pH was 9.4 in spring. It's 8.6 now."

A sentence that gives only figures and times belongs to the quantity measured before it; two strengths read
at two places of one tank are its range.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from advisor.dialogue.reading.acts import sentences
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import Reading, fits, fitting_units, is_time, with_unit
from advisor.dialogue.reading.series import SERIAL
from advisor.dialogue.reading.tokens import Token

_DATED = frozenset({"before", "before_series", "was", "now", "used_to_be", "first_fill"})
#: Words that name a figure without naming what it is of.
_PLAIN = frozenset(
    {"it", "its", "is", "at", "was", "s", "now", "we", "are", "sits", "sitting", "reads", "read", "reading",
     "says", "shows", "showed", "to", "down", "up", "be", "that", "got", "on", "full", "filled", "level",
     "es", "sie", "ist", "war", "steht", "bei", "zeigt", "liegt", "jetzt", "run", "running", "runs"}
)  # fmt: skip
#: What a sentence may have spoken of for the next one to go on with the strength of the sump.
_LEADS = {"makeup_strength": "concentration", "target": "concentration", "reading": "reading"}
_STRENGTH = frozenset({"concentration", "reading", "titration", "refractometer_reading"})
_FACTOR = 4.0


def carry_on(
    tokens: Sequence[Token],
    readings: Sequence[Reading],
    cues: Sequence[Match],
    marks: Sequence[Match],
    lexicon: Lexicon,
) -> None:
    """Names the figures of a sentence that has dates but no quantity of its own by the one told before."""
    for first, last in sentences(tokens)[1:]:
        inside = [r for r in readings if first <= r.measure.first <= last and not is_time(r.measure)]
        dated = [m for m in marks if m.target.name in _DATED and first <= m.first <= last]
        if not inside or not dated or not all(_unnamed(r, tokens) for r in inside):
            continue
        named = {c.target.name for c in cues if first <= c.first <= last and not _plain(c.places, tokens)}
        if named & SERIAL - {"reading"} or any(r.base == "ph_second" for r in inside):
            continue
        earlier = [r for r in readings if r.measure.last < first and r.base in SERIAL | set(_LEADS)]
        if not earlier:
            continue
        owner, base = earlier[-1], _LEADS.get(earlier[-1].base, earlier[-1].base)
        if not all(_comparable(r, owner, base, lexicon) for r in inside):
            continue
        for reading in inside:
            reading.base, reading.distance = base, 1.0
            reading.measure = with_unit(reading.measure, owner.measure)
        now = any(m.target.name == "now" for m in dated)
        if now and len(inside) == 1 and owner.base == base and not owner.frames:
            owner.frames.add("was")


def _unnamed(reading: Reading, tokens: Sequence[Token]) -> bool:
    measure = reading.measure
    plain = measure.bare or "fraction" in fitting_units(measure)
    return plain and not measure.share and (not reading.base or _plain(tuple(reading.places), tokens))


def _plain(places: Sequence[int], tokens: Sequence[Token]) -> bool:
    return all(tokens[p].norm in _PLAIN for p in places)


def _comparable(reading: Reading, owner: Reading, base: str, lexicon: Lexicon) -> bool:
    """True where both figures can be the same quantity at two times."""
    measure = with_unit(reading.measure, owner.measure)
    if reading.measure.unit and base not in _STRENGTH:
        return False
    low, high = sorted((measure.number, owner.measure.number))
    if base == "ph":  # a whole number is as soon a strength, unless the pH told was one of before
        exact = reading.measure.number % 1 != 0 or "was" in owner.frames
        return exact and low >= 4.5 and high <= 11.5
    return low > 0 and high / low <= _FACTOR and fits(measure, base, lexicon)


_AT_ONE = frozenset(
    {"end", "side", "corner", "nozzle", "surface", "bottom", "top", "return", "middle", "front", "back",
     "other", "far", "near", "deep", "duese", "oberflaeche", "boden", "ende", "seite", "oben", "unten"}
)  # fmt: skip
_IN = frozenset({"at", "in", "on", "from", "near", "am", "an", "im", "auf"})


def spread(tokens: Sequence[Token], readings: Sequence[Reading]) -> None:
    """ "3 % at one end and 11 % at the other": one charge read at two places is not mixed; its range."""
    for one, two in itertools.pairwise(readings):
        if not all(_strength_like(r) and _placed(r, tokens) for r in (one, two)):
            continue
        between = tokens[one.measure.last + 1 : two.measure.first]
        if any(t.hard for t in between) or len(between) > 8:
            continue
        measure = with_unit(with_unit(one.measure, two.measure), one.measure)
        low, high = sorted((one.measure.number, two.measure.number))
        one.base, one.distance = "concentration", 0.0
        one.measure = replace(measure, low=low, high=high)
        two.base = "ignored"
        one.places.update(range(one.measure.last + 1, two.measure.last + 1))


def _strength_like(reading: Reading) -> bool:
    measure = reading.measure
    plain = measure.bare or "fraction" in fitting_units(measure)
    unnamed = reading.base in ("", "concentration", "reading", "titration", "tramp_oil_share")
    return plain and unnamed and not measure.share and not measure.change and measure.number <= 40


def _placed(reading: Reading, tokens: Sequence[Token]) -> bool:
    behind = [t.norm for t in tokens[reading.measure.last + 1 : reading.measure.last + 5]]
    return bool(behind and behind[0] in _IN and _AT_ONE & set(behind[1:4]))


def by_elimination(readings: Sequence[Reading], told: Sequence[str]) -> None:
    """ "Started on 9.2, down to 8.3 now" beside a strength named elsewhere can only be a pH."""
    if "ph" in told or not {"concentration", "titration"} & set(told):
        return
    unnamed = [r for r in readings if r.base in ("", "reading") and not is_time(r.measure)]
    free = [r for r in unnamed if r.measure.bare and not r.measure.share]
    moved = [r for r in free if r.frames & {"before", "was", "first_fill"} or r.measure.change]
    if len(free) == 2 and moved and all(7.5 <= r.measure.number <= 10.5 for r in free):
        for reading in free:
            reading.base, reading.distance = "ph", 1.0
