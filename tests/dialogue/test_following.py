"""A recipe walked to its end, and what a reading after it leads to."""

from __future__ import annotations

import pytest

from advisor.terminal.render import SPARE, render
from tests.dialogue.test_session import Session, Store, say, session, store

__all__ = ["store"]

LEAN = ("mill 1 reads 3.8 brix, parts rust, three quarters full", "nobody", "all")
TO_THE_READING = ("done",) * 6


def recipes(talk: Session) -> int:
    """How many recipes the case holds."""
    return sum(e.kind == "recipe" and not e.data["recipe"]["refused"] for e in talk.record.events)


def test_a_number_at_a_reading_step_is_that_reading(store: Store) -> None:
    """It is compared with what this step expects, and the step is ticked."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, *TO_THE_READING, "6.1")

    assert "RIGHT SO FAR" in screen
    assert 8 in talk.state().steps  # the ninth line: two of them only inform


def test_the_reading_after_the_last_step_is_asked_for(store: Store) -> None:
    """Nobody has to know a command for it."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, *TO_THE_READING, "done", "done")
    after = say(talk, "7.1")

    assert "What does it read now?" in screen
    assert "IT WORKED" in after


def test_a_first_miss_is_read_again_before_anything_is_added(store: Store) -> None:
    """One odd reading gives no second recipe."""
    talk = session(store, demo=True)

    say(talk, *LEAN, *TO_THE_READING, "5.5")

    assert talk.state().expecting == "after_a_miss/circulate"
    assert recipes(talk) == 1


def test_a_confirmed_miss_gives_the_volume_and_a_new_recipe(store: Store) -> None:
    """V = A*(w - C1)/(C1 - C0), by hand from the recipe's own pails and both readings."""
    talk = session(store, demo=True)
    say(talk, *LEAN)
    made = talk.state().recipe or {}
    pour = next(p["poured_l"] for p in made["readings"])

    say(talk, *TO_THE_READING, "5.5", "done", "done", "5.5")
    before = pour * (made["mix_strength"] - 0.055) / (0.055 - 0.038)

    assert recipes(talk) == 2
    assert talk.view().known.quantity("sump_volume") == pytest.approx(before / 0.75, rel=1e-6)


def test_a_spoiled_first_reading_changes_nothing(store: Store) -> None:
    """Read properly it is as predicted: the fix worked and no recipe follows."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "read again 5.2 brix", "done", "done", "7.0 brix")

    assert "spoiled" in screen
    assert recipes(talk) == 1
    assert talk.state().results[-1]["result"] == "worked"


def test_after_two_misses_there_is_no_third_recipe(store: Store) -> None:
    """Help is named instead, and no further line brings a recipe."""
    talk = session(store, demo=True)
    say(talk, *LEAN, *TO_THE_READING, "5.5", "done", "done", "5.5")

    screen = say(talk, "read again 9.4 brix", "done", "done", "9.3")
    say(talk, "can I add water then", "reads 9.3")

    assert "get help" in " ".join(screen.split())
    assert recipes(talk) == 2


def test_strength_that_moves_the_wrong_way_stops_the_recipes(store: Store) -> None:
    """More concentrate in, less strength out: something else is going on."""
    talk = session(store, demo=True)

    say(talk, *LEAN, "read again 2.5 brix", "done", "done", "2.5")

    assert talk.state().concluded["after_a_miss"] == "wrong_way"
    assert recipes(talk) == 1


def test_coming_back_the_reading_is_asked_for(store: Store) -> None:
    """A recipe given yesterday is followed up by itself."""
    first = session(store, demo=True)
    say(first, *LEAN)
    first.leave()
    second = session(store, demo=True)

    screen = say(second, "yes")

    assert "What does it read now?" in screen
    assert "IT WORKED" in say(second, "7.2")


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (60, 20)])
def test_a_second_recipe_stands_on_one_screen(store: Store, columns: int, rows: int) -> None:
    """What the miss told, whether it can run, new pails, first step and question are all in sight."""
    talk = session(store, demo=True)
    say(talk, *LEAN, *TO_THE_READING, "5.5", "done", "done")

    screen = render(talk.say("5.6 brix"), columns, rows=rows)

    assert len(screen.splitlines()) <= rows - SPARE
    for part in ("WHAT IT TELLS", "CAN IT RUN?", "4 x pails", "STEP 1 OF 8", "After the fix"):
        assert part in screen
