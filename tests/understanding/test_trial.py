"""Short lines typed while a question stood open: what they say, what they must not answer."""

from __future__ import annotations

import pytest

from advisor.dialogue.understanding import understand
from advisor.knowledge.facts import Fact
from tests.understanding.measure import HERE, lexicon, measure

HELD = [Fact("sump_volume", 400.0, "L"), Fact("concentration", 0.08, "fraction")]


def test_every_trial_line_is_read_as_labelled() -> None:
    """No labelled line of the trial set is read otherwise, be it a danger, a denial or a number."""
    _, rows = measure(HERE / "trial_phrases.jsonl")
    assert len(rows) >= 70
    assert [f"{line['text']}: {faults}" for line, faults, _ in rows if faults] == []


@pytest.mark.parametrize("text", ["no it was 5.5", "sorry, I meant 5.5", "no, 5.5, I meant", "i meant 5.5"])
@pytest.mark.parametrize("expecting", ["sump_fill", "ph", "foam"])
def test_a_correction_changes_the_number_given_before(text: str, expecting: str) -> None:
    """A bare number put right is the last strength, never the quantity that is asked about."""
    understood = understand(text, lexicon=lexicon(), expecting=expecting, known=HELD)
    assert understood.corrections == ("concentration",)
    assert [(f.id, f.value) for f in understood.facts] == [("concentration", pytest.approx(0.055))]


@pytest.mark.parametrize("text", ["75 %", "about 80 percent", "it is at 90 %", "100 %"])
@pytest.mark.parametrize("expecting", [None, "foam", "ph", "sump_volume"])
def test_a_share_too_high_for_a_strength_is_asked_about(text: str, expecting: str | None) -> None:
    """A percentage that no strength reaches is a question, not a strength."""
    understood = understand(text, lexicon=lexicon(), expecting=expecting)
    assert understood.facts == ()
    assert [(a.about, a.choices) for a in understood.ask] == [("concentration", ("strength", "full"))]


@pytest.mark.parametrize("text", ["no, the line is sharp", "no earlier strength", "no it did stand still"])
def test_a_no_that_goes_on_answers_nothing(text: str) -> None:
    """A leading no followed by a statement of its own leaves the question open."""
    understood = understand(text, lexicon=lexicon(), expecting="foam")
    assert not any(f.id == "foam" for f in understood.facts)
    assert understood.requests == ()


@pytest.mark.parametrize("text", ["warum zu fett", "why too rich", "why too lean"])
def test_why_too_rich_asks_for_the_reason(text: str) -> None:
    """A question after a cause is a request, and tells nothing of the sump."""
    understood = understand(text, lexicon=lexicon())
    assert [r.kind for r in understood.requests] == ["why_not"]
    assert understood.facts == ()
