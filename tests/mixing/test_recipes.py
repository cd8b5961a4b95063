"""Recipes: the make-up strength decides, then pails, staging, limits. Figures are worked by hand."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.errors import BadInput
from advisor.mixing.display import US
from advisor.mixing.plan import plan

GAL = 3.785411784


def thin(**inputs: Any) -> Any:
    """A thinning of a 100 L sump, 6-10 %, target 7 %, unless said otherwise."""
    base = {"sump_volume_l": 100.0, "fill": 1.0, "target": 0.07, "window": (0.06, 0.10), "pail_l": 10.0}
    return plan("thin", base | inputs)


def test_hot_week_is_water_in_portions() -> None:
    """60 US gal at three quarters and 9.3 %: make-up 0.1 %, so water only and nothing drained."""
    recipe = thin(sump_volume_l=60 * GAL, fill=0.75, strength=0.093)
    best = recipe.best
    assert recipe.make_up == pytest.approx(0.001)
    assert (best.remove_l, best.mix_strength) == (0.0, 0.0)
    assert best.add_l == pytest.approx(15 * GAL)
    assert best.strength_after == pytest.approx(0.06975)


def test_drain_keeps_by_formula() -> None:
    """50 US gal at 75 % and 13 % to 7 % with 1 % mix: keep 50*6/12 = 25 gal, so 12.5 out and 25 in."""
    recipe = plan("thin", {"sump_volume_l": 50 * GAL, "fill": 0.75, "strength": 0.13, "target": 0.07}, US)
    best = recipe.best
    assert best is not None
    assert best.remove_l == pytest.approx(12.5 * GAL)
    assert best.add_l == pytest.approx(25 * GAL)
    assert best.strength_after == pytest.approx(0.07)


def test_published_style_swap_with_plain_water() -> None:
    """A full 90 US gal tank from 12 % to 7 % with plain water swaps 90*(1 - 7/12) = 37.5 gal."""
    best = thin(sump_volume_l=90 * GAL, strength=0.12, weak_mix=0.0, window=(0.06, 0.08)).best
    assert best.remove_l == pytest.approx(37.5 * GAL)
    assert best.add_l == pytest.approx(37.5 * GAL)
    assert best.mix_strength == 0.0


@pytest.mark.parametrize(("strength", "drains"), [(0.12, False), (0.1201, True)])
def test_two_points_over_is_the_exact_limit(strength: float, drains: bool) -> None:
    """A full sump is drained above 12 % of a 6-10 % window, not at 12 %."""
    best = thin(strength=strength, daily_loss_l=5.0).best
    assert (best.remove_l > 0) is drains


def test_water_to_the_mark_that_reaches_the_window_spares_the_drain() -> None:
    """13 % at 75 %: water to the mark ends at 9.75 %, inside 6-10 %, so nothing is drained."""
    best = thin(fill=0.75, strength=0.13).best
    assert best.remove_l == 0.0
    assert best.strength_after == pytest.approx(0.0975)
    assert any("mix the next top-ups thinner" in line for line in best.warnings)


def test_old_emulsion_gets_weak_mix_while_it_stays_in_the_window() -> None:
    """9.3 % at three quarters: 1 % mix ends at 7.225 %, so an old emulsion gets that instead of water."""
    best = thin(fill=0.75, strength=0.093, doubtful_emulsion=True).best
    assert best.mix_strength == pytest.approx(0.01)
    assert best.strength_after == pytest.approx(0.07225)
    best = thin(fill=0.75, strength=0.133, doubtful_emulsion=True).best
    assert best.mix_strength == 0.0  # weak mix would end at 10.2 %


def test_positive_make_up_is_mixed_to_it() -> None:
    """8.4 % in 200 of 250 L, target 7 %: 0.7 L of concentrate in 50 L is 1.4 % mix (hand calculation)."""
    best = thin(sump_volume_l=250.0, fill=0.8, strength=0.084).best
    assert best.mix_strength == pytest.approx(0.014)
    assert best.add_l == pytest.approx(50.0)
    assert best.concentrate_l == pytest.approx(0.7)


def test_above_thirty_per_cent_takes_two_passes_or_a_new_charge() -> None:
    """32 % at 30 % level and 1 % mix ends at 10.3 %: no single pass, so two, beside a new charge."""
    recipe = thin(strength=0.32)
    assert [option.name for option in recipe.options[:2]] == ["thin in two passes", "change the charge"]
    assert recipe.options[0].strength_after == pytest.approx(0.07)
    assert thin(strength=0.30).best.name == "drain and fill with weak mix"


def test_more_than_half_on_one_reading_is_warned_and_can_be_capped() -> None:
    """20 % to 7 % takes out 68 L of 100: the plan says so; capped, it takes 50 L in this pass."""
    whole = thin(strength=0.20).best
    assert whole.remove_l == pytest.approx(100 - 100 * 6 / 19)
    assert any("second reading" in line for line in whole.warnings)
    assert thin(strength=0.20, half_at_most=True).best.remove_l == pytest.approx(50.0)
    assert not any(
        "second reading" in line for line in thin(strength=0.20, repeated_reading=True).best.warnings
    )


def test_hold_takes_the_days_of_the_decay() -> None:
    """100 L from 9 to 7 % on water, 5 L/day of which 2 L leave on parts: V/d ln(C0/T) = 50 ln(9/7) days."""
    best = thin(strength=0.09, daily_loss_l=5.0, evaporated_share=0.6).best
    assert best.name == "hold the level with water"
    assert best.days == pytest.approx(50.0 * 0.2513144, rel=1e-6)
    assert best.add_l == pytest.approx(best.days * 5.0)


def test_lean_with_room_and_given_premix() -> None:
    """240 L at 4 % to 7 % with 20 % premix needs 240*3/13 L; without one the room is filled at 19 %."""
    base = {"sump_volume_l": 300.0, "fill": 0.8, "strength": 0.04, "target": 0.07}
    given = plan("strengthen", base | {"premix": 0.20}).best
    assert given is not None
    assert given.add_l == pytest.approx(240 * 3 / 13)
    free = plan("strengthen", base).best
    assert free is not None
    assert free.mix_strength == pytest.approx((300 * 0.07 - 240 * 0.04) / 60)


def test_lean_and_full_goes_through_the_losses_first() -> None:
    """A full lean sump is strengthened by its coming losses before anything is drained."""
    recipe = plan(
        "strengthen", {"sump_volume_l": 300.0, "strength": 0.05, "target": 0.07, "daily_loss_l": 20.0}
    )
    first, second = recipe.options
    assert (first.remove_l, first.strength_after) == (0.0, pytest.approx(0.07))
    assert first.days is not None
    assert first.days > 0
    assert second.remove_l == pytest.approx(300 * 0.02 / 0.10)


def test_a_lean_sump_that_rusts_is_not_left_to_its_losses() -> None:
    """Once rust or smell shows, some is drained and filled with premix first (common practice).

    The balance by hand: 300 L at 5 % to 7 % with 15 % premix swaps 300 x 2/10 = 60 L.
    """
    base = {"sump_volume_l": 300.0, "strength": 0.05, "target": 0.07, "daily_loss_l": 20.0}
    best = plan("strengthen", base | {"cannot_wait": True}).best

    assert best.remove_l == pytest.approx(60.0, rel=0.02)
    assert best.days == 0.0


def test_neat_concentrate_is_refused() -> None:
    """Premix above 20 % is not given by hand, neat concentrate least of all."""
    recipe = plan("strengthen", {"sump_volume_l": 300.0, "strength": 0.05, "target": 0.07, "premix": 1.0})
    assert recipe.refused is not None
    assert "10 to 15 %" in recipe.refused.why
    assert recipe.as_json()["remove_l"] is None


def test_charge_makes_up_for_rinse_left_behind() -> None:
    """110 L at 3.5 % is 3.85 L of concentrate; a tenth of rinse at 0 % calls for 3.5/0.9 %."""
    clean = plan("charge", {"sump_volume_l": 110.0, "target": 0.035}).best
    assert clean is not None
    assert (clean.concentrate_l, clean.water_l) == (pytest.approx(3.85), pytest.approx(106.15))
    rinse = plan("charge", {"sump_volume_l": 110.0, "target": 0.035, "fill": 0.1}).best
    assert rinse is not None
    assert rinse.mix_strength == pytest.approx(0.035 / 0.9)


@pytest.mark.parametrize(
    "trouble",
    [
        {"fuzzy_line": True},
        {"oil_skimmed": False},
        {"circulated": False},
        {"split": True},
        {"strength": None, "reading": 6.5},
    ],
)
def test_no_recipe_on_a_reading_that_cannot_be_trusted(trouble: dict[str, Any]) -> None:
    """A fuzzy line, floating oil, no circulation, a split or a missing factor is refused."""
    recipe = thin(**({"strength": 0.13} | trouble))
    assert recipe.refused is not None
    assert recipe.options == ()
    assert len(recipe.refused.why) > 20


@pytest.mark.parametrize(
    "bad",
    [
        {"fill": 1.2},
        {"sump_volume_l": 0.0},
        {"sump_volume_l": -3.0},
        {"strength": 1.4},
        {"strength": float("nan")},
        {"target": float("inf")},
        {"pail_l": 0.0},
        {"factor": 0.0},
        {"weak_mix": 0.08},
        {"fill": 0.0},
        {"window": (0.1, 0.06)},
        {"target": 0.2},
        {"pump_min_fill": 1.5},
        {"spoon": 3},
    ],
)
def test_impossible_input_says_what_would_be_right(bad: dict[str, Any]) -> None:
    """Each impossible input names its place and what to give instead."""
    with pytest.raises(BadInput) as caught:
        thin(**({"strength": 0.13} | bad))
    assert caught.value.place
    assert caught.value.right


def test_premix_must_beat_the_target() -> None:
    """A target above the premix cannot be reached and is bad input, not a recipe."""
    with pytest.raises(BadInput, match="premix"):
        plan("strengthen", {"sump_volume_l": 300.0, "strength": 0.05, "target": 0.13, "premix": 0.12})


def test_pump_stays_locked_below_its_minimum() -> None:
    """Draining below the pump's minimum says the pump stays locked off, and the first pour passes it."""
    best = thin(strength=0.20, pump_min_fill=0.9).best
    assert any("locked off" in line for line in best.warnings)
    pour = next(step for step in best.steps if step.startswith("Pour in"))
    assert "8 pails" in pour  # 31.6 L kept, 8 L a pail: 7 reach 87.6 L, 8 pass the 90 L mark
