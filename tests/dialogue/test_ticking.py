"""Several steps ticked in one line, as many as were said; where it is unclear how many, it is asked."""

from __future__ import annotations

import pytest

from advisor.dialogue.ticking import ALL, told_done
from tests.dialogue.test_following import LEAN
from tests.dialogue.test_session import Store, held, say, session, store

__all__ = ["store"]


@pytest.mark.parametrize(
    ("said", "many"),
    [("done", 1), ("did it", 1), ("done done", 2), ("Done, done, done.", 3), ("did both", 2),
     ("doen donw", 2), ("done all", ALL), ("all done", ALL), ("its all been done", ALL),
     ("i did the lot", ALL), ("first 3 done", 3), ("done the next two", 2),
     ("not done", None), ("is it all done?", None), ("both", None), ("all", None), ("the first and 3", None),
     ("done with the pump", None)],
)  # fmt: skip
def test_how_many_a_line_says_are_done(said: str, many: int | None) -> None:
    """Counted as said; a denial, a question, or a word that may answer anything counts nothing."""
    assert told_done(said) == many


@pytest.mark.parametrize(("said", "many"), [("done done", 2), ("did both", 2), ("done, done, done", 3)])
def test_so_many_steps_of_the_recipe_are_ticked(store: Store, said: str, many: int) -> None:
    """Each is shown before its tick, and "back" takes one tick."""
    talk = session(store, demo=True)
    say(talk, *LEAN)

    screen = say(talk, said)

    assert len(talk.state().steps) == many
    assert f"Step {many} of" in screen
    assert f"STEP {many} OF" in screen
    say(talk, "back")
    assert len(talk.state().steps) == many - 1


def test_all_done_stops_at_the_reading(store: Store) -> None:
    """A reading is told, never ticked unread: said once more, its number is asked for."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "all done")

    steps = talk.state().steps
    assert len(steps) > 3
    assert "Type what it reads" in screen
    assert "Type what it reads" in say(talk, "done done")
    assert talk.state().steps == steps


@pytest.mark.parametrize("said", ["did both", "done done", "done", "both"])
def test_how_many_of_a_list_is_asked_where_the_line_leaves_it_open(store: Store, said: str) -> None:
    """Two of seven may be any two: nothing is ticked by guess."""
    talk = session(store, demo=True)
    say(talk, *LEAN[:-1])
    before = held(talk)

    screen = say(talk, said)

    assert "Which of the" in screen
    assert held(talk) == before
    assert talk.state().expecting == "reading_strength/list"


@pytest.mark.parametrize("said", ["done all", "all done", "did them all"])
def test_all_of_a_list_are_ticked(store: Store, said: str) -> None:
    """The words for "all" in any order lead on to the recipe."""
    talk = session(store, demo=True)

    say(talk, *LEAN[:-1], said)

    assert talk.state().recipe
    assert "reading_care: read_twice" in held(talk)
