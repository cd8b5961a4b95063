"""The turn handler: what is stored, asked, taken back, tried, resumed, and never asked twice."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path

import pytest

from advisor.cli import shared_lexicon, shop_book
from advisor.dialogue.dealt_with import says_dealt_with
from advisor.dialogue.session import Session
from advisor.dialogue.shop import Shop
from advisor.knowledge.rulebase import load
from advisor.logbook.port import Store
from advisor.logbook.store import open_store
from advisor.terminal.render import render


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """A logbook of its own."""
    held = open_store(tmp_path)
    yield held
    held.close()


def session(store: Store, *, demo: bool = False, who: str = "operator") -> Session:
    """A conversation on a fixed clock."""
    minutes = itertools.count()
    made = Session(
        load(),
        shared_lexicon(),
        store,
        clock=lambda: f"2025-03-03T06:{next(minutes) % 60:02d}:00Z",
        shop=shop_book(store, demo=True) if demo else Shop(),
        who=who,
    )
    made.open()
    return made


def say(talk: Session, *lines: str) -> str:
    """The screen after the last of `lines`."""
    screen = ""
    for line in lines:
        screen = render(talk.say(line))
    return screen


def held(talk: Session) -> set[str]:
    """Keys of the facts the case holds."""
    return {f"{'not ' if f.status == 'ruled_out' else ''}{f.key}" for f in talk.state().facts}


def test_every_answer_is_stored_before_the_next_line(store: Store) -> None:
    """A new reader of the same logbook sees what was said."""
    talk = session(store)
    say(talk, "ph 7.9 and it smells musty")

    kinds = [e.kind for e in store.events(talk.case or 0)]

    assert kinds[:2] == ["opened", "said"]
    assert {"ph", "smell: musty"} <= held(talk)


def test_an_emergency_ends_the_interview_until_it_is_dealt_with(store: Store) -> None:
    """No question is asked before the person says it is dealt with."""
    talk = session(store)

    first = say(talk, "coolant splashed in his eye")
    second = say(talk, "reading is 6 percent")
    third = say(talk, "it is dealt with")

    assert "EMERGENCY" in first
    assert talk.state().acknowledged
    assert "dealt with" in second
    assert "dealt with" not in third.splitlines()[-1]


def test_back_takes_the_last_answer_away(store: Store) -> None:
    """The fact is gone and the same question stands again."""
    talk = session(store)
    say(talk, "foam all over", "1")
    before = held(talk)

    say(talk, "back")

    assert held(talk) < before


def test_a_trial_answer_is_not_recorded_unless_kept(store: Store) -> None:
    """what if leaves the case as it was; keep it takes it in."""
    talk = session(store)
    say(talk, "ph 9.0, parts rust")
    count = len(store.events(talk.case or 0))

    say(talk, "what if ph was 7.5")
    tried = len(store.events(talk.case or 0))
    say(talk, "keep it")

    assert tried == count
    assert talk.state().facts[-1].value == 7.5


def test_why_answers_and_records_nothing(store: Store) -> None:
    """A question about a question changes no event."""
    talk = session(store)
    say(talk, "foam all over")
    count = len(store.events(talk.case or 0))

    screen = say(talk, "why")

    assert screen
    assert len(store.events(talk.case or 0)) == count


def test_what_was_told_is_never_asked(store: Store) -> None:
    """Over a whole conversation no question is about a fact already held."""
    talk = session(store, demo=True)
    say(talk, "mill 2 foams, shake test foam stays, nothing changed, next machine is fine, nobody hurt")
    for _ in range(14):
        target = talk.last_move.target
        if talk.over or talk.last_move.name != "ask" or target not in talk.rules.observables:
            break
        assert talk.view().known.status(target) is None or target in {"smell"}
        say(talk, "don't know")


def test_a_half_finished_case_is_offered_again(store: Store) -> None:
    """The next session on the same logbook offers it, and yes takes it up."""
    talk = session(store)
    say(talk, "ph 7.9 and it smells musty")
    talk.leave()

    again = session(store)
    offered = again.offered
    say(again, "yes")

    assert offered == talk.case
    assert held(again) == held(talk)


def test_a_bare_gallon_is_asked_about_once_and_remembered(store: Store) -> None:
    """The answer settles the volume and becomes the shop's habit."""
    talk = session(store)

    asked = say(talk, "foam, the sump holds 50 gallons")
    say(talk, "imperial")
    volume = talk.view().known.quantity("sump_volume")

    assert "which is meant" in asked
    assert volume == pytest.approx(50 * 4.54609)  # UK Weights and Measures Act 1985
    assert talk.shop.gallon == "imperial"


def test_nonsense_loses_nothing(store: Store) -> None:
    """What was noted stays, and the question stands again."""
    talk = session(store)
    say(talk, "foam all over")
    before = held(talk)

    screen = say(talk, "qwzx blorp")

    assert held(talk) == before
    assert "could not use" in screen


def test_a_correction_replaces_the_number(store: Store) -> None:
    """No, the reading was 6: the later number holds."""
    talk = session(store)
    say(talk, "reading is 8 percent, target 7")

    say(talk, "no, it was 6 percent")

    assert talk.view().known.quantity("concentration") == pytest.approx(0.06)


def test_a_number_out_of_range_says_what_would_be_right(store: Store) -> None:
    """pH 27 is not noted; the sentence names the range."""
    talk = session(store)
    talk.last_move = talk.last_move.__class__("ask", "ph")
    say(talk, "parts rust")
    talk.record.append("asked", {"move": "ask", "target": "ph"})

    screen = say(talk, "pH 27")

    assert "0" in screen
    assert "14" in screen
    assert talk.view().known.quantity("ph") is None


def test_an_unknown_factor_blocks_the_recipe_until_it_is_given(store: Store) -> None:
    """Straight off the glass without a factor: the factor is asked for, and then there is a strength."""
    talk = session(store)
    say(talk, "refractometer reads 3.6 brix, target 7 percent, nobody hurt, nothing changed")

    asked = talk.state().asked
    say(talk, "factor is 2")

    assert "refractometer_factor" in asked
    assert talk.view().strength.value == pytest.approx(0.072)


def test_a_line_that_is_too_long_is_refused(store: Store) -> None:
    """Nothing is stored of it, and nothing said before is lost."""
    talk = session(store)
    say(talk, "foam all over")
    count = len(store.events(talk.case or 0))

    screen = say(talk, "x" * 10_000)

    assert "too long" in screen
    assert len(store.events(talk.case or 0)) == count


def test_control_characters_are_stripped(store: Store) -> None:
    """Nothing typed can steer the screen."""
    talk = session(store)

    assert "\x1b" not in say(talk, "foam \x1b[2J all over")


def test_stop_here_closes_with_a_verdict(store: Store) -> None:
    """The best verdict now, saved, and the case closed."""
    talk = session(store)
    say(talk, "smells a bit funny", "stop here")

    assert talk.over
    assert talk.state().closed
    assert (talk.state().verdict or {})["verdict"] == "unsettled"


def test_health_shows_no_number_and_no_illness(store: Store) -> None:
    """A referral is told by signs and exposure; words for illnesses stay out of every screen."""
    talk = session(store)

    screens = " ".join(
        say(talk, line) for line in ("two lads wheeze and have a rash at the grinder", "stop here")
    )

    assert not any(word in screens.lower() for word in ("asthma", "dermatitis", "alveolitis", "eczema"))


def test_numbers_pick_nothing_where_none_are_shown(store: Store) -> None:
    """Asked whether the smell is so, "8,2" is a number of its own and no eighth and second smell."""
    talk = session(store, demo=True)

    screen = say(talk, "mill 1 smells of rotten egg", "nobody", "8,2")

    assert "which is meant?" in screen
    assert "smell: musty" not in held(talk)


@pytest.mark.parametrize("said", ["nobdy", "nobody", "nothin"])
def test_a_misspelt_nobody_is_an_answer(store: Store, said: str) -> None:
    """One slip in a long word of a plain no; what says more is never one."""
    talk = session(store, demo=True)

    assert "nobody with complaints" in say(talk, "mill 1 smells of rotten egg", said)


@pytest.mark.parametrize(
    ("said", "dealt"),
    [
        ("it is dealt with", True),
        ("its delt with", True),
        ("it is deallt with", True),
        ("ambulance is here", True),
        ("its not dealt with", False),
        ("ambulance has been called", True),
        ("is it safe now", False),
        ("we need an ambulance", False),
        ("should i call an ambulance", False),
        ("it hasn't been dealt with", False),
    ],
)
def test_an_emergency_ends_only_where_it_is_said_to_be_over(said: str, dealt: bool) -> None:
    """A slip is forgiven; what denies it, asks, or still calls for help ends nothing."""
    assert says_dealt_with(said, shared_lexicon()) is dealt


def test_can_i_run_is_answered_at_any_time(store: Store) -> None:
    """By what is known so far, with why."""
    assert "CAN IT RUN?" in say(session(store, demo=True), "mill 1 rusty parts", "can i run")
