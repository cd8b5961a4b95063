"""What the tool says to a person at the machine is easy to read."""

from __future__ import annotations

import ast
import re

import pytest

from tests.terminal.reading_level import FEWEST_WORDS, GRADE, ROOT, TRADE_WORDS, grade, hard, spoken_in, told


def test_no_sentence_is_hard() -> None:
    """Every sentence in phrases, rules and recipes is of grade 8 or below; each that is not is named."""
    found = [f"{level} {place}: {sentence}" for level, place, sentence in hard()]

    assert not found, "\n".join(["", *found])


def test_the_sentences_are_found() -> None:
    """Thousands of them, from the rules and from the program, so that nothing passes by being overlooked."""
    places = [place for place, _ in told()]

    assert len(places) > 3000
    for part in ("rules/cautions", "rules/vocabulary", "advisor/dialogue/phrases", "advisor/mixing/steps"):
        assert any(place.startswith(part) for place in places), part


@pytest.mark.parametrize(
    ("sentence", "level"),
    [
        # by hand: 0.39 x words + 11.8 x syllables / words - 15.59
        ("The cat sat on the mat.", 0.39 * 6 + 11.8 * 6 / 6 - 15.59),
        ("Nobody carries umbrellas in sunny weather.", 0.39 * 6 + 11.8 * 13 / 6 - 15.59),
        ("The refractometer shows the strength today.", 0.39 * 6 + 11.8 * 7 / 6 - 15.59),
    ],
)
def test_the_grade_is_the_published_formula(sentence: str, level: float) -> None:
    """Kincaid and others, 1975, with a trade word as one syllable."""
    assert grade(sentence) == pytest.approx(level)


def test_a_hard_sentence_would_be_caught() -> None:
    """Long words and long sentences are over the grade; a few words alone are not judged."""
    assert grade("Subsequent contamination necessitates comprehensive decontamination procedures.") > GRADE
    assert grade(" ".join(["word"] * 80)) > GRADE
    assert grade(" ".join(["contamination"] * (FEWEST_WORDS - 1))) == 0.0


def test_trade_words_are_used() -> None:
    """A word nobody says any more leaves the list."""
    said = " ".join(text for _, text in told()).lower()

    assert sorted(word for word in TRADE_WORDS if word not in said) == []


def test_what_is_said_stands_in_the_phrase_modules() -> None:
    """No other module of the conversation holds a sentence; records and given files speak to programs."""
    silent = {"events.py", "given.py"}
    files = [f for part in ("dialogue", "terminal") for f in (ROOT / "advisor" / part).glob("*.py")]
    found = [
        f"{file.name}:{line} {text}"
        for file in files
        if not file.name.startswith("phrases") and file.name not in silent
        for line, text in spoken_in(ast.parse(file.read_text(encoding="utf-8")))
        if re.match(r"[A-Z\"].*[.?!]$", text) and len(text.split()) > 3
    ]

    assert found == []
