"""What a recipe lists goes in now, stands on a level somebody told, and is ticked only where told so."""

from __future__ import annotations

import re

from advisor.logbook.case_readings import _said
from tests.dialogue.test_session import Session, Store, say, session, store

__all__ = ["store"]

LEAN = ("mill 1 reads 3.8 brix, parts rust, three quarters full", "nobody", "all")
NO_LEVEL = ("mill 1 reads 4.5 brix, parts rust", "nobody", "don't know")
FULL = ("mill 1 reads 4.5 brix, parts rust, 100 percent full", "nobody")
BLURRED = ("mill 1 blurred line on the refractometer", "9", "don't know", "nobody")


def pails_l(screen: str) -> float:
    """Litres in the pails a screen lists."""
    rows = re.findall(r"(\d+) x pails?: ([\d.]+) L water, then (\d+) mL", screen)
    return sum(int(count) * (float(water) + float(conc) / 1000) for count, water, conc in rows)


def test_pails_listed_now_fit_the_room(store: Store) -> None:
    """190 L, 95 % full: 9.5 L of room; the rest is told as litres for later."""
    screen = say(session(store, demo=True), "mill 1 reads 1.5 brix, 95 percent full", "nobody", "all")

    assert abs(pails_l(screen) - 9.5) < 0.1
    assert "as the level falls: about 70 L more" in screen


def test_without_room_one_pail_shows_the_mix(store: Store) -> None:
    """Nothing is listed as if poured into a full sump."""
    screen = say(session(store, demo=True), "mill 1 reads 4.5 brix, 100 percent full", "nobody", "all")

    assert re.findall(r"(\d+) x pail", screen) == ["1"]
    assert "nothing goes in now" in screen


def drained(talk: Session, *lines: str) -> str:
    """The screen of the first recipe after `lines`, what else is asked not known."""
    screen = say(talk, *lines)
    for _ in range(12):
        if "RECIPE" in screen:
            break
        screen = say(talk, "all" if "Which of these" in screen else "don't know")
    return " ".join(screen.split())


def test_a_level_never_told_is_said_beside_what_comes_out(store: Store) -> None:
    """The litres hold only for a full sump, and the first screen says so."""
    unseen = drained(session(store, demo=True), *NO_LEVEL)
    told = drained(session(store, demo=True), *FULL)

    assert "if it stands full to the mark: look first" in unseen
    assert "take out" in told
    assert "look first" not in told


def test_a_sample_not_thinned_is_never_doubled(store: Store) -> None:
    """The thinning passed over, no number is asked for to be doubled."""
    talk = session(store, demo=True)

    screen = say(talk, *BLURRED, *["don't know"] * 4)
    say(talk, "read again 7")

    assert "I double it" not in screen
    assert talk.view().known.quantity("refractometer_reading") in {None, 7.0}


def test_a_thinned_sample_is_doubled(store: Store) -> None:
    """One to one: 4 Brix on the thinned sample is 8 on the whole."""
    talk = session(store, demo=True)

    say(talk, *BLURRED, "done", "done", "blurred", "done", "4")

    assert talk.view().known.quantity("refractometer_reading") == 8.0


def test_steps_not_ticked_are_named_and_the_result_can_be_taken_back(store: Store) -> None:
    """Taken back, the recipe stands open as before."""
    talk = session(store, demo=True)

    screen = say(talk, *LEAN, "done", "read again 7.1")
    back = say(talk, "back")

    assert screen.index("Steps 2 to 7 are not ticked") < screen.index("IT WORKED")
    assert "fill 1" not in back
    assert "Step 2 of 8 ticked" in say(talk, "done")


def test_no_level_is_a_reading_unless_somebody_said_it(store: Store) -> None:
    """The level after the fix is worked out, so it goes into no record of readings."""
    talk = session(store, demo=True)

    say(talk, *LEAN, "read again 7.1")

    assert talk.view().known.quantity("sump_fill") == 1.0
    assert [f.value for f in _said(talk.state()) if f.id == "sump_fill"] in ([], [0.75])
