"""Pails and repeat readings: right answers by hand, tolerance, lines that cannot be read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.drills.exercises import Pails, Question, Repeat, questions
from advisor.drills.own import EXAMPLE, own_drill
from advisor.drills.trust import Trust, glasses
from advisor.knowledge.rulebase import load


@pytest.mark.parametrize(("answer", "good"), [("1.2 L", True), ("1250 mL", True), ("1.3 L", False)])
def test_a_cup_cannot_be_read_closer_than_a_twentieth(answer: str, good: bool) -> None:
    """Within 5 % of 1.2 L is right, beyond it is not."""
    exercise = Pails([Question("?", "L", 1.2, "20 L x 6 / 100")])
    exercise.say(answer)
    assert exercise.right == [good]


def test_answers_follow_from_the_mass_balance() -> None:
    """Each right answer is what its own sum in words comes to (worked by Python's arithmetic)."""
    for seed in range(20):
        for question in questions(seed):
            sum_of_words = eval(question.how.replace("x", "*").replace(" L", ""))
            scale = 100 if question.unit == "fraction" else 1
            assert question.right * scale == pytest.approx(sum_of_words)


def test_a_seed_gives_the_same_questions() -> None:
    """A class can be given the same sheet."""
    assert questions(4) == questions(4) != questions(5)


@pytest.mark.parametrize("bare", ["1.2", " 1,2 "])
def test_a_bare_number_is_in_the_unit_asked_for(bare: str) -> None:
    """1.2 asked for in litres is 1.2 L, and it is said so."""
    exercise = Pails([Question("?", "L", 1.2, "20 L x 6 / 100")])
    assert "yours taken in L" in exercise.say(bare)[0].text
    assert exercise.right == [True]
    per_cent = Pails([Question("?", "fraction", 0.012, "1.2")])
    per_cent.say(bare)
    assert per_cent.right == [True]


@pytest.mark.parametrize(
    ("unit", "answer", "told"), [("fraction", "10 gal", "a volume"), ("L", "5 %", "a strength")]
)
def test_a_volume_for_a_strength_is_told_apart(unit: str, answer: str, told: str) -> None:
    """What was given and what is asked for are both named, and nothing is counted."""
    exercise = Pails([Question("?", unit, 1.2, "1.2")])
    assert f"That is {told}" in exercise.say(answer)[0].text
    assert exercise.right == []


@pytest.mark.parametrize("make", [lambda: Pails(questions(1)), Repeat, lambda: Trust(glasses(1))])
def test_every_exercise_has_a_way_out(make: Callable[[], Pails | Repeat | Trust]) -> None:
    """Help tells both ways out; done scores what there is, the words that leave give no score."""
    exercise = make()
    told = exercise.say("help")[0].text
    assert '"done"' in told
    assert '"q"' in told
    assert not exercise.over
    assert "0 of 100" in exercise.say("done")[-1].text
    assert (exercise.over, exercise.left) == (True, False)
    for word in ("q", "quit", "exit"):
        exercise = make()
        assert "without a score" in exercise.say(word)[0].text
        assert (exercise.over, exercise.left) == (True, True)


def test_what_was_not_answered_is_counted_and_said() -> None:
    """One of five answered right is 20, and the other four are named."""
    exercise = Pails(questions(1))
    now = exercise.asked[0]
    exercise.say(f"{now.right} L" if now.unit == "L" else f"{100 * now.right} %")
    assert exercise.say("done")[0].text == "20 of 100; 4 questions not answered count as wrong"


def test_an_answer_that_cannot_be_read_costs_nothing() -> None:
    """The question is put again with what was wrong."""
    exercise = Pails(questions(1))
    exercise.say("a bit")
    assert not exercise.right


def test_two_readings_agree_within_a_division() -> None:
    """0.2 apart agree, 0.3 do not; a single number is not a pair."""
    exercise = Repeat()
    for line in ("6.2 6.4", "6,2 6,5", "6.2", "5 5"):
        exercise.say(line)
    assert exercise.pairs == [(6.2, 6.4), (6.2, 6.5), (5.0, 5.0)]
    assert exercise.points == 67


def test_the_printed_example_is_a_drill(tmp_path: Path) -> None:
    """A trainer starts from a file that works."""
    file = tmp_path / "drill.yaml"
    file.write_text(EXAMPLE, encoding="utf-8")
    hidden = own_drill(load(), file)
    assert hidden.causes == ("anaerobic_growth", "low_ph")
    assert hidden.must == ("lock_out",)
