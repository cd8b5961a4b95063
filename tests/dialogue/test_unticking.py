"""Back after a tick unticks that step and nothing else."""

from __future__ import annotations

import pytest

from tests.dialogue.test_acting import ROTTEN
from tests.dialogue.test_following import LEAN, recipes
from tests.dialogue.test_session import Store, held, say, session, store

__all__ = ["store"]


@pytest.mark.parametrize(("word", "before"), [("done", 0), ("done", 3), ("skip", 2), ("done", 7)])
def test_back_unticks_a_step_of_the_recipe(store: Store, word: str, before: int) -> None:
    """The recipe, its other ticks and every fact stay, also where the last step asked for the reading."""
    talk = session(store, demo=True)
    say(talk, *LEAN, *("done",) * before)
    was, facts = talk.state(), held(talk)
    say(talk, word)
    screen = say(talk, "back")
    now = talk.state()
    assert "open again" in screen
    assert (now.steps, now.passed, now.recipe_event) == (was.steps, was.passed, was.recipe_event)
    assert held(talk) == facts
    assert recipes(talk) == 1
    say(talk, word)
    assert talk.state().steps | talk.state().passed > was.steps | was.passed


def test_back_unticks_a_step_of_the_list(store: Store) -> None:
    """The pH told before stays; each back takes one tick."""
    talk = session(store, demo=True)
    say(talk, *ROTTEN, "pH 8.9", "done", "skip")
    many = len(talk.state().acts)
    assert [*talk.state().acts.values()][-2:] == ["done", "skipped"]
    say(talk, "back")
    assert len(talk.state().acts) == many - 1
    say(talk, "back")
    assert len(talk.state().acts) == many - 2
    assert talk.view().known.quantity("ph") == 8.9


def test_back_over_a_tick_that_asked_takes_its_question_along(store: Store) -> None:
    """The pH is asked for because its step is ticked; unticked, nothing is asked."""
    talk = session(store, demo=True)
    say(talk, *ROTTEN, "done", "done", "done", "done")
    assert talk.state().expecting == "ph"
    say(talk, "back")
    assert talk.state().expecting is None
    assert "measure_ph" not in talk.state().acts


def test_back_over_a_finding_takes_its_tick_along(store: Store) -> None:
    """The line that ticked a step is taken back whole; ticks before it stay."""
    talk = session(store, demo=True)
    say(talk, *ROTTEN, "done")
    before = talk.state().acts
    say(talk, "pH 8.9")
    assert "measure_ph" in talk.state().acts
    say(talk, "back")
    assert talk.state().acts == before
    assert before
    assert talk.view().known.quantity("ph") is None


def test_what_was_unticked_stays_so_on_coming_back(store: Store) -> None:
    """The tick taken back is in the case, and so is its taking back."""
    talk = session(store, demo=True)
    say(talk, *LEAN, "done", "done", "back")
    talk.leave()
    again = session(store, demo=True)
    say(again, "yes")
    assert again.state().steps == talk.state().steps
    assert len(again.state().steps) == 1
