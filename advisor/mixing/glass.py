"""What a hand refractometer shows at a strength, where its scale is not the strength itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

_SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Glass:
    """A hand refractometer on one product, as a person reads it.

    Attributes:
        factor: strength in per cent over reading in °Bx, above 0; from the product's data sheet.
        water: what it reads on the mixing water, °Bx.
    """

    factor: float = 1.0
    water: float = 0.0

    @classmethod
    def of(cls, held: Mapping[str, Any] | None) -> Glass:
        """The glass as a recipe keeps it; a plain one where it keeps none."""
        held = held or {}
        return cls(float(held.get("factor") or 1.0), float(held.get("water") or 0.0))

    @property
    def plain(self) -> bool:
        """Whether it shows the strength itself, so that one number says both."""
        return abs(self.factor - 1.0) <= _SAME and abs(self.water) <= _SAME

    def reading(self, strength: float) -> float:
        """What it reads at a strength (a fraction), °Bx: strength over factor, plus the reading on water."""
        return 100.0 * strength / self.factor + self.water

    def at(self, strength: float) -> str:
        """A strength as it reads: "4.3 on the glass", to one tenth; "" where it shows the strength itself."""
        return "" if self.plain else f"{self.reading(strength):.1f} on the glass"

    def beside(self, strength: float) -> str:
        """The same in brackets, to stand behind the strength."""
        return "" if self.plain else f" ({self.at(strength)})"

    def both(self, strength: float, low: float, high: float) -> str:
        """A prediction: "4.3, likely 4.0 to 4.7 on the glass"; "" where it shows the strength itself."""
        return "" if self.plain else f"{self.reading(strength):.1f}, likely {self.between(low, high)}"

    def between(self, low: float, high: float) -> str:
        """A range of strengths as it reads: "4.0 to 4.7 on the glass"; "" where it shows the strength."""
        return "" if self.plain else f"{self.reading(low):.1f} to {self.at(high)}"
