"""Instruments against published tables and other packages."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import BadInput, Refused
from advisor.mixing.brix_table import correction, index_from_brix
from advisor.mixing.instruments import acid_split, combined, fit_factor, proves, strength, titration
from advisor.mixing.spread import Estimate
from advisor.quantities import brix_from_index

CHECK = settings(derandomize=True, deadline=None, max_examples=100)


@pytest.mark.parametrize("brix", [0.0, 3.3, 6.5, 10.0, 14.2, 22.0, 33.0])
def test_index_agrees_with_icumsa(brix: float) -> None:
    """Our index of refraction agrees with the ICUMSA scale in the `chemicals` package to 0.0001."""
    from chemicals.refractivity import brix_to_RI

    assert index_from_brix(brix) == pytest.approx(brix_to_RI(brix), abs=1e-4)


@CHECK
@given(st.floats(0.0, 39.9))
def test_index_and_brix_are_inverse(brix: float) -> None:
    """Brix to index and back gives the same Brix."""
    assert brix_from_index(index_from_brix(brix)) == pytest.approx(brix, abs=1e-4)


@pytest.mark.parametrize(
    ("brix", "celsius", "cell"),
    [
        (10, 5, -0.82),
        (15, 9, -0.67),
        (20, 12, -0.53),
        (25, 14, -0.42),
        (30, 17, -0.22),
        (10, 15, -0.32),
    ],
)
def test_correction_of_the_oiv_table(brix: float, celsius: float, cell: float) -> None:
    """Cells of OIV-MA-AS2-02, Table I."""
    assert correction(brix, celsius) == pytest.approx(cell)


@pytest.mark.parametrize(("brix", "by_index"), [(0, 0.73), (4, 0.76), (10, 0.76), (14, 0.77)])
def test_thirty_degrees_against_refractive_index(brix: float, by_index: float) -> None:
    """At 30 °C the shift agrees within 0.03 °Bx with indices of ISO 1743 at 20 and 30 °C."""
    assert correction(brix, 30.0) == pytest.approx(by_index, abs=0.03)


@CHECK
@given(st.floats(10.0, 15.0), st.floats(10.0, 17.0))
def test_the_two_tables_agree_where_they_meet(brix: float, celsius: float) -> None:
    """OIV and the international table differ by no more than 0.02 °Bx plus rounding where both apply."""
    from advisor.mixing import brix_table

    oiv = brix_table._between(brix_table._OIV, brix_table._OIV_BRIX, brix, celsius)
    aoac = brix_table._between(brix_table._AOAC, brix_table._AOAC_BRIX, brix, celsius)
    assert abs(oiv - aoac) <= 0.035


def test_correction_outside_the_tables_is_refused() -> None:
    """40 °C has no correction; the sentence says what to do."""
    with pytest.raises(BadInput, match="no correction"):
        correction(6.0, 40.0)


def test_zero_factor_and_dilution_of_the_trade() -> None:
    """6.8 less 1.5 on water is 5.3 % at factor 1; a sample mixed one to one reads half."""
    assert strength(6.8, 1.0, water_reading=1.5).value == pytest.approx(0.053)
    assert strength(3.0, 2.0, diluted_parts=1.0).value == pytest.approx(0.12)
    assert strength(6.0, 1.0, temperature=30.0, compensated=True).value == pytest.approx(0.06)


def test_strength_doubt_agrees_with_the_package() -> None:
    """Reading, zero and factor propagate as the `uncertainties` package says."""
    from uncertainties import ufloat

    theirs = (ufloat(6.5, 0.2) - ufloat(0.3, 0.1)) * ufloat(2.0, 0.06) / 100
    ours = strength(6.5, 2.0, water_reading=0.3)
    assert (ours.value, ours.sd) == (
        pytest.approx(theirs.nominal_value),
        pytest.approx(theirs.std_dev, rel=1e-3),
    )


def test_factor_fit_agrees_with_numpy() -> None:
    """Slope through zero and its standard error agree with numpy's least squares."""
    import numpy as np

    x, y = np.array([1.6, 3.1, 4.4, 6.1]), np.array([3.0, 6.0, 9.0, 12.0])
    slope, rest, *_ = np.linalg.lstsq(x[:, None], y, rcond=None)
    fit = fit_factor([(b / 100, a) for a, b in zip(x, y, strict=True)])
    assert fit.factor.value == pytest.approx(slope[0])
    assert fit.factor.sd == pytest.approx(np.sqrt(rest[0] / 3 / np.sum(x * x)))
    assert fit.fits


def test_factor_fit_notices_an_instrument_off_zero() -> None:
    """Samples on a line that starts well off zero are said not to fit."""
    fit = fit_factor([(0.02, 2.01), (0.04, 3.0), (0.06, 3.99), (0.08, 5.0), (0.10, 6.0)])
    assert not fit.fits
    assert "Zero the instrument" in fit.sentence
    with pytest.raises(BadInput):
        fit_factor([(0.03, 1.5), (0.06, 3.0)])


def test_titration_and_acid_split() -> None:
    """6 mL at 1.2 % per mL is 7.2 %; 5 mL oil in 100 mL less 40 % of 7 % leaves 2.2 % foreign oil."""
    assert titration(6.0, 1.2).value == pytest.approx(0.072)
    assert acid_split(100.0, 5.0, 0.07, 0.40).tramp_oil == pytest.approx(0.022)
    with pytest.raises(BadInput):
        titration(3.0, 0.0)
    with pytest.raises(BadInput):
        acid_split(100.0, 120.0, 0.07, 0.4)


def test_two_methods_are_combined_or_refused() -> None:
    """Methods that agree are weighted; methods that do not are refused with what to look for."""
    both = combined(Estimate(0.070, 0.004), Estimate(0.074, 0.002))
    assert both.value == pytest.approx((0.070 / 16 + 0.074 / 4) / (1 / 16 + 1 / 4))
    assert both.sd < 0.002
    with pytest.raises(Refused, match="disagree"):
        combined(Estimate(0.07, 0.003), Estimate(0.09, 0.003))


def test_a_blunt_instrument_cannot_prove_a_narrow_window() -> None:
    """A doubt of 0.5 point cannot prove a window of one point, and can prove one of four."""
    assert proves(Estimate(0.07, 0.005), (0.065, 0.075))
    assert proves(Estimate(0.07, 0.005), (0.06, 0.10)) == ""
