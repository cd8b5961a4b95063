"""Which machine it is: misspelt, by a number, or none of those in the book."""

from __future__ import annotations

import pytest

from advisor.dialogue import policy
from advisor.dialogue.shop import Shop
from tests.dialogue.test_session import Store, say, session, store

__all__ = ["store"]

NUMBERED = Shop(sumps={"Machine 3": [], "Machine 13": [], "Machine 14": []})
PLAIN = Shop(sumps={"14": [], "3": [], "7": []})


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("mashine 3", "Machine 3"),
        ("machin 14", "Machine 14"),
        ("maschine 13", "Machine 13"),
        ("3", "Machine 14"),
    ],
)
def test_a_misspelt_machine_keeps_its_number(said: str, name: str) -> None:
    """The word may be wrong, the figures never are; a figure alone picks from the list."""
    assert NUMBERED.sump_named(said, only=True) == name


@pytest.mark.parametrize(("said", "name"), [("3", "3"), ("mashine 3", "3"), ("no 14", "14"), ("2", "3")])
def test_a_machine_named_by_a_number_goes_before_its_place_in_the_list(said: str, name: str) -> None:
    """The machine called 3 is meant by 3, though it stands second."""
    assert PLAIN.sump_named(said, only=True) == name


@pytest.mark.parametrize("said", ["Mühle 1", "fraese 1", "die Fräsmaschine 1", "Schaum an der Fräse 1"])
def test_a_machine_named_in_german(said: str) -> None:
    """The German word for a mill names the mill of that number, alone or in a complaint."""
    shop = Shop(sumps={"Mill 1": [], "Mill 2": [], "Lathe 1": []})

    assert shop.sump_named(said) == shop.sump_named(said, only=True) == "Mill 1"
    assert not any(word in shop.without_name(said, "Mill 1").lower() for word in ("1", "hle", "fr"))


def test_a_reading_names_no_machine() -> None:
    """A number in a complaint is not the machine of that number, unless it is called one."""
    assert PLAIN.sump_named("reads 3 brix and foams") is None
    assert PLAIN.sump_named("machine 3 foams") == "3"


def test_what_was_guessed_is_said_back(store: Store) -> None:
    """The third of the list is taken, named, and can be taken back."""
    talk = session(store, demo=True)

    screen = say(talk, "foam all over", "mashine 3")

    assert 'I take that as Lathe 1. Type "back" if not.' in screen
    say(talk, "back")
    assert (talk.state().sump, talk.state().expecting) == (None, policy.SUMP)


@pytest.mark.parametrize(
    "said", ["no", "none", "keiner", "nee", "another one", "machine 14", "mill 9", "None of them."]
)
def test_none_of_the_listed_machines(store: Store, said: str) -> None:
    """A plain no, or a number the book has not, is an answer: the book is left aside."""
    talk = session(store, demo=True)

    screen = say(talk, "foam all over", said)

    assert "Another machine, then" in screen
    assert talk.state().sump is None
    assert policy.SUMP in talk.state().skipped


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("surface grindr foams", "Surface grinder"),
        ("lath 2 parts rusting", "Lathe 2"),
        ("fill 1 pail, foam", None),
        ("lathe 3 foams", None),
        ("they mill 4 parts an hour", None),
    ],
)
def test_a_machine_misspelt_in_a_longer_line(store: Store, said: str, name: str | None) -> None:
    """It is taken and said back, the rest of the line is kept, and another number is another machine."""
    talk = session(store, demo=True)

    screen = say(talk, said)

    assert talk.state().sump == name
    assert ("I take that as" in screen) == (name is not None)
    assert talk.state().facts[-1].said != ""
