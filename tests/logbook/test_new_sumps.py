"""Sumps begun by a first line: whatever they are called, each has a row and readings of its own."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.errors import BadInput
from advisor.logbook.row_ids import row_id
from tests.logbook.conftest import NOON
from tests.logbook.readings_desk import desk_at, reading


@pytest.mark.parametrize("names", [("Ä 1", "Ö 1"), ("Фреза", "Пила"), ("机床 1", "铣床 1"), ("1", "Sump 1")])
def test_names_in_any_letters_stay_apart(tmp_path: Path, names: tuple[str, str]) -> None:
    """Two sumps whose names share only their digits, or no Latin letter at all, are two sumps."""
    desk = desk_at(tmp_path)
    keys = [desk.new_sump(name) for name in names]
    assert len({*keys, *desk.shop.sumps}) == len(desk.shop.sumps) == 5
    assert [desk.sump_of(name.split())[0] for name in names] == keys


def test_accents_fall_away_in_an_id() -> None:
    """What is left is what a person would write without them; a taken id gets a number."""
    assert row_id("Fräse Größe", "sump", ()) == "frase_grosse"
    assert row_id("14", "sump", ("sump_14",)) == "sump_14_2"


def test_a_sign_alone_is_no_name(tmp_path: Path) -> None:
    """A name needs a letter or digit of some script."""
    with pytest.raises(BadInput, match="cannot be the name"):
        desk_at(tmp_path).new_sump("!?")


def test_two_terminals_begin_two_sumps_at_once(tmp_path: Path) -> None:
    """The later one is refused and told to write again; the first one's row and reading stand."""
    desks = [desk_at(tmp_path), desk_at(tmp_path)]
    keys = [desk.new_sump(name) for desk, name in zip(desks, ("机床 1", "铣床 1"), strict=True)]
    assert keys[0] == keys[1]
    rows = [{key: desk.shop.sumps[key]} for desk, key in zip(desks, keys, strict=True)]
    how = {"time": NOON, "who": "op", "how": "line"}
    desks[0].book.enter([reading("ph", 9.0, 1, keys[0])], begun=rows[0], **how)
    with pytest.raises(BadInput, match="again"):
        desks[1].book.enter([reading("ph", 8.9, 1, keys[1])], begun=rows[1], **how)
    assert [row.data["name"] for row in desks[1].store.rows("sump")] == ["机床 1"]
    assert [r.result for r in desks[1].book.of(keys[0])] == [9.0]
