"""An idea with something nobody knows, at the safety question: answered first, and the question put again."""

from __future__ import annotations

import pytest

from advisor.cli import shared_lexicon
from advisor.dialogue import policy
from advisor.dialogue.unknown_ideas import named
from tests.dialogue.test_session import Session, Store, held, say, session, store

__all__ = ["store"]


def at_safety(store: Store) -> Session:
    """A conversation at its safety question."""
    talk = session(store, demo=True)
    say(talk, "mill 1 smells of rotten egg")
    assert talk.state().expecting == policy.SAFETY
    return talk


@pytest.mark.parametrize(
    ("line", "name"),
    [("can i tip zorbex in", "zorbex"), ("should i chuck some Zorbex 3000 in the tank", "zorbex 3000"),
     ("what if i pour zorbex in", "zorbex"), ("gonna put a cup of glorp in it", "glorp"),
     ("pour zorbex in?", "zorbex"), ("can i add soap", "soap"), ("kann ich zorbex reinkippen", ""),
     ("can i put gloves on", ""), ("can i put it in", ""), ("we put the lid on", ""),
     ("should i add it to the log", ""), ("no", "")],
)  # fmt: skip
def test_what_a_line_wants_to_put_in(line: str, name: str) -> None:
    """The thing by its name; nothing where no thing is named or it is none to be poured."""
    assert named(line, shared_lexicon()) == name


@pytest.mark.parametrize("line", ["can i tip zorbex in", "shall i chuck zorbex 30 in", "what if i add glop"])
def test_it_is_asked_what_it_is_and_nothing_goes_in_before(store: Store, line: str) -> None:
    """Then the safety question stands as before, and no fact is made of a name nobody knows."""
    talk = at_safety(store)
    before = held(talk)

    screen = say(talk, line)

    assert "Put nothing in before that is known." in screen
    assert "Has anyone near it sore skin" in screen
    assert (talk.state().expecting, held(talk)) == (policy.SAFETY, before)


def test_a_slip_in_a_known_name_gets_its_caution(store: Store) -> None:
    """Bleech is bleach: its own stop, then the question."""
    screen = say(at_safety(store), "can i tip bleech in")

    assert "No household bleach in coolant" in screen
    assert "Has anyone near it sore skin" in screen


def test_what_it_is_said_to_be_is_an_idea_still_and_nothing_that_went_in(store: Store) -> None:
    """ "It's toilet cleaner": refused as what it is; nobody has poured any."""
    talk = at_safety(store)

    screen = say(talk, "can i tip zorbex in", "its toilet cleaner")

    assert "No household bleach in coolant" in screen
    assert "proposed_action: bleach" in held(talk)
    assert not any(key.startswith("event") for key in held(talk))


@pytest.mark.parametrize("line", ["dunno, blue stuff", "dont know", "its glorp"])
def test_what_stays_unknown_stays_out_and_skips_no_question(store: Store, line: str) -> None:
    """Not knowing what it is answers nothing about people."""
    talk = at_safety(store)

    screen = say(talk, "can i tip zorbex in", line)

    assert "It stays out" in screen
    assert talk.state().expecting == policy.SAFETY
    assert policy.SAFETY not in talk.state().skipped


def test_what_else_the_line_tells_is_kept(store: Store) -> None:
    """The rash counts, and the zorbex is answered all the same."""
    talk = at_safety(store)

    screen = say(talk, "two men have a rash, can i put zorbex in")

    assert "What is" in screen
    assert any(key.startswith("skin") for key in held(talk))


def test_at_a_question_for_a_number_it_is_answered_too(store: Store) -> None:
    """It is no figure that could not be read; the question stands."""
    talk = session(store, demo=True)
    say(talk, "lathe 2 parts rust, glass shows 2.2 straight off", "no")
    waiting = talk.state().expecting

    screen = say(talk, "can i bung somthing caled zorbex in")

    assert "Put nothing in before that is known." in " ".join(screen.split())
    assert talk.state().expecting == waiting
