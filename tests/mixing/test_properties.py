"""What must hold for every recipe, whatever the sump."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.mixing.display import IMPERIAL, METRIC, US
from advisor.mixing.plan import plan

CHECK = settings(derandomize=True, deadline=None, max_examples=200)
SUMP = st.fixed_dictionaries(
    {
        "sump_volume_l": st.floats(20.0, 4000.0),
        "fill": st.floats(0.05, 1.0),
        "strength": st.floats(0.005, 0.45),
        "target": st.floats(0.03, 0.10),
        "pail_l": st.floats(5.0, 25.0),
        "daily_loss_l": st.one_of(st.none(), st.floats(1.0, 200.0)),
        "evaporated_share": st.one_of(st.none(), st.floats(0.1, 0.9)),
        "doubtful_emulsion": st.booleans(),
        "cup_l": st.one_of(st.none(), st.just(0.05)),
    }
)


@CHECK
@given(SUMP, st.sampled_from(["thin", "strengthen"]))
def test_one_pass_closes_its_balance_and_fits(inputs: dict[str, Any], kind: str) -> None:
    """What stays and what goes in give the stated strength, and never more than the sump holds."""
    full, present = inputs["sump_volume_l"], inputs["sump_volume_l"] * inputs["fill"]
    for option in plan(kind, inputs).options:
        if option.days != 0.0:
            continue
        kept = present - option.remove_l
        assert -1e-6 <= kept <= present + 1e-6
        assert kept + option.add_l <= full * (1 + 1e-9)
        carried = kept * inputs["strength"] + option.concentrate_l
        assert carried / (kept + option.add_l) == pytest.approx(option.strength_after, abs=1e-9)


@CHECK
@given(SUMP)
def test_thinning_is_refused_exactly_when_not_rich(inputs: dict[str, Any]) -> None:
    """At or below target there is nothing to thin; above it there is always a way."""
    recipe = plan("thin", inputs)
    rich = inputs["strength"] > inputs["target"] + 1e-9
    assert (recipe.refused is None) is rich
    assert bool(recipe.options) is rich


@CHECK
@given(SUMP)
def test_thinning_never_strengthens(inputs: dict[str, Any]) -> None:
    """Every option ends at or below the present strength and not far below the target."""
    for option in plan("thin", inputs | {"cup_l": None}).options:
        assert option.strength_after <= inputs["strength"] + 1e-9
        assert option.strength_after >= min(inputs["target"], inputs["strength"]) - 0.006


@CHECK
@given(SUMP, st.floats(0.001, 0.05))
def test_richer_never_takes_out_less(inputs: dict[str, Any], more: float) -> None:
    """Where both are drained in one pass, the richer sump has at least as much taken out."""
    name = "drain and fill with weak mix"
    one = plan("thin", inputs).best
    two = plan("thin", inputs | {"strength": inputs["strength"] + more}).best
    if one and two and one.name == two.name == name:
        assert two.remove_l >= one.remove_l - 1e-9


@CHECK
@given(SUMP, st.sampled_from(["thin", "strengthen"]))
def test_units_shown_never_change_the_figures(inputs: dict[str, Any], kind: str) -> None:
    """Litres, US and imperial gallons are only ways of writing the same recipe."""
    shown = [
        [option.figures() for option in plan(kind, inputs, show).options] for show in (METRIC, US, IMPERIAL)
    ]
    assert shown[0] == shown[1] == shown[2]


@CHECK
@given(SUMP, st.floats(0.2, 30.0))
def test_a_recipe_scales_with_the_sump(inputs: dict[str, Any], scale: float) -> None:
    """The same sump in another unit of volume gives the same strengths and volumes in that unit."""
    small = inputs | {"cup_l": None}
    big = {name: value * scale if name.endswith("_l") and value else value for name, value in small.items()}
    one, two = plan("thin", small).best, plan("thin", big).best
    if one is None or two is None:
        assert one is two
        return
    assert two.remove_l == pytest.approx(one.remove_l * scale, abs=1e-6)
    assert two.strength_after == pytest.approx(one.strength_after, abs=1e-9)


@CHECK
@given(SUMP, st.sampled_from(["thin", "strengthen"]))
def test_pails_never_run_over(inputs: dict[str, Any], kind: str) -> None:
    """No pail is filled beyond its brim, and the rows add up to what is added."""
    for option in plan(kind, inputs).options:
        assert all(row.mix_l <= inputs["pail_l"] * (1 + 1e-9) for row in option.pails)
        assert all(row.water_l >= -1e-9 and row.concentrate_l >= 0 for row in option.pails)
        assert sum(row.count * row.mix_l for row in option.pails) == pytest.approx(option.add_l)


@CHECK
@given(SUMP)
def test_strengthening_is_refused_exactly_when_not_lean(inputs: dict[str, Any]) -> None:
    """Above target there is nothing to strengthen; below it there is always a way, and none overshoots."""
    recipe = plan("strengthen", inputs | {"cup_l": None})
    lean = inputs["strength"] <= inputs["target"] + 1e-9
    assert (recipe.refused is None) is lean
    for option in recipe.options:
        assert inputs["strength"] - 1e-9 <= option.strength_after <= inputs["target"] + 1e-6


@CHECK
@given(SUMP)
def test_topping_up_never_drains(inputs: dict[str, Any]) -> None:
    """The recommended top-up takes nothing out, however rich the sump."""
    recipe = plan("top_up", inputs)
    if recipe.best is not None:
        assert recipe.best.remove_l == 0.0
    else:
        assert inputs["fill"] > 0.99


@CHECK
@given(SUMP, st.sampled_from(["thin", "strengthen"]))
def test_ranges_hold_the_prediction(inputs: dict[str, Any], kind: str) -> None:
    """Low and high lie around the predicted strength, and some doubt is always left."""
    for option in plan(kind, inputs).options:
        assert 0.0 <= option.strength_low <= option.strength_after <= option.strength_high <= 1.0
        assert option.strength_high > option.strength_low
