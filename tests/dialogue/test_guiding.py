"""A person led through a check: step by step, once, with a conclusion, and never against safety."""

from __future__ import annotations

import pytest

from tests.dialogue.test_session import Session, Store, held, say, session, store

__all__ = ["store"]

APART = "mill 2 refractometer shows 6.1 brix, titration says 3 percent, oil floating, nobody hurt"
LEAN = "lathe 2 parts rust, glass shows 2.2 straight off, nobody hurt, 80 percent full"


def expecting(talk: Session) -> str | None:
    """The open question's target."""
    return talk.state().expecting


def test_two_methods_that_disagree_are_looked_into_before_a_verdict(store: Store) -> None:
    """The first step comes, and no verdict has been told."""
    talk = session(store, demo=True)

    screen = say(talk, APART, "no")

    assert expecting(talk) == "refractometer_above_titration/skim"
    assert talk.state().verdict is None
    assert "Believe neither" in screen


def test_oil_makes_the_titration_the_one_to_believe(store: Store) -> None:
    """DGUV Regel 109-003, Annex 3: oil spoils the refractometer and not the titration."""
    talk = session(store, demo=True)

    say(talk, APART, "no", "done", "done", "done", "done", "6.0", "3.0")

    assert talk.state().concluded["refractometer_above_titration"] == "oil"
    assert talk.view().strength.value == 0.03


def test_readings_that_agree_after_skimming_are_believed(store: Store) -> None:
    """The new reading counts, not the first."""
    talk = session(store, demo=True)

    screen = say(talk, APART, "no", "done", "done", "done", "done", "3.1")

    assert "the two agree" in screen
    assert round(talk.view().strength.value or 0, 4) == 0.031


def test_who_will_not_be_led_is_not_asked_again_and_gets_no_recipe(store: Store) -> None:
    """Left once, the check stays left, and neither reading carries a recipe."""
    talk = session(store, demo=True)

    say(talk, APART, "no", "skip all")

    assert not (expecting(talk) or "").startswith("refractometer_above")
    assert talk.view().strength.value is None


def test_a_stinking_sump_is_not_circulated_for_a_reading(store: Store) -> None:
    """The step is left out and what to do instead is said."""
    talk = session(store, demo=True)

    screen = say(
        talk, "mill 2 6.1 brix, titration 3 percent, oil floating, it has split into layers", "no", "done"
    )

    assert "do not run the pump just for a reading" in " ".join(screen.split())
    assert expecting(talk) == "refractometer_above_titration/filter"


def test_a_thinned_sample_is_doubled_for_the_person(store: Store) -> None:
    """One to one with water shows half (IFA coolant lexicon, Gebrauchskonzentration)."""
    talk = session(store, demo=True)

    say(talk, "mill 1 the line is off the scale", "nothing changed", "they are fine", "nobody")
    screen = say(talk, "done", "mixed it", "6.5")

    assert "13 Brix" in screen
    assert talk.view().known.quantity("refractometer_reading") == 13.0


def test_what_was_not_done_before_the_reading_is_led_through(store: Store) -> None:
    """All but one done: that one is led through and the reading asked anew."""
    talk = session(store, demo=True)

    say(talk, LEAN, "no", "all but 4")

    assert expecting(talk) == "reading_strength/sample"
    say(talk, "done")
    assert expecting(talk) == "reading_strength/read"


def test_all_done_goes_straight_to_the_recipe(store: Store) -> None:
    """One answer settles how it was read."""
    talk = session(store, demo=True)

    say(talk, LEAN, "no", "all")

    assert talk.state().recipe
    assert {"circulated: yes", "reading_care: zeroed"} <= held(talk)


def test_a_check_is_begun_by_name(store: Store) -> None:
    """The zero is read, corrected, and no longer taken off the next reading."""
    talk = session(store, demo=True)

    say(
        talk,
        "mill 1 reads 7 brix",
        "nobody hurt",
        "check refractometer",
        "done",
        "done",
        "1.5",
        "done",
        "5.5",
    )

    assert talk.view().strength.value == 0.055


def test_ok_is_no_answer_to_is_it_so(store: Store) -> None:
    """Only a no takes the one answer away that the verdict hangs on; "ok" is asked again, a yes keeps it."""
    talk = session(store, demo=True)
    say(talk, "mill 1 ph 7.9 but the ph meter was never calibrated, it was 9.2 when new", "no", "ok")
    assert "ph_test: meter_not_calibrated" in held(talk)

    say(talk, "yes")
    assert "ph_test: meter_not_calibrated" in held(talk)


def test_a_correction_at_the_list_is_no_answer_to_it(store: Store) -> None:
    """ "No, tank at 75 percent" puts the level right; the list stands."""
    talk = session(store, demo=True)

    say(talk, LEAN, "no", "no, tank at 75 percent")

    assert talk.view().known.quantity("sump_fill") == 0.75
    assert expecting(talk) == "reading_strength/list"


def test_at_a_step_ok_is_only_heard_and_all_ends_the_order(store: Store) -> None:
    """Nothing is taken for done by "ok"; "all" is as it is in the list."""
    talk = session(store, demo=True)
    say(talk, LEAN, "no", "none")
    first = expecting(talk)

    assert "once it is" in say(talk, "ok")
    assert expecting(talk) == first
    say(talk, "all done")
    assert expecting(talk) == "reading_strength/level_again"


def test_skip_passes_one_step_over_and_the_check_goes_on(store: Store) -> None:
    """The step after it comes next; nothing is taken as done of the one passed over."""
    talk = session(store, demo=True)
    say(talk, APART, "no")

    screen = say(talk, "skip")

    assert screen.startswith("Skipped.")
    assert expecting(talk) == "refractometer_above_titration/circulate"
    assert "reading_care: skimmed" not in held(talk)


@pytest.mark.parametrize("word", ["skip all", "enough", "skip the rest", "leave the check"])
def test_another_word_leaves_the_rest_of_a_check_and_says_so(store: Store, word: str) -> None:
    """It is left at the list as at any step, and the talk goes on."""
    for before in ((), ("all but 3 and 4",)):
        talk = session(store, demo=True)

        screen = say(talk, LEAN, "no", *before, word)

        assert "we leave the rest of that check" in screen
        assert not (expecting(talk) or "").startswith("reading_strength")
        assert not talk.over


def test_what_comes_after_a_step_does_not_come_after_its_passing_over(store: Store) -> None:
    """Nobody is asked for the level on the still tank who did not stop the pump."""
    talk = session(store, demo=True)

    say(talk, LEAN, "no", "all but 1", "skip")

    assert expecting(talk) != "reading_strength/level_again"
