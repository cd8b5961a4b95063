"""A level too low for the pump is brought up before the pump runs."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.mixing.plan import plan
from advisor.mixing.recipe import Option
from tests.dialogue.test_session import Store, say, session, store

__all__ = ["store"]

LEAN = ("mill 1 reads 3.8 brix, parts rust, 14 % full",)


def best(**inputs: Any) -> Option:
    """The recommended option for a lean sump of 100 L at 4 %, target 7 %."""
    base = {"sump_volume_l": 100.0, "strength": 0.04, "target": 0.07, "window": (0.06, 0.08)}
    option = plan("strengthen", base | inputs).best
    assert option is not None
    return option


@pytest.mark.parametrize(
    ("fill", "least", "low"),
    [(0.14, None, True), (0.32, None, True), (0.34, None, False), (0.32, 0.3, False), (0.4, 0.45, True)],
)
def test_the_first_step_keeps_the_pump_off(fill: float, least: float | None, low: bool) -> None:
    """Below the pump's own minimum, or below a third where nobody told it."""
    steps = best(fill=fill, pump_min_fill=least).steps
    assert steps[0].startswith("Keep the pump off") is low
    assert any(s.startswith("Start the pump only") for s in steps) is low


@pytest.mark.parametrize("least", [None, 0.3, 0.8])
def test_the_first_pour_reaches_the_pump(least: float | None) -> None:
    """By hand: 14 L and the first pour make at least the minimum of 100 L, and the pump starts after it."""
    option = best(fill=0.14, pump_min_fill=least)
    assert 14.0 + option.readings[0].poured_l >= 100.0 * (least or 1 / 3)
    order = [next(i for i, s in enumerate(option.steps) if s.startswith(w))
             for w in ("Keep the pump off", "Pour in", "Start the pump only", "Circulate")]  # fmt: skip
    assert order == sorted(order)


def test_no_step_runs_the_pump_on_a_tank_near_empty(store: Store) -> None:
    """Led through the reading at 14 %, fresh mix goes in before the pump is run."""
    talk = session(store, demo=True)
    screen = say(talk, *LEAN, "nobody", "none", "done", "14 %", "done")
    assert "Leave the pump off" in screen
    assert "run the pump" in say(talk, "60 %")
    assert talk.view().known.quantity("sump_fill") == pytest.approx(0.6)
