"""Whose a figure is: of the machine next door, of the air in the shop, of a thing with an age of its own.

Such figures are left out here, so that none of them is taken for the sump's.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence
from dataclasses import replace

from advisor.dialogue.reading.clauses import Clauses
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import Reading, fitting_units, inherited, with_unit
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact

#: Things that have an age or stand still by themselves.
_AGED = frozenset(
    {"topic_strips", "topic_machine", "topic_pump", "topic_filter", "topic_meter", "topic_person",
     "topic_skimmer", "topic_extraction", "topic_seal", "topic_thing", "topic_wheel", "topic_nozzle",
     "topic_tool", "topic_fixtures"}
)  # fmt: skip
_STOOD = frozenset(
    {"topic_foam", "topic_skimmer", "topic_extraction", "topic_filter", "topic_meter", "topic_thing"}
)
_OURS = frozenset({"ours", "mine", "this", "unsere", "unserer", "unseres", "hier", "us"})
_PAST_NEXT = frozenset({"topic_neighbour"})
#: Quantities of one sump that a machine beside it has too.
_OF_A_SUMP = frozenset(
    {"concentration", "reading", "refractometer_reading", "titration", "ph", "conductivity", "sump_hardness",
     "chloride", "sulfate", "nitrite", "fluid_temperature", "tramp_oil_share", "bacteria", "fluid_age",
     "sump_volume"}
)  # fmt: skip
_AIR = frozenset({"outside", "ambient", "outdoors", "draussen", "aussen", "raumtemperatur", "lufttemperatur"})
_HERE = (("in", "here"), ("in", "there"), ("out", "here"), ("the", "shop"), ("the", "workshop"))
_TANKS = frozenset(
    {"tank", "sump", "coolant", "fluid", "suds", "emulsion", "kss", "concentrate", "drum", "sample"}
)


def drop_other_ages(readings: Sequence[Reading], clauses: Clauses) -> None:
    """ "The machine is 20 years old", "the skimmer has stood for weeks": a time of the thing spoken of."""
    for reading in readings:
        if reading.base not in ("fluid_age", "idle_time"):
            continue
        named = {clauses.tokens[p].norm for p in reading.places} & {"old", "alt", "age"}
        idle = reading.base == "idle_time"
        said = clauses.said_of(reading.measure.first, reading.measure.last) if named or idle else []
        names = {m.target.name for m in said if m.places == said[0].places}
        if names and names <= (_STOOD if idle else _AGED):
            reading.base = ""


def of_the_water(readings: Sequence[Reading], marks: Sequence[Match], tokens: Sequence[Token]) -> None:
    """ "Well water, 18 clark, chloride 60", "other supply 60 ppm, ours 320": what is told of the water."""
    names = {m.target.name for m in marks}
    if "subject_water" in names and names.isdisjoint({"subject_sump", "topic_tank", "topic_fluid"}):
        for reading in readings:
            if any(m.target.name == "subject_water" and m.last < reading.measure.first for m in marks):
                reading.base = {"chloride": "water_chloride", "sulfate": "water_sulfate"}.get(
                    reading.base, reading.base
                )
    for other, ours in itertools.pairwise(readings):
        ahead = {t.norm for t in tokens[other.measure.last + 1 : ours.measure.first]}
        if other.base == "other_water_hardness" and not ours.base and ahead & _OURS:
            ours.base, ours.measure = "water_hardness", with_unit(ours.measure, other.measure)


def drop_counted_things(
    readings: Sequence[Reading], tokens: Sequence[Token], spoken: Collection[str]
) -> None:
    """ "Can the two products be mixed": a number word that counts a noun is no strength."""
    for reading in readings:
        measure = reading.measure
        named = tokens[measure.first]
        onward = tokens[measure.last + 1] if measure.last + 1 < len(tokens) else None
        if named.kind != "word" or measure.first != measure.last or onward is None or onward.filler:
            continue
        noun = onward.kind == "word" and onward.norm.endswith("s") and onward.norm not in spoken
        if noun and measure.bare and not measure.share and reading.base in ("concentration", "reading"):
            reading.base = ""


def drop_next_door(readings: Sequence[Reading], clauses: Clauses, lexicon: Lexicon) -> None:
    """ "The one next door is at 9 %, ours is down at 4": the first is no strength of this sump."""
    dropped: Reading | None = None
    for reading in readings:
        span = clauses.of(reading.measure.first)
        names = {m.target.name for m in clauses.within(span) if m.last < reading.measure.first}
        words = {t.norm for t in clauses.tokens[span[0] : reading.measure.first]}
        if names & _PAST_NEXT and not words & _OURS and reading.base in _OF_A_SUMP:
            dropped, reading.base = replace(reading), "ignored"
        elif dropped is not None and not reading.base and words & _OURS:
            inherited(reading, dropped, lexicon)


def drop_air(readings: Sequence[Reading], clauses: Clauses) -> None:
    """ "It was 31 outside", "freezing in here, 3 degrees": the air's temperature is not the fluid's."""
    for reading in readings:
        measure = reading.measure
        degrees = "°C" in fitting_units(measure)
        if not (degrees or measure.bare) or measure.share or measure.ratio is not None:
            continue
        span = clauses.of(measure.first)
        clause = clauses.tokens[span[0] : span[1] + 1]
        # A clause that is nothing but degrees goes on with the place spoken of before.
        alone = degrees and all(t.filler or t.kind != "word" or t.norm in _DEGREES for t in clause)
        before = clauses.tokens[max(0, span[0] - 6) : span[0]] if alone else []
        near = [t.norm for t in (*before, *clause)]
        placed = degrees and any(p in _HERE for p in itertools.pairwise(near))
        if (_AIR & set(near) or placed) and not _TANKS & set(near):
            reading.base = "ignored"


_DEGREES = frozenset({"deg", "degrees", "degree", "grad", "c", "f", "celsius"})


_SINGLE = frozenset(
    {"he", "hes", "she", "shes", "kollege", "kollegin", "lehrling", "azubi", "apprentice", "bloke", "fella",
     "operator"}
)  # fmt: skip
_MANY = frozenset(
    {"they", "we", "us", "all", "everyone", "lads", "guys", "blokes", "operators", "people", "both",
     "several", "others", "another", "some", "none", "nobody", "them", "two", "three", "kollegen", "leute",
     "each", "every", "any"}
)  # fmt: skip


def one_person(facts: Sequence[Fact], tokens: Sequence[Token], lexicon: Lexicon) -> list[Fact]:
    """ "He coughs all shift": the one spoken of as ill is counted, where the line counts nobody else."""
    ill = [f for f in facts if f.id in ("skin", "breathing", "eyes_nose") and f.status == "present"]
    words = [t.norm for t in tokens]
    who = next((w for w in words if w in _SINGLE), None)
    if not ill or who is None or any(f.id == "people_affected" for f in facts) or not _MANY.isdisjoint(words):
        return []
    if "people_affected" not in lexicon.observables:
        return []
    return [Fact("people_affected", 1.0, "1", "present", ill[0].firm, who)]


_DAYS = {"today": 0.0, "heute": 0.0, "yesterday": 1.0, "gestern": 1.0}


def added_when(facts: Sequence[Fact], tokens: Sequence[Token]) -> list[Fact]:
    """ "Put 12 gallons in yesterday": how long ago something was added, where the line says it once."""
    added = any(f.id in ("water_added", "concentrate_added") and f.status == "present" for f in facts)
    said = [t for t in tokens if t.norm in _DAYS]
    pairs = itertools.pairwise(tokens)
    this = [b for a, b in pairs if a.norm == "this" and b.norm in _PARTS_OF_DAY]
    when = [(t.text, _DAYS[t.norm]) for t in said] + [(t.text, 0.0) for t in this]
    if not added or len(when) != 1 or any(f.id == "since_addition" for f in facts):
        return []
    return [Fact("since_addition", when[0][1], "day", "present", True, when[0][0])]


_PARTS_OF_DAY = frozenset({"morning", "afternoon", "evening", "shift", "arvo"})
