"""Another sump named in the middle of a case: asked about, begun anew or kept, and nothing typed is lost."""

from __future__ import annotations

import pytest

from tests.dialogue.test_session import Session, Store, held, say, session, store

__all__ = ["store"]

OTHER = "lathe 1 level low, brix 12"


def at_mill_1(store: Store) -> Session:
    """A conversation about Mill 1."""
    talk = session(store, demo=True)
    say(talk, "mill 1 foams")
    return talk


def asked(talk: Session, line: str) -> bool:
    """Whether a line is met with the question for its machine."""
    return "Then this case stays saved" in say(talk, line)


@pytest.mark.parametrize(
    "line",
    [OTHER, "laithe 1 level low, brix 12", "now lathe 2: brix 4", "and at lathe 1 it stinks", "lathe 2",
     "what about lathe 2, 3 brix", "ok lathe 1 reads 9, pump is fine", "drehbank 1 brix 4"],
)  # fmt: skip
def test_a_line_about_another_sump_is_asked_about_and_not_kept(store: Store, line: str) -> None:
    """No figure of it counts before the answer."""
    talk = at_mill_1(store)
    before = held(talk)

    assert asked(talk, line)
    assert held(talk) == before


@pytest.mark.parametrize(
    "line",
    ["lathe 1 next to it is fine", "same as lathe 2", "moved from lathe 1", "lathe 2 has it too",
     "lathe 2 is ok", "lathe 1 beside it reads 7", "mill 1 reads 4 brix", "mill 1 and lathe 2 both foam"],
)  # fmt: skip
def test_a_comparison_is_no_change_of_machine(store: Store, line: str) -> None:
    """Nothing is asked, and neither the other's figures nor its kind of work count here."""
    talk = at_mill_1(store)

    assert not asked(talk, line)
    assert talk.state().sump == "Mill 1"
    assert "refractometer_reading" not in held(talk) or line.startswith("mill 1")
    assert "operation: turning" not in held(talk)


def test_yes_saves_this_case_and_begins_one_there(store: Store) -> None:
    """The line counts in the new case, with what was typed after it; the first case is open still."""
    talk = at_mill_1(store)
    first = talk.case

    screen = say(talk, OTHER, "and it stinks", "yes")

    assert screen.startswith(f"Case {first} stays saved. A new one begins at Lathe 1.")
    assert talk.case != first
    assert talk.state().sump == "Lathe 1"
    assert {"sump_level: low", "refractometer_reading"} <= {k.partition(": 12")[0] for k in held(talk)}
    assert any(key.startswith("smell") for key in held(talk))
    assert [row.id for row in store.cases(state="open")] == [talk.case, first]


def test_no_keeps_it_here(store: Store) -> None:
    """The line counts for the sump of the case, without the other machine's name."""
    talk = at_mill_1(store)
    first = talk.case

    screen = say(talk, OTHER, "no")

    assert "Then it counts here, for Mill 1." in screen
    assert (talk.case, talk.state().sump) == (first, "Mill 1")
    assert "sump_level: low" in held(talk)
    assert "operation: turning" not in held(talk)


def test_a_danger_in_the_line_is_told_before_the_question(store: Store) -> None:
    """Wherever the bleach went in, what to do about it waits for no answer."""
    screen = say(at_mill_1(store), "lathe 1 bleach went in")

    assert screen.startswith("STOP  Bleach went in")
    assert "Is that Lathe 1?" in screen.splitlines()[-1]


def test_the_line_is_in_the_logbook_before_the_answer(store: Store) -> None:
    """Whoever leaves at the question has lost nothing; "back" drops the line."""
    talk = at_mill_1(store)
    say(talk, OTHER)
    assert OTHER in store.words(talk.case or 0).values()

    assert "counts nowhere" in say(talk, "back")
    assert not asked(talk, "ph 8.9")


def test_leaving_at_the_question_keeps_the_line_here(store: Store) -> None:
    """Stopping there gives the verdict with it."""
    talk = at_mill_1(store)

    say(talk, OTHER, "stop here")

    assert talk.over
    assert "sump_level: low" in held(talk)


@pytest.mark.parametrize(("said", "sump"), [("yess", "Lathe 1"), ("yeah its lathe 1", "Lathe 1"),
                                            ("noo", "Mill 1"), ("no its mill 1", "Mill 1")])  # fmt: skip
def test_a_hasty_answer_is_an_answer(store: Store, said: str, sump: str) -> None:
    """A letter too many is read as what it is."""
    talk = at_mill_1(store)

    say(talk, OTHER, said)

    assert talk.state().sump == sump
