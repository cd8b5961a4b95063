"""A stop is not talked away: neither by a smell that fades, nor by a plain no, nor by making light of it."""

from __future__ import annotations

import pytest

from advisor.cli import shared_lexicon
from advisor.dialogue.dealt_with import says_dealt_with
from tests.dialogue.test_session import Store, held, say, session, store

__all__ = ["store"]

#: What brings a stop on, and what is then said to have passed.
PASSED = [
    ("the pit stinks of rotten eggs", "smell has gone now", "hydrogen_sulphide_enclosed"),
    ("three people have rashes", "the rash is gone", "skin_trouble_several"),
    ("two men have a tight chest", "they have no tight chest any more", "chest_trouble_serious"),
]


@pytest.mark.parametrize(("bad", "gone", "stop"), PASSED)
def test_what_has_passed_still_stops(store: Store, bad: str, gone: str, stop: str) -> None:
    """It is told again with what has to happen first, and no recipe is worked out meanwhile."""
    talk = session(store)
    say(talk, bad)

    screen = say(talk, gone)

    assert stop in talk.view().cautions
    assert "STILL: STOP" in screen
    assert "Not before this:" in screen
    assert "No recipe while this stands." in say(talk, "strength 5 %, target 8 %, 300 l", "recipe")


@pytest.mark.parametrize(("bad", "gone", "stop"), PASSED)
def test_it_ends_when_it_is_dealt_with_and_comes_back_whole(
    store: Store, bad: str, gone: str, stop: str
) -> None:
    """Nothing but the person's word that it was seen to; the same thing once more stops once more."""
    talk = session(store)
    say(talk, bad, gone, "it is not dealt with yet")
    assert stop in talk.view().cautions

    say(talk, "it is dealt with")

    assert stop not in talk.view().cautions
    assert "STOP" in say(talk, bad)


@pytest.mark.parametrize(
    ("bad", "right", "stop"),
    [
        ("smells of rotten eggs in a closed room", "not rotten eggs, musty", "hydrogen_sulphide_enclosed"),
        ("three guys have itchy hands", "no, it was one guy", "skin_trouble_several"),
    ],
)
def test_a_correction_does_not_lift_a_stop_by_itself(store: Store, bad: str, right: str, stop: str) -> None:
    """The correction counts and the stop stays, with a word on it, until it is dealt with."""
    talk = session(store)
    say(talk, bad)

    assert "STILL: STOP  You put that right" in say(talk, right)
    assert stop in talk.view().cautions
    say(talk, "it is dealt with")
    assert stop not in talk.view().cautions


def test_a_stop_taken_back_with_its_line_says_so(store: Store) -> None:
    """What was never told stops nothing, and its end is not silent."""
    talk = session(store)
    say(talk, "three guys have itchy hands")

    assert "This stop stands no longer: Sore skin on several" in say(talk, "back")


@pytest.mark.parametrize(
    ("danger", "stop"),
    [("coolant runs into the storm drain", "spill_to_drain"), ("the air stings here", "stinging_air")],
)
def test_no_to_the_safety_question_leaves_a_danger_told_before(store: Store, danger: str, stop: str) -> None:
    """It says that there is nothing more; "dealt with" ends it, and told again it stops again."""
    talk = session(store)
    say(talk, danger, "no")
    assert stop in talk.view().cautions
    assert "not danger_now" not in held(talk)

    say(talk, "dealt with now")

    assert stop not in talk.view().cautions
    assert "STOP" in say(talk, danger)


@pytest.mark.parametrize("light", ["nobody is hurt", "strength 5 %", "ph 8, all good"])
def test_an_emergency_leads_every_answer_until_it_is_dealt_with(store: Store, light: str) -> None:
    """Whatever else is said, its first sentence comes before the prompt."""
    talk = session(store)
    say(talk, "joe has collapsed in the pit")

    assert "STILL: EMERGENCY  Somebody is down in a pit or tank: do not follow." in say(talk, light)


@pytest.mark.parametrize("line", ["he threw up, ok now", "its ok now", "fine now"])
def test_better_is_not_dealt_with(line: str) -> None:
    """Help has to have been called, or the person be safe."""
    assert not says_dealt_with(line, shared_lexicon())


def test_a_line_that_cannot_be_used_is_met_with_the_stop(store: Store) -> None:
    """It may be the one with which somebody meant to go on."""
    talk = session(store)
    say(talk, "magnesium chips are warm in the bin", "no")

    assert say(talk, "they look quiet to me").startswith("STILL: STOP  Chips that fizz")


def test_bad_air_never_has_the_pump_started(store: Store) -> None:
    """Rotten eggs alone are aired with the pump run from the panel; where the air stings it stays off."""
    talk = session(store)
    say(talk, "rotten eggs and the air stings")

    assert "air_the_room" in talk.view().actions
    assert "ventilate_first" not in talk.view().actions


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("neat oil in the lathe with magnesium chips", "TAKE CARE  Magnesium and water make hydrogen."),
        ("the gun drill runs straight oil and it smokes a lot", "STOP  Oil smoke"),
    ],
)
def test_what_is_outside_still_has_its_dangers_told(store: Store, line: str, said: str) -> None:
    """Neat oil is no case for this; a danger beside it is told whole in the same answer."""
    assert said in say(session(store), line)


def test_water_into_neat_oil_is_refused_at_once(store: Store) -> None:
    """Whatever the verdict, a plan is answered when it is told."""
    talk = session(store)
    say(talk, "neat cutting oil in the lathe, very hot")

    assert "STOP  No water and no coolant into neat oil." in say(talk, "can i add some water to cool it")


def test_a_recipe_taken_back_by_a_stop_says_what_stopped_it(store: Store) -> None:
    """Asked for again, it names the stop and what has to happen first."""
    talk = session(store)
    say(talk, "200 l sump, half full, strength 4 %, target 8 %, 20 l pail", "no", "all")
    assert talk.state().recipe

    say(talk, "the air stings since we poured it")

    assert "No recipe while this stands. The air stings" in say(talk, "recipe")


def test_no_recipe_before_the_safety_question_is_answered(store: Store) -> None:
    """Passed over twice for other things, it is asked once more before anything is mixed."""
    talk = session(store)
    say(talk, "rotten smell", "can i put vinegar in", "and bleach?", "pour it down the drain?")
    say(talk, "200 l sump, half full, strength 4 %, target 8 %, 20 l pail, rust on parts")

    for _ in range(4):
        if talk.state().recipe or talk.last_move.target == "safety":
            break
        say(talk, "skip")

    assert talk.last_move.target == "safety"
    assert not talk.state().recipe
