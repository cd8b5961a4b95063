"""Which quantity each number is: the nearest cue word, the unit, and words for before, now and wanted."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from advisor.dialogue.reading.aimed import aim_pairs
from advisor.dialogue.reading.clauses import Clauses
from advisor.dialogue.reading.counts import (
    count_out_of,
    is_poured,
    is_power,
    jug_of,
    per_day,
    points,
    time_since_added,
    time_since_done,
    times_factor,
)
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import (
    BARE_REACH,
    Reading,
    distance_between,
    fits,
    fitting_units,
    is_time,
)
from advisor.dialogue.reading.methods import by_method, drop_counted_words
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.sequel import by_elimination, carry_on, spread
from advisor.dialogue.reading.series import SERIAL, frame_series, name_series, sole_quantity
from advisor.dialogue.reading.times import give_frames, inherit, join_pairs, name_pair, undated
from advisor.dialogue.reading.tokens import Token
from advisor.dialogue.reading.units import unit_index
from advisor.dialogue.reading.whose import drop_air
from advisor.unit_table import UNITS

CUE_REACH = 7.0

#: Marks whose words part a cue from its number no further ("the reading went up to 9.5").
_LIGHT = frozenset(
    {"change", "was", "now", "target", "doubt_before", "trend_rising", "trend_falling", "down_to"}
)

#: Quantities whose cues are no cue inside "the day it was filled".
_FILLING = frozenset({"sump_fill", "fluid_age"})

#: Words for what a pH is read with, and for what shows that another thing is measured.
_PH_TOOLS = frozenset(
    {
        "paper",
        "stick",
        "streifen",
        "staebchen",
        "meter",
        "strip",
        "strips",
        "electrode",
        "messstreifen",
        "teststreifen",
        "messgeraet",
    }
)
_METERS = frozenset({"meter", "probe", "electrode", "messgeraet", "elektrode", "sonde"})
_STRIPS = frozenset({"strip", "strips", "paper", "streifen", "teststreifen", "messstreifen", "staebchen"})
_OTHER_TOOLS = frozenset(
    {"refractometer", "brix", "refraktometer", "percent", "%", "strength", "concentration", "tds", "gas",
     "oxygen", "mist", "nitrite", "nitrit", "hardness", "chloride", "flow", "conductivity"}
)  # fmt: skip

_SLIDES = ("slide", "dip", "incub", "cultur", "bebr", "eintauch", "keim", "abklatsch", "count", "bug", "bact")
_GERMS = frozenset({"bacteria", "fungi", "water_bacteria", "reading"})
_COMPARING = frozenset(
    {"as", "longer", "more", "a", "per", "this", "that", "in", "better", "worse", "faster", "the"}
)
_VERBS = frozenset(
    {"sit", "sits", "sitting", "sat", "at", "s", "is", "its", "was", "down", "up", "to", "run", "runs",
     "running", "hovers", "around", "about", "now", "read", "reads", "it", "stands", "hangs", "still"}
)  # fmt: skip
_SPEAKERS = frozenset({"i", "we", "they", "he", "she", "ich", "wir"})
_DRUMS = frozenset({"drum", "drums", "barrel", "ibc", "keg", "fass"})
_COMPARED = frozenset({"the", "a", "as", "more", "what", "that", "per", "daily", "in", "over", "its", "our"})

#: Unit of a measure -> the quantity meant when no cue says otherwise.
DEFAULTS = {
    "fraction": "concentration", "°Bx": "refractometer_reading", "µS/cm": "conductivity",
    "CFU/mL": "bacteria", "mg/m³": "mist", "L/min": "pump_flow", "L/day": "daily_loss",
    "bar": "delivery_pressure", "°C": "fluid_temperature", "L": "sump_volume", "pH": "ph",
}  # fmt: skip


def assign(
    tokens: Sequence[Token],
    found: Sequence[Measure],
    cues: Sequence[Match],
    marks: Sequence[Match],
    lexicon: Lexicon,
) -> list[Reading]:
    """A `Reading` for each measure; those that no quantity fits keep an empty `base`."""
    readings = [Reading(m) for m in _shared_units(tokens, found)]
    drop_air(readings, Clauses(tokens, marks))
    framed = {p for m in marks if m.target.name in ("first_fill",) and len(m.places) > 1 for p in m.places}
    cues = [c for c in cues if c.target.name not in _FILLING or not {*c.places} <= framed]
    aim_pairs(tokens, readings, cues)
    _give_cues(readings, cues, _cue_pairs(tokens, readings, cues, marks, lexicon))
    by_method(tokens, readings, cues)
    drop_counted_words(tokens, readings)
    times_factor(tokens, readings)
    points(tokens, readings)
    jug_of(tokens, readings, marks)
    join_pairs(readings)
    _strips(tokens, readings, cues)
    count_out_of(tokens, readings)
    per_day(tokens, readings, cues)
    time_since_added(tokens, readings, marks)
    time_since_done(tokens, readings, cues)
    name_series(tokens, readings, cues, marks, lexicon)
    marks = undated(marks)
    spread(tokens, readings)
    carry_on(tokens, readings, cues, marks, lexicon)
    settled = frame_series(tokens, readings, marks, lexicon)
    give_frames(tokens, readings, [m for m in marks if m.first not in settled])
    for reading in readings:
        named = bool(reading.measure.unit) or "target" in reading.frames
        if not reading.base and named and not is_poured(tokens, reading.measure, marks):
            reading.base = _default(reading, readings, lexicon, tokens)
    by_elimination(readings, [r.base for r in readings])
    inherit(tokens, readings, lexicon)
    sole_quantity(readings, cues, lexicon)
    name_pair(readings)
    for reading in readings:
        if not reading.base and not is_poured(tokens, reading.measure, marks):
            reading.base = _default(reading, readings, lexicon, tokens)
        bases = {r.base for r in readings}
        if not reading.base and reading.measure.bare and is_power(tokens, reading.measure):
            reading.base = "" if "bacteria" in bases else "bacteria"
    drop_counted_words(tokens, readings)
    return readings


def _cue_pairs(
    tokens: Sequence[Token],
    readings: Sequence[Reading],
    cues: Sequence[Match],
    marks: Sequence[Match],
    lexicon: Lexicon,
) -> list[tuple[float, int, int, int]]:
    """How far each cue stands from each reading it could name: distance, places, cue, reading."""
    named = {
        c.target.name for c in cues if c.target.name in SERIAL - {"reading"} and not _verbs_only(c, tokens)
    }
    light = {p for m in marks if m.target.name in _LIGHT for p in m.places}
    pairs = []
    for c, cue in enumerate(cues):
        if named - {cue.target.name} and _verbs_only(cue, tokens):
            continue  # "the ph sits at 9": the verb alone names no strength
        for r, reading in enumerate(readings):
            far = distance_between(tokens, cue, reading.measure, readings, light)
            if cue.target.name == "slide_hours" and not any(t.norm.startswith(_SLIDES) for t in tokens):
                continue
            if is_power(tokens, reading.measure) and cue.target.name not in _GERMS:
                continue
            vague = cue.target.name == "reading" or (cue.target.general and cue.target.name != "ignored")
            far += 2.0 if vague else 0.0
            between = tokens[reading.measure.last + 1 : cue.first]
            apart = cue.last < reading.measure.first or any(t.norm in ("in", "on", "at") for t in between)
            if (_counted(cue, lexicon) and apart) or _means_another(tokens, cue, reading):
                continue
            limit = 1.0 if _counted(cue, lexicon) else CUE_REACH if reading.measure.unit else BARE_REACH
            if cue.target.general and not reading.measure.unit:
                continue
            if cue.target.name == "reading" and reading.measure.bare:
                limit = 3.0
            if cue.target.name == "refractometer_factor" and tokens[cue.last].norm == "times":
                behind_it = tokens[cue.last + 1].norm if cue.last + 1 < len(tokens) else ""
                if behind_it in _COMPARING:
                    continue  # "three times as long", "twice a week"
            scale = cue.target.name == "refractometer_reading"
            behind = cue.first > reading.measure.last and "fraction" in fitting_units(reading.measure)
            if scale and behind and (far > 3.0 or tokens[cue.first].norm in ("straight", "off")):
                continue
            if far <= limit and fits(reading.measure, cue.target.name, lexicon):
                pairs.append((far, -len(cue.places), c, r))
    return sorted(pairs)


def _verbs_only(cue: Match, tokens: Sequence[Token]) -> bool:
    """True for a cue of a strength that names none: "sits at", "is at"."""
    return cue.target.name == "concentration" and all(tokens[p].norm in _VERBS for p in cue.places)


def _means_another(tokens: Sequence[Token], cue: Match, reading: Reading) -> bool:
    """Whether a cue that stands near cannot mean this number.

    "The tank's full, 8 %": how full it is ends at the comma, and is told as a share or a per cent. A drum
    that is "a third full" is not the sump; "three times the dose" is no factor.
    """
    measure = reading.measure
    if cue.target.name == "tramp_oil_share" and cue.last < measure.first:
        # "Streaks of oil lying about and I get 3 %": the second clause has its own speaker.
        words = [t.norm for t in tokens[cue.last + 1 : measure.first]]
        return any(a in ("and", "und") and b in _SPEAKERS for a, b in itertools.pairwise(words))
    if cue.target.name == "sump_volume" and cue.first > measure.last and cue.first:
        return tokens[cue.first - 1].norm in ("from", "von", "aus")  # "20 L over from mill 1"
    if cue.target.name == "sump_fill":
        between = tokens[cue.last + 1 : measure.first]
        parted = any(t.kind == "mark" and t.text in (",", "(") for t in between)
        before = {t.norm for t in tokens[max(0, measure.first - 4) : measure.first]}
        return parted or bool(before & _DRUMS) or (measure.bare and not measure.share and measure.number > 1)
    if cue.target.name == "refractometer_reading" and measure.last < cue.first and measure.first > 1:
        whole, among = tokens[measure.first - 2], tokens[measure.first - 1]
        return whole.value is not None and among.norm in ("of", "von") and measure.bare
    if cue.target.name == "refractometer_factor" and measure.last < cue.first:
        behind = tokens[cue.last + 1].norm if cue.last + 1 < len(tokens) else ""
        return tokens[cue.first].norm == "times" and behind in _COMPARED
    return False


def _give_cues(
    readings: Sequence[Reading], cues: Sequence[Match], pairs: Sequence[tuple[float, int, int, int]]
) -> None:
    """The nearest cue names a reading, and a cue names one only."""
    taken: set[int] = set()
    for far, _, c, r in pairs:
        reading = readings[r]
        if c in taken or reading.base:
            continue
        reading.base, reading.distance = cues[c].target.name, far
        reading.places.update(cues[c].places)
        taken.update(i for i, cue in enumerate(cues) if not set(cue.places).isdisjoint(cues[c].places))
    scales = [c for c in cues if c.target.name == "refractometer_reading"]
    for reading in readings:
        # "The refractometer ..., it says 11": the instrument named before is what says it.
        named = any(c.last < reading.measure.first for c in scales)
        if reading.base == "reading" and reading.measure.bare and named and reading.measure.number <= 60:
            reading.base = "refractometer_reading"


def _shared_units(tokens: Sequence[Token], found: Sequence[Measure]) -> list[Measure]:
    """ "5 litres of concentrate and 95 of water": the second volume shares the first one's unit."""
    made: list[Measure] = []
    for measure in found:
        after = [t.norm for t in tokens[measure.last + 1 : measure.last + 3]]
        earlier = next((m for m in reversed(made) if "L" in fitting_units(m)), None)
        before = tokens[measure.first - 1].norm if measure.first else ""
        amount = after[:1] == ["of"] and after[1:] in (["water"], ["concentrate"], ["neat"])
        amount = amount or after[:1] in (["water"], ["concentrate"], ["neat"])
        # "Down to 30 gal from 45 when full"
        whole = after == ["when", "full"] or (before == "from" and after[:1] == ["full"])
        if measure.bare and earlier is not None and (amount or whole):
            measure = replace(measure, unit=earlier.unit)
        made.append(measure)
    return made


def _counted(cue: Match, lexicon: Lexicon) -> bool:
    return cue.target.name in lexicon.settings.get("counts", ())


def _strips(tokens: Sequence[Token], readings: Sequence[Reading], cues: Sequence[Match]) -> None:
    """ "The strips are old, say 8": what strips or a pH meter say is a pH."""
    named = any(c.target.name == "ph" for c in cues)
    said = {t.norm for t in tokens}
    if _by_two_tools(tokens, readings) or any(r.base == "ph" for r in readings):
        return
    free = [r for r in readings if r.base in ("", "reading") and r.measure.bare and not r.measure.share]
    if not named and said & _PH_TOOLS and said.isdisjoint(_OTHER_TOOLS):
        if "filter" in said:
            return
        for reading in free:
            if 7.5 <= reading.measure.number <= 10.5:
                reading.base = "ph"
        return
    for reading in free:
        if named and reading.base == "reading" and 3 <= reading.measure.number <= 13:
            reading.base = "ph"
            return


#: Quantities that a number without a unit can be wanted of as a strength.
AIMED = frozenset(
    {"", "concentration", "refractometer_reading", "titration", "reading", "ph", "target", "mix_ratio"}
)


def _by_two_tools(tokens: Sequence[Token], readings: Sequence[Reading]) -> bool:
    """ "Meter says 8.9 and the strip 8.5": a second way of reading gives a second pH."""
    free = [r for r in readings if r.base in ("", "reading", "ph") and r.measure.bare and not r.measure.share]
    by_tool: dict[str, Reading] = {}
    start = 0
    for reading in free:
        opens = max((p + 1 for p in range(start, reading.measure.first) if tokens[p].hard), default=start)
        words = {t.norm for t in tokens[opens : reading.measure.first]}
        tool = "meter" if words & _METERS else "strips" if words & _STRIPS else ""
        start = reading.measure.last + 1
        if tool and 6.0 <= reading.measure.number <= 11.0:
            by_tool.setdefault(tool, reading)
    if len(by_tool) != 2:
        return False
    first, second = by_tool.values()
    first.base, second.base = "ph", "ph_second"
    first.distance = second.distance = 1.0
    return True


_HELD = frozenset(
    {"coolant", "fluid", "suds", "emulsion", "mix", "water", "it", "the", "our", "working", "premix", "stuff",
     "soluble", "synthetic", "semi", "milk", "liquid", "kss"}
)  # fmt: skip


def _of_another_kind(reading: Reading, readings: Sequence[Reading]) -> bool:
    """ "4 bar, should be 20", "six inches, usually fourteen": wanted of what was read, no strength."""
    before = [r for r in readings if r.measure.last < reading.measure.first and not is_time(r.measure)]
    before = [r for r in before if r.base != "refractometer_factor"]
    if any("length" in fitting_units(r.measure) for r in before):
        return True
    last = before[-1] if before else None
    return last is not None and last.base not in AIMED and "fraction" not in fitting_units(last.measure)


def _stands_at(reading: Reading, tokens: Sequence[Token]) -> bool:
    """ "It's at maybe a third" where the line speaks of a tank: how full it stands."""
    ahead = [t.norm for t in tokens[max(0, reading.measure.first - 4) : reading.measure.first]]
    own = {"it", "its", "tank", "sump", "level", "is"} & set(ahead) and "at" in ahead
    return bool(own) and any(t.norm in ("tank", "sump", "level", "reservoir") for t in tokens)


def _default(
    reading: Reading, readings: Sequence[Reading], lexicon: Lexicon, tokens: Sequence[Token]
) -> str:
    """The quantity a unit means by itself; a bare number beside "was ... now" is a strength."""
    measure = reading.measure
    onward = tokens[measure.last + 1].norm if measure.last + 1 < len(tokens) else ""
    if measure.ratio is not None:
        return "mix_ratio"
    if measure.share:
        return "sump_fill" if "down" in reading.frames or _stands_at(reading, tokens) else ""
    if not measure.unit:
        bases = {r.base for r in readings}
        if (
            "target" in reading.frames
            and 7 <= (measure.low or measure.number) <= 11
            and "ph" in bases
            and bases.isdisjoint({"concentration", "refractometer_reading", "titration", "reading"})
        ):
            return "ph"
        if _of_another_kind(reading, readings):
            return ""
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
    held = tokens[measure.last + 2].norm if onward == "of" and measure.last + 2 < len(tokens) else "it"
    if "L" in units and held not in _HELD:
        return ""  # "half a gallon of bleach"
    if "L" in units and onward in ("each", "jeweils", "apiece"):
        return ""  # "dosed twice, 2 l each"
    if "L" in units and sum(r.base in ("sump_volume",) for r in readings if "down_to" not in r.frames) > 0:
        return "sump_volume" if reading.frames else ""
    for unit, base in DEFAULTS.items():
        if unit in units:
            return base
    return ""
