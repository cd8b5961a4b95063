"""The working order, and the exact limits it turns on."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.errors import BadInput, Refused
from advisor.mixing.display import METRIC
from advisor.mixing.instruments import combined
from advisor.mixing.pails import in_pails
from advisor.mixing.plan import plan
from advisor.mixing.recipe import Option
from advisor.mixing.request import request_from, resolve_window
from advisor.mixing.spread import Estimate
from advisor.mixing.steps import circulation_min, reading_text


def best(kind: str = "thin", **inputs: Any) -> Option:
    """The recommended option for a full 100 L sump at 14 %, target 7 % in 6-10 %, unless said otherwise."""
    base = {"sump_volume_l": 100.0, "strength": 0.14, "target": 0.07, "window": (0.06, 0.10)}
    option = plan(kind, base | inputs).best
    assert option is not None
    return option


@pytest.mark.parametrize(
    ("litres", "flow", "minutes"), [(300.0, 20.0, 60.0), (100.0, 20.0, 30.0), (300.0, None, 30.0)]
)
def test_circulation_is_the_longer_of_the_two(litres: float, flow: float | None, minutes: float) -> None:
    """300 L at 20 L/min circulates 60 minutes; a small sump never less than 30 (shop arithmetic)."""
    assert circulation_min(litres, flow) == minutes


def test_order_of_a_draining() -> None:
    """Name on the drum, filler, locks, drain, pails, first pour, pump, circulate, read, rest, tomorrow."""
    steps = " ".join(best().steps)
    order = [
        "name on the concentrate drum aloud",
        "coolant filler",
        "Lock off",
        "Cover the floor drain",
        "Take out",
        "Water goes in first",
        "Fill 6 pails",
        "weighs about 9 kg",
        "Pour in 4 pails",
        "start the pump",
        "Circulate for",
        "Read a sample",
        "remaining 3 pails",
        "Read again tomorrow",
    ]
    places = [steps.index(words) for words in order]
    assert places == sorted(places)


def test_water_needs_no_drum_and_no_locks() -> None:
    """Topping up with water names no drum and locks nothing off."""
    steps = " ".join(best(fill=0.75, strength=0.093).steps)
    assert "drum" not in steps
    assert "Lock off" not in steps
    assert "deionised" in steps


@pytest.mark.parametrize(("pails", "trolley"), [(6, False), (7, True)])
def test_more_than_six_pails_call_for_a_trolley(pails: int, trolley: bool) -> None:
    """Six pails of 8 L are carried, seven are not."""
    option = best(fill=0.2, strength=0.12, sump_volume_l=pails * 8.0 / 0.8)
    assert sum(row.count for row in option.pails) == pails
    assert any("trolley" in step for step in option.steps) is trolley


def test_whole_pails_are_filled_to_eighty_per_cent() -> None:
    """39 L in 10 L pails is four of 8 L and one part pail of 7 L."""
    assert [(row.count, row.mix_l) for row in in_pails(39.0, 0.0, 10.0)] == [
        (4, 8.0),
        (1, pytest.approx(7.0)),
    ]


@pytest.mark.parametrize(("hardness", "warned"), [(200.0, False), (201.0, True)])
def test_weak_mix_in_hard_water_is_warned_above_200(hardness: float, warned: bool) -> None:
    """At 200 mg/L there is no warning about weak mix, above it there is."""
    assert any("hard" in line for line in best(water_hardness=hardness).warnings) is warned


@pytest.mark.parametrize(("premix", "refused"), [(0.20, False), (0.201, True)])
def test_twenty_per_cent_is_the_cap_by_hand(premix: float, refused: bool) -> None:
    """Premix of 20 % is still mixed by hand, more is refused."""
    recipe = plan("strengthen", {"sump_volume_l": 100.0, "strength": 0.05, "target": 0.07, "premix": premix})
    assert (recipe.refused is not None) is refused


@pytest.mark.parametrize(("target", "low", "high"), [(0.04, 0.035, 0.045), (0.08, 0.072, 0.088)])
def test_window_around_a_single_target(target: float, low: float, high: float) -> None:
    """A tenth of the target either way, and at least half a point."""
    assert resolve_window(target, None)[1] == (pytest.approx(low), pytest.approx(high))
    assert resolve_window(None, None)[1] == (0.06, 0.10)


def test_two_methods_disagree_at_95_per_cent() -> None:
    """Two strengths 0.004 apart with doubts of 0.001 each: 2.8 doubts of their difference, so refused."""
    with pytest.raises(Refused):
        combined(Estimate(0.070, 0.001), Estimate(0.074, 0.001))
    assert combined(Estimate(0.070, 0.001), Estimate(0.0727, 0.001)).value == pytest.approx(0.07135)


def test_reading_to_expect_is_told_on_the_scale_too() -> None:
    """With factor 2 the person looks for 3.5 on the glass, not for 7."""
    inputs = {"sump_volume_l": 100.0, "reading": 7.0, "factor": 2.0, "target": 0.07}
    steps = " ".join(plan("thin", inputs).options[0].steps)
    assert "7 % (3.5 on the glass)" in steps
    request = request_from(inputs)
    assert reading_text(request, METRIC, 0.07) == "7 % (3.5 on the glass)"


def test_running_down_is_spoken_against_when_draining() -> None:
    """14 % run down to 46 % at 60 % evaporation thickens to 22.2 %: the recipe says not to."""
    said = next(line for line in best().warnings if "run it down" in line)
    assert "22.2 %" in said or "22.3 %" in said


def test_running_below_the_pump_minimum_is_said_at_once() -> None:
    """A sump that already stands below the pump's minimum has its pump stopped first."""
    recipe = plan(
        "thin", {"sump_volume_l": 100.0, "fill": 0.25, "strength": 0.09, "target": 0.07, "pump_min_fill": 0.3}
    )
    assert any("stop the pump now" in line for line in recipe.warnings)


def test_thumb_rule_is_cross_checked_or_corrected() -> None:
    """At 14 % the half-full rule lands at 7.5 % and is named as a check; at 19.5 % it is said to miss."""
    assert any("would land at 7.5 %" in step for step in best().steps)
    recipe = plan("thin", {"sump_volume_l": 100.0, "strength": 0.195, "target": 0.07, "window": (0.06, 0.10)})
    assert any("misses here" in line for line in recipe.warnings)


def test_unknown_kind_is_refused() -> None:
    """A kind of recipe nobody knows names the ones there are."""
    with pytest.raises(BadInput, match="kind"):
        plan("season", {})


def test_a_thimble_for_a_lake_is_still_told_at_once() -> None:
    """A million litres by the millilitre counts its pails without listing them."""
    option = best(sump_volume_l=1e6, pail_l=0.001, strength=0.13)
    assert sum(row.count * row.mix_l for row in option.pails) == pytest.approx(option.add_l)
    assert any("pails, about two thirds" in step for step in option.steps)


@pytest.mark.parametrize(("pail_l", "two"), [(17.0, False), (17.6, True)])
def test_a_heavy_pail_is_not_carried_alone(pail_l: float, two: bool) -> None:
    """Four fifths of 17 L weigh 14.6 kg with the pail, of 17.6 L 15.1 kg; the limit is 15."""
    steps = best(fill=0.5, strength=0.12, pail_l=pail_l).steps
    lifted = next(i for i, s in enumerate(steps) if s.startswith("The fullest pail weighs"))
    assert ("Two people" in steps[lifted]) is two
    assert lifted < next(i for i, s in enumerate(steps) if s.startswith("Pour in"))
