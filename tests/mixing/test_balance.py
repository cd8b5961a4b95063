"""Blend balance against published alligation examples and an integrator; properties by hypothesis."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import BadInput
from advisor.mixing import balance, thumb_rules

CHECK = settings(derandomize=True, deadline=None, max_examples=150)
share = st.floats(0.0, 0.5)
litres = st.floats(1.0, 5000.0)


def test_alligation_of_the_pharmacy_tutorial() -> None:
    """70 % with 20 % to 30 % is 1 part to 4 (pharmacy-technician arithmetic tutorial, alligation)."""
    assert balance.parts(0.70, 0.20, 0.30) == (pytest.approx(1 / 5), pytest.approx(4 / 5))


def test_alligation_of_army_course() -> None:
    """300 mL of 70 % diluted to 40 % takes 225 mL of water (US Army MD0802, p. 2-34)."""
    assert balance.amount_to_add(300.0, 0.70, 0.0, 0.40) == pytest.approx(225.0)


@pytest.mark.parametrize(
    ("args", "litres_added"),
    [
        ((300.0, 0.04, 1.0, 0.07), 9.68),
        ((300.0, 0.04, 0.20, 0.07), 69.2),
        ((300.0, 0.09, 0.0, 0.06), 150.0),
    ],
)
def test_trade_arithmetic(args: tuple[float, float, float, float], litres_added: float) -> None:
    """Worked examples of the trade: strengthen by neat and by premix, thin with room (common practice)."""
    assert balance.amount_to_add(*args) == pytest.approx(litres_added, abs=0.05)


def test_make_up_needs_room() -> None:
    """A full sump has no make-up strength; the sentence says what fill would do."""
    with pytest.raises(BadInput, match="no room"):
        balance.make_up_strength(0.07, 1.0, 0.09)


def test_run_down_thickens() -> None:
    """13 % run down to half at 60 % evaporation stands at 19.7 %, not 13 % (mass balance, worked example)."""
    assert balance.run_down(0.13, 1.0, 0.5, 0.6) == pytest.approx(0.197, abs=0.0005)
    assert balance.run_down(0.06, 1000.0, 900.0, 1.0) == pytest.approx(60 / 900)
    assert balance.run_down(0.06, 1000.0, 900.0, 0.0) == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("now", "mix", "phi", "through"),
    [(0.13, 0.0, 0.6, 300.0), (0.05, 0.12, 0.6, 120.0), (0.09, 0.01, 0.0, 80.0), (0.07, 0.02, 1.0, 90.0)],
)
def test_held_sump_agrees_with_an_integrator(now: float, mix: float, phi: float, through: float) -> None:
    """The closed form of a held sump agrees with scipy's integrator."""
    from scipy.integrate import solve_ivp

    run = solve_ivp(lambda _, c: (mix - (1 - phi) * c) / 250.0, (0, through), [now], rtol=1e-10, atol=1e-12)
    assert balance.held(250.0, now, mix, phi, through) == pytest.approx(run.y[0, -1], rel=1e-7)


@CHECK
@given(volume=litres, now=share, added=share, wanted=share)
def test_amount_to_add_closes_the_balance_or_is_refused(
    volume: float, now: float, added: float, wanted: float
) -> None:
    """What is worked out blends back to what was wanted; it is refused exactly when impossible."""
    possible = abs(wanted - now) < 1e-9 or (
        (wanted - now) * (added - wanted) > 0 and abs(added - wanted) >= 1e-9
    )
    if not possible:
        with pytest.raises(BadInput):
            balance.amount_to_add(volume, now, added, wanted)
        return
    added_l = balance.amount_to_add(volume, now, added, wanted)
    assert balance.blend([(volume, now), (added_l, added)]) == pytest.approx(wanted, abs=2e-9)


@CHECK
@given(volume=litres, now=share, added_l=litres, wanted=share)
def test_strength_to_add_is_the_inverse_of_blend(
    volume: float, now: float, added_l: float, wanted: float
) -> None:
    """The strength found is the one that blends to the wanted strength."""
    strength = balance.strength_to_add(volume, now, added_l, wanted)
    carried = volume * now + added_l * strength
    assert carried / (volume + added_l) == pytest.approx(wanted, abs=1e-9)


@CHECK
@given(
    now=st.floats(0.01, 0.4), wanted=st.floats(0.01, 0.4), mix=st.floats(0.0, 0.2), phi=st.floats(0.0, 0.95)
)
def test_volume_through_is_the_inverse_of_held(now: float, wanted: float, mix: float, phi: float) -> None:
    """Holding for the volume found reaches the wanted strength; None only where it never does."""
    through = balance.volume_through(200.0, now, wanted, mix, phi)
    end = balance.settles_at(mix, phi)
    if through is None:
        assert not min(now, end) + 1e-9 < wanted < max(now, end) - 1e-9
    else:
        assert balance.held(200.0, now, mix, phi, through) == pytest.approx(wanted, abs=1e-8)


def test_thumb_rules_hold_where_the_trade_says() -> None:
    """Half level holds from 11 to 19 %, 30 % level from 17.7 to 31 % (arithmetic on the trade's rule)."""
    assert thumb_rules.holds_between(0.5, (0.06, 0.10), 0.01) == (pytest.approx(0.11), pytest.approx(0.19))
    assert thumb_rules.holds_between(0.3, (0.06, 0.10), 0.01) == (
        pytest.approx(0.1767, abs=1e-4),
        pytest.approx(0.31),
    )


@pytest.mark.parametrize(("strength", "holds"), [(0.105, False), (0.11, True), (0.19, True), (0.195, False)])
def test_thumb_rule_misses_at_both_ends(strength: float, holds: bool) -> None:
    """Just outside 11 to 19 % the half-full rule leaves the window at either end."""
    rule = thumb_rules.check(strength, (0.06, 0.10), 0.01)
    assert rule is not None
    assert rule.holds is holds


def test_blend_of_every_property() -> None:
    """40 L at 7 % and 300 mg/L with 20 L at 1 % and 60 mg/L: 5 % and 220 mg/L (worked by hand)."""
    blended = balance.blend_all(
        [(40.0, {"strength": 0.07, "hardness": 300.0}), (20.0, {"strength": 0.01, "hardness": 60.0})]
    )
    assert blended == {"strength": pytest.approx(0.05), "hardness": pytest.approx(220.0)}
    with pytest.raises(BadInput, match="hardness"):
        balance.blend_all([(40.0, {"strength": 0.07, "hardness": 300.0}), (20.0, {"strength": 0.01})])


@CHECK
@given(litres, st.floats(0.0, 1.0), st.floats(0.08, 0.3), st.floats(0.0, 0.02), st.floats(0.03, 0.07))
def test_what_is_removed_first_lets_the_fill_land(
    full: float, fill: float, now: float, added: float, wanted: float
) -> None:
    """After removing and filling to the mark the blend is as wanted, or nothing had to come out."""
    out = balance.remove_first(full, full * fill, now, added, wanted)
    kept = full * fill - out
    lands = balance.blend([(kept, now), (full - kept, added)])
    assert lands == pytest.approx(wanted, abs=1e-9) or (out == 0.0 and lands <= wanted)
