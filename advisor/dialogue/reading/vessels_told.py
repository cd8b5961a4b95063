"""Pails, drums and how many there are: "two 10 L pails and a 60 L drum" tells no strength and no sump."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from advisor.dialogue.reading.counts import is_poured
from advisor.dialogue.reading.lexicon import Match
from advisor.dialogue.reading.measured import FAR, Reading, fitting_units, to_unit
from advisor.dialogue.reading.tokens import Token
from advisor.errors import BadQuantity

#: What is filled and carried by hand; its size is that of the recipe's pail.
_CARRIED = frozenset(
    {"pail", "pails", "bucket", "buckets", "can", "cans", "jug", "jugs", "canister", "canisters", "jerrycan",
     "jerrycans", "eimer", "eimern", "kanister", "kanistern", "kanne", "kannen", "bottle", "bottles", "ones"}
)  # fmt: skip
#: What stands where it is: neither a pail nor the sump.
_STANDING = frozenset(
    {"drum", "drums", "barrel", "barrels", "ibc", "ibcs", "tote", "totes", "fass", "faesser"}
)
#: Words that may stand between a number and what it counts or the size of it.
_BETWEEN = frozenset(
    {"of", "the", "our", "these", "empty", "clean", "big", "small", "plastic", "steel", "full", "new", "old",
     "leere", "saubere", "grosse", "kleine", "volle"}
)  # fmt: skip
#: Litres up to which a vessel is carried when full: some 25 kg; common practice, no source.
LARGEST_CARRIED = 30.0
#: What a volume is taken for when nothing names it.
_UNNAMED = frozenset({"", "sump_volume", "pail"})


def name_vessels(
    tokens: Sequence[Token], readings: Sequence[Reading], marks: Sequence[Match], gallon: str | None
) -> list[Reading]:
    """Gives the size of a vessel to the pail, and takes every other number of vessels for none.

    Returns:
        The readings that only count vessels, or tell the size of one that is no pail: they answer nothing.
    """
    idle: list[Reading] = []
    for at, reading in enumerate(readings):
        noun = _vessel_behind(tokens, reading, readings)
        measure = reading.measure
        if not noun or measure.share or measure.per or measure.ratio is not None:
            continue
        counted = readings[at - 1] if at and readings[at - 1] in idle else None
        if counted is not None and not measure.bare and reading.base not in _UNNAMED:
            many, low, high = counted.measure.number, measure.low, measure.high
            low, high = (None if end is None else many * end for end in (low, high))
            reading.measure = replace(measure, low=low, high=high)  # "put in two 10 L pails of water"
            reading.places.update(range(counted.measure.first, measure.first))
        if measure.bare:
            reading.base, reading.distance = "", FAR
            idle.append(reading)
        elif "L" in fitting_units(measure) and reading.base in _UNNAMED:
            small = to_unit(measure, measure.number, "L", gallon)[0] <= LARGEST_CARRIED
            if noun in _CARRIED and small:
                named = not is_poured(tokens, measure, marks)
                reading.base, reading.distance = ("pail", 0.0) if named else (reading.base, reading.distance)
            else:
                reading.base, reading.distance = "", FAR
                idle.append(reading)
    return idle


def _vessel_behind(tokens: Sequence[Token], reading: Reading, readings: Sequence[Reading]) -> str:
    """The vessel that stands right behind a number, the size of it left out ("two 10 L pails"); else ""."""
    at = reading.measure.last + 1
    sizes = {r.measure.first: r.measure for r in readings if "L" in fitting_units(r.measure)}
    if at < len(tokens) and tokens[at].norm in ("x", "times", "mal") and at + 1 in sizes:
        at += 1
    if reading.measure.bare and reading.measure.number % 1 == 0 and at in sizes:
        small = sizes[at].number <= LARGEST_CARRIED
        at = sizes[at].last + 1
        if small and (at == len(tokens) or tokens[at].hard):
            return "pails"  # "two 10 L"
    while at < len(tokens) and (tokens[at].norm in _BETWEEN or tokens[at].text == "-"):
        at += 1
    norm = tokens[at].norm if at < len(tokens) else ""
    return norm if norm in _CARRIED | _STANDING else ""


def doubtful_sizes(
    readings: Sequence[Reading], tokens: Sequence[Token], text: str, expecting: str | None
) -> list[tuple[Reading, str]]:
    """The sizes of a sump that may be a thousandfold larger ("1.200 L"), each with what to write instead.

    They lose their quantity: they answer nothing.
    """
    from advisor.mixing.sump_size import sump_litres

    made = []
    for reading in readings:
        measure = reading.measure
        asked = expecting == "sump_volume" and not reading.base
        if not (reading.base == "sump_volume" or asked) or not any(
            "." in t.text for t in tokens[measure.first : measure.last + 1]
        ):
            continue
        try:
            sump_litres(text[tokens[measure.first].start : tokens[measure.last].end], "us")
        except BadQuantity as trouble:
            reading.base = ""
            made.append((reading, f"{trouble}".rstrip(".") + "."))
    return made


def without_vessels(marks: Sequence[Match], tokens: Sequence[Token]) -> list[Match]:
    """The marks without the can of "a 20 L can of neat": a vessel proposes nothing."""
    kept = []
    for mark in marks:
        lone = mark.first == mark.last and tokens[mark.first].norm == "can"
        before = tokens[mark.first - 1] if lone and mark.first else None
        ahead = before is not None and (before.kind in ("number", "unit") or before.norm in _BEFORE_A_CAN)
        if not (mark.target.name == "proposal" and ahead):
            kept.append(mark)
    return kept


_BEFORE_A_CAN = frozenset(
    {"a", "the", "one", "each", "every", "this", "that", "l", "litre", "litres", "liter", "liters", "gal",
     "gallon", "gallons", "ltr", "old", "new", "whole", "half", "full", "empty", "our"}
)  # fmt: skip
