"""A figure told after the recipe: it is worked out anew, or asked about, never silently passed over."""

from __future__ import annotations

import pytest

from tests.dialogue.test_following import LEAN, recipes
from tests.dialogue.test_session import Session, Store, say, session, store

__all__ = ["store"]


def litres(talk: Session) -> tuple[float, float]:
    """Litres of mix in one full pail of the standing recipe, and in all of them."""
    rows = (talk.state().recipe or {})["pails"]
    each = [row["water_l"] + row["concentrate_l"] for row in rows]
    return each[0], sum(row["count"] * one for row, one in zip(rows, each, strict=True))


@pytest.mark.parametrize("lines", [("20 liter pail",), ("20 L", "pail")])
def test_another_pail_works_the_recipe_out_anew(store: Store, lines: tuple[str, ...]) -> None:
    """The same 47.5 L of room (a quarter of 190 L), in pails twice as large."""
    talk = session(store, demo=True)
    say(talk, *LEAN)
    small, _ = litres(talk)

    screen = say(talk, *lines)

    assert "That changes the recipe" in screen
    assert litres(talk)[0] == pytest.approx(2 * small, rel=0.05)
    assert litres(talk)[1] == pytest.approx(47.5, rel=0.01)


def test_another_level_works_the_recipe_out_anew(store: Store) -> None:
    """Half full there is room for 95 L of 190 L, and what was told before no longer stands."""
    talk = session(store, demo=True)

    say(talk, *LEAN, "no, the fill was half")

    assert recipes(talk) == 2
    assert litres(talk)[1] == pytest.approx(95.0, rel=0.01)


def test_a_recipe_under_way_is_not_changed(store: Store) -> None:
    """Pails are filled already: it is said which figures it goes by."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "done", "done", "done", "20 liter pail")

    assert "under way goes by the old figures" in " ".join(screen.split())
    assert recipes(talk) == 1


def test_a_level_that_says_it_was_poured_asks_for_the_reading(store: Store) -> None:
    """Full now, as the recipe has it: no second recipe for the same room."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "level is at the mark now")

    assert "What does it read now?" in screen
    assert recipes(talk) == 1


def test_a_corrected_reading_takes_the_recipe_back(store: Store) -> None:
    """At 7 brix nothing is lean: nobody may go on pouring by the old one."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "no, the reading was 7 brix")

    assert "Pour nothing" in screen
    assert "no recipe to tick" in say(talk, "done").lower() or (talk.state().recipe or {})["refused"]


def test_a_reading_after_the_recipe_is_compared_with_it(store: Store) -> None:
    """Nobody has to know the words "read again"."""
    talk = session(store, demo=True)

    assert "IT WORKED" in say(talk, *LEAN, "it shows 7.1 brix")


@pytest.mark.parametrize(("pick", "what"), [("1", "pail"), ("sump", "sump_volume")])
def test_a_volume_alone_is_asked_about(store: Store, pick: str, what: str) -> None:
    """The book knows the sump: 10 L may be the pail, and what is picked counts."""
    talk = session(store, demo=True)
    screen = say(talk, "mill 1 reads 3.8 brix", "10 L")

    say(talk, pick)

    assert "which is meant?" in screen
    assert talk.view().known.quantity(what) == 10.0
    assert talk.view().known.quantity("sump_volume") == (10.0 if what == "sump_volume" else 190.0)


@pytest.mark.parametrize("said", ["tank at 75 percent", "75 percent", "about three quarters"])
def test_a_share_is_the_level_where_the_level_is_asked(store: Store, said: str) -> None:
    """Under "how full is it" a share is no strength, and the example given is a level."""
    talk = session(store, demo=True)
    screen = say(talk, "lathe 2 parts rust, glass shows 2.2 straight off", "nobody")

    say(talk, said)

    assert "three quarters, or 75 %" in screen
    assert talk.view().known.quantity("sump_fill") == 0.75
    assert talk.view().strength.value == pytest.approx(0.022 * 1.5)


def test_a_tank_at_a_share_is_a_level_without_being_asked(store: Store) -> None:
    """No mix is 75 % strong: said of the tank it is how full it stands."""
    talk = session(store)

    say(talk, "rust on the parts, tank at 75 percent")

    assert talk.view().known.quantity("sump_fill") == 0.75


@pytest.mark.parametrize(
    ("line", "said", "right"),
    [
        (LEAN[0], "read again looks fine", '"6.5 brix"'),
        ("mill 1 strength 3.8 %, parts rust, half full", "recheck x", '"6.5 %"'),
    ],
)
def test_no_reading_in_the_line_says_what_would_be_right(
    store: Store, line: str, said: str, right: str
) -> None:
    """The example is in the unit this case is read in."""
    talk = session(store, demo=True)

    screen = say(talk, line, "nobody", "all", said)

    assert right in " ".join(screen.split())
    assert not talk.state().results


def test_a_reading_without_its_point_is_doubted_once(store: Store) -> None:
    """72 for 7.2: asked, and believed when it is said again."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "read again 72 brix")
    assert "Was it 7.2 Brix?" in screen
    assert not talk.state().results

    say(talk, "read again 72 brix")
    assert talk.state().results[-1]["result"] == "missed"


@pytest.mark.parametrize(("pick", "fill", "read"), [("1", 0.031, 2.2), ("brix", None, 3.1)])
def test_a_low_number_is_no_level_without_asking(
    store: Store, pick: str, fill: float | None, read: float
) -> None:
    """ "3.1" to how full it is may be the glass; what is picked counts."""
    talk = session(store, demo=True)

    screen = say(talk, "lathe 2 parts rust, glass shows 2.2 straight off", "nobody", "3.1")
    say(talk, pick)

    assert "which is meant?" in screen
    assert talk.view().known.quantity("sump_fill") == (fill and pytest.approx(fill))
    assert talk.view().known.quantity("refractometer_reading") == read


def test_ok_after_a_recipe_shows_its_first_step(store: Store) -> None:
    """It is heard, and it ticks nothing that nobody has done."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "ok")

    assert "STEP 1 OF 8" in screen
    assert not talk.state().steps


def test_a_recipe_taken_back_leaves_the_first_step_in_sight(store: Store) -> None:
    """What to do first instead stands there at 80 by 24."""
    talk = session(store, demo=True)
    say(talk, "lathe 2 parts rust, glass shows 2.2 straight off, tank at 75 percent", "nobody", "all")

    screen = say(talk, "no, the reading was 4.4 brix")

    assert "Pour nothing" in screen
    assert "FIRST" in screen


def test_another_target_works_the_recipe_out_anew(store: Store) -> None:
    """A per cent wanted after the recipe is the target, whatever was read before."""
    talk = session(store, demo=True)

    first = say(talk, *LEAN, "want 6.5 percent")
    then = say(talk, "actually make that 7.5 percent")

    assert ("That changes the recipe" in first, "That changes the recipe" in then) == (True, True)
    assert ("expect 6.5 %" in first, "expect 7.5 %" in then) == (True, True)
    assert talk.view().known.quantity("refractometer_reading") == 3.8
