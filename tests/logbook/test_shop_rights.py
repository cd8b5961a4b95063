"""Who may change limits, and what a shop file carries beside its rows."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.errors import BadInput, Refused
from advisor.logbook.rights import may_change_limits, refuse_changes
from advisor.logbook.rounds import keep_order, walking_order
from advisor.logbook.shop import Shop, keep_shop, stored_shop
from advisor.logbook.shop_file import export_shop, import_shop
from advisor.logbook.store import SqliteStore, open_store
from advisor.logbook.table_columns import keep_meanings, kept_meanings
from tests.logbook.conftest import NOON
from tests.logbook.readings_desk import desk_at

TEXT = """
shop: {name: A shop, units: us, currency: USD, water_price: 0.01 per gal, HEAD}
products: [{id: p, name: Prod, window: 6-9 %, price: 950 per drum, drum: 55 gal, water_hardness: 90-300 ppm}]
sumps: [{id: a, name: Mill A, product: p}, {id: b, name: Mill B, target: 7 %}]
people: [{id: AB, role: operator}, {id: CD, role: supervisor}, {id: EF, role: maintenance}]
"""


def shop_of(folder: Path, *changes: tuple[str, str], head: str = "demo: false") -> Shop:
    """The shop of this text with some words changed."""
    text = TEXT.replace("HEAD", head)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file = folder / "shop.yaml"
    file.write_text(text, encoding="utf-8")
    return import_shop(file)


@pytest.mark.parametrize(("who", "may"), [("AB", False), ("CD", True), ("EF", False), ("supervisor", False)])
def test_only_a_listed_supervisor_may_change_limits(who: str, may: bool, tmp_path: Path) -> None:
    """Where people are listed, calling oneself supervisor is not enough."""
    assert may_change_limits(shop_of(tmp_path), who) is may


def test_the_shop_sets_who_may(tmp_path: Path) -> None:
    """Maintenance where the shop says so; an operator not even then."""
    shop = shop_of(tmp_path, head="limits_by: [maintenance, operator]")
    assert [may_change_limits(shop, who) for who in ("AB", "CD", "EF")] == [False, False, True]


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [("6-9 %", "6-12 %", "target of Prod"), ("target: 7 %", "target: 8 %", "target of Mill B"),
     ("90-300 ppm", "90-500 ppm", "water hardness of Prod"),
     ("product: p", "volume: 9 gal", "product of Mill A"),
     ("{id: AB, role: operator}", "{id: AB, role: supervisor}", "role of AB"),
     ("name: Mill B,", "name: Mill B, product: p,", "target of Mill B"),
     ("demo: false", "limits_by: [maintenance]", "who may change limits"),
     ("demo: false", "checks: {bacteria: 90 days}", "how often a check")],
)  # fmt: skip
def test_an_operator_changes_no_limit(old: str, new: str, what: str, tmp_path: Path) -> None:
    """Neither the limit itself nor his own rights; a supervisor may."""
    before, after = shop_of(tmp_path), shop_of(tmp_path, (old, new))
    with pytest.raises(Refused, match=what):
        refuse_changes(before, after, "AB")
    refuse_changes(before, after, "CD")


def test_an_operator_may_complete_what_is_missing(tmp_path: Path) -> None:
    """A volume and metals nobody entered are no limit changed."""
    after = shop_of(tmp_path, ("name: Mill B,", "name: Mill B, volume: 60 gal, metals: [steel],"))
    refuse_changes(shop_of(tmp_path), after, "AB")


def test_order_and_columns_go_out_and_come_in(tmp_path: Path, store: SqliteStore) -> None:
    """A walking order and what was said about a table's columns survive export and import."""
    desk = desk_at(tmp_path, None)
    desk.shop.shop["written"] = {"name": "A shop"}
    for section in (desk.shop.sumps, desk.shop.products):
        for key, row in section.items():
            row["written"] = {"id": key, "name": row["name"]}
    keep_shop(desk.store, desk.shop, time=NOON, who="x")
    keep_order(desk, ["M3", "M1"], "x")
    keep_meanings(desk, ["Maschine", "Conc = A"], {"Conc = A": "concentration:%"}, "x")
    file = tmp_path / "out.yaml"
    file.write_text(export_shop(stored_shop(desk.store)), encoding="utf-8")
    keep_shop(store, import_shop(file), time=NOON, who="x")
    other = desk_at(tmp_path / "other")
    other.store = store
    assert walking_order(other) == ["m3", "m1", "m2"]
    assert kept_meanings(other, ["Maschine", "Conc = A"]) == {"Conc = A": "concentration:%"}


def test_the_same_shop_comes_back(tmp_path: Path) -> None:
    """Prices, own checks and rights included, in figures and as written."""
    head = "limits_by: [supervisor], checks: {nitrite: 2 weeks}, walking_order: [b, a]"
    shop = shop_of(tmp_path, head=head)
    file = tmp_path / "again.yaml"
    file.write_text(export_shop(shop), encoding="utf-8")
    assert import_shop(file) == shop
    assert shop.products["p"]["price"] == pytest.approx(950 / (55 * 3.785411784))
    assert shop.shop["checks"] == {"nitrite": 14.0}


def test_a_shop_never_named_can_be_exported(tmp_path: Path) -> None:
    """A sump begun at the machine, nothing else: the file can be read back."""
    with open_store(tmp_path / "h") as store:
        row = {"id": "sump_14", "name": "14", "product": None, "aim": None, "figures": {},
               "written": {"id": "sump_14", "name": "14"}}  # fmt: skip
        store.put_row("sump", "sump_14", row, time=NOON, who="x")
        file = tmp_path / "out.yaml"
        file.write_text(export_shop(stored_shop(store)), encoding="utf-8")
    assert list(import_shop(file).sumps) == ["sump_14"]


@pytest.mark.parametrize(
    ("head", "what"),
    [("walking_order: [a, c]", "no sump 'c'"), ("checks: {germs: 3 days}", "no check is called"),
     ("waste_price: dear", "no price"), ("currency: 12", "currency")],
)  # fmt: skip
def test_a_wrong_entry_is_named_with_its_line(head: str, what: str, tmp_path: Path) -> None:
    """File and line, and what would be right."""
    with pytest.raises(BadInput, match=what) as caught:
        shop_of(tmp_path, head=head)
    assert "shop.yaml:2" in caught.value.place
