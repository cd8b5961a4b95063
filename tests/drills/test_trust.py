"""The reading-trust exercise: what shifts a glass, and that neither trust nor doubt alone wins."""

from __future__ import annotations

import pytest

from advisor.drills.hidden import OILY
from advisor.drills.trust import SUMPS, Glass, Trust, glasses


def judged(glass: Glass, *lines: str) -> Trust:
    """The exercise of one sump after these lines."""
    exercise = Trust([glass])
    for line in lines:
        exercise.say(line)
    return exercise


def test_oil_lifts_the_glass_and_skimming_brings_it_back() -> None:
    """6 % at factor 1.5 is 4.0 on the glass; oil shows 5.2, skimmed it is 4.0 again."""
    glass = Glass(0.06, 1.5, "oil", oily=True)
    assert glass.reading == pytest.approx(4.0 * OILY)
    assert glass.skimmed == pytest.approx(4.0)


def test_a_zero_that_is_off_shows_on_plain_water() -> None:
    """The shift is added to every reading and is what plain water reads."""
    glass = Glass(0.06, 1.0, "zero", shift=0.8)
    assert glass.reading == pytest.approx(6.8)
    assert "0.8 Brix" in Trust([glass]).say("read plain water")[0].text


def test_right_judgement_and_strength_count_apart() -> None:
    """Doubt with the true strength is whole; trust with the true strength keeps only the strength's part."""
    glass = Glass(0.06, 1.5, "oil", oily=True)
    assert judged(glass, "line", "skim", "doubt 6 %").points == 100
    assert judged(glass, "trust 6").points == 40
    assert judged(glass, "doubt 7.8 %").points == 60


@pytest.mark.parametrize(
    ("line", "sound"),
    [("its ok 6%", True), ("i trust it, 6 percent", True), ("trsut 6", True), ("dout 6", False),
     ("i don't trust it 6 %", False), ("wrnog, 6", False)],
)  # fmt: skip
def test_a_judgement_is_heard_in_plain_words(line: str, sound: bool) -> None:
    """Trust and doubt may be said loosely or with a slip; half the points are for the right one."""
    assert judged(Glass(0.06, 1.5, "sound"), line).points == (100 if sound else 40)


def test_a_check_with_a_slip_is_made() -> None:
    """ "lien" looks at the line, "watre" reads plain water; nothing else is taken for a check."""
    exercise = judged(Glass(0.06, 1.5, "sound"), "lien", "watre", "purple")
    assert exercise.run == ["line", "water"]


def test_waiting_for_the_laboratory_costs() -> None:
    """Titrating and skimming where a look at the line would do loses part of the effort."""
    glass = Glass(0.06, 1.5, "sound")
    assert judged(glass, "line", "water", "trust 6 %").points == 100
    assert 90 <= judged(glass, "titrate", "skim", "trust 6 %").points < 100


@pytest.mark.parametrize("word", ["trust", "doubt"])
def test_one_word_for_all_does_not_win(word: str) -> None:
    """Half of the sumps are sound, so that either word alone gets half of the judging right."""
    for seed in range(20):
        exercise = Trust(glasses(seed))
        for glass in exercise.sumps:
            exercise.say(f"{word} {100 * glass.true:.1f} %")
        assert len(exercise.points_of) == SUMPS
        assert exercise.points <= 75


def test_a_line_without_a_strength_costs_nothing() -> None:
    """The judgement is asked for again, with how to say it."""
    exercise = Trust(glasses(1))
    told = exercise.say("trust it")[0].text
    assert "trust 6.5 %" in told
    assert exercise.points_of == []
    assert exercise.finish()[0].text.startswith("0 of 100; 4 not judged")
