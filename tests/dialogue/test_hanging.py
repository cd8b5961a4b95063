"""The single answer a verdict hangs on, why not, and what would change it."""

from __future__ import annotations

from types import SimpleNamespace

from advisor.dialogue.answer import deciding_fact
from advisor.dialogue.hanging import what_would_change
from advisor.knowledge.facts import Fact
from tests.dialogue.test_session import Store, held, say, session, store

__all__ = ["store"]

MUSTY = ("mill 2 ph 7.9 was 9.2, smells musty, 6.5 brix", "nobody")


def test_the_answer_a_verdict_hangs_on_is_asked_once_more(store: Store) -> None:
    """Without the smell the verdict would be another; said again, it stands and is not asked a third time."""
    talk = session(store, demo=True)

    asked = say(talk, *MUSTY)
    after = say(talk, "yes it is musty", "sky is blue")

    assert "hangs on one answer: smell" in asked
    assert "Look once more" not in after


def test_an_answer_not_confirmed_is_taken_back(store: Store) -> None:
    """The verdict no longer stands on it."""
    talk = session(store, demo=True)
    say(talk, *MUSTY)
    lead = talk.view().lead

    say(talk, "no")

    assert "not smell: musty" in held(talk) or "not smell" in held(talk)
    assert talk.view().lead != lead


def test_nobody_is_sent_to_smell_rotten_eggs_again(store: Store) -> None:
    """The verdict hangs on the smell, and is left at that."""
    talk = session(store, demo=True)

    assert "Look once more" not in say(talk, "mill 1 smells of rotten egg", "nobody")


def test_a_number_read_again_is_compared(store: Store) -> None:
    """One step of the strip apart is the same reading; half a unit is not."""
    talk = session(store, demo=True)
    say(talk, "mill 1 nitrite strip 25 mg/l, was 8 last time, ph 9.0, 6.5 percent, no smell", "nobody")

    screen = say(talk, "12")

    assert "Not the same as before" in screen
    assert talk.view().known.quantity("nitrite") == 12.0


def test_what_hangs_is_never_from_the_shop_book(store: Store) -> None:
    """The person can repeat only what the person said."""
    talk = session(store, demo=True)
    say(talk, "mill 2 refractometer shows 6.1 brix, titration says 3 percent, oil floating", "nobody", "skip")

    screen = say(talk, "how sure")

    assert "hangs most on" not in screen or "factor" not in screen.split("hangs most on")[1].split(".")[0]


def test_why_not_names_what_does_not_fit_and_what_is_missing(store: Store) -> None:
    """Also for a cause too unlikely to be listed; with rule, source and weight."""
    talk = session(store, demo=True)
    say(talk, *MUSTY)

    screen = " ".join(say(talk, "why not lean").split())

    assert "against reading on the glass 6.5 Brix" in screen
    assert "Rule lean_mix.1" in screen
    assert "missing" in screen


def test_what_would_change_it_names_answers_and_what_they_make(store: Store) -> None:
    """Each is a verdict that really follows when that answer is tried."""
    talk = session(store, demo=True)
    say(talk, *MUSTY)

    screen = say(talk, "what would change it")
    found = what_would_change(talk, talk.state(), talk.view())

    assert found
    assert all(then.chain[:1] != talk.view().chain[:1] or then.verdict != "named" for _, then in found)
    assert found[0][0] in " ".join(screen.split())


def test_a_trial_strength_beats_an_earlier_reading(store: Store) -> None:
    """What is tried counts as said last."""
    talk = session(store, demo=True)
    say(talk, "mill 1 reads 7 brix", "nobody")

    assert "too weak" in say(talk, "what if it was 3 percent")


def test_figures_worked_out_of_each_other_end(store: Store) -> None:
    """A reading out of a strength that came out of the reading: the search for what was said ends."""
    strength = Fact("concentration", 0.05, "fraction", said="", parents=("refractometer_reading",))
    reading = Fact("refractometer_reading", 3.3, "°Bx", said="", parents=("concentration",))
    known = SimpleNamespace(
        findings={}, present={f.id: f for f in (strength, reading)}, fact_for=lambda node: strength
    )
    reason = SimpleNamespace(node="strength_band: lean")

    assert deciding_fact(SimpleNamespace(known=known), reason) is strength  # type: ignore[arg-type]
