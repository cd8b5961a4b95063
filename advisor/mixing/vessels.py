"""How much coolant a tank holds: volume from depth, and depth from volume.

Lengths in metres, volumes in litres. A share of the height is a share of the volume only where the walls
are straight; `Vessel.straight` says whether they are.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import acos, pi, sqrt
from typing import Protocol

from advisor.errors import BadInput


class Vessel(Protocol):
    """A tank. `volume` takes a depth of 0 to `height`, metres, and gives litres."""

    @property
    def height(self) -> float:
        """Depth when full, metres."""
        ...

    @property
    def straight(self) -> bool:
        """True when a share of the height is the same share of the volume."""
        ...

    def volume(self, depth: float) -> float:
        """Litres at that depth."""
        ...


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangular tank: length, width and height in metres."""

    length: float
    width: float
    height: float
    straight = True

    def __post_init__(self) -> None:
        _lengths(length=self.length, width=self.width, height=self.height)

    def volume(self, depth: float) -> float:
        """Litres: length * width * depth."""
        return 1000.0 * self.length * self.width * _depth(self, depth)


@dataclass(frozen=True, slots=True)
class Upright:
    """An upright cylinder: diameter and height in metres."""

    diameter: float
    height: float
    straight = True

    def __post_init__(self) -> None:
        _lengths(diameter=self.diameter, height=self.height)

    def volume(self, depth: float) -> float:
        """Litres: pi/4 * diameter^2 * depth."""
        return 250.0 * pi * self.diameter**2 * _depth(self, depth)


@dataclass(frozen=True, slots=True)
class Lying:
    """A lying cylinder with flat ends: diameter and length in metres."""

    diameter: float
    length: float
    straight = False

    def __post_init__(self) -> None:
        _lengths(diameter=self.diameter, length=self.length)

    @property
    def height(self) -> float:
        """Depth when full: the diameter."""
        return self.diameter

    def volume(self, depth: float) -> float:
        """Litres: length times the circular segment r^2*acos((r-h)/r) - (r-h)*sqrt(2rh - h^2)."""
        r, h = self.diameter / 2.0, _depth(self, depth)
        segment = r * r * acos(max(-1.0, min(1.0, (r - h) / r))) - (r - h) * sqrt(max(0.0, 2 * r * h - h * h))
        return 1000.0 * self.length * max(0.0, segment)


@dataclass(frozen=True, slots=True)
class DipTable:
    """A tank known by its dip-stick table: depths in metres and litres, both rising from the first row."""

    depths: tuple[float, ...]
    litres: tuple[float, ...]

    def __post_init__(self) -> None:
        rising = all(a < b for row in (self.depths, self.litres) for a, b in pairwise(row))
        if len(self.depths) < 2 or len(self.depths) != len(self.litres) or not rising or self.litres[0] < 0:
            raise BadInput(
                "a dip table needs rising depths and rising litres",
                place="dip",
                value=self.depths,
                right='give at least two rows, such as "0 mm: 0 L" and "300 mm: 150 L"',
            )

    @property
    def height(self) -> float:
        """Depth of the last row."""
        return self.depths[-1]

    @property
    def straight(self) -> bool:
        """True when every row lies on one line through nothing."""
        slope = self.litres[-1] / self.depths[-1]
        return all(
            abs(v - slope * d) <= 1e-6 * self.litres[-1]
            for d, v in zip(self.depths, self.litres, strict=True)
        )

    def volume(self, depth: float) -> float:
        """Litres, straight between the rows; below the first row straight down to nothing."""
        h = _depth(self, depth)
        at = bisect_right(self.depths, h)
        if at == len(self.depths):
            return self.litres[-1]
        d0, v0 = (self.depths[at - 1], self.litres[at - 1]) if at else (0.0, 0.0)
        return v0 + (self.litres[at] - v0) * (h - d0) / (self.depths[at] - d0)


@dataclass(frozen=True, slots=True)
class Compartments:
    """Several tanks that stand level with one another, each with the height of its floor.

    An L-shaped tank is two boxes, the shallow one with its floor higher up.
    """

    parts: tuple[tuple[Vessel, float], ...]

    def __post_init__(self) -> None:
        if not self.parts or any(floor < 0 for _, floor in self.parts):
            raise BadInput(
                "compartments need at least one tank and floors of 0 m or more",
                place="parts",
                value=len(self.parts),
                right="measure each floor from the lowest one",
            )

    @property
    def height(self) -> float:
        """Depth at which the first compartment is full, measured from the lowest floor."""
        return min(part.height + floor for part, floor in self.parts)

    @property
    def straight(self) -> bool:
        """True when all floors are level and all walls straight."""
        return all(part.straight and floor == 0.0 for part, floor in self.parts)

    def volume(self, depth: float) -> float:
        """Litres of all compartments at one common surface."""
        h = _depth(self, depth)
        return sum(part.volume(min(part.height, max(0.0, h - floor))) for part, floor in self.parts)


def depth_for(vessel: Vessel, litres: float) -> float:
    """Depth in metres at which a tank holds so many litres (bisection, to a micrometre).

    Raises:
        BadInput: less than nothing, or more than it holds.
    """
    full = vessel.volume(vessel.height)
    if not 0.0 <= litres <= full * (1 + 1e-12):
        raise BadInput(
            f"{litres:.1f} L does not fit a tank of {full:.1f} L",
            place="litres",
            value=litres,
            right=f"give 0 to {full:.1f} L",
        )
    low, high = 0.0, vessel.height
    while high - low > 1e-7:
        middle = (low + high) / 2.0
        low, high = (middle, high) if vessel.volume(middle) < litres else (low, middle)
    return (low + high) / 2.0


def working_volume(vessel: Vessel, depth: float, lines_l: float = 0.0) -> float:
    """Litres in the tank at that depth and in lines and machine, which count for every recipe."""
    if lines_l < 0:
        raise BadInput(
            f"{lines_l:g} L in the lines is below zero",
            place="lines_l",
            value=lines_l,
            right="give 0 L or more",
        )
    return vessel.volume(depth) + lines_l


def share_of_height(vessel: Vessel, share: float) -> tuple[float, str]:
    """What a share of the height is as a share of the volume, and the sentence that says so."""
    at = vessel.volume(share * vessel.height) / vessel.volume(vessel.height)
    if vessel.straight:
        return at, f"The walls are straight: {share:.0%} of the height is {share:.0%} of the volume."
    return at, (
        f"The walls are not straight: {share:.0%} of the height is {at:.0%} of the volume. Go by the volume."
    )


def compartments(parts: Sequence[tuple[Vessel, float]]) -> Compartments:
    """Compartments from a list of tanks and floor heights in metres."""
    return Compartments(tuple(parts))


def _depth(vessel: Vessel, depth: float) -> float:
    if not -1e-12 <= depth <= vessel.height * (1 + 1e-9):
        raise BadInput(
            f"a depth of {depth:.3f} m does not fit a tank {vessel.height:.3f} m deep",
            place="depth",
            value=depth,
            right=f"give 0 to {vessel.height:.3f} m",
        )
    return min(max(depth, 0.0), vessel.height)


def _lengths(**sizes: float) -> None:
    for name, size in sizes.items():
        if not 0.0 < size < 1000.0:
            raise BadInput(
                f"a {name} of {size:g} m is not possible",
                place=name,
                value=size,
                right="give a length above 0",
            )
