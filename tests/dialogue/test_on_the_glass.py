"""Where the glass shows another number than the strength, a prediction says both."""

from __future__ import annotations

import pytest

from advisor.mixing.glass import Glass
from tests.dialogue.test_session import Store, say, session, store

__all__ = ["store"]

#: Lathe 2 of the demo shop holds a product of factor 1.5; Mill 1 one of factor 1.
WEAK = ("lathe 2 parts rust, glass shows 2.2 straight off", "nothing changed", "everyone is fine",
        "80 percent full", "all")  # fmt: skip


@pytest.mark.parametrize(
    ("factor", "water", "strength", "reads"), [(1.5, 0.0, 0.065, 4.3), (2.0, 0.4, 0.07, 3.9)]
)
def test_strength_over_factor_is_the_reading(
    factor: float, water: float, strength: float, reads: float
) -> None:
    """6.5 % over 1.5 is 4.33 Brix; 7 % over 2 is 3.5, on a scale that reads 0.4 on water 3.9."""
    assert Glass(factor, water).beside(strength) == f" ({reads:.1f} on the glass)"
    assert Glass().beside(strength) == ""


def test_a_recipe_tells_what_the_glass_will_show(store: Store) -> None:
    """6.5 % is expected: that is 4.3 on the glass, and the range is told on it too."""
    screen = say(session(store, demo=True), *WEAK)

    assert "expect 6.5 %, likely 6 to 7.1 %" in screen
    assert "reads 4.3, likely 4.0 to 4.7 on the glass" in screen


def test_factor_one_is_told_once(store: Store) -> None:
    """Where the glass shows the strength, a second line would only be read twice."""
    screen = say(session(store, demo=True), "mill 1 reads 3.8 brix, parts rust, 75 % full", "nobody", "all")

    assert "expect" in screen
    assert "on the glass" not in screen.split("expect")[1].split("After the fix")[0]


def test_a_reading_off_the_glass_is_held_against_the_glass(store: Store) -> None:
    """4.3 read, 4.0 to 4.7 predicted: nobody has to multiply."""
    talk = session(store, demo=True)

    screen = " ".join(say(talk, *WEAK, "read again 4.3 brix").split())

    assert "4.3 on the glass" in screen
    assert "4.0 to 4.7 on the glass" in screen


def test_pails_counted_in_between_say_what_they_make(store: Store) -> None:
    """A mass balance of 200 L at 3.3 % and three pails of the recipe, over the factor of 1.5."""
    talk = session(store, demo=True)
    say(talk, *WEAK, "done", "done", "done", "done")
    made = talk.state().recipe or {}
    poured = 3 * (made["pails"][0]["water_l"] + made["pails"][0]["concentrate_l"])
    strength = (200 * 0.033 + poured * made["mix_strength"]) / (200 + poured)

    screen = say(talk, "3 pails in")

    assert f"about {100 * strength:.2g} % ({100 * strength / 1.5:.1f} on the glass)" in screen
    assert "STEP 5 OF 8" in screen
