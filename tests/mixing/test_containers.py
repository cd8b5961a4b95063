"""Pails, cups and ratios."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import BadInput
from advisor.mixing.display import IMPERIAL, LITRES, METRIC, US
from advisor.mixing.pails import in_pails, pail_weight_kg, real_strength
from advisor.mixing.ratios import in_containers, parts_for, ratio

CHECK = settings(derandomize=True, deadline=None, max_examples=150)


@pytest.mark.parametrize(("unit", "cubic_inches"), [("US gal", 231.0), ("US fl oz", 231 / 128)])
def test_us_measures_by_the_cubic_inch(unit: str, cubic_inches: float) -> None:
    """A US gallon is 231 cubic inches of 16.387064 mL (NIST Handbook 44, Appendix C)."""
    assert LITRES[unit] == pytest.approx(cubic_inches * 0.016387064, rel=1e-12)


def test_imperial_measures() -> None:
    """160 imperial fluid ounces make an imperial gallon; a US gallon is 0.832674 of one (ISO 31 table)."""
    assert LITRES["imp fl oz"] * 160 == pytest.approx(LITRES["imp gal"])
    assert LITRES["US gal"] / LITRES["imp gal"] == pytest.approx(0.832674, abs=5e-7)


@pytest.mark.parametrize(
    ("n", "one_to", "one_in"), [(10, 9.09, 10.0), (20, 4.76, 5.0), (30, 3.23, 3.33), (50, 1.96, 2.0)]
)
def test_both_readings_of_a_ratio(n: int, one_to: float, one_in: float) -> None:
    """Ratio table: 1:20 is 5.00 % or 4.76 %, and must be asked about (trade article reads 1:30 as 3.3 %)."""
    both = ratio(n)
    assert (round(both.one_to * 100, 2), round(both.one_in * 100, 2)) == (one_to, one_in)
    assert both.ask is (one_in - one_to >= 0.1)


@CHECK
@given(st.floats(1.5, 500.0))
def test_ratio_and_parts_are_inverse(parts: float) -> None:
    """Parts from a strength give back the ratio it came from, in either reading."""
    both = ratio(parts)
    assert parts_for(both.one_in, "in") == pytest.approx(parts)
    assert parts_for(both.one_to, "to") == pytest.approx(parts)


def test_seven_ounces_in_five_gallons_is_about_one_per_cent() -> None:
    """The trade's 7 US fl oz in 5 US gal is 1.08 %; exactly 1 % is 6.4 fl oz (common practice)."""
    row = in_pails(5 * LITRES["US gal"], 0.01, 5 * LITRES["US gal"], pail_fill=1.0)[0]
    assert row.concentrate_l / LITRES["US fl oz"] == pytest.approx(6.4)
    assert pytest.approx(0.0108, abs=1e-4) == 7 / (5 * 128 + 7)


def test_rounding_to_the_cup_gives_its_real_strength() -> None:
    """8 L at 7 % is 560 mL; a cup marked every 100 mL gives 600 mL, so 7.5 %."""
    rows = in_pails(8.0, 0.07, 10.0, cup_l=0.1)
    assert rows[0].concentrate_l == pytest.approx(0.6)
    assert real_strength(rows) == pytest.approx(0.075)
    assert in_pails(4.0, 0.01, 10.0, cup_l=0.1)[0].concentrate_l == pytest.approx(0.1)  # never nothing


def test_pail_weight() -> None:
    """A full 5 US gal pail of mix weighs 19 to 20 kg (common practice)."""
    assert 19.0 <= pail_weight_kg(5 * LITRES["US gal"]) <= 20.0


@CHECK
@given(st.floats(0.5, 2000.0), st.floats(0.0, 0.2), st.lists(st.floats(1.0, 200.0), min_size=1, max_size=4))
def test_containers_hold_exactly_what_is_wanted(volume: float, strength: float, sizes: list[float]) -> None:
    """Whatever is owned, the fillings sum to the volume, at the strength, and none runs over."""
    rows = in_containers(volume, strength, sizes)
    assert sum(row.count * row.mix_l for _, row in rows) == pytest.approx(volume)
    assert real_strength(tuple(row for _, row in rows)) == pytest.approx(strength, abs=1e-12)
    assert all(row.mix_l <= size * (1 + 1e-9) for size, row in rows)


@pytest.mark.parametrize(
    "bad", [{"pail_l": 0.0}, {"pail_fill": 0.0}, {"pail_fill": 1.1}, {"cup_l": 0.0}, {"strength": 1.5}]
)
def test_containers_that_cannot_be(bad: dict[str, float]) -> None:
    """A pail, cup or strength that cannot be is refused."""
    base = {"add_l": 10.0, "strength": 0.07, "pail_l": 10.0}
    with pytest.raises(BadInput):
        in_pails(**(base | bad))


def test_no_more_digits_than_a_pail_gives() -> None:
    """Volumes are written in steps a pail or cup can show."""
    assert METRIC.volume(123.4) == "123 L"
    assert METRIC.volume(12.34) == "12.5 L"
    assert US.volume(37.5 * LITRES["US gal"]) == "37.5 US gal"
    assert US.measure(0.1893) == "6.5 US fl oz"
    assert IMPERIAL.measure(0.568) == "20 imp fl oz"
    assert METRIC.strength(0.0975) == "9.8 %"
