"""A stop outlives the conversation it was told in: it is told again, closes recipes, and can be lifted."""

from __future__ import annotations

from dataclasses import replace

import pytest

from advisor.cli import shared_lexicon
from advisor.dialogue.carried import of_sump
from advisor.dialogue.dealt_with import says_put_right
from advisor.knowledge.rulebase import load
from advisor.reports.cases import open_case, path_of
from advisor.reports.rejudge import judge_again, past
from tests.dialogue.test_session import Store, say, session, store

__all__ = ["store"]

ACID = "acid_in_the_sump"


def stopped(store: Store, *lines: str) -> int:
    """A conversation that was left, and the number of its case."""
    talk = session(store, demo=True)
    say(talk, *lines)
    return talk.case or 0


def standing(store: Store, sump: str = "Lathe 2") -> set[str]:
    """Cautions that still stand at a sump."""
    return {stop.caution for stop in of_sump(store, sump, load())}


def test_a_stop_is_told_first_when_its_sump_is_chosen_again(store: Store) -> None:
    """It comes before the shop's book and before what was noted, with its case."""
    first = stopped(store, "lathe 2: i poured vinegar in", "stop here")

    screen = say(session(store, demo=True), "lathe 2 reads 2 brix, parts rusty")

    assert screen.startswith(f"STILL: STOP  From case {first} (2025-03-03): Acid went in")


def test_no_recipe_until_it_is_dealt_with(store: Store) -> None:
    """The verdict stops the machine and pours nothing; then the recipe's questions come."""
    stopped(store, "lathe 2: i poured vinegar in", "stop here")
    talk = session(store, demo=True)

    before = say(talk, "lathe 2 reads 2 brix, half full, parts rusty, 20 l pail", "no")
    poured = talk.state().recipe
    say(talk, "dealt with", "all")

    assert "CAN IT RUN?  No." in before
    assert "by the recipe" not in before
    assert poured is None
    assert talk.state().recipe
    assert not talk.state().recipe["refused"]


def test_it_stands_until_somebody_says_so_and_then_no_longer(store: Store) -> None:
    """A second talk that ends without a word of it leaves it standing; "dealt with" lifts it for good."""
    stopped(store, "lathe 2: i poured vinegar in", "stop here")
    stopped(store, "lathe 2 foams", "not dealt with yet", "stop here")
    assert ACID in standing(store)

    stopped(store, "lathe 2 foams", "the vinegar is dealt with", "stop here")

    assert standing(store) == set()
    assert "STILL" not in say(session(store, demo=True), "lathe 2 foams")


def test_a_stop_that_comes_again_after_it_was_lifted_is_told_whole(store: Store) -> None:
    """Lifted is the old one: the same thing done once more stops the machine once more."""
    stopped(store, "lathe 2: i poured vinegar in", "stop here")
    talk = session(store, demo=True)

    screen = say(talk, "lathe 2 foams", "dealt with", "i poured vinegar in again")

    assert "STOP  Acid went in" in screen
    assert ACID in standing(store)


@pytest.mark.parametrize(
    "lines",
    [
        ("lathe 2: i poured vinegar in", "back"),
        ("lathe 2: can i pour vinegar in",),
        ("lathe 1: i poured vinegar in",),
    ],
)
def test_what_was_taken_back_only_proposed_or_elsewhere_stops_nothing(
    store: Store, lines: tuple[str, ...]
) -> None:
    """Only what went into this sump stands at it."""
    stopped(store, *lines, "stop here")

    assert standing(store) == set()


def test_an_emergency_left_without_a_word_stands_before_any_question(store: Store) -> None:
    """It is told whole with its steps, and only "dealt with" goes on."""
    stopped(store, "lathe 2: coolant splashed in his eye")
    talk = session(store, demo=True)

    screen = say(talk, "no", "lathe 2 foams")

    assert screen.startswith("STILL: EMERGENCY")
    assert "  1 " in screen
    assert "STILL: EMERGENCY" in say(talk, "is it dealt with?")
    assert "STILL" not in say(talk, "it is dealt with")


def test_help_for_a_person_ends_an_emergency_but_not_what_is_in_the_fluid(store: Store) -> None:
    """The eye is rinsed and over; the fluid that gave off gas is still in the sump."""
    stopped(store, "lathe 1: coolant splashed in his eye", "help is here", "stop here")
    stopped(store, "lathe 2: bleach and acid went in, stinging gas", "help is here", "stop here")

    assert "eye_splash" not in standing(store, "Lathe 1")
    assert "gas_from_additions" in standing(store)


def test_the_case_replayed_and_judged_again_comes_out_as_it_was_told(store: Store) -> None:
    """What was carried over is an event: fold, opened case and rejudging all stop the machine too."""
    stopped(store, "lathe 2: i poured vinegar in", "stop here")
    case = stopped(store, "lathe 2 reads 2 brix, parts rusty", "stop here")

    held = past(case, store.events(case))

    assert held
    assert held.outcome["verdict"][2] == "stop"
    assert judge_again(held, load()) is None
    assert judge_again(replace(held, carried=()), load()) is not None
    assert open_case(store, case).view().run == [*path_of(open_case(store, case))][-1].after.run == "stop"


def test_taking_back_the_sump_takes_back_what_it_brought(store: Store) -> None:
    """Another sump chosen instead has none of it; the first one chosen again has it again."""
    stopped(store, "lathe 2: i poured vinegar in", "stop here")
    talk = session(store, demo=True)

    say(talk, "lathe 2 foams", "back")

    assert not talk.state().carried
    assert "STILL: STOP" in say(talk, "lathe 2 foams")
    assert talk.state().carried


@pytest.mark.parametrize(
    ("said", "lifts"),
    [("dealt with", True), ("It is dealt with.", True), ("that has been put right", True),
     ("all sorted", True),
     ("not dealt with", False), ("it will be dealt with", False), ("is it dealt with?", False),
     ("hasn't been sorted", False), ("nobody dealt with it", False), ("to be dealt with tomorrow", False)],
)  # fmt: skip
def test_only_a_plain_word_lifts_it(said: str, lifts: bool) -> None:
    """A question, a denial or a plan lifts nothing."""
    assert says_put_right(said, shared_lexicon()) is lifts


def test_in_its_own_case_a_stop_is_lifted_with_who_and_when(store: Store) -> None:
    """The lifting is an event; the case keeps its verdict, and the next one at the sump starts free."""
    talk = session(store, demo=True)

    say(talk, "lathe 2: i poured vinegar in", "no", "dealt with", "stop here")

    lifted = [e for e in store.events(talk.case or 0) if e.data.get("put_right")]
    assert [(e.kind, e.who) for e in lifted] == [("acknowledged", "operator")]
    assert ACID in lifted[0].data["put_right"]
    assert talk.view().run == "stop"
    assert standing(store) == set()


def test_the_same_thing_done_once_more_in_one_case_stands_once_more(store: Store) -> None:
    """What is put right is what went in before; more of it is told whole and stands."""
    talk = session(store, demo=True)
    say(talk, "lathe 2: i poured vinegar in", "no", "dealt with")
    assert standing(store) == set()

    screen = say(talk, "i poured vinegar in again")

    assert "STOP  Acid went in" in screen
    assert ACID in standing(store)


@pytest.mark.parametrize(
    "doubt",
    ["i think it is dealt with", "should be sorted by now", "probably put right", "they say its sorted",
     "sorted the hose", "is it sorted", "help is here"],
)  # fmt: skip
def test_no_doubt_and_nothing_else_put_right_lifts_a_stop(store: Store, doubt: str) -> None:
    """Neither in its own case nor in a later one."""
    stopped(store, "lathe 2: i poured vinegar in", "no", doubt, "stop here")
    stopped(store, "lathe 2 foams", doubt, "stop here")

    assert ACID in standing(store)


def test_only_what_is_named_is_lifted(store: Store) -> None:
    """The vinegar put right leaves the bleach in the sump."""
    stopped(store, "lathe 2: i poured bleach in", "no", "stop here")
    stopped(store, "lathe 2: i poured vinegar in", "no", "the vinegar is dealt with", "stop here")

    assert ACID not in standing(store)
    assert "bleach_in_the_sump" in standing(store)


def test_what_was_put_right_meanwhile_is_let_go_on_coming_back(store: Store) -> None:
    """A talk left open with a stop from before does not go on holding it."""
    first = stopped(store, "lathe 2: i poured vinegar in", "no", "stop here")
    talk = session(store, demo=True)
    say(talk, "lathe 2 foams", "no")
    ids = [stop.caution for stop in of_sump(store, "Lathe 2", load())]
    data = {"agrees": True, "put_right": ids}
    store.append(first, "review", data, time="2025-03-04T06:00:00Z", who="K. Berg")

    again = session(store, demo=True)
    screen = say(again, "yes")

    assert f"What stood from case {first} was put right meanwhile." in screen
    assert not again.state().carried


def test_a_recipe_left_open_by_another_is_told_before_a_second_is_made(store: Store) -> None:
    """The next shift names the same machine and reads whose recipe it is; another machine says nothing."""
    first = session(store, demo=True)
    say(first, "lathe 2 reads 2 brix, half full, parts rusty, 20 l pail", "no", "all", "recipe", "done")
    assert first.state().recipe

    screen = say(session(store, demo=True, who="late shift"), "lathe 2 reads 3 brix")
    other = say(session(store, demo=True, who="night shift"), "mill 2 reads 11 brix")

    assert f"A recipe for this sump is still open: case {first.case}," in screen
    assert screen.index("still open") < screen.index("From the shop book")
    assert "still open" not in other
