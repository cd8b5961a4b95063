"""Quantities as people read them: their own units, and no more digits than the instrument gives."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta, tzinfo
from typing import Literal

from advisor.unit_table import UNITS

System = Literal["metric", "us", "imperial"]


class Here(tzinfo):
    """The clock on the wall of this shop, summer and winter: the offset is that of the moment told.

    A fixed offset of today would tell what was read in July an hour early in November.
    """

    def utcoffset(self, dt: datetime | None) -> timedelta | None:
        """The offset at this wall time; `fold` tells the hour that comes twice."""
        return None if dt is None else dt.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, dt: datetime | None) -> timedelta | None:
        """Not told apart from the offset."""
        return None

    def tzname(self, dt: datetime | None) -> str | None:
        """The abbreviation at this wall time."""
        return None if dt is None else dt.replace(tzinfo=None).astimezone().tzname()

    def fromutc(self, dt: datetime) -> datetime:
        """The wall time at a moment given in UTC."""
        there = dt.replace(tzinfo=UTC).astimezone()
        wall = there.replace(tzinfo=self)
        return wall if wall.utcoffset() == there.utcoffset() else wall.replace(fold=1)


HERE = Here()


def local_time(time: str) -> str:
    """A time of the records (ISO-8601 UTC) as the clock on the wall showed it: ``2026-07-15 06:10``."""
    return f"{datetime.fromisoformat(time).astimezone(HERE):%Y-%m-%d %H:%M}"


def show(value: float, unit: str, system: System = "metric", digits: int | None = None) -> str:
    """A quantity for people, with no more digits than the instrument behind it gives.

    `digits` is the number of decimals when the caller knows better. Volumes, rates, temperatures and
    pressures follow `system`; the rest reads the same everywhere.
    """
    if unit == "L":
        return volume(value, system, digits)
    if unit in ("L/day", "L/min"):
        return f"{volume(value, system, digits)} per {'day' if unit == 'L/day' else 'minute'}"
    if unit == "fraction":
        return f"{_round(value * 100, 1 if digits is None and value < 0.2 else digits or 0)} %"
    if unit == "°C" and system == "us":
        return f"{_round(value * 1.8 + 32, digits or 0)} °F"
    if unit == "bar" and system == "us":
        return f"{_significant(value / UNITS['bar']['psi'][0], 2)} psi"
    if unit == "day":
        return _show_days(value)
    if unit == "CFU/mL":
        return _show_count(value)
    return _show_plain(value, unit, digits)


def _show_plain(value: float, unit: str, digits: int | None) -> str:
    if unit == "pH":
        return f"pH {value:.{1 if digits is None else digits}f}"
    if unit == "°Bx":
        return f"{_round(value, 1 if digits is None else digits)} Brix"
    if unit == "mg/L CaCO3":
        return f"{_significant(value, 3)} ppm"
    if unit == "µS/cm" and value >= 1000:
        return f"{_significant(value / 1000, 2)} mS/cm"
    if unit == "1":
        return _round(value, 2 if digits is None else digits)
    decimals = {"°C": 0, "h": 0, "min": 0}.get(unit)
    number = _significant(value, 2) if decimals is None and digits is None else _round(value, digits or 0)
    return f"{number} {unit}"


def volume(litres: float, system: System = "metric", digits: int | None = None) -> str:
    """A volume in litres as people of that system say it: 120 L, 12.5 US gal, 7 US fl oz."""
    if system == "metric":
        if abs(litres) < 1.0:
            return f"{_round(litres * 1000, -1 if litres >= 0.1 else 0)} mL"
        return f"{_round(litres, (0 if abs(litres) >= 100 else 1) if digits is None else digits)} L"
    prefix = "US" if system == "us" else "imperial"
    key = "usgal" if system == "us" else "impgal"
    gallons = litres / UNITS["L"][key][0]
    if abs(gallons) < 0.5:
        ounces = litres / UNITS["L"]["usfloz" if system == "us" else "impfloz"][0]
        return f"{_round(ounces, 0 if abs(ounces) >= 3 else 1)} {prefix} fl oz"
    decimals = (0 if abs(gallons) >= 100 else 1) if digits is None else digits
    return f"{_round(gallons, decimals)} {prefix} gal"


def _show_days(value: float) -> str:
    if value < 1:
        return f"{_round(value * 24, 0)} h"
    for length, name, least in ((365, "year", 365), (30, "month", 60), (7, "week", 14)):
        if value >= least and abs(value / length - round(value / length)) < 0.01:
            count = round(value / length)
            return f"{count} {name}" + ("" if count == 1 else "s")
    return f"{_round(value, 0 if value >= 10 else 1)} day" + ("" if value == 1 else "s")


def _show_count(value: float) -> str:
    if value < 1000:
        return f"{_significant(value, 1)} CFU/mL"
    power = math.floor(math.log10(value))
    lead = _round(value / 10**power, 0)
    return f"10^{power} CFU/mL" if lead == "1" else f"{lead} x 10^{power} CFU/mL"


def _round(value: float, decimals: int) -> str:
    rounded = round(value + math.copysign(1e-9, value), decimals)
    text = f"{rounded:.{max(decimals, 0)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def _significant(value: float, figures: int) -> str:
    if value == 0:
        return "0"
    return _round(value, figures - 1 - math.floor(math.log10(abs(value))))
