"""A volume of mix in the pails and cups at hand: whole pails plus one part pail."""

from __future__ import annotations

from math import floor

from advisor.errors import BadInput
from advisor.mixing.recipe import Pail

PAIL_FILL = 0.8
"""Share of a pail that is filled, so that it can be carried without slopping; common practice, no source."""

EMPTY_PAIL_KG = 1.0
"""Weight of an empty plastic pail; common practice, no source. A 5 US gal pail of mix is then 19-20 kg."""

BY_HAND = 6
"""More pails than this call for a trolley or a pump; common practice, no source."""

TO_LIFT_KG = 15.0
"""A pail from this weight on is not carried by one person; common practice, no source."""

_SLIVER = 0.02  # a rest below this share of a pail is spread over the whole ones, not carried on its own


def in_pails(
    add_l: float, strength: float, pail_l: float, pail_fill: float = PAIL_FILL, cup_l: float | None = None
) -> tuple[Pail, ...]:
    """Rows of pails that hold `add_l` litres of mix at `strength`.

    Args:
        add_l: litres of mix in all, 0 or more.
        strength: fraction of concentrate in the mix, 0 to 1.
        pail_l: what one pail holds to the brim, litres, above 0.
        pail_fill: share of the pail that is filled, above 0 and up to 1.
        cup_l: smallest mark on the measuring cup in litres; concentrate per pail is rounded to it,
            never to nothing. None: measured exactly.

    Raises:
        BadInput: pail, fill, cup or strength outside those limits.
    """
    _check(strength, pail_l, pail_fill, cup_l)
    if add_l <= 1e-9:
        return ()
    filled = pail_l * pail_fill
    count = floor(add_l / filled + 1e-9)
    rest = max(0.0, add_l - count * filled)
    if count and rest < _SLIVER * filled:
        return (_pail(count, add_l / count, strength, cup_l),)
    rows = [_pail(count, filled, strength, cup_l)] if count else []
    rows.append(_pail(1, rest, strength, cup_l))
    return tuple(rows)


def rounded_to_marks(concentrate_l: float, cup_l: float) -> float:
    """Concentrate to the nearest mark on the cup, at least one mark when any is wanted."""
    if concentrate_l <= 1e-12:
        return 0.0
    return max(1, round(concentrate_l / cup_l)) * cup_l


def real_strength(rows: tuple[Pail, ...]) -> float:
    """Strength the pails really give, after rounding to the cup's marks."""
    total = sum(row.count * row.mix_l for row in rows)
    return sum(row.count * row.concentrate_l for row in rows) / total if total > 0 else 0.0


def pail_weight_kg(mix_l: float) -> float:
    """Weight of a pail holding `mix_l` litres; water-mixed coolant is taken at 1 kg/L."""
    return mix_l * 1.0 + EMPTY_PAIL_KG


def pail_count(rows: tuple[Pail, ...]) -> int:
    """Pails to carry in all."""
    return sum(row.count for row in rows)


def _pail(count: int, mix_l: float, strength: float, cup_l: float | None) -> Pail:
    concentrate = mix_l * strength
    if cup_l is not None:
        concentrate = min(mix_l, rounded_to_marks(concentrate, cup_l))
    return Pail(count, mix_l - concentrate, concentrate)


def _check(strength: float, pail_l: float, pail_fill: float, cup_l: float | None) -> None:
    if not 0.0 < pail_l < 1e6:
        raise BadInput(
            f"a pail of {pail_l:g} L cannot be filled",
            place="pail_l",
            value=pail_l,
            right="give what one pail holds, for example 10 L or 5 US gal",
        )
    if not 0.0 < pail_fill <= 1.0:
        raise BadInput(
            f"a pail cannot be filled to {pail_fill:.0%}",
            place="pail_fill",
            value=pail_fill,
            right="give a share above 0 % and up to 100 %, usually 80 %",
        )
    if cup_l is not None and not 0.0 < cup_l <= pail_l:
        raise BadInput(
            f"a cup mark of {cup_l:g} L does not fit the pail",
            place="cup_l",
            value=cup_l,
            right="give the smallest mark on the cup, for example 50 mL or 1 US fl oz",
        )
    if not 0.0 <= strength <= 1.0:
        raise BadInput(
            f"a mix of {strength:.1%} cannot be made",
            place="strength",
            value=strength,
            right="give a strength from 0 % to 100 %",
        )
