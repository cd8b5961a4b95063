"""Readings: added, corrected by adding, chained, and read from one line."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from advisor.dialogue.events import GENESIS
from advisor.errors import BadInput, BadQuantity, StoreTrouble, UnknownId
from advisor.logbook.line import Drafted, draft
from advisor.logbook.readings import Context
from tests.logbook.behind import change
from tests.logbook.readings_desk import NOW, day, desk_at, keep, made_shop, reading


def line(tmp_path: Path, text: str, **figures: Any) -> Drafted:
    """What a line about the first sump comes to."""
    desk = desk_at(tmp_path, made_shop(**figures))
    return draft(desk, "m1", text.split(), time=desk.time, context=Context(who="op"))


def figures(drafted: Drafted) -> dict[str, float | None]:
    """The results by observable."""
    return {r.observable: r.result for r in drafted.readings}


@pytest.mark.parametrize(
    ("text", "expected"),
    [("6.5 9.1", {"concentration": 0.065, "ph": 9.1}), ("6,5 9,1", {"concentration": 0.065, "ph": 9.1}),
     ("6.5 brix ph 9.1 level 80%", {"concentration": 0.065, "ph": 9.1, "sump_fill": 0.8}),
     ("- 9.1", {"ph": 9.1}), ("7.2", {"concentration": 0.072}), ("7.2 %", {"concentration": 0.072}),
     ("6.5 9.1 nitrite 5 mg/L", {"concentration": 0.065, "ph": 9.1, "nitrite": 5.0}),
     ("ph 8.8 at the nozzle", {"ph": 8.8})],
)  # fmt: skip
def test_a_line_is_read(text: str, expected: dict[str, float], tmp_path: Path) -> None:
    """Bare numbers are the reading and the pH; labelled ones are what they say."""
    assert figures(line(tmp_path, text)) == pytest.approx(expected)


def test_the_factor_makes_the_strength(tmp_path: Path) -> None:
    """Reading 3.6 at a factor of 2 is 7.2 %; the raw reading and the factor stay with it."""
    (strength, _) = line(tmp_path, "3.6 9.1", refractometer_factor=2.0).readings
    assert strength.result == pytest.approx(0.072)
    assert (strength.raw, strength.context.factor, strength.context.raw_unit) == (3.6, 2.0, "°Bx")
    assert strength.context.source == "data sheet of Demo"


def test_a_reading_without_a_factor_is_no_strength(tmp_path: Path) -> None:
    """It is kept as it was read, and that is said."""
    desk = desk_at(tmp_path)
    desk.shop.products["p"]["figures"].pop("refractometer_factor")
    drafted = draft(desk, "m1", ["6.5"], time=desk.time, context=Context())
    assert figures(drafted) == {"refractometer_reading": 6.5}
    assert any("factor is not known" in note for note in drafted.notes)


@pytest.mark.parametrize(
    ("text", "said"),
    [("9.1 6.4", "wrong way round"), ("6.5 4.2", "pH 4.2 is far from"), ("40 9.1", "Strength 40 % is far"),
     ("6.5 8.0", "pH 8.0 is a big step from the last one, pH 9.2")],
)  # fmt: skip
def test_an_unusual_figure_is_asked_about(text: str, said: str, tmp_path: Path) -> None:
    """Swapped figures, far-off ones and big steps each raise one doubt."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.2, 7))
    drafted = draft(desk, "m1", text.split(), time=desk.time, context=Context())
    assert any(said in doubt for doubt in drafted.doubts)


@pytest.mark.parametrize("text", ["6.5 27", "ph 27", "nonsense", "ph -3", "6.5 ph nan", "x" * 500])
def test_what_cannot_be_is_refused(text: str, tmp_path: Path) -> None:
    """Impossible figures and lines without any give a sentence, and nothing is kept."""
    if text == "6.5 ph nan":
        assert figures(line(tmp_path, text)) == pytest.approx({"concentration": 0.065})
        return
    with pytest.raises((BadInput, BadQuantity), match=r"\."):
        line(tmp_path, text)


@pytest.mark.parametrize(
    ("text", "litres", "strength"),
    [("added 20 L at 2 %", 20.0, 0.02), ("+10 L water", 10.0, 0.0),
     ("topped up 5 US gal mix at 3%", 18.927, 0.03),
     ("added 2 L concentrate", 2.0, 1.0), ("6.5 9.1 +15 L", 15.0, None)],
)  # fmt: skip
def test_what_was_put_in_is_read(text: str, litres: float, strength: float | None, tmp_path: Path) -> None:
    """Volume and strength of a top-up; one US gallon is 3.785411784 L (NIST HB 44, App. C)."""
    (record,) = line(tmp_path, text).records
    assert record.data["litres"] == pytest.approx(litres, abs=1e-3)
    assert record.data.get("strength") == strength


def test_what_was_seen_is_a_look(tmp_path: Path) -> None:
    """Words beside the figures are kept as findings; "fine" is a look that found nothing."""
    seen = line(tmp_path, "6.5 9.1 stinks of rotten eggs").records[0].data["facts"]
    assert seen == [{"id": "smell", "value": "rotten_egg", "status": "present"}]
    assert line(tmp_path / "x", "looks fine").records[0].data == {"facts": []}


def test_a_correction_adds_and_never_replaces(tmp_path: Path) -> None:
    """The corrected reading no longer stands, and is still there as it was."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 8.1, 1))
    keep(desk, reading("ph", 9.1, 1, corrects=1, reason="typing"))
    assert [r.result for r in desk.book.of("m1")] == [9.1]
    assert [r.result for r in desk.book.of("m1", all_versions=True)] == [8.1, 9.1]
    assert desk.book.states()["m1", "ph"].result == 9.1


@pytest.mark.parametrize("corrects", [1, 99])
def test_a_reading_is_corrected_once_and_must_be_there(corrects: int, tmp_path: Path) -> None:
    """A second correction of the same reading, or of none, is refused."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 8.1, 1))
    keep(desk, reading("ph", 9.1, 1, corrects=1))
    with pytest.raises(BadInput, match=r"corrected by 2|no readings? 99"):
        keep(desk, reading("ph", 9.0, 1, corrects=corrects))
    assert len(desk.book.of("m1", all_versions=True)) == 2


@pytest.mark.parametrize("statement", ["UPDATE readings SET result = 9", "DELETE FROM readings",
                                       "UPDATE entries SET who = 'x'", "DELETE FROM records"])  # fmt: skip
def test_rows_cannot_be_changed(statement: str, tmp_path: Path) -> None:
    """The file itself refuses to change or delete what was written."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 8.1, 1))
    desk.book.enter((), [line(tmp_path / "x", "looks fine").records[0]], time=day(0), who="op", how="line")
    with pytest.raises(StoreTrouble, match="never"), desk.store.writing() as db:
        db.execute(statement)


def test_a_changed_reading_shows(tmp_path: Path) -> None:
    """Behind the program's back, with the guards taken off: the chain names the entry."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 8.1, 2))
    keep(desk, reading("ph", 8.2, 1))
    assert desk.book.check() == []
    change(desk.store, "UPDATE readings SET result = 9.2 WHERE id = 1")
    assert desk.book.check() == ["entry 1 of the readings was changed after it was written"]


def test_entries_are_chained_and_words_stand_outside(tmp_path: Path) -> None:
    """Each entry carries the hash of the one before; words are erased and the chain still holds."""
    desk = desk_at(tmp_path)
    for number in (1, 2):
        desk.book.enter([reading("ph", 9.0, number)], time=day(0), who="op", how="line", words="Ann says 9")
    first, second = desk.book.entries()
    assert (first.previous, second.previous) == (GENESIS, first.hash)
    assert desk.book.erase_words(1) == 1
    assert (desk.book.words(1), desk.book.words(2)) == (None, "Ann says 9")
    assert desk.book.check() == []


def test_one_sump_by_its_name(tmp_path: Path) -> None:
    """The longest name at the start of the line counts, whatever its letters' case; others are offered."""
    desk = desk_at(tmp_path)
    desk.shop.sumps["m1"]["name"] = "Mill 1"
    assert desk.sump_of(["MILL", "1", "6.5", "9.1"]) == ("m1", ["6.5", "9.1"])
    assert desk.sump_of(["m2", "-", "9.1"]) == ("m2", ["-", "9.1"])
    with pytest.raises(UnknownId, match=re.escape("Did you mean Mill 1?")):
        desk.sump_of(["Mil", "1", "6.5"])


def test_a_sump_begun_by_hand_is_a_row_of_the_shop(tmp_path: Path) -> None:
    """It holds its name only, and later entries find it."""
    desk = desk_at(tmp_path)
    assert desk.new_sump("14") == "sump_14"
    desk.keep_sump("sump_14", "op")
    assert desk.sump_of(["14", "6.5"]) == ("sump_14", ["6.5"])
    row = desk.store.row("sump", "sump_14")
    assert row is not None
    assert (row.data["name"], row.data["figures"], row.time) == ("14", {}, NOW.strftime("%Y-%m-%dT%H:%M:%SZ"))


def test_two_terminals_write_at_once_without_loss(tmp_path: Path) -> None:
    """Entries of two programs in turn are one chain, and both sums of readings are there."""
    first, second = desk_at(tmp_path), desk_at(tmp_path)
    for number in range(10):
        keep(first, reading("ph", 9.0, number + 1))
        keep(second, reading("ph", 9.1, number + 1, sump="m2"))
    assert (len(first.book.of("m1")), len(first.book.of("m2"))) == (10, 10)
    assert first.book.check() == []
    assert [entry.id for entry in second.book.entries()] == list(range(1, 21))
