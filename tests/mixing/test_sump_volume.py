"""The volume from a fix, by hand and against the `uncertainties` package."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import BadInput
from advisor.mixing import balance
from advisor.mixing.sump_volume import volume_from_fix


@settings(derandomize=True, deadline=None)
@given(
    st.floats(50.0, 2000.0),
    st.floats(0.02, 0.1),
    st.floats(0.0, 0.2),
    st.floats(5.0, 300.0),
    st.floats(0, 40),
)
def test_volume_comes_back(volume: float, before: float, mix: float, added: float, removed: float) -> None:
    """A fix worked forward by blending gives back the volume it was worked from."""
    after = balance.blend([(volume - removed, before), (added, mix)])
    if abs(after - before) < 1e-4:
        return
    assert volume_from_fix(before, after, added, mix, removed).before_l.value == pytest.approx(
        volume, rel=1e-6
    )


def test_uncertainty_agrees_with_the_package() -> None:
    """Propagation gives what the `uncertainties` package gives for a well-conditioned fix."""
    from uncertainties import ufloat

    c0, c1, a = ufloat(0.13, 0.003), ufloat(0.07, 0.003), ufloat(100, 3)
    theirs = a * (0.01 - c1) / (c1 - c0)
    ours = volume_from_fix(0.13, 0.07, 100.0, 0.01).before_l
    assert ours.value == pytest.approx(theirs.nominal_value)
    assert ours.sd == pytest.approx(theirs.std_dev, rel=0.02)


def test_small_change_tells_nothing() -> None:
    """Half a point on a 0.3-point instrument is no volume."""
    result = volume_from_fix(0.065, 0.07, 30.0, 0.12)
    assert not result.certain
    assert "too small" in result.sentences[0]


@pytest.mark.parametrize(("plate", "said"), [(200.0, "agrees"), (120.0, "more than"), (500.0, "less than")])
def test_nameplate_is_reconciled(plate: float, said: str) -> None:
    """100 L of 1 % takes 13 to 7 %: 100 L were in it, 200 L are now; the plate is judged by that."""
    result = volume_from_fix(0.13, 0.07, 100.0, 0.01, nameplate_l=plate)
    assert result.after_l.value == pytest.approx(200.0)
    assert said in result.sentences[0]


@pytest.mark.parametrize(
    "bad",
    [(0.07, 0.07, 10.0, 0.1), (0.07, 0.06, 10.0, 0.1), (0.07, 0.08, 0.0, 0.1), (0.05, 0.13, 10.0, 0.12)],
)
def test_fixes_that_cannot_be(bad: tuple[float, float, float, float]) -> None:
    """No change, the wrong direction, past what was added, or nothing added."""
    with pytest.raises(BadInput):
        volume_from_fix(*bad)
