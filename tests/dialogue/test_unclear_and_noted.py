"""What is unclear is kept in sight until it is settled; what was noted is told once, the latest first."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.dialogue.noted import noted_blocks
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import load
from advisor.terminal.render import render
from tests.cases.report import cases, view_of
from tests.dialogue.test_session import held, say, session, store

__all__ = ["store"]
CASES = Path(__file__).resolve().parents[1] / "cases" / "cases.jsonl"


def test_a_doubt_passed_over_is_said_once_more(store) -> None:  # type: ignore[no-untyped-def]
    """Answering something else keeps the doubt, reminds of it once, and a later word settles it."""
    talk = session(store)
    say(talk, "foam, the sump holds 50 gallons")

    first, second = say(talk, "pH 9"), say(talk, "hardness 12 dH")
    say(talk, "I meant the imperial gallon")

    assert "STILL UNCLEAR" in first
    assert "STILL UNCLEAR" not in second
    assert talk.view().known.quantity("sump_volume") == pytest.approx(50 * 4.54609)  # UK 1985 gallon


def test_a_doubt_is_let_go_when_nobody_knows(store) -> None:  # type: ignore[no-untyped-def]
    """Don't know closes the doubt, not the question behind it."""
    talk = session(store)
    say(talk, "foam, the sump holds 50 gallons", "don't know")

    assert talk.doubts.held == []
    assert not talk.state().skipped


def test_an_emergency_does_not_wait_for_a_doubt(store) -> None:  # type: ignore[no-untyped-def]
    """Two meanings of a gallon come after the eye."""
    talk = session(store)

    screen = say(talk, "coolant in his eye, sump 50 gallons")

    assert "EMERGENCY" in screen
    assert "which is meant" not in screen


def test_a_corrected_number_is_no_answer_about_people(store) -> None:  # type: ignore[no-untyped-def]
    """No, it was 5 % says nothing about anybody's skin."""
    talk = session(store)
    say(talk, "parts rust, reading 4 %")
    talk.record.append("asked", {"move": "ask", "target": "safety"})

    say(talk, "no, it was 5 %")

    assert "not skin" not in held(talk)


def noted(*facts: Fact) -> str:
    """The page of what was noted."""
    return render(noted_blocks(facts, load(), "metric"), 100)


def test_the_latest_value_is_noted_with_what_it_was() -> None:
    """Three readings of one thing are one line, the newest in front."""
    page = noted(*(Fact("ph", value, "pH", said=str(value)) for value in (9.0, 8.0, 7.5)))

    assert page.strip() == '- pH 7.5 ("7.5") [was pH 8.0, pH 9.0]'


def test_answers_that_hold_together_stay_apart() -> None:
    """Two smells are two lines, said twice one; no smell takes the place of both."""
    two = (Fact("smell", "musty", None, said="musty"), Fact("smell", "sour", None, said="sour"))
    none = Fact("smell", None, None, "ruled_out", said="no smell")

    assert noted(*two, *two).count("\n") == 1
    assert noted(*two, none).startswith('  - no smell ("no smell") [was smell')


def test_the_shop_book_is_told_in_one_piece() -> None:
    """What nobody said in the talk stands in one note below."""
    hardness = Fact("water_hardness", 200.0, "mg/L CaCO3", said="shop book")
    book = [hardness, Fact("sump_volume", 100.0, "L", said="shop book")]

    page = noted(Fact("ph", 8.0, "pH", said="8"), *book)

    assert page.splitlines()[1].startswith("From the shop book: ")


def test_no_step_is_listed_beside_one_that_does_it() -> None:
    """Filling up in portions brings the level to the mark; both are not told."""
    evaporated = next(c for c in cases(CASES) if c["id"] == "C005")

    actions = view_of(evaporated, load()).actions

    assert "top_up_with_water_in_portions" in actions
    assert "fill_to_mark" not in actions


def test_a_bare_number_under_a_question_with_words_is_asked_about_and_kept(store) -> None:  # type: ignore[no-untyped-def]
    """ "6.2" under a list of answers is not thrown away: which figure it is is asked, and it is noted."""
    talk = session(store)
    say(talk, "it foams since the new drum", "no")

    assert "which is meant" in say(talk, "6.2")
    assert "6.2 Brix" in say(talk, "2")
    assert "refractometer_reading" in {f.id for f in talk.state().facts}


def test_an_emergency_is_heard_under_an_open_doubt(store) -> None:  # type: ignore[no-untyped-def]
    """Under "which is meant?" only a choice picks a choice; an eye full of coolant comes first."""
    talk = session(store)
    say(talk, "it is rusty", "7.9")

    assert "EMERGENCY" in say(talk, "splash in eye of my friend")
    assert "EMERGENCY" in say(talk, "don't know")
    assert "concentration" not in {f.id for f in talk.state().facts}


def test_the_number_of_a_machine_is_no_reading(store) -> None:  # type: ignore[no-untyped-def]
    """ "3" under the list of machines picks one and leaves no doubt about a figure behind."""
    talk = session(store, demo=True)
    say(talk, "it is rusty")

    assert "which is meant" not in say(talk, "3")


def test_nobody_in_the_pit_is_not_nobody_with_complaints(store) -> None:  # type: ignore[no-untyped-def]
    """A denial of one danger does not answer for skin and chest; "all" answers nothing."""
    talk = session(store)
    say(talk, "it smells musty, pH 8.1")
    say(talk, "all")
    say(talk, "nobody is in the pit")

    assert "not skin" not in held(talk)


def test_a_reading_under_a_question_for_the_age_is_a_reading(store) -> None:  # type: ignore[no-untyped-def]
    """"Reads 2.1 on the glass" is no charge of two days, however the question stands."""
    talk = session(store, demo=True)
    say(talk, "lathe 1 rusting parts", "nothing changed", "others ok", "no")
    assert talk.state().expecting == "fluid_age"

    say(talk, "reads 2.1 on the glas")

    assert talk.view().known.quantity("fluid_age") is None
    assert [f.id for f in talk.state().facts if f.value in {2.1, 0.021}] == ["concentration"]
