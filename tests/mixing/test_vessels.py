"""Tank volumes against scipy's integrator, and depth as their inverse."""

from __future__ import annotations

from math import pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import BadInput
from advisor.mixing.vessels import (
    Box,
    Compartments,
    DipTable,
    Lying,
    Upright,
    Vessel,
    depth_for,
    share_of_height,
    working_volume,
)

CHECK = settings(derandomize=True, deadline=None, max_examples=100)
L_SHAPE = Compartments(((Box(0.8, 0.6, 0.4), 0.0), (Box(0.4, 0.6, 0.3), 0.1)))
DIP = DipTable((0.0, 0.1, 0.3), (0.0, 30.0, 150.0))
ALL = [Box(0.8, 0.6, 0.4), Upright(0.6, 0.9), Lying(0.6, 1.2), L_SHAPE, DIP]


@pytest.mark.parametrize("share", [0.05, 0.3, 0.5, 0.77, 1.0])
def test_lying_cylinder_agrees_with_integration(share: float) -> None:
    """The segment formula agrees with scipy's integral of the chord over the depth."""
    from scipy.integrate import quad

    tank, r = Lying(0.6, 1.2), 0.3
    litres, _ = quad(lambda y: 2 * sqrt(max(0.0, r * r - (y - r) ** 2)) * 1.2 * 1000, 0, 0.6 * share)
    assert tank.volume(0.6 * share) == pytest.approx(litres, rel=1e-7)


def test_l_shape_agrees_with_integration() -> None:
    """Two compartments at one surface hold the integral of their common area over the depth."""
    from scipy.integrate import quad

    def area(y: float) -> float:
        return 0.8 * 0.6 + (0.4 * 0.6 if y > 0.1 else 0.0)

    litres, _ = quad(lambda y: area(y) * 1000, 0, 0.33, points=[0.1])
    assert L_SHAPE.volume(0.33) == pytest.approx(litres)


def test_textbook_volumes() -> None:
    """Box and cylinder as in any table of solids."""
    assert Box(1.0, 0.5, 0.4).volume(0.4) == pytest.approx(200.0)
    assert Upright(1.0, 1.0).volume(1.0) == pytest.approx(1000 * pi / 4)
    assert Lying(1.0, 2.0).volume(0.5) == pytest.approx(1000 * pi / 4)


@CHECK
@given(st.sampled_from(ALL), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_depth_is_the_inverse_of_volume(tank: Vessel, share: float, other: float) -> None:
    """Depth for a volume gives that volume back, and more depth is never less volume."""
    litres = tank.volume(share * tank.height)
    assert tank.volume(depth_for(tank, litres)) == pytest.approx(litres, abs=1e-3)
    low, high = sorted((share, other))
    assert tank.volume(low * tank.height) <= tank.volume(high * tank.height) + 1e-9


def test_share_of_height_is_told_apart_from_share_of_volume() -> None:
    """30 % of the height of a lying cylinder is 25.2 % of its volume; in a box it is 30 %."""
    lying, said = share_of_height(Lying(0.6, 1.2), 0.3)
    assert lying == pytest.approx(0.2523, abs=1e-4)  # (acos(.4) - .4*sqrt(.84))/pi, by hand
    assert "not straight" in said
    assert share_of_height(Box(1, 1, 1), 0.3)[0] == pytest.approx(0.3)
    assert not L_SHAPE.straight
    assert not DIP.straight


def test_lines_count_too() -> None:
    """Coolant in lines and machine is part of the working volume."""
    assert working_volume(Box(1.0, 0.5, 0.4), 0.2, 15.0) == pytest.approx(115.0)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Box(0.0, 1.0, 1.0),
        lambda: Lying(-1.0, 1.0),
        lambda: Box(1, 1, 1).volume(2),
        lambda: DipTable((0.0, 0.2), (5.0, 5.0)),
        lambda: depth_for(Box(1, 1, 1), 1001.0),
        lambda: Compartments(()),
        lambda: working_volume(Box(1, 1, 1), 0.5, -1.0),
    ],
)
def test_tanks_that_cannot_be(make: object) -> None:
    """Impossible sizes, depths and tables are refused."""
    with pytest.raises(BadInput):
        make()  # type: ignore[operator]
