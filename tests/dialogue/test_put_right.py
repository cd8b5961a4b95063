"""A step that worked is told as that: nothing is judged anew, and no old caution comes as news."""

from __future__ import annotations

from advisor.dialogue.glance import verdict_at_a_glance
from advisor.inference.assess import Assessment
from tests.dialogue.test_session import Store, say, session, store

__all__ = ["store"]

#: Oil on the fluid, named; and the same with haze, which a graver caution covers while the oil stands.
OILY = ("mill 1 oil on top, residue sticky, way oil leaks in, skimmer switched off", "nobody")
HAZY = ("mill 1 oil layer on top, mist in the air, reads 7.2 brix", "nobody")


def test_what_is_gone_is_told_and_the_walk_goes_on(store: Store) -> None:
    """The oil is off: it says so, names what is left, and puts the next step; no question, same verdict."""
    talk = session(store, demo=True)
    say(talk, *OILY, "done")
    held = talk.state().verdict

    screen = say(talk, "the oil is gone now")

    assert "GONE  Floating oil." in screen
    assert "STILL THERE" in screen
    assert "STEP 2 OF" in screen
    assert talk.state().expecting is None
    assert talk.state().verdict == held


def test_leaving_after_it_worked_says_nothing_again(store: Store) -> None:
    """No caution, no verdict: only that it is saved."""
    talk = session(store, demo=True)
    say(talk, *OILY, "done", "the oil is gone now")

    assert say(talk, "stop here") == "Saved as case 1."


def test_new_trouble_after_it_worked_is_judged(store: Store) -> None:
    """Smoke is a danger whatever went before; what is gone does not close the case."""
    talk = session(store, demo=True)
    say(talk, *OILY, "done", "the oil is gone now")

    assert "STOP" in say(talk, "now there is smoke")
    assert not talk.state().gone


def test_what_a_graver_caution_said_comes_back_in_one_line(store: Store) -> None:
    """Once the oil is dealt with the mist still harms; the stop before said so, one short sentence does."""
    talk = session(store, demo=True)
    say(talk, *HAZY, "nothing changed", "skimmed it, oil is gone now")

    screen = say(talk, "it is dealt with")

    mist = talk.rules.cautions["mist"]["text"]
    assert "STILL: TAKE CARE" in screen
    assert mist not in " ".join(screen.split())
    assert "STILL: TAKE CARE" not in say(talk, "skip", "stop here")


def test_a_note_is_told_with_the_first_verdict_only(store: Store) -> None:
    """The same note stands behind a changed verdict; it is no news there."""
    talk = session(store, demo=True)
    say(talk, "mill 1 heavy foam, foam stays in the bottle, reads 12 brix", "nobody")
    view, held = talk.view(), talk.state().verdict

    labels = [[b.label for b in verdict_at_a_glance(view, [], [], before=before)] for before in (None, held)]

    assert [kinds.count("NOTE") for kinds in labels] == [len(notes(view)), 0]
    assert notes(view)


def notes(view: Assessment) -> list[str]:
    """The mere notes that stand."""
    return [c for c in view.cautions if view.known.rules.cautions[c]["level"] == "note"]
