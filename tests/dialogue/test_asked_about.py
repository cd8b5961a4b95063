"""Questions in the middle of a case are answered; nothing that is only asked about is noted as done."""

from __future__ import annotations

import pytest

from tests.dialogue.test_session import Store, held, say, session, store

__all__ = ["store"]


@pytest.mark.parametrize(
    ("line", "never"),
    [
        ("how much biocide do i put in", "event"),
        ("how much antifoam do i put in", "event"),
        ("wait whats the diffrence way oil filler", "event"),
        ("was ist der unterschied zwischen bettbahnöl und hydrauliköl", "event"),
        ("why cant i just fill it from the hose", "sample_point"),
        ("how much tap water do i top up with", "water_source"),
        ("can i use the tap", "water_source"),
        ("wie viel biozid muss ich rein tun", "event"),
    ],
)
def test_a_question_is_no_deed(store: Store, line: str, never: str) -> None:
    """What somebody asks about has not happened."""
    talk = session(store)
    say(talk, "foam", line)

    assert not any(fact.partition(":")[0] == never for fact in held(talk))


@pytest.mark.parametrize(
    "line",
    ["what is wrong, we put biocide in and it foams", "how much was it: biocide was dosed yesterday"],
)
def test_a_deed_told_beside_a_question_counts(store: Store, line: str) -> None:
    """What was done stays done."""
    talk = session(store)
    say(talk, line)

    assert "event: biocide_dosed" in held(talk)


@pytest.mark.parametrize("line", ["can i run it tonight", "can i run it till morning?", "is it safe to run"])
def test_whether_it_can_run_is_answered_anywhere(store: Store, line: str) -> None:
    """The run line, then the open question once more; nothing is noted."""
    talk = session(store)
    asked = say(talk, "two colleagues have itchy hands").splitlines()[-1]
    before = held(talk)

    screen = say(talk, line)

    assert screen.startswith("CAN IT RUN?  It may run, with limits, but people stay off its coolant")
    assert screen.splitlines()[-1] == asked
    assert held(talk) == before


def test_which_limits_is_answered(store: Store) -> None:
    """The reason and the stop stand beside the run line."""
    talk = session(store)
    say(talk, "two colleagues have itchy hands")

    assert "STILL: STOP" in say(talk, "what limits")


def test_nothing_known_is_no_yes(store: Store) -> None:
    """A denied deed and a skipped health question say nothing for running."""
    talk = session(store)

    screen = say(talk, "no i didnt dose antifoam", "skip")

    assert "CAN IT RUN?  I know too little to say." in screen
    assert "Yes, it can run" not in screen


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("can i use the tap", "Yes: clean running water"),
        ("er spült schon", "Keep rinsing"),
        ("how long", "15 min"),
    ],
)
def test_help_in_the_middle_of_an_emergency(store: Store, line: str, told: str) -> None:
    """A question about how to help is answered with the time to rinse, and the emergency stays."""
    talk = session(store)
    say(talk, "joe has coolant in his eye")

    screen = say(talk, line)

    assert told in screen
    assert "15 minutes" in screen
    assert talk.last_move.name == "emergency"


def test_erledigt_ends_an_emergency(store: Store) -> None:
    """The German word is offered and understood."""
    talk = session(store)
    say(talk, "joe has coolant in his eye")
    assert '"erledigt"' in say(talk, "blah")

    say(talk, "erledigt")

    assert talk.last_move.name != "emergency"


def test_a_strong_mix_harms_nobody_by_itself(store: Store) -> None:
    """Where nobody has complaints, none is told of."""
    talk = session(store)
    screens = say(talk, "fines heavy, strength 15 %")

    assert "Sore skin: cut contact" not in screens
    assert "skin_at_risk" in talk.view().cautions


def test_dunno_at_the_start_offers_something_to_look_at(store: Store) -> None:
    """It does not ask the same again."""
    assert "look at one of these" in say(session(store), "dunno")
