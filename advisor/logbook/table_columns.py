"""What the columns of a table mean: guessed from their headings, said by a person, and kept.

A meaning is ``sump``, ``time``, ``date``, ``clock``, ``who``, ``skip``, one of `HOW` (how it was got), or
the id of a figure with its unit (``concentration:%``). A table that gives one figure to a row has
``figure``, ``value``, ``unit``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.errors import BadInput
from advisor.logbook.line import READ
from advisor.logbook.shop_beside import table_id
from advisor.quantities import spelling_key
from advisor.unit_table import UNITS

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: How a figure was got, as an auditor asks for it: fields of `advisor.logbook.readings.Context`.
HOW = ("sample_point", "method", "instrument", "zeroed", "lot")
PLAIN = ("sump", "time", "date", "clock", "who", *HOW, "figure", "value", "unit", "mark", "skip")
#: Words of headings in English and German, by meaning; compared without case and signs.
_HEADINGS: dict[str, tuple[str, ...]] = {
    "sump": ("sump", "machine", "tank", "maschine", "behälter", "machineno", "machinename", "anlage"),
    "time": ("time", "datetime", "timestamp", "zeitpunkt", "when", "measuredat"),
    "date": ("date", "datum", "day", "tag"),
    "clock": ("clock", "uhrzeit", "hour", "zeit"),
    "who": ("who", "operator", "by", "prüfer", "werker", "user", "initials", "measuredby"),
    "sample_point": ("samplepoint", "samplingpoint", "point", "probestelle", "entnahmestelle", "messstelle"),
    "method": ("method", "methode", "verfahren", "messverfahren"),
    "instrument": ("instrument", "device", "gerät", "messgerät"),
    "zeroed": ("zeroed", "lastzero", "zeroedon", "nullabgleich", "kalibriert"),
    "lot": ("lot", "striplot", "slidelot", "batch", "charge", "chargennr"),
    "figure": ("figure", "observable", "parameter", "property", "messgröße"),
    "value": ("value", "result", "wert", "ergebnis"),
    "unit": ("unit", "einheit", "units"),
    "mark": ("mark",),
    "refractometer_reading": ("brix", "reading", "refractometer", "refractometerreading", "refraktometer",
                              "bx", "ablesung"),
    "concentration": ("concentration", "conc", "strength", "konzentration", "percent", "mix"),
    "ph": ("ph", "phvalue", "phwert"),
    "nitrite": ("nitrite", "nitrit", "no2"),
    "sump_hardness": ("hardness", "härte", "sumphardness", "wasserhärte"),
    "conductivity": ("conductivity", "leitfähigkeit", "cond"),
    "bacteria": ("bacteria", "cfu", "keime", "germs", "keimzahl", "dipslide"),
    "fungi": ("fungi", "mould", "pilze", "yeast"),
    "sump_fill": ("level", "fill", "füllstand", "sumpfill"),
    "fluid_temperature": ("temperature", "temp", "temperatur"),
    "tramp_oil_share": ("trampoil", "fremdöl", "oil"),
    "chloride": ("chloride", "chlorid"),
}  # fmt: skip
_BY_WORD = {word: meaning for meaning, words in _HEADINGS.items() for word in words}


@dataclass(frozen=True, slots=True)
class Column:
    """What one column means. `scale` and `offset` turn its bare numbers into the canonical unit."""

    heading: str
    meaning: str
    unit: str = ""
    scale: float = 1.0
    offset: float = 0.0


def columns(
    desk: Desk,
    headings: Sequence[str],
    said: Mapping[str, str],
    ask: Callable[[str], str] | None = None,
) -> list[Column]:
    """The meaning of every column: as said now, else as kept from the last such table, else guessed.

    Args:
        said: heading -> meaning, given now.
        ask: asks a person about a column that cannot be guessed; None when nobody is there.

    Raises:
        BadInput: no column for the sump or the time, a meaning that does not exist, or a unit missing.
    """
    kept = kept_meanings(desk, headings)
    unknown = [heading for heading in said if heading not in headings]
    if unknown:
        right = f"The table has: {', '.join(headings)}."
        raise BadInput(f"there is no column {unknown[0]!r}", value=unknown[0], right=right)
    made: list[Column] = []
    for heading in headings:
        meaning = said.get(heading) or kept.get(heading) or guess(heading)
        if not meaning and ask is not None:
            meaning = ask(heading).strip() or "skip"
        made.append(_column(desk, heading, meaning or "skip"))
    _check(made, headings)
    return made


def guess(heading: str) -> str:
    """What a heading says by itself, with the unit in its brackets; "" when it says nothing."""
    found = re.search(r"[\[(]\s*([^\])]+?)\s*[\])]", heading)
    bare = (heading[: found.start()] + heading[found.end() :]) if found else heading
    unit = found[1] if found else ("%" if "%" in heading else "")
    key = "".join(c for c in bare.casefold() if c.isalnum())
    meaning = _BY_WORD.get(key) or (key if key in READ else "")
    if not meaning and bare.strip().casefold() in READ:
        meaning = bare.strip().casefold()
    if not meaning and not key and unit:
        meaning = "concentration" if unit == "%" else ""
    if meaning in PLAIN or not meaning:
        return meaning
    return f"{meaning}:{unit}" if unit else meaning


def _column(desk: Desk, heading: str, meaning: str) -> Column:
    name, _, unit = (part.strip() for part in meaning.partition(":"))
    if name in PLAIN:
        return Column(heading, name)
    if name not in READ:
        right = f"Use one of {', '.join(PLAIN)}, or a figure such as {', '.join(sorted(READ)[:6])}."
        raise BadInput(f"{meaning!r} is no meaning of a column", value=meaning, place=heading, right=right)
    canonical = desk.rules.observables[name].unit or ""
    if not unit:
        if canonical == "fraction":
            right = f'Say it: --map "{heading}={name}:%" for per cent.'
            raise BadInput(f"the unit of column {heading!r} is not known", place=heading, right=right)
        return Column(heading, name, canonical)
    row = UNITS.get(canonical, {}).get(spelling_key(unit))
    if row is None and unit != canonical:
        right = f"Use one of {', '.join(list(UNITS.get(canonical, {}))[:6])}."
        raise BadInput(f"{unit!r} is no unit of {name}", value=unit, place=heading, right=right)
    scale, offset = row if row is not None else (1.0, 0.0)
    return Column(heading, name, canonical, scale, offset)


def _check(made: Sequence[Column], headings: Sequence[str]) -> None:
    there = {column.meaning for column in made}
    needed = []
    if "sump" not in there:
        needed.append("the sump (--map HEADING=sump)")
    if not there & {"time", "date"}:
        needed.append("the time (--map HEADING=time)")
    if not there - set(PLAIN) and not {"figure", "value"} <= there:
        needed.append("a figure (--map HEADING=ph)")
    if needed:
        right = f"Say which column is {' and which is '.join(needed)}. The table has: {', '.join(headings)}."
        raise BadInput("the columns do not say what they mean", right=right)


# A mapping is kept in the shop under the headings it belongs to.


def kept_meanings(desk: Desk, headings: Sequence[str]) -> dict[str, str]:
    """The meanings kept for a table with these headings, empty when there are none."""
    row = desk.store.row("shop", table_id(headings))
    return dict(row.data["columns"]) if row else {}


def keep_meanings(desk: Desk, headings: Sequence[str], said: Mapping[str, str], who: str) -> None:
    """Keep what was said about the columns, for the next table with the same headings."""
    kept = kept_meanings(desk, headings)
    after = {**kept, **said}
    if said and after != kept:
        row = {"columns": after, "headings": list(headings)}
        desk.store.put_row("shop", table_id(headings), row, time=desk.time, who=who)
