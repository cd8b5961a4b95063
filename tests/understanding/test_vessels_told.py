"""Pails and drums in a line: their size is the pail's, their number is nothing that was measured."""

from __future__ import annotations

import pytest

from advisor.cli import shared_lexicon
from advisor.dialogue.understanding import understand
from advisor.knowledge.facts import Fact


def read(line: str, expecting: str | None = None, *known: Fact) -> dict[str, object]:
    """The facts of a line by id."""
    got = understand(line, lexicon=shared_lexicon(), expecting=expecting, known=known)
    return {f.id: f.value for f in got.facts}


@pytest.mark.parametrize(
    ("line", "facts"),
    [
        ("i got two pails and a 60 L drum to mix in", {}),
        ("theres three clean 12 litre buckets here", {"pail": 12.0}),
        ("the 200 L drum is for mixing", {}),
        ("zwei 10 Liter Eimer", {"pail": 10.0}),
        ("2 x 8 l cans", {"pail": 8.0}),
        ("tipped in two 10 L pails of water", {"water_added": 20.0}),
        ("300 L sump and one 20 L bucket", {"sump_volume": 300.0, "pail": 20.0}),
    ],
)
def test_vessels_are_no_reading(line: str, facts: dict[str, object]) -> None:
    """Counted or sized, a vessel tells no strength and no sump."""
    assert read(line) == facts


@pytest.mark.parametrize("expecting", ["refractometer_reading", "concentration", "ph"])
def test_a_count_of_pails_answers_no_question(expecting: str) -> None:
    """Whatever figure is asked for."""
    assert read("i have 7 pails", expecting) == {}


@pytest.mark.parametrize("line", ["two 10 L", "three 10 l ones", "10"])
def test_the_size_answers_the_question_for_the_pail(line: str) -> None:
    """The number of them does not."""
    assert read(f"{line} L" if line == "10" else line, "pail") == {"pail": 10.0}


def test_a_can_proposes_nothing() -> None:
    """A "20 L can of neat" is a vessel, "can I" asks."""
    assert read("added a 20 L can of neat")["concentrate_added"] == 20.0
    assert "proposed_action" not in read("added a 20 L can of neat")
    assert read("can i add neat") == {"proposed_action": "add_concentrate"}


GLASS = Fact("refractometer_reading", 14.0, "°Bx")
WANTED = Fact("target", 0.07, "fraction")


@pytest.mark.parametrize(
    ("line", "known", "facts"),
    [
        ("actually make that 8 percent", (GLASS, WANTED), {"target": 0.08}),
        ("I meant 8 percent", (WANTED, GLASS), {"refractometer_reading": 8.0}),
        ("sorry, the strength is 8 percent", (GLASS, WANTED), {"refractometer_reading": 8.0}),
    ],
)
def test_a_percent_put_right_is_what_was_told_last(
    line: str, known: tuple[Fact, ...], facts: dict[str, object]
) -> None:
    """The target where that was the last of them, unless the line names another."""
    assert read(line, None, *known) == facts


@pytest.mark.parametrize("line", ["sump holds 1.200 L", "tank is about 1.500 litres"])
def test_a_size_that_may_be_a_thousandfold_is_asked_again(line: str) -> None:
    """A point before three digits is decimals to some and thousands to others."""
    got = understand(line, lexicon=shared_lexicon())

    assert [f.id for f in got.facts] == []
    assert "1200 L" in got.wrong[0] or "1500 litres" in got.wrong[0]


def test_what_came_from_another_machine_is_no_size() -> None:
    """Nor is what went over to it."""
    assert read("moved 20 l over from mill 1") == {}
    assert read("lathe 2 holds 250 L") == {"sump_volume": 250.0}
