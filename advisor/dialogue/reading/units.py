"""Spellings of units as they stand in running text."""

from __future__ import annotations

from functools import cache

from advisor.unit_table import BARE, UNITS

_NOT_IN_TEXT = frozenset({"1"})
#: Lengths measure a level, never a volume; they are known so that "2 inch low" is not two of something else.
_LENGTHS = (
    "inch",
    "inches",
    "finger",
    "fingers",
    "thumb",
    "daumen",
    "cm",
    "mm",
    "foot",
    "feet",
    "ft",
    "zoll",
    "metres",
    "meters",
)

#: Weights are known so that "5 kg" is no 5 of something else.
_WEIGHTS = (
    "kg",
    "kilo",
    "kilos",
    "kilogramm",
    "kilogram",
    "kilograms",
    "tonne",
    "tonnes",
    "lb",
    "lbs",
    "pounds",
)


#: What people say for a unit's name in running text, and the spelling it stands for.
SHORT = {"french": "degreesfrench"}


@cache
def unit_index() -> dict[str, frozenset[str]]:
    """Spelling key -> canonical units it can be."""
    made: dict[str, set[str]] = {}
    for unit, rows in UNITS.items():
        if unit not in _NOT_IN_TEXT:
            for key in rows:
                made.setdefault(key, set()).add(unit)
    for bare, (us, _) in BARE.items():
        made.setdefault(bare, set()).update(u for u, rows in UNITS.items() if us in rows)
    for short, whole in SHORT.items():
        made[short] = set(made[whole])
    for weight in _WEIGHTS:
        made[weight] = {"weight"}
    for length in _LENGTHS:
        made[length] = {"length"}
    return {key: frozenset(units) for key, units in made.items()}
