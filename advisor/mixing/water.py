"""Hardness of water: its units, blends of two waters, and how minerals pile up in a sump.

mg/L as CaCO3 throughout.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import expm1, inf, log1p

from advisor.errors import BadInput
from advisor.mixing import balance

_CACO3, _CAO = 100.0869, 56.0774
"""Molar masses, g/mol; IUPAC standard atomic weights (abridged)."""

_GRAIN_MG = 64.79891
"""mg in a grain, exact; NIST SP 811; from memory, unverified."""

UNITS: dict[str, float] = {
    "mg/L CaCO3": 1.0,
    "°dH": 10.0 * _CACO3 / _CAO,  # 10 mg CaO per litre
    "°f": 10.0,  # 10 mg CaCO3 per litre
    "°e": _GRAIN_MG / 4.54609,  # one grain per imperial gallon
    "gr/US gal": _GRAIN_MG / 3.785411784,  # one grain per US gallon
    "mmol/L": _CACO3,
}
"""mg/L as CaCO3 in one unit of hardness; by definition of each degree."""


@dataclass(frozen=True, slots=True)
class BuildUp:
    """What evaporation and top-up do to a conserved property.

    Attributes:
        after: mg/L after the days asked for.
        plateau: mg/L it tends to; infinity when nothing leaves on parts.
        day_over: day it crosses the limit; None if never, 0 if already over; only with a limit.
    """

    after: float
    plateau: float
    day_over: float | None


def in_all_units(hardness: float) -> dict[str, float]:
    """A hardness in every unit in use.

    Raises:
        BadInput: below zero.
    """
    _not_negative("hardness", hardness)
    return {name: hardness / factor for name, factor in UNITS.items()}


def from_ions(calcium: float, magnesium: float, iron: float = 0.0) -> float:
    """Hardness from dissolved calcium, magnesium and iron, all mg/L: 2.497*Ca + 4.118*Mg + 1.792*Fe.

    Factors are the molar mass of CaCO3 over those of the metals (40.078, 24.305, 55.845 g/mol).

    Raises:
        BadInput: below zero.
    """
    for name, value in (("calcium", calcium), ("magnesium", magnesium), ("iron", iron)):
        _not_negative(name, value)
    return _CACO3 * (calcium / 40.078 + magnesium / 24.305 + iron / 55.845)


def blend_two(volume_l: float, first: float, second: float, wanted: float) -> tuple[float, float]:
    """Litres of the first and second water that make `volume_l` of the wanted hardness.

    Raises:
        BadInput: the wanted hardness does not lie between the two waters.
    """
    _not_negative("volume_l", volume_l)
    low, high = min(first, second), max(first, second)
    if not low <= wanted <= high or low == high:
        raise BadInput(
            f"waters of {first:g} and {second:g} mg/L never make {wanted:g} mg/L",
            place="wanted",
            value=wanted,
            right=f"ask for {low:g} to {high:g} mg/L, or bring in another water",
        )
    share = (wanted - second) / (first - second)
    return volume_l * share, volume_l * (1.0 - share)


def build_up(
    volume_l: float,
    start: float,
    water: float,
    evaporation: float,
    drag_out: float,
    days: float,
    limit: float | None = None,
) -> BuildUp:
    """Minerals in a sump held level with water of hardness `water`.

    V*dH/dt = Hw*(E + d) - d*H, so H = P + (H0 - P)*exp(-d*t/V) with the plateau P = Hw*(E + d)/d; with
    no drag-out it climbs in a straight line, H0 + Hw*E*t/V. (Concentrate's own few per cent are left out.)

    Args:
        volume_l: sump volume, litres.
        start, water, limit: mg/L.
        evaporation, drag_out: L/day.
        days: days, 0 or more.

    Raises:
        BadInput: a volume of zero, or anything below zero.
    """
    if not 0.0 < volume_l < 1e9:
        raise BadInput(
            f"a sump of {volume_l:g} L is not possible",
            place="volume_l",
            value=volume_l,
            right="give a volume above 0 L",
        )
    pairs = {"start": start, "water": water, "evaporation": evaporation, "drag_out": drag_out, "days": days}
    for name, value in pairs.items():
        _not_negative(name, value)
    if drag_out <= 0.0:
        plateau = inf if water * evaporation > 0 else start
        after = start + water * evaporation * days / volume_l
    else:
        plateau = water * (evaporation + drag_out) / drag_out
        after = start - (plateau - start) * expm1(-drag_out * days / volume_l)
    over = None if limit is None else _day_over(volume_l, start, water, evaporation, drag_out, plateau, limit)
    return BuildUp(after, plateau, over)


def swap_to_reach(volume_l: float, now: float, fresh: float, wanted: float) -> float:
    """Litres to take out and replace by fresh mix in water of `fresh` mg/L to come down to `wanted`.

    Raises:
        BadInput: fresh mix is no softer than wanted, so no swap gets there.
    """
    if wanted >= now:
        return 0.0
    if fresh >= wanted:
        raise BadInput(
            f"fresh mix of {fresh:g} mg/L never brings the sump down to {wanted:g} mg/L",
            place="fresh",
            value=fresh,
            right="mix it in softer (deionised or blended) water",
        )
    return volume_l - balance.amount_kept(volume_l, now, fresh, wanted)


def _day_over(
    volume_l: float,
    start: float,
    water: float,
    evaporation: float,
    drag_out: float,
    plateau: float,
    limit: float,
) -> float | None:
    if start >= limit:
        return 0.0
    if plateau <= limit:
        return None
    if drag_out <= 0.0:
        return (limit - start) * volume_l / (water * evaporation)
    return -volume_l / drag_out * log1p(-(limit - start) / (plateau - start))


def _not_negative(name: str, value: float) -> None:
    if not 0.0 <= value < inf:
        raise BadInput(
            f"{value:g} is below zero or not a number", place=name, value=value, right="give 0 or more"
        )
