"""Ratios such as 1:20, which mean two different strengths, and mixes in the containers a shop owns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from advisor.errors import BadInput
from advisor.mixing.pails import PAIL_FILL, in_pails
from advisor.mixing.recipe import Pail

Meaning = Literal["in", "to"]


@dataclass(frozen=True, slots=True)
class Ratio:
    """Both readings of "1:n".

    Attributes:
        parts: the n.
        one_in: one part in n parts in all, a fraction.
        one_to: one part to n parts of water, a fraction.
        ask: True when the two differ by more than a hand instrument shows, so that it must be asked.
    """

    parts: float
    one_in: float
    one_to: float

    @property
    def ask(self) -> bool:
        """True when the readings differ by a tenth of a point or more."""
        return abs(self.one_in - self.one_to) >= 0.001


def ratio(parts: float) -> Ratio:
    """Both strengths "1:`parts`" may mean: 1/n and 1/(1 + n). 1:20 is 5.00 % or 4.76 %.

    Raises:
        BadInput: fewer than one part.
    """
    if not 1.0 <= parts < 1e6:
        raise BadInput(
            f"1:{parts:g} is not a mixing ratio",
            place="ratio",
            value=parts,
            right="give parts of water to one of concentrate, such as 1:20",
        )
    return Ratio(parts, 1.0 / parts, 1.0 / (1.0 + parts))


def parts_for(strength: float, meaning: Meaning) -> float:
    """The n of "1:n" for a strength, read as 1 in n or 1 to n."""
    if not 0.0 < strength < 1.0:
        raise BadInput(
            f"a strength of {strength:.1%} is not a ratio",
            place="strength",
            value=strength,
            right="give a strength above 0 % and below 100 %",
        )
    return 1.0 / strength if meaning == "in" else 1.0 / strength - 1.0


def in_containers(
    add_l: float,
    strength: float,
    sizes_l: Sequence[float],
    fill: float = PAIL_FILL,
    cup_l: float | None = None,
) -> tuple[tuple[float, Pail], ...]:
    """A mix in whatever containers are at hand: largest first, the rest in the smallest that holds it.

    Args:
        add_l: litres of mix.
        strength: a fraction.
        sizes_l: what each kind of container holds to the brim, litres.
        fill: share of each that is filled.
        cup_l: smallest mark on the measuring cup, or None.

    Returns:
        Pairs of the container's size and its row of fillings.

    Raises:
        BadInput: no container, or one that cannot be.
    """
    if not sizes_l:
        raise BadInput("no container was named", place="sizes_l", right="name at least one, such as 10 L")
    out: list[tuple[float, Pail]] = []
    left = add_l
    ordered = sorted(set(sizes_l), reverse=True)
    for size in ordered[:-1]:
        count = int(left / (size * fill) + 1e-9)
        if count:
            out += [(size, row) for row in in_pails(count * size * fill, strength, size, fill, cup_l)]
            left -= count * size * fill
    if left <= 1e-9:
        return tuple(out)
    holds_rest = [size for size in ordered if size * fill >= left - 1e-9]
    size = holds_rest[-1] if holds_rest else ordered[-1]
    return (*out, *((size, row) for row in in_pails(left, strength, size, fill, cup_l)))
