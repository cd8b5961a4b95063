"""Coming back: an answer that is neither yes nor no abandons nothing, and a stop left is offered again."""

from __future__ import annotations

import pytest

from tests.dialogue.test_session import Store, say, session, store

__all__ = ["store"]


@pytest.mark.parametrize("line", ["yes please", "ja weiter", "ok go on", "ja bitte"])
def test_a_yes_in_other_words_goes_on(store: Store, line: str) -> None:
    """The emergency is told whole again."""
    say(session(store), "joe has coolant in his eye")
    talk = session(store)
    talk.open()

    assert "1 Rinse the open eye" in say(talk, line)


def test_what_cannot_be_read_is_asked_again(store: Store) -> None:
    """Nothing is closed, and a yes still goes on with it."""
    say(session(store), "joe has coolant in his eye")
    talk = session(store)
    talk.open()

    assert "I could not tell yes from no" in say(talk, "blah")
    assert "Fluid in the eye" in say(talk, "yes")


def test_a_stop_that_stands_at_the_end_is_offered_at_the_next_start(store: Store) -> None:
    """ "stop here" ends the talk, not the emergency."""
    say(session(store), "joe has coolant in his eye", "stop here")
    talk = session(store)

    assert "a stop still stands" in talk.open()[-1].text
    assert "1 Rinse the open eye" in say(talk, "yes")


def test_a_stop_dealt_with_is_not_offered(store: Store) -> None:
    """A case that ended without a stop is finished."""
    say(session(store), "joe has coolant in his eye", "it is dealt with", "stop here")

    assert session(store).open()[-1].text == "What are you seeing?"
