"""Quantities: what a person writes, as a number in the unit the program works in, and back again.

Inside the program every quantity is a float in its canonical unit (`CANONICAL`). Common spellings are
read from a generated table; whatever the table lacks goes to pint, which is loaded only then and only here.
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from advisor.errors import BadQuantity
from advisor.numerals import SUPERSCRIPTS, brix_from_index, numeral, split_number, whole_groups
from advisor.showing import System, show, volume
from advisor.unit_table import BARE, UNITS

Gallon = Literal["us", "imperial"]
__all__ = [
    "CANONICAL", "EXAMPLE", "Gallon", "Parsed", "System", "brix_from_index", "convert", "numeral", "parse",
    "parse_window", "registry", "show", "spelling_key", "split_number", "volume",
]  # fmt: skip

#: Canonical unit -> (lowest, highest possible value). Narrower limits belong to each observable.
CANONICAL: dict[str, tuple[float, float]] = {
    "fraction": (0.0, 1.0),
    "°Bx": (0.0, 95.0),
    "pH": (0.0, 14.0),
    "mg/L CaCO3": (0.0, 20_000.0),
    "mg/L": (0.0, 500_000.0),
    "µS/cm": (0.0, 500_000.0),
    "CFU/mL": (0.0, 1e12),
    "mg/m³": (0.0, 10_000.0),
    "L": (0.0, 1e6),
    "L/day": (0.0, 1e6),
    "L/min": (0.0, 1e5),
    "day": (0.0, 36_500.0),
    "h": (0.0, 876_000.0),
    "min": (0.0, 5e7),
    "°C": (-50.0, 300.0),
    "bar": (0.0, 7000.0),
    "ppm": (0.0, 1e6),
    "1": (0.0, 1e9),
}
#: An example of each unit, for the sentence that says what would be right.
EXAMPLE = {
    "fraction": "7 % or 0.07",
    "°Bx": "6.5 Brix",
    "pH": "pH 9.1",
    "mg/L CaCO3": "180 ppm, 10 °dH or 12 grains",
    "mg/L": "40 mg/L or 40 ppm",
    "µS/cm": "3500 µS/cm or 3.5 mS/cm",
    "CFU/mL": "10^6 CFU/mL",
    "mg/m³": "0.5 mg/m³",
    "L": "200 L, 50 US gal or 40 imperial gallons",
    "L/day": "15 L/day or 4 US gal per day",
    "L/min": "40 L/min or 10 US gal per minute",
    "day": "3 days or 2 weeks",
    "h": "48 h",
    "min": "40 min",
    "°C": "25 °C or 77 °F",
    "bar": "20 bar or 300 psi",
    "ppm": "5 ppm",
    "1": "a plain number, such as 1.5",
}
#: Canonical units pint knows, as it writes them.
PINT_CANONICAL = {
    "L": "liter",
    "day": "day",
    "h": "hour",
    "min": "minute",
    "L/min": "liter/minute",
    "L/day": "liter/day",
    "mg/L": "milligram/liter",
    "mg/L CaCO3": "ppm_hardness",
    "µS/cm": "microsiemens/centimeter",
    "°C": "degC",
    "bar": "bar",
    "mg/m³": "milligram/meter**3",
}
LONGEST = 60
#: Containers of no fixed volume, by spelling key.
VAGUE = frozenset(
    {
        "barrel", "barrels", "bbl", "drum", "drums", "pail", "pails", "bucket", "buckets", "cup", "cups",
        "tin", "tins", "can", "cans", "jug", "jugs", "ibc", "tote", "jerrycan", "jerrycans", "bottle",
        "bottles", "fass", "fässer", "eimer", "kanister", "becher", "flasche", "flaschen",
    }
)  # fmt: skip
#: Definitions of water hardness in mg/L as CaCO3, beyond pint's own registry. Molar masses 100.0869
#: (CaCO3) and 56.0774 g/mol (CaO): 1 °dH is 10 mg CaO/L; 1 °f is 10 mg CaCO3/L; 1 °Clark is one grain per
#: imperial gallon; 1 gpg one grain per US gallon. Source: definitions of the degrees of hardness as used in
#: DIN 38409-6 and NIST SP 811 (grain = 64.79891 mg exactly); from memory, unverified.
HARDNESS = (
    "ppm_hardness = milligram / liter",
    "german_hardness = 10 * 100.0869 / 56.0774 * milligram / liter",
    "french_hardness = 10 * milligram / liter",
    "english_hardness = grain / imperial_gallon",
    "us_hardness = grain / gallon",
    "mmol_hardness = 100.0869 * milligram / liter",
)


@dataclass(frozen=True, slots=True)
class Parsed:
    """A quantity as it was read.

    Attributes:
        value: the number in `unit`.
        unit: canonical unit, a key of `CANONICAL`.
        said: the person's words.
        loose: True when reading it took an assumption that should be confirmed.
        assumed: that assumption as a sentence, or "".
    """

    value: float
    unit: str
    said: str
    loose: bool = False
    assumed: str = ""


def spelling_key(text: str) -> str:
    """The form in which unit spellings are compared: no case, blanks, dots, hyphens, carets or brackets."""
    folded = unicodedata.normalize("NFKC", text.translate(SUPERSCRIPTS).replace("º", "°").replace("˚", "°"))
    folded = folded.casefold().replace("μ", "u")
    return re.sub(r"[\s.\-()\[\]_^]+", "", folded)


@cache
def registry() -> Any:
    """The one registry of unit definitions: pint's, with the degrees of water hardness added."""
    import pint

    ureg: Any = pint.UnitRegistry(cache_folder=None)
    for definition in HARDNESS:
        ureg.define(definition)
    return ureg


def parse(text: str, unit: str, *, gallon: Gallon | None = None) -> Parsed:
    """Reads one quantity into the canonical `unit`.

    Args:
        text: what was written, such as ``"50 US gal"``, ``"6,5 %"``, ``"11 °dH"``, ``"1:20"``.
        unit: a key of `CANONICAL`.
        gallon: which gallon, ounce, quart or pint a bare one is in this shop; None when not known, and
            then the US one is taken and the result is loose.

    Raises:
        BadQuantity: what cannot be read, an unknown unit, a value outside what the unit allows, and a bare
            number for a fraction (7 could be 7 % or seven whole), with what would be right.
    """
    if unit not in CANONICAL:
        raise BadQuantity(f"{unit!r} is not a unit of this program", value=unit, right=_one_of(CANONICAL))
    said = _checked(text, unit)
    body = re.sub(r"^(?:about|approx\.?|ca\.?|circa|around|etwa|~|≈)\s*", "", said, flags=re.IGNORECASE)
    ratio = _ratio(body) if unit in ("fraction", "1") else None
    parsed = _from_ratio(ratio, said, unit) if ratio else _from_number(body, said, unit, gallon)
    _within(parsed, unit)
    return parsed


def parse_window(text: str, unit: str, *, gallon: Gallon | None = None) -> tuple[Parsed, Parsed]:
    """A window such as ``"6-10 %"`` or ``"6 to 10 %"`` as its two ends; one value gives it twice.

    Raises BadQuantity as `parse` does, and when the ends are the wrong way round.
    """
    said = _checked(text, unit)
    match = re.fullmatch(r"(.*\d\s*[^\d\s-]*?)\s*(?:-|–|—|\bto\b|\bbis\b|\.\.)\s*(.+)", said)
    if match is None:
        one = parse(said, unit, gallon=gallon)
        return one, one
    high = parse(match[2], unit, gallon=gallon)
    low_text = match[1]
    try:
        _, low_unit = split_number(low_text)
        _, high_unit = split_number(match[2])
    except ValueError as error:
        raise _unreadable(said, unit) from error
    low = parse(low_text if low_unit else f"{low_text} {high_unit}", unit, gallon=gallon)
    if low.value > high.value:
        raise BadQuantity(f"{said!r} runs from high to low", value=text, right="write the lower end first")
    return low, high


def _checked(text: str, unit: str) -> str:
    if not isinstance(text, str):
        raise BadQuantity(f"{text!r} is not text", value=text, right=f"write it like this: {EXAMPLE[unit]}")
    if any(unicodedata.category(c) in ("Cc", "Cf", "Cs") and c not in "\t\n" for c in text):
        right = f"write it plainly: {EXAMPLE[unit]}"
        raise BadQuantity("there are control characters in the quantity", value=text, right=right)
    said = " ".join(text.split())
    if not said:
        raise BadQuantity("nothing was given", value=text, right=f"write it like this: {EXAMPLE[unit]}")
    if len(said) > LONGEST:
        raise BadQuantity(
            f"{len(said)} characters are too many for one quantity", value=said[:LONGEST],
            right=f"write it shortly: {EXAMPLE[unit]}",
        )  # fmt: skip
    return said


def _from_number(body: str, said: str, unit: str, gallon: Gallon | None) -> Parsed:
    prefix = {"pH": "pH", "°Bx": "n_?D|brix|°Bx"}.get(unit)
    lead = re.sub(rf"^(?:{prefix})\s*[:=]?\s*", "", body, flags=re.IGNORECASE) if prefix else body
    lead = whole_groups(lead) if unit == "CFU/mL" else lead
    try:
        number, tail = split_number(lead)
    except OverflowError as error:
        raise _not_finite(said, unit) from error
    except ValueError as error:
        if re.match(r"[+-]?(?:nan|inf(?:inity)?)\b", lead, re.IGNORECASE):
            raise _not_finite(said, unit) from error
        raise _unreadable(said, unit) from error
    if unit == "°Bx" and _is_index(body, number, tail):
        return Parsed(brix_from_index(number), unit, said)
    if not tail:
        return _bare(number, said, unit)
    value, assumed = convert(number, tail, unit, gallon=gallon)
    return Parsed(value, unit, said, bool(assumed), assumed)


def _bare(number: float, said: str, unit: str) -> Parsed:
    written = bool(re.search(r"\d", said))
    if unit == "fraction" and written and (number >= 1.0 or number < 0.0) and "/" not in said:
        if 1.0 <= number <= 100.0:
            right = f"write {number:g} % or {number / 100:g}"
        else:
            right = f"write a share between 0 and 100 %, such as {EXAMPLE[unit]}"
        raise BadQuantity(f"{said!r} has no unit", value=said, right=right)
    return Parsed(number, unit, said)


def convert(number: float, spelled: str, unit: str, *, gallon: Gallon | None = None) -> tuple[float, str]:
    """A number in the unit as spelled, in the canonical `unit`, and the assumption it took ("" if none).

    Raises BadQuantity for a unit nobody knows (with the nearest known ones) or of another kind.
    """
    key = spelling_key(spelled)
    key, assumed = _which(key, gallon)
    rows = UNITS[unit]
    if key in rows:
        scale, offset = rows[key]
        return number * scale + offset, assumed
    if unit in ("L/day", "L/min"):
        rate = _rate(number, spelled, unit, gallon)
        if rate is not None:
            return rate
    if unit == "L" and key in VAGUE:
        raise BadQuantity(
            f"a {spelled} is no fixed volume", value=spelled, right=f"say what it holds: {EXAMPLE[unit]}"
        )
    value = _by_pint(number, spelled, unit)
    if value is None:
        raise _unknown_unit(spelled, unit)
    return value, ""


def _which(key: str, gallon: Gallon | None) -> tuple[str, str]:
    """The key of a bare gallon, ounce, quart or pint, and the assumption when nobody said which."""
    if key not in BARE:
        return key, ""
    us, imperial = BARE[key]
    if us == imperial or gallon == "us":
        return us, ""
    if gallon == "imperial":
        return imperial, ""
    name = {"usgal": "gallon", "usfloz": "fluid ounce", "usqt": "quart", "uspt": "pint"}.get(us, "gallon")
    return us, f"a {name} is taken as a US {name}"


def _rate(number: float, spelled: str, unit: str, gallon: Gallon | None) -> tuple[float, str] | None:
    parts = re.split(r"\s*/\s*|\s+(?:per|an?|each|every|pro|je|am)\s+", spelled.strip(), maxsplit=1)
    if len(parts) == 1 and re.search(r"(?:daily|täglich)$", spelled.strip(), re.IGNORECASE):
        parts = [spelled.strip().rsplit(None, 1)[0], "day"]
    if len(parts) != 2:
        return None
    key, assumed = _which(spelling_key(parts[0]), gallon)
    time = UNITS["day" if unit == "L/day" else "min"].get(spelling_key(parts[1]))
    volume = UNITS["L"].get(key)
    if volume is None or time is None:
        return None
    return number * volume[0] / time[0], assumed


def _by_pint(number: float, spelled: str, unit: str) -> float | None:
    """The table's gaps: any unit of the right kind that pint knows. None when it knows none."""
    if unit not in PINT_CANONICAL or not re.fullmatch(r"[A-Za-zµμ°][A-Za-zµμ°0-9/*^³² ]{0,30}", spelled):
        return None
    ureg = registry()
    try:
        return float(ureg.Quantity(number, spelled).to(PINT_CANONICAL[unit]).magnitude)
    except Exception:  # pint raises a dozen unrelated classes on text that is no unit
        return None


def _unknown_unit(spelled: str, unit: str) -> BadQuantity:
    import difflib

    # Another kind's unit is said to be that, before spelling is blamed.
    key = spelling_key(spelled)
    right = f"write it like this: {EXAMPLE[unit]}"
    close = difflib.get_close_matches(key, [*UNITS[unit], *BARE], n=1, cutoff=0.75)
    if any(key in rows for rows in UNITS.values()):
        return BadQuantity(f"{spelled!r} is not a unit for this quantity", value=spelled, right=right)
    if close and len(key) > 1:
        right = f"did you mean {close[0]}? Otherwise {right}"
    return BadQuantity(f"{spelled!r} is not a unit this program knows", value=spelled, right=right)


def _unreadable(said: str, unit: str) -> BadQuantity:
    return BadQuantity(
        f"{said!r} cannot be read as a quantity", value=said, right=f"write it like this: {EXAMPLE[unit]}"
    )


def _not_finite(said: str, unit: str) -> BadQuantity:
    return BadQuantity(
        f"{said} is not a finite number", value=said, right=f"write it like this: {EXAMPLE[unit]}"
    )


def _one_of(names: Any) -> str:
    return "use one of " + ", ".join(names)


def _within(parsed: Parsed, unit: str) -> None:
    low, high = CANONICAL[unit]
    if not math.isfinite(parsed.value):
        raise _not_finite(parsed.said, unit)
    if low <= parsed.value <= high:
        return
    if parsed.value < 0 <= low:
        right = f"write a figure of 0 or more, such as {EXAMPLE[unit]}"
        raise BadQuantity(f"{parsed.said} is below zero, which cannot be", value=parsed.said, right=right)
    raise BadQuantity(
        f"{parsed.said} is outside {_span(unit)}",
        value=parsed.said,
        right=f"write a figure within {_span(unit)}, such as {EXAMPLE[unit]}",
    )


def _span(unit: str) -> str:
    low, high = CANONICAL[unit]
    if unit == "fraction":
        return "0 to 100 %"
    name = "" if unit == "1" else f" {unit}"
    return f"pH {low:g} to {high:g}" if unit == "pH" else f"{low:g} to {high:,.0f}{name}"


# ---- ratios and the refractive index


def _ratio(body: str) -> tuple[str, float, float] | None:
    match = re.fullmatch(
        r"(\d+(?:[.,]\d+)?)\s*(:|to|in|zu|part in|parts in|part to|parts to|\+)\s*(\d+(?:[.,]\d+)?)",
        body,
        re.IGNORECASE,
    )
    if match is None:
        return None
    return match[2].lower().split()[-1], numeral(match[1]), numeral(match[3])


def _from_ratio(ratio: tuple[str, float, float], said: str, unit: str) -> Parsed:
    """A mixing ratio. ``1:20`` is taken as one part and twenty of water, ``1 in 20`` as one of twenty."""
    word, part, rest = ratio
    if part > rest and word != "in":
        part, rest = rest, part
    if part <= 0 or rest <= 0:
        raise BadQuantity(f"{said!r} has no part in it", value=said, right="write 1:20 or 5 %")
    if unit == "1":
        return Parsed(rest / part, unit, said)
    if word == "in":
        return Parsed(part / rest, unit, said, True, f"{said} is taken as {part:g} part of {rest:g} in all")
    loose = word != "+"
    note = f"{said} is taken as {part:g} part of concentrate and {rest:g} of water" if loose else ""
    return Parsed(part / (part + rest), unit, said, loose, note)


def _is_index(body: str, number: float, tail: str) -> bool:
    named = re.match(r"n_?D", body, re.IGNORECASE) or spelling_key(tail).startswith("nd")
    return bool(named) and 1.3 < number < 1.5
