"""Hardness against pint, and build-up against scipy's integrator."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import BadInput
from advisor.mixing.water import blend_two, build_up, from_ions, in_all_units, swap_to_reach

CHECK = settings(derandomize=True, deadline=None, max_examples=100)


@pytest.mark.parametrize(
    ("unit", "factor"),
    [("°dH", 17.848), ("°f", 10.0), ("°e", 14.254), ("gr/US gal", 17.118), ("mmol/L", 100.087)],
)
def test_hardness_factors_of_the_tables(unit: str, factor: float) -> None:
    """Conversion factors as standards pages print them."""
    assert factor / in_all_units(factor)[unit] == pytest.approx(factor, abs=0.001)
    assert in_all_units(factor)[unit] == pytest.approx(1.0, abs=1e-4)


@pytest.mark.parametrize(
    ("unit", "name"), [("°dH", "german_hardness"), ("°e", "english_hardness"), ("gr/US gal", "us_hardness")]
)
def test_hardness_agrees_with_pint(unit: str, name: str) -> None:
    """The same degree defined in pint gives the same figure."""
    from advisor.quantities import registry

    theirs = registry().Quantity(1.0, name).to("milligram / liter").magnitude
    assert in_all_units(theirs)[unit] == pytest.approx(1.0, rel=1e-6)


def test_hardness_from_ions() -> None:
    """2.497 Ca + 4.118 Mg + 1.792 Fe, the factors of water-analysis tables."""
    assert from_ions(1.0, 0.0) == pytest.approx(2.497, abs=0.001)
    assert from_ions(0.0, 1.0) == pytest.approx(4.118, abs=0.004)
    assert from_ions(0.0, 0.0, 1.0) == pytest.approx(1.792, abs=0.001)


def test_blend_of_tap_and_reverse_osmosis() -> None:
    """200 L at 100 ppm from 260 and 12 ppm: 71 L and 129 L (worked by hand: 88/248)."""
    one, two = blend_two(200.0, 260.0, 12.0, 100.0)
    assert (one, two) == (pytest.approx(200 * 88 / 248), pytest.approx(200 * 160 / 248))
    with pytest.raises(BadInput):
        blend_two(200.0, 260.0, 12.0, 300.0)


@pytest.mark.parametrize("drag", [0.0, 4.0, 16.0, 60.0])
def test_build_up_agrees_with_an_integrator(drag: float) -> None:
    """The closed form agrees with scipy's solve_ivp."""
    from scipy.integrate import solve_ivp

    run = solve_ivp(lambda _, h: (178.0 * (24 + drag) - drag * h) / 400.0, (0, 90), [120.0], rtol=1e-10)
    assert build_up(400.0, 120.0, 178.0, 24.0, drag, 90.0).after == pytest.approx(run.y[0, -1], rel=1e-7)


def test_build_up_of_the_trade() -> None:
    """1000 L losing 50 L a day doubles in 20 days; 24 and 16 L a day level off at 2.5 times the water."""
    dh = 17.848
    result = build_up(1000.0, 10 * dh, 10 * dh, 50.0, 0.0, 20.0, limit=40 * dh)
    assert result.after == pytest.approx(20 * dh)
    assert result.day_over == pytest.approx(60.0)
    assert build_up(1000.0, 100.0, 100.0, 24.0, 16.0, 1.0).plateau == pytest.approx(250.0)


@CHECK
@given(st.floats(50, 400), st.floats(50, 400), st.floats(1, 60), st.floats(0, 60), st.floats(100, 1500))
def test_limit_is_crossed_on_the_day_told(
    start: float, water: float, evaporation: float, drag: float, limit: float
) -> None:
    """On the day told the hardness equals the limit; where none is told it never gets there."""
    result = build_up(500.0, start, water, evaporation, drag, 10.0, limit)
    if result.day_over is None:
        assert max(start, result.plateau) <= limit + 1e-9
    elif result.day_over > 0:
        then = build_up(500.0, start, water, evaporation, drag, result.day_over).after
        assert then == pytest.approx(limit, rel=1e-6)


def test_swap_brings_it_back() -> None:
    """Half a sump swapped for soft mix halves the way down (partial change leaves its share behind)."""
    assert swap_to_reach(500.0, 400.0, 100.0, 250.0) == pytest.approx(250.0)
    assert swap_to_reach(500.0, 200.0, 100.0, 250.0) == 0.0
    with pytest.raises(BadInput):
        swap_to_reach(500.0, 400.0, 300.0, 250.0)
