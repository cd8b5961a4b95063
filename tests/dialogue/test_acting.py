"""What to do without a recipe: walked with "done" and "skip", kept in the case, and looked at again."""

from __future__ import annotations

from tests.dialogue.test_following import LEAN
from tests.dialogue.test_session import Session, Store, say, session, store

__all__ = ["store"]

#: A named cause with several things to do and no recipe among them.
ROTTEN = ("mill 1 smells of rotten egg", "nobody")


def done(talk: Session) -> list[tuple[str, bool]]:
    """The actions of the case's events, and whether each was passed over."""
    events = talk.record.events
    return [(e.data["action"], e.data["skipped"]) for e in events if e.kind == "action_done"]


def test_the_list_is_walked_and_each_step_is_kept(store: Store) -> None:
    """First done, second passed over, the third put before the person; coming back they are still so."""
    talk = session(store, demo=True)
    say(talk, *ROTTEN)
    first, second = [a["id"] for a in (talk.state().verdict or {})["actions"]][:2]

    screen = say(talk, "done", "skip")

    assert done(talk) == [(first, False), (second, True)]
    assert "Step 2 of 6 passed over" in screen
    assert "STEP 3 OF 6" in screen
    talk.leave()
    again = session(store, demo=True)
    say(again, "yes")
    assert again.state().acts == {first: "done", second: "skipped"}


def test_what_a_step_finds_out_is_asked_for(store: Store) -> None:
    """The pH is measured, so its number is asked for; the number ticks nothing twice."""
    talk = session(store, demo=True)

    say(talk, *ROTTEN, "done", "done", "done", "done")

    assert done(talk)[-1] == ("measure_ph", False)
    assert talk.state().expecting == "ph"


def test_a_finding_told_early_ticks_its_step(store: Store) -> None:
    """Nobody has to say that the pH is measured after saying what it is."""
    talk = session(store, demo=True)

    say(talk, *ROTTEN, "done", "pH 8.9")

    assert ("measure_ph", False) in done(talk)


def test_the_end_of_the_list_says_when_to_look_again(store: Store) -> None:
    """The last step leads to the look after it, not to silence."""
    talk = session(store, demo=True)
    say(talk, *ROTTEN)

    screen = say(talk, *["skip"] * 6)

    assert "LOOK AGAIN" in screen
    assert len(done(talk)) == 6


def test_a_recipe_is_not_ticked_before_it_is_there(store: Store) -> None:
    """The step says "by the recipe", and the recipe waits for an answer."""
    talk = session(store, demo=True)

    screen = say(talk, "lathe 2 parts rust, glass shows 2.2 straight off", "nobody", "done")

    assert "needs its recipe first" in screen
    assert done(talk) == []


def test_after_the_recipe_the_rest_of_the_list_is_walked(store: Store) -> None:
    """What the recipe did is not ticked again; the cause behind it is still to be put right."""
    talk = session(store, demo=True)

    say(talk, *LEAN, "read again 7.1", "done")

    assert "strengthen_sump" not in [action for action, _ in done(talk)]
    assert len(done(talk)) == 1


def test_a_recipe_step_can_be_passed_over(store: Store) -> None:
    """It is kept as passed over, and counts as not done when a reading misses."""
    talk = session(store, demo=True)

    passed = say(talk, *LEAN, *["done"] * 4, "skip")
    missed = say(talk, "done", "5.0")

    assert "Step 5 of 8 passed over" in passed
    assert "How much of the recipe went in?" in missed


def test_a_second_done_does_not_tick_past_a_number_that_is_waited_for(store: Store) -> None:
    """The pH is asked for: "done" again gets "type what it shows", and the next step stays open."""
    talk = session(store, demo=True)

    screen = say(talk, *ROTTEN, *["done"] * 5)

    assert "Type what it shows" in screen
    assert len(done(talk)) == 4


def test_ok_ticks_and_next_is_asked_about(store: Store) -> None:
    """While a list is walked "ok" says done; "next" leaves open whether it is."""
    talk = session(store, demo=True)

    say(talk, *ROTTEN, "done", "ok")
    screen = say(talk, "next")

    assert len(done(talk)) == 2
    assert '"skip" to pass it over' in screen
