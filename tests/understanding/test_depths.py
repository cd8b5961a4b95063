"""How full a tank is, told as two depths in any order and unit, or as one that leaves the other to ask."""

from __future__ import annotations

import pytest

from advisor.dialogue.understanding import understand
from tests.dialogue.test_session import Session, Store, say, session, store
from tests.understanding.measure import lexicon

__all__ = ["store"]

LEAN = ("mill 1 reads 3.8 brix, parts rust", "nobody", "all")


def fill(text: str) -> object:
    """What `text` says to how full it is, a share."""
    got = understand(text, lexicon=lexicon(), expecting="sump_fill")
    return next((f.value for f in got.facts if f.id == "sump_fill" and f.status == "present"), None)


@pytest.mark.parametrize(
    ("text", "now", "full"),
    [
        ("10 inch, full is 14", 10, 14),
        ("depth now 8 depth when full 40", 8, 40),
        ("12cm of 40cm", 12, 40),
        ("14 when full, 10 now", 10, 14),
        ('12" out of 40"', 12, 40),
        ("9.5 in, 14 in full", 9.5, 14),
        ("150 mm, 40 cm to the brim", 15, 40),
        ("40cm full mark and 22cm now", 22, 40),
        ("1 ft 6 in of 2 ft", 18, 24),
        ("9 1/2 inches, 12 when full", 9.5, 12),
        ("2 inches below the mark, 14 when full", 12, 14),
        ("now 42 cm, mark is at 40", 42, 40),
        ("ten inches out of fourteen", 10, 14),
        ("8,5 cm von 40 cm", 8.5, 40),
        ("11 of 20", 11, 20),
    ],
)
def test_two_depths_are_a_share(text: str, now: float, full: float) -> None:
    """The words say which is which; where they do not, the smaller one is now."""
    assert fill(text) == pytest.approx(now / full)


@pytest.mark.parametrize(
    ("text", "share"), [("70", 0.7), ("70 percent", 0.7), ("70 full", 0.7), ("three quarters", 0.75),
                        ("about half", 0.5), ("about haf", 0.5), ("brix 6.2, half full", 0.5)]
)  # fmt: skip
def test_a_share_stays_a_share(text: str, share: float) -> None:
    """A number that names no depth is a per cent, and a fraction is one."""
    assert fill(text) == pytest.approx(share)


@pytest.mark.parametrize("text", ["60 to 70", "60-70 %"])
def test_a_range_is_no_pair_of_depths(text: str) -> None:
    """Between 60 and 70 per cent, not 60 out of 70."""
    assert fill(text) == (pytest.approx(0.6), pytest.approx(0.7))


@pytest.mark.parametrize("text", ["40 cm now, full is 8", "5 cm 6 cm 7 cm"])
def test_depths_that_cannot_be_are_said(text: str) -> None:
    """Nothing is made of them, and an example says what would be right."""
    got = understand(text, lexicon=lexicon(), expecting="sump_fill")
    assert [f for f in got.facts if f.id == "sump_fill"] == []
    assert any("10 of 40 cm" in why for why in got.wrong)


def test_a_depth_of_another_thing_stays_out() -> None:
    """A pH beside one depth is no depth when full."""
    got = understand("10 cm, pH 8.6", lexicon=lexicon(), expecting="sump_fill")
    assert {f.id for f in got.facts} == {"ph"}


@pytest.mark.parametrize("text", ["12cm of 40cm", "level 22 cm of 40"])
@pytest.mark.parametrize("asked", ["sump_fill", None])
def test_the_full_depth_counts_as_used(text: str, asked: str | None) -> None:
    """Nobody is told that the depth when full was not used."""
    unused = understand(text, lexicon=lexicon(), expecting=asked).unused
    assert "40" not in " ".join(unused)


@pytest.mark.parametrize(
    ("first", "second", "share"),
    [("10 inch", "14", 10 / 14), ("10 cm now", "40 cm", 0.25), ("full is 40 cm", "30", 0.75),
     ("2 inches below the mark", "14", 12 / 14), ("10 inch", "half", 0.5), ("2 cm", "14", 2 / 14)],
)  # fmt: skip
def test_one_depth_is_kept_and_the_other_asked_for(
    store: Store, first: str, second: str, share: float
) -> None:
    """A plain number then has the first one's unit; a share stands by itself."""
    talk = session(store, demo=True)
    screen = say(talk, *LEAN, first)
    assert "How deep is it" in screen
    assert talk.view().known.quantity("sump_fill") is None
    say(talk, second)
    assert talk.view().known.quantity("sump_fill") == pytest.approx(share)


def test_the_other_depth_is_what_stays_asked(store: Store) -> None:
    """After a "why" or a "back" the open question is still the depth when full, so that 40 is no per cent."""
    talk = session(store, demo=True)
    assert "How deep is it when full" in say(talk, *LEAN, "10 cm now", "why")
    assert "How deep is it when full" in say(talk, "40", "back")


def test_one_depth_is_kept_over_another_session(store: Store) -> None:
    """The case left there and taken up again still knows it."""
    talk: Session = session(store, demo=True)
    say(talk, *LEAN, "10 inch")
    later = session(store, demo=True)
    later.offered = None
    later.resume(talk.case or 0)
    say(later, "14")
    assert later.view().known.quantity("sump_fill") == pytest.approx(10 / 14)
