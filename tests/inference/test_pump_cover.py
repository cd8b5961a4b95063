"""A tank too low for its pump: fill first. Nothing that stands beside it says to run on."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.dialogue.screens import run_words
from advisor.knowledge.rulebase import RuleBase, load
from advisor.mixing.steps import LEAST_FOR_PUMP
from tests.inference.test_limits import view

LEAN = {"refractometer_reading": "3.8 °Bx", "refractometer_factor": 1, "target": "7 %"}


@pytest.fixture(scope="module")
def rules() -> RuleBase:
    """The rule base that ships."""
    return load()


@pytest.mark.parametrize(
    ("facts", "run"),
    [({"sump_fill": "14 %"}, "stop"), ({"sump_fill": "32 %"}, "stop"), ({"sump_fill": "35 %"}, "limits"),
     ({"sump_fill": "32 %", "pump_min_level": "30 %"}, "limits"),
     ({"sump_fill": "40 %", "pump_min_level": "45 %"}, "stop"),
     ({"sump_level": "low"}, "limits"), ({"sump_level": "low", "pump": "sucking_air"}, "stop")],
)  # fmt: skip
def test_the_pump_decides_how_low_is_too_low(rules: RuleBase, facts: dict[str, Any], run: str) -> None:
    """Its own lowest level where known, else a third; or it is heard to draw air."""
    assert view(rules, **LEAN, **facts).run == run


def test_nothing_says_to_run_on(rules: RuleBase) -> None:
    """Lean at 14 %: fill first, and no step, hold or reason tells to run."""
    found = view(rules, **LEAN, sump_fill="14 %")
    assert run_words(found) == "Not yet."
    assert found.actions[0] == "fill_before_running"
    assert "keep_running_and_watch" not in (*found.actions, found.hold)
    assert not [why for why in found.run_because if "Run on" in why]


def test_conversation_and_recipe_go_by_one_figure(rules: RuleBase) -> None:
    """The band's limit is the one that the steps of a recipe keep the pump off below."""
    band = next(b for b in rules.bands if b["fills"] == "pump_cover")
    assert band["scales"][0]["steps"][0]["below"] == pytest.approx(LEAST_FOR_PUMP, abs=1e-3)
