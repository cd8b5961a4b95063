"""Doses by the label, and keeping against changing."""

from __future__ import annotations

import pytest

from advisor.errors import BadInput, Refused
from advisor.mixing.dosing import dose
from advisor.mixing.dump_or_keep import Course, Prices, choose, clean_out


@pytest.mark.parametrize("missing", [0, 1, 2])
def test_no_dose_is_invented(missing: int) -> None:
    """Without any one of the label's figures there is no dose."""
    label: list[float | None] = [1.0, 1000.0, 1.5]
    label[missing] = None
    with pytest.raises(Refused, match="label"):
        dose(200.0, *label)


def test_dose_by_the_label_is_spread() -> None:
    """1 L to 1000 L in a sump of 200 L is 0.2 L, in portions, with 0.3 L as the most."""
    result = dose(200.0, 1.0, 1000.0, 1.5, portions=4)
    assert result.amount_l == pytest.approx(0.2)
    assert result.portion_l * result.portions == pytest.approx(result.amount_l)
    assert result.most_l == pytest.approx(0.3)


@pytest.mark.parametrize(("already", "refused"), [(0.1, False), (0.101, True)])
def test_never_beyond_the_label(already: float, refused: bool) -> None:
    """0.2 L more is allowed up to the label's 0.3 L exactly, and refused beyond."""
    if not refused:
        assert dose(200.0, 1.0, 1000.0, 1.5, already).amount_l == pytest.approx(0.2)
        return
    with pytest.raises(Refused, match="beyond the label"):
        dose(200.0, 1.0, 1000.0, 1.5, already)


def test_break_even_is_where_both_cost_the_same() -> None:
    """A charge kept for exactly the break-even days costs per day what a new one costs."""
    prices = Prices(6.0, 0.01, 0.5, 60.0)
    dump = Course(14.0, 186.0, 200.0, 4.0, 180.0)
    first = choose(Course(2.0, 20.0, 20.0, 1.0, 30.0), dump, prices)
    assert dump.cost(prices) == pytest.approx(14 * 6 + 186 * 0.01 + 200 * 0.5 + 4 * 60)
    even = choose(Course(2.0, 20.0, 20.0, 1.0, first.break_even_days), dump, prices)
    assert even.keep_per_day == pytest.approx(even.dump_per_day)
    assert choose(Course(2.0, 20.0, 20.0, 1.0, first.break_even_days * 0.9), dump, prices).keep is False


def test_clean_out_adds_up() -> None:
    """110 L at 3.5 % is 3.85 L of concentrate in 106.15 L of water; waste is charge, cleaner and rinses."""
    plan = clean_out(110.0, 100.0, 0.035)
    assert (plan.charge_concentrate_l, plan.charge_water_l) == (pytest.approx(3.85), pytest.approx(106.15))
    assert plan.waste_l == pytest.approx(100.0 + plan.cleaner_l + plan.rinse_l)
    assert 0.01 * 100 <= plan.cleaner_l <= 0.02 * 100  # DGUV Regel 109-003, Annex 5: 1 to 2 %


@pytest.mark.parametrize(
    "call",
    [
        lambda: Prices(-1.0),
        lambda: Course(0, 0, 0, 0, 0.0),
        lambda: clean_out(0, 0, 0.07),
        lambda: clean_out(100, 120, 0.07),
        lambda: dose(0.0, 1.0, 1000.0, 1.5),
    ],
)
def test_figures_that_cannot_be(call: object) -> None:
    """Prices, lives and volumes that cannot be are refused."""
    with pytest.raises(BadInput):
        call()  # type: ignore[operator]
