"""How sure a computed figure is: first-order propagation of standard uncertainties.

Source: JCGM 100:2008 (GUM), 5.1.2, law of propagation for uncorrelated input quantities;
90 % ranges use the normal factor 1.645 (GUM, table G.1).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import sqrt

NINETY = 1.6448536269514722
"""Half-width of a two-sided 90 % range in standard deviations."""


def standard_uncertainty(
    formula: Callable[..., float], values: Sequence[float], sds: Sequence[float]
) -> float:
    """Standard uncertainty of ``formula(*values)``.

    Each input is moved one standard deviation both ways; half the difference is its share, and the
    shares add as squares (GUM 5.1.3, note 2).

    Args:
        formula: a smooth function of as many numbers as there are values.
        values: the inputs' best values.
        sds: their standard uncertainties, 0 or more, same order and units.
    """
    total = 0.0
    for index, sd in enumerate(sds):
        if sd <= 0.0:
            continue
        up, down = list(values), list(values)
        up[index] += sd
        down[index] -= sd
        half = (formula(*up) - formula(*down)) / 2.0
        total += half * half
    return sqrt(total)


def ninety_range(value: float, sd: float, floor: float = 0.0, ceiling: float = 1.0) -> tuple[float, float]:
    """Range that holds the true value 9 times in 10, cut at what is physically possible."""
    return max(floor, value - NINETY * sd), min(ceiling, value + NINETY * sd)


def combine(first: float, first_sd: float, second: float, second_sd: float) -> tuple[float, float]:
    """Two independent values of one quantity, weighted by their uncertainty: value and its sd."""
    a, b = 1.0 / first_sd**2, 1.0 / second_sd**2
    return (first * a + second * b) / (a + b), sqrt(1.0 / (a + b))


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure with its standard uncertainty, both in the same unit."""

    value: float
    sd: float

    @property
    def low(self) -> float:
        """Lower end of the range that holds the true value 9 times in 10."""
        return self.value - NINETY * self.sd

    @property
    def high(self) -> float:
        """Upper end of that range."""
        return self.value + NINETY * self.sd


def estimate(formula: Callable[..., float], *inputs: Estimate) -> Estimate:
    """``formula`` of uncorrelated inputs, with first-order propagation (GUM 5.1.2)."""
    values = [item.value for item in inputs]
    return Estimate(formula(*values), standard_uncertainty(formula, values, [item.sd for item in inputs]))
