"""Holding a sump on target from its log."""

from __future__ import annotations

import pytest

from advisor.errors import BadInput
from advisor.mixing import balance
from advisor.mixing.holding import Log, hold, keep_strength


def test_keep_strength_of_the_trade() -> None:
    """24 of 40 L a day evaporated and 6 % wanted: top up at 2.4 % (worked by hand)."""
    assert keep_strength(0.06, 24 / 40) == pytest.approx(0.024)


@pytest.mark.parametrize(("phi", "topped"), [(0.0, 0.02), (0.35, 0.0), (0.6, 0.024), (0.9, 0.01)])
def test_log_gives_back_the_losses_it_was_made_with(phi: float, topped: float) -> None:
    """A log simulated with a known evaporated share gives that share back."""
    from scipy.integrate import solve_ivp

    run = solve_ivp(lambda _, c: (40 * topped - 40 * (1 - phi) * c) / 1000, (0, 14), [0.07], rtol=1e-10)
    result = hold(0.06, Log(1000.0, 0.07, float(run.y[0, -1]), 560.0, topped, 14.0))
    assert result.evaporated_share.value == pytest.approx(phi, abs=0.02)
    assert result.top_up.value == pytest.approx(0.06 * (1 - phi), abs=0.0015)
    assert result.loss_per_day_l == pytest.approx(40.0)


def test_water_only_and_too_rich_are_warned() -> None:
    """A steady sump on water needs no mix, and one that loses strength faster than volume is odd."""
    steady = hold(0.06, Log(1000.0, 0.06, 0.1, 400.0, 0.0, 14.0))
    assert any("plain water" in line for line in steady.warnings)
    odd = hold(0.06, Log(1000.0, 0.08, 0.04, 200.0, 0.0, 14.0))
    assert odd.top_up.value > 0.06
    assert any("richer than the target" in line for line in odd.warnings)


def test_short_log_says_it_cannot_tell() -> None:
    """A day's topping up does not tell the losses apart."""
    result = hold(0.06, Log(1000.0, 0.06, 0.061, 20.0, 0.0, 1.0))
    assert any("longer stretch" in line for line in result.warnings)


@pytest.mark.parametrize(
    "bad",
    [
        {"volume_l": 0.0},
        {"days": -1.0},
        {"strength_after": 0.0},
        {"fill_after": 1.2},
        {"topped_l": 100.0, "fill_before": 0.5},
    ],
)
def test_impossible_logs(bad: dict[str, float]) -> None:
    """A log that cannot be is refused with what would be right."""
    base = {"volume_l": 1000.0, "strength_before": 0.06, "strength_after": 0.06, "topped_l": 100.0}
    with pytest.raises(BadInput) as caught:
        hold(0.06, Log(**(base | bad)))
    assert caught.value.right


def test_settling_strength_is_where_holding_ends() -> None:
    """After very long, a held sump stands where the top-up and the losses balance."""
    end = balance.settles_at(0.024, 0.6)
    assert end == pytest.approx(0.06)
    assert balance.held(200.0, 0.12, 0.024, 0.6, 1e5) == pytest.approx(end)
