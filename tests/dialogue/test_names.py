"""A name said with a health complaint is offered to be struck; the record still verifies."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from advisor.cli import shared_lexicon
from advisor.dialogue.events import verify
from advisor.dialogue.names import names_in, struck
from advisor.dialogue.session import Session
from advisor.dialogue.understanding import understand
from advisor.knowledge.rulebase import load
from advisor.logbook.store import SqliteStore
from advisor.terminal.render import render


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqliteStore]:
    """A logbook of its own."""
    with SqliteStore(tmp_path / "logbook.db") as held:
        yield held


def talk(store: SqliteStore, *lines: str) -> tuple[Session, str]:
    """A conversation, and its last screen."""
    made = Session(load(), shared_lexicon(), store, clock=lambda: "2025-03-03T06:00:00Z")
    made.open()
    screens = [render(made.say(line)) for line in lines]
    return made, " ".join(screens[-1].split())


@pytest.mark.parametrize(
    ("line", "names"),
    [("Ann has a rash", ["Ann"]), ("foam, and ann has a rash on her hands", ["ann"]),
     ("the operator Mike got burning eyes", ["Mike"]), ("Mr Smith complains of a sore throat", ["Smith"]),
     ("Kowalski's hands are red", ["Kowalski"]), ("Peter hat Ausschlag", ["Peter"]),
     ("Brian and Sue both have itchy hands", ["Sue", "Brian"]),
     ("a guy called Torsten has a cough", ["Torsten"]), ("two people have itchy skin", []),
     ("the polisher has a rash", []), ("operator has itchy skin", []),
     ("everyone is coughing", []),
     ("Coolant has gone brown, skin is itchy", []), ("rash on my hands", [])],
)  # fmt: skip
def test_what_reads_like_a_name(line: str, names: list[str]) -> None:
    """A word that means nothing else to us, where a name stands; people in general are no names."""
    assert names_in(line, understand(line, lexicon=shared_lexicon()).unused) == names


def test_struck_words_keep_their_length() -> None:
    """Facts point into the words, so as many marks stand in the place of each name."""
    assert struck("Ann has a rash, says Ann. Annoying", ["Ann"]) == "*** has a rash, says ***. Annoying"


def test_a_name_is_offered_and_struck(store: SqliteStore) -> None:
    """Asked for, the name is gone from the case and its file; the complaint and the chain stay."""
    made, screen = talk(store, "pH 9.1 and Quendolin has a rash")
    assert '"Quendolin" reads like the name of a person' in screen
    before = made.state().facts
    assert '"Quendolin" is struck' in render(made.say("take the name out"))
    case = made.case or 0
    assert (store.words(case)[2], verify(store.events(case))) == ("pH 9.1 and ********* has a rash", [])
    assert [(f.id, f.value) for f in made.state().facts] == [(f.id, f.value) for f in before]
    assert all(b"Quendolin" not in file.read_bytes() for file in store.path.parent.iterdir())


def test_no_complaint_no_offer(store: SqliteStore) -> None:
    """A word nobody knows beside a broken pump is left alone, and so is a plea with no name before it."""
    assert "name of a person" not in talk(store, "Ann has foam in the sump")[1]
    assert "is struck" not in talk(store, "foam in the sump", "take the name out")[1]
