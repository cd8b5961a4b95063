"""A recipe walked to its end, and what a reading after it leads to."""

from __future__ import annotations

import pytest

from advisor.dialogue.poured import litres_in
from advisor.dialogue.understanding import Understood
from advisor.knowledge.facts import Fact
from advisor.terminal.render import SPARE, render
from tests.dialogue.test_session import Session, Store, say, session, store

__all__ = ["store"]

LEAN = ("mill 1 reads 3.8 brix, parts rust, three quarters full", "nobody", "all")
TO_THE_READING = ("done",) * 6


def recipes(talk: Session) -> int:
    """How many recipes the case holds."""
    return sum(e.kind == "recipe" and not e.data["recipe"]["refused"] for e in talk.record.events)


def test_a_number_at_a_reading_step_is_that_reading(store: Store) -> None:
    """It is compared with what this step expects, and the step is ticked."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, *TO_THE_READING, "6.1")

    assert "RIGHT SO FAR" in screen
    assert 8 in talk.state().steps  # the ninth line: two of them only inform


def test_the_reading_after_the_last_step_is_asked_for(store: Store) -> None:
    """Nobody has to know a command for it."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, *TO_THE_READING, "done", "done")
    after = say(talk, "7.1")

    assert "What does it read now?" in screen
    assert "IT WORKED" in after


def test_a_first_miss_is_read_again_before_anything_is_added(store: Store) -> None:
    """One odd reading gives no second recipe."""
    talk = session(store, demo=True)

    say(talk, *LEAN, *TO_THE_READING, "5.5")

    assert talk.state().expecting == "after_a_miss/circulate"
    assert recipes(talk) == 1


def test_a_confirmed_miss_gives_the_volume_and_a_new_recipe(store: Store) -> None:
    """V = A*(w - C1)/(C1 - C0), by hand from the recipe's own pails and both readings."""
    talk = session(store, demo=True)
    say(talk, *LEAN)
    made = talk.state().recipe or {}
    pour = next(p["poured_l"] for p in made["readings"])

    say(talk, *TO_THE_READING, "5.5", "done", "done", "5.5")
    before = pour * (made["mix_strength"] - 0.055) / (0.055 - 0.038)

    assert recipes(talk) == 2
    assert talk.view().known.quantity("sump_volume") == pytest.approx(before / 0.75, rel=1e-6)


def test_a_spoiled_first_reading_changes_nothing(store: Store) -> None:
    """Read properly it is as predicted: the fix worked and no recipe follows."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "read again 5.2 brix", "all", "done", "done", "7.0 brix")

    assert "spoiled" in screen
    assert recipes(talk) == 1
    assert talk.state().results[-1]["result"] == "worked"


def test_after_two_misses_there_is_no_third_recipe(store: Store) -> None:
    """Help is named instead, and no further line brings a recipe."""
    talk = session(store, demo=True)
    say(talk, *LEAN, *TO_THE_READING, "5.5", "done", "done", "5.5")

    screen = say(talk, "read again 9.4 brix", "all", "done", "done", "9.3")
    say(talk, "can I add water then", "reads 9.3")

    assert "get help" in " ".join(screen.split())
    assert recipes(talk) == 2


def test_strength_that_moves_the_wrong_way_stops_the_recipes(store: Store) -> None:
    """More concentrate in, less strength out: something else is going on."""
    talk = session(store, demo=True)

    say(talk, *LEAN, "read again 2.5 brix", "all", "done", "done", "2.5")

    assert talk.state().concluded["after_a_miss"] == "wrong_way"
    assert recipes(talk) == 1


def test_coming_back_the_reading_is_asked_for(store: Store) -> None:
    """A recipe given yesterday is followed up by itself."""
    first = session(store, demo=True)
    say(first, *LEAN)
    first.leave()
    second = session(store, demo=True)

    screen = say(second, "yes")

    assert "What does it read now?" in screen
    assert "IT WORKED" in say(second, "7.2")


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (60, 20)])
def test_a_second_recipe_stands_on_one_screen(store: Store, columns: int, rows: int) -> None:
    """What the miss told, the new pails, the first step and the question are all in sight."""
    talk = session(store, demo=True)
    say(talk, *LEAN, *TO_THE_READING, "5.5", "done", "done")

    screen = render(talk.say("5.6 brix"), columns, rows=rows)

    assert len(screen.splitlines()) <= rows - SPARE
    for part in ("WHAT IT TELLS", "4 x pails", "STEP 1 OF 8", "After the fix"):
        assert part in screen


def test_what_went_in_is_asked_before_a_miss_is_believed(store: Store) -> None:
    """Nothing is ticked: the miss is judged by what was poured, half of 47.5 L, and taken back with it."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "read again 5.5", "half")

    assert "RIGHT SO FAR" in screen
    assert "after_a_miss/circulate" not in talk.state().asked
    assert talk.view().known.quantity("sump_fill") == pytest.approx(0.75 + 0.5 * 47.5 / 190, abs=0.005)
    say(talk, "back")
    assert talk.state().results[-1]["result"] == "missed"


def test_nothing_poured_is_no_miss(store: Store) -> None:
    """The recipe is worked out anew from the reading; the case is not a fix that failed."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "read again 4.1", "nothing yet")

    assert "NOTHING WENT IN" in screen
    assert (talk.state().recipe or {})["strength_before"] == pytest.approx(0.041)


def test_a_part_that_does_not_explain_the_miss_is_what_it_is_judged_by(store: Store) -> None:
    """By hand from the recipe: two of its six pails, and both readings."""
    talk = session(store, demo=True)
    say(talk, *LEAN)
    made = talk.state().recipe or {}
    two = 2 * (made["pails"][0]["water_l"] + made["pails"][0]["concentrate_l"])

    say(talk, "read again 5.8", "2 pails", "done", "done", "5.8")

    before = two * (made["mix_strength"] - 0.058) / (0.058 - 0.038)
    assert talk.state().concluded["after_a_miss"] == "smaller"
    assert talk.view().known.quantity("sump_volume") == pytest.approx(before / 0.75, rel=1e-6)


@pytest.mark.parametrize(
    ("said", "litres"),
    [("all of it", 20.0), ("nothing", 0.0), ("half", 10.0), ("2 of 3 pails", 16.0), ("3", 20.0),
     ("12 L", 12.0), ("5 US gal", 18.93), ("it foams", None)],
)  # fmt: skip
def test_how_much_went_in_can_be_said_in_many_ways(said: str, litres: float | None) -> None:
    """Two pails of 8 L and one of 4 L."""
    full, last = {"water_l": 7.0, "concentrate_l": 1.0}, {"water_l": 3.5, "concentrate_l": 0.5}
    made = {"pails": [{"count": 2, **full}, {"count": 1, **last}], "add_l": 20.0}

    found = litres_in(said, made)

    assert found == (litres if litres is None else pytest.approx(litres, abs=0.01))


def test_pails_counted_in_between_are_heard(store: Store) -> None:
    """They tick nothing; what they make is told, and the step that waits is shown again.

    By hand: (142.5 L x 3.8 % + 24.15 L x 16.8 %) / 166.65 L = 5.7 %.
    """
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "done", "3 pails in")

    assert "about 5.7 %" in screen
    assert "STEP 2 OF 8" in screen
    assert talk.state().steps == {0}


def test_the_rest_of_a_part_comes_before_any_question(store: Store) -> None:
    """Inside its window the sump may raise questions; nobody goes on by the old pails meanwhile."""
    talk = session(store, demo=True)
    lean = ("lathe 2 parts rust, glass shows 2.2 straight off, tank at 75 percent", "nobody", "all")

    screen = say(talk, *lean, "read again 3.3", "half")

    assert "RIGHT SO FAR" in screen
    assert "STEP 1 OF 8" in screen
    assert talk.state().expecting is None
    assert (talk.state().recipe or {})["add_l"] < 40


def test_an_outdated_recipe_is_not_ticked(store: Store) -> None:
    """While the next one is not worked out yet, "done" pours nothing by the old figures."""
    talk = session(store, demo=True)
    say(talk, *LEAN)
    half = Understood(facts=(Fact("sump_fill", 0.5, "fraction", said="half"),))
    talk.record.said("half", half, None, answered=False)

    screen = say(talk, "done")

    assert "Pour nothing by that recipe" in screen
    assert not talk.state().steps
