"""The shop: one YAML file in, figures in canonical units, the same file out."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.dialogue.events import read_fact
from advisor.errors import BadInput, UnknownId
from advisor.logbook import shop as shops
from advisor.logbook.shop_file import export_shop, import_shop
from advisor.logbook.store import SqliteStore
from tests.logbook.conftest import NOON

HEAD = "shop: {name: A shop, units: us}\n"


def shop_of(tmp_path: Path, text: str, head: str = HEAD) -> shops.Shop:
    """The shop of a file with this text."""
    file = tmp_path / "shop.yaml"
    file.write_text(head + text, encoding="utf-8")
    return import_shop(file)


def facts(shop: shops.Shop, sump: str | None) -> dict[str, Any]:
    """What a new case about a sump takes over: id to value, or to a set of values."""
    found: dict[str, Any] = {}
    for held in shop.opened(sump)["facts"]:
        fact = read_fact(held)
        found[fact.id] = {*found.get(fact.id, set()), fact.value} if fact.unit is None else fact.value
    return found


@pytest.mark.parametrize("units", ["metric", "us"])
def test_the_compiled_demo_shop_is_its_yaml(units: str) -> None:
    """The form read at the start says what the YAML says."""
    name = "demo_shop_us.yaml" if units == "us" else "demo_shop.yaml"
    written = import_shop(Path(shops.__file__).with_name(name))
    assert json.loads(json.dumps(shops.shop_json(written))) == shops.shop_json(shops.demo_shop(units))


def test_the_demo_shop_says_that_it_is_one() -> None:
    """It has four to six machines, products of factor 1 and 2, and marks itself as invented."""
    shop = shops.demo_shop()
    factors = {row["figures"]["refractometer_factor"] for row in shop.products.values()}
    assert 4 <= len(shop.sumps) <= 6
    assert {1.0, 2.0} <= factors
    assert shop.shop["demo"] is True
    assert all("Demo" in row["name"] and "none exists" in row["sds"] for row in shop.products.values())


@pytest.mark.parametrize("written", ["1.200 L", "1.250 gal"])
def test_a_volume_that_can_be_two_is_refused(tmp_path: Path, written: str) -> None:
    """To a German 1.200 L are a big tank, to others little more than a litre; neither is taken."""
    with pytest.raises(BadInput, match=r"can be 12.0 .* or 1\.2"):
        shop_of(tmp_path, f"sumps: [{{id: m, volume: {written}}}]\n")
    for plain, litres in (("1200 L", 1200.0), ("1.2 L", 1.2), ("189.271 L", 189.271)):
        held = facts(shop_of(tmp_path, f"sumps: [{{id: m, volume: {plain}}}]\n"), "m")
        assert held["sump_volume"] == litres


@pytest.mark.parametrize(
    ("written", "litres"), [("50 gal", 189.2706), ("50 US gal", 189.2706), ("50 imperial gal", 227.3045),
                            ("200 L", 200.0)],
)  # fmt: skip
def test_a_volume_as_written(written: str, litres: float, tmp_path: Path) -> None:
    """US gallon 3.785411784 L (NIST HB 44, App. C), imperial 4.54609 L (UK Weights and Measures Act 1985)."""
    shop = shop_of(tmp_path, f"sumps: [{{id: a, volume: {written}}}]")
    assert facts(shop, "a")["sump_volume"] == pytest.approx(litres, abs=1e-3)


@pytest.mark.parametrize(
    ("shape", "litres"),
    [("{length: 1000 mm, width: 50 cm, depth: 0.3 m}", 150.0), ("{diameter: 1 m, depth: 1 m}", 785.398),
     ("{length: 40 in, width: 20 in, depth: 12 in}", 157.3175)],
)  # fmt: skip
def test_a_volume_from_the_shape(shape: str, litres: float, tmp_path: Path) -> None:
    """Box and round tank; one inch is 25.4 mm, so 9600 cubic inches are 157.3 L."""
    shop = shop_of(tmp_path, f"sumps: [{{id: a, shape: {shape}}}]")
    assert facts(shop, "a")["sump_volume"] == pytest.approx(litres, abs=0.01)


def test_the_nearer_figure_wins(tmp_path: Path) -> None:
    """A sump's own window and water stand before its product's sheet and the shop's water."""
    text = ("products: [{id: p, name: Demo, factor: 2, window: 6-9 %}]\n"
            "sumps: [{id: a, product: p, window: 3-5 %, water_hardness: 100 ppm},"
            " {id: b, product: p}]")  # fmt: skip
    shop = shop_of(tmp_path, text, "shop: {name: A shop, water_hardness: 300 ppm}\n")
    own, sheet = facts(shop, "a"), facts(shop, "b")
    assert (own["target"], own["water_hardness"], own["refractometer_factor"]) == ((0.03, 0.05), 100, 2)
    assert (sheet["target"], sheet["water_hardness"]) == ((0.06, 0.09), 300)


def test_choices_become_facts_of_the_shop_book() -> None:
    """Operations and metals are taken over as firm facts that say where they come from."""
    opened = shops.demo_shop().opened("Lathe 2")
    found = [(held["id"], held["value"], held["firm"]) for held in opened["facts"] if held["unit"] is None]
    assert ("workpiece", "brass", True) in found
    assert ("hazard_context", "pit", True) in found
    assert {held["said"] for held in opened["facts"]} == {"shop book"}


def test_a_case_without_a_sump_takes_over_the_shop_only() -> None:
    """Nothing is required to start: an unknown sump brings no figures of another one."""
    found = facts(shops.demo_shop(), None)
    assert set(found) == {"water_source", "water_hardness", "pail", "cup", "region"}


@pytest.mark.parametrize("units", ["metric", "us"])
def test_export_and_import_are_the_same_shop(units: str, tmp_path: Path) -> None:
    """Nothing is lost on the way out and in."""
    shop = shops.demo_shop(units)
    assert shop_of(tmp_path, export_shop(shop), "") == shop


PRINTABLE = st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp", "Cn"])


@settings(deadline=None)
@given(name=st.text(PRINTABLE, min_size=2).map(str.strip).filter(lambda text: len(text) > 1))
def test_any_name_survives_export(name: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Names with colons, quotes, hashes, or the words true and null come back as they are."""
    row = {"id": "a", "name": name, "figures": {}, "written": {"id": "a", "name": name}}
    head = {"name": "A shop", "written": {"name": "A shop"}}
    text = export_shop(shops.Shop(shop=head, sumps={"a": row}))
    assert shop_of(tmp_path_factory.mktemp("shop"), text, "").sumps["a"]["name"] == name


@pytest.mark.parametrize(
    ("text", "line", "told"),
    [("sumps:\n  - {id: a, volme: 5 L}", 3, '"volume"'),
     ("sumps:\n  - id: a\n    volume: 5 spoons", 4, "spoons"),
     ("sumps:\n  - {id: a, target: 7}", 3, "7 %"),
     ("sumps:\n  - {id: a, product: nope}", 3, "no product 'nope'"),
     ("sumps:\n  - {id: a, operations: [miling]}", 3, 'Did you mean "milling"'),
     ("sumps:\n  - {id: a}\n  - {id: a}", 4, "'a' twice"),
     ("sumps:\n  - {id: a, target: 12 %, window: 6-10 %}", 3, "outside the window"),
     ("sumps:\n  - {id: a, volume: -3 gal}", 3, "volume"),
     ("sumps:\n  - {id: a, shape: {length: 3 m, depth: 2 m}}", 3, "diameter and depth"),
     ("sumps:\n  - {id: a, shape: {diameter: 3 ells, depth: 2 m}}", 3, "1200 mm"),
     ("products:\n  - {id: p, name: Demo, factor: 0}", 3, "greater than 0"),
     ("sumps:\n\t- x", 3, "tab")],
)  # fmt: skip
def test_a_mistake_is_explained(text: str, line: int, told: str, tmp_path: Path) -> None:
    """Every mistake names the file, the line, and what would be right."""
    with pytest.raises(BadInput) as raised:
        shop_of(tmp_path, text)
    assert f"shop.yaml:{line}" in str(raised.value)
    assert told in str(raised.value)


def test_an_unknown_sump_says_which_there_are() -> None:
    """A sump is found by id or name in any letters; another name lists them."""
    shop = shops.demo_shop()
    assert shop.sump("MILL 1")["id"] == shop.sump("mill_1")["id"] == "mill_1"
    with pytest.raises(UnknownId, match="mill_1, mill_2"):
        shop.sump("press")


def test_a_shop_in_the_logbook_is_the_same_shop(store: SqliteStore) -> None:
    """Kept and read again it is equal; kept again nothing is written; a change makes a version."""
    shop = shops.demo_shop()
    assert len(shops.keep_shop(store, shop, time=NOON, who="sup")) == 14
    assert shops.stored_shop(store) == shop
    assert shops.keep_shop(store, shop, time=NOON, who="sup") == []
    shop.sumps["mill_1"]["figures"]["sump_volume"] = 180.0
    assert shops.keep_shop(store, shop, time=NOON, who="sup") == ["sump mill_1"]
    assert [row.version for row in store.rows("sump") if row.id == "mill_1"] == [2]


@pytest.mark.parametrize(("target", "kept"), [("7 %", None), ("12 %", 0.12)])
def test_a_target_inside_the_sheets_window_leaves_it_in_force(
    target: str, kept: float | None, tmp_path: Path
) -> None:
    """The data sheet's window stands, and the target is aimed for inside it."""
    text = f"""
products: [{{id: p, name: Demo, window: 6-9 %}}]
sumps: [{{id: a, product: p, target: {target}}}]
"""
    row = shop_of(tmp_path, text).sumps["a"]
    assert row["figures"].get("target") == kept
    assert row["aim"] == pytest.approx(float(target[:-2]) / 100)
