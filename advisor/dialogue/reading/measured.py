"""A measure with the quantity it was found to be: what its unit can be, how far a word stands, its value."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.tokens import Token
from advisor.dialogue.reading.units import unit_index
from advisor.unit_table import BARE, UNITS

FAR = 99.0

BARE_REACH = 6.0

#: Quantities whose number may stand without a unit when a cue names them.
BARE_UNITS = frozenset(
    {"pH", "fraction", "°Bx", "1", "mg/L", "mg/L CaCO3", "µS/cm", "CFU/mL", "°C", "mg/m³", "ppm"}
)


@dataclass
class Reading:
    """A measure with the quantity it was found to be.

    Attributes:
        measure: the number.
        base: quantity before frames, such as ``ph``; "" when nothing fits.
        frames: ``target``, ``before``, ``was``, ``now``... that stand by it.
        places: tokens of the cue and the frames, used up by it.
        distance: how far the cue stood.
    """

    measure: Measure
    base: str = ""
    frames: set[str] = field(default_factory=set)
    places: set[int] = field(default_factory=set)
    distance: float = FAR


def distance_between(
    tokens: Sequence[Token],
    cue: Match,
    measure: Measure,
    readings: Sequence[Reading],
    light: Collection[int] = (),
) -> float:
    """Words between a cue and a measure; commas count double, the end of a sentence parts them."""
    if cue.last < measure.first:
        between, far = range(cue.last + 1, measure.first), 0.0
    elif measure.last < cue.first:
        between, far = range(measure.last + 1, cue.first), 0.4
    else:
        return FAR if {*cue.places} <= {*range(measure.first, measure.last + 1)} else -0.5
    for at in between:
        token = tokens[at]
        if token.hard and not (token.text == "?" and cue.last < measure.first):
            return FAR
        other = next((r.measure for r in readings if r.measure.first <= at <= r.measure.last), measure)
        if other is not measure:
            # "The pH is since three weeks down to 8": a time between parts less than another number.
            far += 0.5 if is_time(other) and not is_time(measure) else 4.0
            continue
        if token.text == ",":
            far += 3.0 if cue.last < measure.first or measure.unit else 2 * BARE_REACH
        elif token.norm in ("and", "but", "und", "aber", "with"):
            # What follows an "and" belongs to the next number, not to the one before it.
            far += 1.5 if cue.last < measure.first else BARE_REACH
        elif token.kind != "mark" and not token.filler and at not in light:
            far += 1.0
    return far


def fitting_units(measure: Measure) -> frozenset[str]:
    """Canonical units the measure's unit can be; empty for a bare number."""
    if measure.ratio is not None:
        return frozenset({"ratio"})
    if not measure.unit:
        return frozenset()
    units = unit_index().get(measure.unit, frozenset())
    if measure.per:
        return frozenset({"L/day", "L/min"}) if "L" in units else frozenset()
    return units


def is_time(measure: Measure) -> bool:
    return bool(measure.unit) and "day" in unit_index().get(measure.unit, frozenset())


def fits(measure: Measure, name: str, lexicon: Lexicon) -> bool:
    if name == "ignored":
        return not {"L", "day"}.isdisjoint(fitting_units(measure))
    name = "concentration" if name == "reading" else name
    if name not in lexicon.observables:
        return False
    unit = lexicon.observables[name].unit or "1"
    if measure.ratio is not None:
        return name == "mix_ratio"
    units = fitting_units(measure)
    if not measure.unit:
        if measure.share:
            return name in ("sump_fill", "pump_min_level")
        return unit in BARE_UNITS and _plausible(measure.number, unit, name, measure)
    if name == "alkalinity" and "L" in units:
        return True
    if name == "refractometer_factor" or (measure.unit == "f" and unit == "mg/L CaCO3"):
        return False
    if unit == "day" and "min" in units and UNITS["day"][measure.unit][0] < 1 / 25:
        return False
    return unit in units


def _plausible(number: float, unit: str, name: str, measure: Measure) -> bool:
    if unit == "fraction":
        return 0 < number <= 100
    if unit == "pH":
        return 0 < number <= 14
    if unit == "°Bx":
        return 0 <= number <= 60
    if name == "refractometer_factor":
        return 0.3 <= number <= 6
    if unit == "CFU/mL":
        return number >= 10
    if name.startswith(("people", "machines")):
        return number == int(number) and 0 < number < 500 and measure.low == measure.high
    return True


def with_unit(measure: Measure, other: Measure) -> Measure:
    """The measure with the unit of another; a plain share ("two thirds") keeps having none."""
    return measure if measure.unit or measure.share or not other.unit else replace(measure, unit=other.unit)


def to_unit(measure: Measure, number: float, unit: str, gallon: str | None) -> tuple[float, bool]:
    """A measure's number in the canonical `unit`, and whether the shop's gallon had to be assumed."""
    if not measure.unit or (unit == "1" and measure.unit not in UNITS["1"]):
        if unit == "fraction" and not measure.share and not (number < 0.3 and not measure.whole):
            return number / 100.0, False
        return number, False
    key, assumed = measure.unit, False
    if key in BARE:
        us, imperial = BARE[key]
        key = imperial if gallon == "imperial" else us
        assumed = gallon is None and us != imperial
    if measure.per and unit in ("L/day", "L/min"):
        time = UNITS["day" if unit == "L/day" else "min"][measure.per][0]
        return number * UNITS["L"][key][0] / time, assumed
    scale, offset = UNITS[unit][key]
    return number * scale + offset, assumed


def inherited(reading: Reading, previous: Reading, lexicon: Lexicon) -> None:
    """Gives a number that only names another place ("well is 410") the quantity spoken of before it."""
    measure = with_unit(reading.measure, previous.measure)
    if fits(measure, previous.base, lexicon):
        reading.base, reading.measure = previous.base, measure
        reading.frames.discard("down_to")
