"""Which quantity each number is: the nearest cue word, the unit, and words for before, now and wanted."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.tokens import Token
from advisor.dialogue.reading.units import unit_index
from advisor.unit_table import BARE, UNITS

FAR = 99.0
CUE_REACH = 7.0
BARE_REACH = 6.0
FRAME_REACH = 5.0
FRAMES = ("target", "before", "was", "now", "first_fill", "down_to", "down", "left")
STYLE = 1.5
#: Marks whose words part a cue from its number no further ("the reading went up to 9.5").
_LIGHT = frozenset(
    {"change", "was", "now", "target", "doubt_before", "trend_rising", "trend_falling", "down_to"}
)
#: Last words of time marks that always stand before their number ("up from 3").
_LEADING = frozenset(
    {"from", "be", "read", "run", "sit", "to", "von", "originally", "previously", "only", "earlier"}
)
_MACHINES = frozenset({"machines", "mills", "lathes", "grinders", "sumps", "saws", "maschinen", "anlagen"})
#: Quantities whose cues are no cue inside "the day it was filled".
_FILLING = frozenset({"sump_fill", "fluid_age"})
#: Times that cannot both hold of one number.
_OPPOSITE = {"before": frozenset({"now"}), "now": frozenset({"before", "was"}), "was": frozenset({"now"})}
#: Quantities whose number may stand without a unit when a cue names them.
BARE_UNITS = frozenset(
    {"pH", "fraction", "°Bx", "1", "mg/L", "mg/L CaCO3", "µS/cm", "CFU/mL", "°C", "mg/m³", "ppm"}
)
#: Unit of a measure -> the quantity meant when no cue says otherwise.
DEFAULTS = {
    "fraction": "concentration", "°Bx": "refractometer_reading", "µS/cm": "conductivity",
    "CFU/mL": "bacteria", "mg/m³": "mist", "L/min": "pump_flow", "L/day": "daily_loss",
    "bar": "delivery_pressure", "°C": "fluid_temperature", "L": "sump_volume", "pH": "ph",
}  # fmt: skip


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


def assign(
    tokens: Sequence[Token],
    found: Sequence[Measure],
    cues: Sequence[Match],
    marks: Sequence[Match],
    lexicon: Lexicon,
) -> list[Reading]:
    """A `Reading` for each measure; those that no quantity fits keep an empty `base`."""
    readings = [Reading(m) for m in _shared_units(tokens, found)]
    framed = {p for m in marks if m.target.name in ("first_fill",) and len(m.places) > 1 for p in m.places}
    cues = [c for c in cues if c.target.name not in _FILLING or not {*c.places} <= framed]
    light = {p for m in marks if m.target.name in _LIGHT for p in m.places}
    pairs = []
    for c, cue in enumerate(cues):
        for r, reading in enumerate(readings):
            far = _distance(tokens, cue, reading.measure, readings, light)
            far += 2.0 if cue.target.name == "reading" or cue.target.general else 0.0
            between = tokens[reading.measure.last + 1 : cue.first]
            apart = cue.last < reading.measure.first or any(t.norm in ("in", "on", "at") for t in between)
            if _counted(cue, lexicon) and apart:
                continue
            limit = 1.0 if _counted(cue, lexicon) else CUE_REACH if reading.measure.unit else BARE_REACH
            if cue.target.general and not reading.measure.unit:
                continue
            if cue.target.name == "reading" and reading.measure.bare:
                limit = 3.0
            scale = cue.target.name == "refractometer_reading"
            behind = cue.first > reading.measure.last and "fraction" in fitting_units(reading.measure)
            if scale and behind and (far > 3.0 or tokens[cue.first].norm in ("straight", "off")):
                continue
            if far <= limit and _fits(reading.measure, cue.target.name, lexicon):
                pairs.append((far, -len(cue.places), c, r))
    taken: set[int] = set()
    for far, _, c, r in sorted(pairs):
        reading = readings[r]
        if c in taken or reading.base:
            continue
        reading.base, reading.distance = cues[c].target.name, far
        reading.places.update(cues[c].places)
        taken.update(i for i, cue in enumerate(cues) if not set(cue.places).isdisjoint(cues[c].places))
    _paired(readings)
    _strips(readings, cues)
    _out_of(tokens, readings)
    _ago(tokens, readings, marks)
    _frames(tokens, readings, marks)
    for reading in readings:
        named = bool(reading.measure.unit) or "target" in reading.frames
        if not reading.base and named and not _poured(tokens, reading.measure, marks):
            reading.base = _default(reading, readings, lexicon)
    _inherit(tokens, readings, lexicon)
    _unnamed_pair(readings)
    for reading in readings:
        if not reading.base and not _poured(tokens, reading.measure, marks):
            reading.base = _default(reading, readings, lexicon)
        bases = {r.base for r in readings}
        if not reading.base and reading.measure.bare and is_power(tokens, reading.measure):
            reading.base = "" if "bacteria" in bases else "bacteria"
    return readings


def _shared_units(tokens: Sequence[Token], found: Sequence[Measure]) -> list[Measure]:
    """ "5 litres of concentrate and 95 of water": the second volume shares the first one's unit."""
    made: list[Measure] = []
    for measure in found:
        after = [t.norm for t in tokens[measure.last + 1 : measure.last + 3]]
        earlier = next((m for m in reversed(made) if "L" in fitting_units(m)), None)
        if (
            measure.bare
            and after[:1] == ["of"]
            and earlier is not None
            and after[1:] in (["water"], ["concentrate"], ["neat"])
        ):
            measure = replace(measure, unit=earlier.unit)
        made.append(measure)
    return made


def _counted(cue: Match, lexicon: Lexicon) -> bool:
    return cue.target.name in lexicon.settings.get("counts", ())


def _distance(
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
        if any(r.measure.first <= at <= r.measure.last and r.measure is not measure for r in readings):
            far += 4.0
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


def _is_time(measure: Measure) -> bool:
    return bool(measure.unit) and "day" in unit_index().get(measure.unit, frozenset())


def _fits(measure: Measure, name: str, lexicon: Lexicon) -> bool:
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


def _frames(tokens: Sequence[Token], readings: Sequence[Reading], marks: Sequence[Match]) -> None:
    """Gives each frame word to the measure nearest to it.

    Where the first word of time follows a number ("6 % yesterday 9 % today"), so do the others.
    """
    times = [m.first for m in marks if m.target.name in ("before", "now")]
    numbers = [r.measure.first for r in readings if not _is_time(r.measure)]
    behind_style = bool(times and numbers) and min(numbers) < min(times)
    pairs: list[tuple[float, int, int]] = []
    framing = [m for m in marks if m.target.name in FRAMES and not _is_proposal(m, marks)]
    for at, mark in enumerate(framing):
        for r, reading in enumerate(readings):
            if reading.places and min(reading.places) < mark.first < max(reading.places):
                continue
            far = _frame_distance(tokens, mark, reading, readings, behind_style)
            if far < FRAME_REACH:
                pairs.append((far, at, r))
    given: set[int] = set()
    for _, at, r in sorted(pairs):
        mark, name = framing[at], framing[at].target.name
        if at in given or readings[r].frames & _OPPOSITE.get(name, frozenset()):
            continue
        given.add(at)
        readings[r].frames.add("down_to" if name == "left" else name)
        readings[r].places.update(mark.places)
    for reading in readings:
        if reading.measure.change:
            reading.frames.add(reading.measure.change)


def _is_proposal(mark: Match, marks: Sequence[Match]) -> bool:
    """The "soll" of "soll ich" wants nothing of a number."""
    return mark.target.name == "target" and any(
        m.target.name == "proposal" and {*mark.places} < {*m.places} for m in marks
    )


def _frame_distance(
    tokens: Sequence[Token], mark: Match, reading: Reading, readings: Sequence[Reading], behind_style: bool
) -> float:
    """How far a frame word stands from a measure; FAR when it cannot mean it."""
    name = mark.target.name
    if name != "now" and _is_time(reading.measure):
        return FAR
    far = _distance(tokens, mark, reading.measure, readings)
    behind = mark.first > reading.measure.last
    if name == "target" and any(t.text == "?" for t in tokens[mark.last : reading.measure.first]):
        return FAR
    if name in ("before", "now") and behind != behind_style and tokens[mark.last].norm not in _LEADING:
        far += STYLE
    if name == "left" and not behind:
        return FAR
    if name in ("was", "down_to", "target") and behind:
        far += 1.0 if name == "target" else FAR
    return far


def _inherit(tokens: Sequence[Token], readings: Sequence[Reading], lexicon: Lexicon) -> None:
    """A number without a cue takes the subject of its neighbour when a word compares the two."""
    for order in (range(len(readings)), range(len(readings) - 1, -1, -1)):
        previous: Reading | None = None
        for r in order:
            reading = readings[r]
            if reading.base:
                previous = reading
            elif previous is not None and (reading.frames or previous.frames & {"before", "was"}):
                units = {reading.measure.unit, previous.measure.unit}
                same = len(units) == 1 or "" in units
                comparable = (
                    bool(reading.frames & {"before", "was", "now", "target", "first_fill"}) or reading.measure.change
                )
                if "target" in reading.frames and previous.base not in ("concentration", "reading"):
                    continue
                if (
                    same
                    and comparable
                    and not _counted_base(previous.base, lexicon)
                    and _near(tokens, reading, previous)
                ):
                    measure = _with_unit(reading.measure, previous.measure)
                    if _fits(measure, previous.base, lexicon):
                        reading.base, reading.measure = previous.base, measure


def _paired(readings: Sequence[Reading]) -> None:
    """Both ends of "from 5 to 30 ppm" are the quantity of the end that stands nearer its cue."""
    for one, two in itertools.pairwise(readings):
        if (one.measure.change, two.measure.change) != ("before", "now"):
            continue
        near, far = sorted((one, two), key=lambda r: r.distance)
        if near.base and near.base != far.base:
            far.base, far.distance = near.base, near.distance
            far.places = set()


def inherited(reading: Reading, previous: Reading, lexicon: Lexicon) -> None:
    """Gives a number that only names another place ("well is 410") the quantity spoken of before it."""
    measure = _with_unit(reading.measure, previous.measure)
    if _fits(measure, previous.base, lexicon):
        reading.base, reading.measure = previous.base, measure
        reading.frames.discard("down_to")


def _strips(readings: Sequence[Reading], cues: Sequence[Match]) -> None:
    """ "The strips are old, say 8": what strips or a pH meter say is a pH."""
    if any(r.base == "ph" for r in readings) or not any(c.target.name == "ph" for c in cues):
        return
    for reading in readings:
        if reading.base == "reading" and reading.measure.bare and 3 <= reading.measure.number <= 13:
            reading.base = "ph"
            return


def _poured(tokens: Sequence[Token], measure: Measure, marks: Sequence[Match]) -> bool:
    """A volume that was put in ("topped up with 30 L premix") is not the size of the sump."""
    if "L" not in fitting_units(measure):
        return False
    window = range(max(0, measure.first - 4), measure.first)
    return any(m.target.name == "poured" and m.last in window for m in marks)


def _out_of(tokens: Sequence[Token], readings: Sequence[Reading]) -> None:
    """ "4 of the 6" counts those affected among all; people unless machines are named right behind."""
    for one, two in itertools.pairwise(readings):
        between = {t.norm for t in tokens[one.measure.last + 1 : two.measure.first]}
        if (
            not between
            or not between <= {"of", "the", "out", "our", "von", "den"}
            or "of" not in between | {"of"}
        ):
            continue
        if not (one.measure.bare and two.measure.bare and one.measure.number <= two.measure.number):
            continue
        counted = {"", "people_affected", "people_total", "machines_affected", "machines_total"}
        if one.measure.share or two.base not in counted:
            continue
        named = {t.norm for t in tokens[two.measure.last + 1 : two.measure.last + 3]}
        kind = "machines" if two.base == "machines_affected" or named & _MACHINES else "people"
        one.base, two.base = f"{kind}_affected", f"{kind}_total"


def _ago(tokens: Sequence[Token], readings: Sequence[Reading], marks: Sequence[Match]) -> None:
    """ "Put 20 litres in an hour ago": the time since something was added."""
    added = [m.first for m in marks if m.target.name == "poured"]
    for reading in readings:
        after = tokens[reading.measure.last + 1 : reading.measure.last + 2]
        if not (_is_time(reading.measure) and after and after[0].norm == "ago"):
            continue
        near = [
            p for p in added if p < reading.measure.first and not any(t.hard for t in tokens[p : reading.measure.first])
        ]
        volume = any("L" in fitting_units(r.measure) for r in readings)
        if near and volume:
            reading.base, reading.distance = "since_addition", 1.0


def depth_share(tokens: Sequence[Token], readings: Sequence[Reading]) -> tuple[Reading, float] | None:
    """How full "15 cm of fluid out of 30" is: the reading of the smaller depth, and the share."""
    for one, two in itertools.pairwise(readings):
        if "length" not in fitting_units(one.measure):
            continue
        if two.measure.unit and "length" not in fitting_units(two.measure):
            continue
        between = {t.norm for t in tokens[one.measure.last + 1 : two.measure.first]}
        joined = bool(between & {"of", "from", "von"} and between & {"out", "full", "total", "deep", "von", "gesamt"})
        if joined and 0 < one.measure.number <= two.measure.number:
            return one, one.measure.number / two.measure.number
    return None


def is_power(tokens: Sequence[Token], measure: Measure) -> bool:
    """True for 10^6, "10 hoch 5", "ten to the six": a count of germs when nothing else is named."""
    words = tokens[measure.first : measure.last + 1]
    if any("^" in t.text or "**" in t.text for t in words):
        return True
    return any(t.norm in ("hoch", "power") for t in words) or [t.norm for t in words[1:3]] == ["to", "the"]


def _unnamed_pair(readings: Sequence[Reading]) -> None:
    """ "Was 7 a month back, 5 now" with no subject at all is a strength, unless both could be a pH."""
    bare = [r for r in readings if not r.base and r.measure.bare and not r.measure.share and r.frames]
    if any(r.base and r.base not in ("fluid_age", "idle_time", "since_addition") for r in readings):
        return
    before = [r for r in bare if r.frames & {"before", "was"}]
    now = [r for r in bare if r not in before]
    if len(before) != 1 or len(now) != 1:
        return
    values = [before[0].measure.number, now[0].measure.number]
    if all(0.5 <= v <= 25 for v in values) and not all(7.0 <= v <= 10.5 for v in values):
        before[0].base = now[0].base = "concentration"


def _counted_base(base: str, lexicon: Lexicon) -> bool:
    return base in lexicon.settings.get("counts", ())


def _with_unit(measure: Measure, other: Measure) -> Measure:
    return measure if measure.unit or not other.unit else replace(measure, unit=other.unit)


def _near(tokens: Sequence[Token], one: Reading, other: Reading) -> bool:
    first, last = sorted((one.measure.first, other.measure.first))
    return sum(t.hard for t in tokens[first:last]) <= 1


def _default(reading: Reading, readings: Sequence[Reading], lexicon: Lexicon) -> str:
    """The quantity a unit means by itself; a bare number beside "was ... now" is a strength."""
    measure = reading.measure
    if measure.ratio is not None:
        return "mix_ratio"
    if measure.share:
        return "sump_fill" if "down" in reading.frames else ""
    if not measure.unit:
        bases = {r.base for r in readings}
        if (
            "target" in reading.frames
            and 7 <= measure.number <= 11
            and "ph" in bases
            and "concentration" not in bases
        ):
            return "ph"
        if "target" in reading.frames and 0.5 <= measure.number <= 25:
            return "concentration"
        return ""
    units = fitting_units(measure)
    if measure.per:
        time = UNITS["day"].get(measure.per)
        return (
            ("daily_loss" if time and time[0] >= 1 else "pump_flow")
            if "L" in unit_index()[measure.unit]
            else ""
        )
    if (
        "fraction" in units
        and "concentration" in {r.base for r in readings if not r.frames}
        and not reading.frames
    ):
        return ""
    if units == {"mg/L CaCO3"}:
        return "water_hardness"
    if "L" in units and sum(r.base in ("sump_volume",) for r in readings if "down_to" not in r.frames) > 0:
        return "sump_volume" if reading.frames else ""
    for unit, base in DEFAULTS.items():
        if unit in units:
            return base
    return ""


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
