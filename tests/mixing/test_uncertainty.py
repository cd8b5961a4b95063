"""The 90 % ranges against Monte Carlo, the `uncertainties` package and a worked example of the GUM."""

from __future__ import annotations

from math import sqrt

import pytest

from advisor.mixing import option_parts
from advisor.mixing.display import METRIC
from advisor.mixing.plan import plan
from advisor.mixing.request import Request, request_from
from advisor.mixing.spread import combine, standard_uncertainty


def sump(**more: object) -> Request:
    """A 200 L sump at 80 % and 13 %, target 7 %."""
    return request_from({"sump_volume_l": 200.0, "fill": 0.8, "strength": 0.13, "target": 0.07, **more})


def test_worked_example_of_the_gum() -> None:
    """End-gauge length without correlation: u(l)^2 of independent parts adds as squares (GUM 5.1.2)."""
    power = standard_uncertainty(lambda v, r: v * v / r, (10.0, 50.0), (0.1, 0.5))
    by_hand = sqrt((2 * 10 / 50 * 0.1) ** 2 + (100 / 2500 * 0.5) ** 2)
    assert power == pytest.approx(by_hand, rel=1e-4)


def test_prediction_agrees_with_the_uncertainties_package() -> None:
    """Linear propagation gives what the `uncertainties` package gives."""
    from uncertainties import ufloat

    request = sump()
    doubt = request.doubt
    c, v, f = ufloat(0.13, request.strength_sd), ufloat(200, 200 * doubt.volume), ufloat(0.8, doubt.fill)
    out, into, m = ufloat(60, 60 * doubt.pail), ufloat(100, 100 * doubt.pail), ufloat(0.01, 0.01 * doubt.cup)
    theirs = ((v * f - out) * c + into * m) / (v * f - out + into)
    ours = option_parts.predicted(request, 60.0, 100.0, 0.01)
    assert ours == (pytest.approx(theirs.nominal_value), pytest.approx(theirs.std_dev, rel=0.01))


def test_range_holds_nine_in_ten_by_monte_carlo() -> None:
    """A fixed-seed simulation of the draining puts 88 to 92 % of outcomes inside the range."""
    import numpy as np

    request = sump()
    best = plan("thin", {"sump_volume_l": 200.0, "fill": 0.8, "strength": 0.13, "target": 0.07}, METRIC).best
    assert best is not None
    rng, n, doubt = np.random.default_rng(7), 200_000, request.doubt
    kept = rng.normal(200, 200 * doubt.volume, n) * rng.normal(0.8, doubt.fill, n) - rng.normal(
        best.remove_l, best.remove_l * doubt.pail, n
    )
    into = rng.normal(best.add_l, best.add_l * doubt.pail, n)
    after = (
        kept * rng.normal(0.13, request.strength_sd, n) + into * rng.normal(0.01, 0.01 * doubt.cup, n)
    ) / (kept + into)
    inside = np.mean((after >= best.strength_low) & (after <= best.strength_high))
    assert 0.88 <= inside <= 0.92


def test_strength_doubt_from_reading_and_factor() -> None:
    """Reading 6.5 ± 0.2 °Bx times factor 2 ± 3 %: sqrt(0.4^2 + 0.39^2) points."""
    request = request_from({"sump_volume_l": 200.0, "reading": 6.5, "factor": 2.0, "target": 0.07})
    assert request.strength_sd * 100 == pytest.approx(sqrt(0.4**2 + (13 * 0.03) ** 2))


def test_a_range_wider_than_the_window_is_said() -> None:
    """When the instrument cannot prove the fix, the recipe says so."""
    wide = plan(
        "thin",
        {
            "sump_volume_l": 200.0,
            "fill": 0.8,
            "reading": 6.5,
            "factor": 2.0,
            "target": 0.07,
            "window": (0.068, 0.072),
        },
    ).best
    assert wide is not None
    assert any("cannot prove the fix" in line for line in wide.warnings)


def test_combining_two_methods_weighs_by_uncertainty() -> None:
    """Two equal doubts give the mean and a doubt smaller by the root of two."""
    assert combine(0.06, 0.004, 0.08, 0.004) == (pytest.approx(0.07), pytest.approx(0.004 / sqrt(2)))


def test_held_range_agrees_with_monte_carlo() -> None:
    """Holding 200 L from 9 to 7 % on water: 86 to 94 % of simulated outcomes lie inside the range."""
    import numpy as np

    inputs = {"sump_volume_l": 200.0, "strength": 0.09, "target": 0.07, "window": (0.06, 0.10)}
    best, request = plan("thin", inputs).best, request_from(inputs)
    assert best is not None
    rng, n, doubt = np.random.default_rng(11), 200_000, request.doubt
    size = 200 * rng.normal(1, doubt.volume, n) * rng.normal(1, doubt.fill, n)
    carried = 1 - np.clip(rng.normal(0.6, doubt.share, n), 0, 0.999)
    poured = rng.normal(best.add_l, best.add_l * doubt.pail, n)
    after = rng.normal(0.09, request.strength_sd, n) * np.exp(-carried * poured / size)
    assert 0.86 <= np.mean((after >= best.strength_low) & (after <= best.strength_high)) <= 0.94
