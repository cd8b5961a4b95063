"""Volumes, strengths and weights as a person at the sump reads them.

Never more digits than a pail, a cup or a hand instrument gives.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import Literal

from advisor.errors import BadInput

System = Literal["L", "US gal", "imp gal"]

LITRES: dict[str, float] = {
    "L": 1.0,
    "US gal": 3.785411784,  # 231 cubic inches exactly; NIST Handbook 44, Appendix C
    "imp gal": 4.54609,  # exact; UK Weights and Measures Act 1985, Schedule 1
    "US fl oz": 0.0295735295625,  # 1/128 US gal; NIST Handbook 44, Appendix C
    "imp fl oz": 0.0284130625,  # 1/160 imp gal; UK Weights and Measures Act 1985, Schedule 1
    "mL": 0.001,
}
_SMALL: dict[str, str] = {"L": "mL", "US gal": "US fl oz", "imp gal": "imp fl oz"}


@dataclass(frozen=True, slots=True)
class Display:
    """Turns litres and fractions into short text in one unit system.

    Attributes:
        units: ``L``, ``US gal`` or ``imp gal``.
    """

    units: System = "L"

    def __post_init__(self) -> None:
        if self.units not in _SMALL:
            raise BadInput(
                f'"{self.units}" is not a unit system',
                place="units",
                value=self.units,
                right='write "L", "US gal" or "imp gal"',
            )

    def volume(self, litres: float) -> str:
        """A volume of mix or water: whole units from 100, halves from 10, tenths below."""
        amount = litres / LITRES[self.units]
        size = abs(amount)
        step = 1.0 if size >= 100 else 0.5 if size >= 10 else 0.1
        return f"{_rounded(amount, step)} {self.units}"

    def measure(self, litres: float) -> str:
        """A measured amount of concentrate: mL or fluid ounces when small, else as `volume`."""
        small = _SMALL[self.units]
        amount = litres / LITRES[small]
        if self.units == "L":
            if amount >= 2000:
                return self.volume(litres)
            return f"{_rounded(amount, 10.0 if amount >= 100 else 5.0 if amount >= 20 else 1.0)} {small}"
        if amount >= 64:
            return self.volume(litres)
        return f"{_rounded(amount, 1.0 if amount >= 20 else 0.5 if amount >= 3 else 0.1)} {small}"

    def strength(self, fraction: float) -> str:
        """A strength in per cent, to one tenth, which is what a hand instrument shows."""
        return f"{_rounded(fraction * 100.0, 0.1)} %"

    def between(self, low: float, high: float) -> str:
        """A strength range in per cent, both ends to one tenth."""
        return f"{_rounded(low * 100.0, 0.1)} to {_rounded(high * 100.0, 0.1)} %"

    def share(self, fraction: float) -> str:
        """A level as a share of the full tank, in whole per cent."""
        return f"{_rounded(fraction * 100.0, 1.0)} %"


def _rounded(amount: float, step: float) -> str:
    value = floor(amount / step + 0.5 + 1e-9) * step  # halves go up, as on paper
    return f"{value:.0f}" if step >= 1.0 or abs(value - round(value)) < 1e-9 else f"{value:.1f}"


METRIC = Display("L")
US = Display("US gal")
IMPERIAL = Display("imp gal")
