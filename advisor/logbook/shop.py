"""The shop as the conversation needs it: figures in canonical units, ready to become facts.

Figures carry the ids of the vocabulary, so that a new case can take them over as facts; the first
event of the case keeps a copy, and later changes in the shop leave old cases as they were.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from advisor import __version__
from advisor.errors import UnknownId
from advisor.knowledge.facts import Fact, region_fact
from advisor.logbook.port import Store

#: How a figure from the shop's own book is marked as a fact.
SHOP_BOOK = "shop book"

#: Canonical unit of each figure that is a quantity; every other figure is a choice.
UNITS = {
    "sump_volume": "L",
    "target": "fraction",
    "refractometer_factor": "1",
    "ph_first_fill": "pH",
    "water_hardness": "mg/L CaCO3",
    "pump_min_level": "fraction",
    "daily_loss": "L/day",
    "pail": "L",
    "cup": "L",
}
#: Limits of a product's data sheet and their canonical units; each becomes the fact ``<name>_by_sheet``.
SHEET_LIMITS = {
    "ph": "pH",
    "water_hardness": "mg/L CaCO3",
    "sump_hardness": "mg/L CaCO3",
    "conductivity": "µS/cm",
    "chloride": "mg/L",
    "sulfate": "mg/L",
    "tramp_oil": "fraction",
    "temperature": "°C",
}
_SECTIONS = {"sump": "sumps", "product": "products", "container": "containers", "person": "people"}


@dataclass(frozen=True, slots=True)
class Shop:
    """A shop's rows, by id. Each row has ``id``, ``name``, ``figures`` and ``written`` (as in the file).

    Attributes:
        shop: the shop's own row: name, region, units (metric, us, imperial), gallon, figures.
        sumps, products, containers, people: rows by id.
        beside: what is kept about the shop beside them, by id: the walking order, and what the columns
            of tables mean.
    """

    shop: dict[str, Any] = field(default_factory=dict)
    sumps: dict[str, dict[str, Any]] = field(default_factory=dict)
    products: dict[str, dict[str, Any]] = field(default_factory=dict)
    containers: dict[str, dict[str, Any]] = field(default_factory=dict)
    people: dict[str, dict[str, Any]] = field(default_factory=dict)
    beside: dict[str, dict[str, Any]] = field(default_factory=dict)

    def sump(self, called: str) -> dict[str, Any]:
        """The sump of this id or name, whatever the case of its letters.

        Raises:
            UnknownId: there is none; says which there are.
        """
        wanted = " ".join(called.casefold().replace("_", " ").split())
        for row in self.sumps.values():
            if wanted in (row["id"].replace("_", " "), str(row["name"]).casefold()):
                return row
        there = ", ".join(self.sumps) or "no sumps yet"
        raise UnknownId(f"There is no sump {called!r}", value=called, right=f"This shop has: {there}.")

    def opened(self, sump_id: str | None) -> dict[str, Any]:
        """Data of the ``opened`` event of a case about a sump, or about none of the known ones.

        Raises:
            UnknownId: no sump is called so.
        """
        sump = self.sump(sump_id) if sump_id else None
        product = self.products.get(sump.get("product") or "") if sump else None
        return {
            "program": __version__,
            "sump": _without_file_form(sump),
            "product": _without_file_form(product),
            "shop": _without_file_form(self.shop) if self.shop else None,
            "containers": [_without_file_form(row) for row in self.containers.values()],
            "region": self.shop.get("region"),
            "units": self.shop.get("units", "metric"),
            "facts": [fact.as_json() for fact in self._facts(sump, product)],
        }

    def _facts(self, sump: dict[str, Any] | None, product: dict[str, Any] | None) -> list[Fact]:
        figures: dict[str, Any] = {}
        # The nearer source wins: the sump's own figure, then its product's sheet, then the shop's.
        for row in (self.shop, *reversed(list(self.containers.values())), product, sump):
            figures |= (row or {}).get("figures", {})
        made = [fact for key, value in figures.items() for fact in _facts_of(key, value)]
        return made + setting_facts(self, product)


def setting_facts(shop: Shop, product: Mapping[str, Any] | None) -> list[Fact]:
    """What picks the limits: the shop's region, and the limits of the product's data sheet."""
    region = region_fact(shop.shop.get("region"), SHOP_BOOK)
    made = [region] if region else []
    for key, value in ((product or {}).get("limits") or {}).items():
        held = (value[0], value[1]) if isinstance(value, list) else float(value)
        made.append(Fact(f"{key}_by_sheet", held, SHEET_LIMITS[key], said=SHOP_BOOK))
    for key, named, unit in (("ph_first_fill", "fresh_mix_ph", "pH"), ("target", "target", "fraction")):
        ends = ((product or {}).get("figures") or {}).get(key)
        if isinstance(ends, list):
            made.append(Fact(f"{named}_by_sheet", (ends[0], ends[1]), unit, said=SHOP_BOOK))
    return made


def _facts_of(key: str, value: Any) -> list[Fact]:
    if key in UNITS:
        held = (value[0], value[1]) if isinstance(value, list) else float(value)
        return [Fact(key, held, UNITS[key], said=SHOP_BOOK)]
    values = value if isinstance(value, list) else [value]
    return [Fact(key, str(item), said=SHOP_BOOK) for item in values]


def _without_file_form(row: Mapping[str, Any] | None) -> dict[str, Any] | None:
    return None if row is None else {key: value for key, value in row.items() if key != "written"}


def demo_shop(units: str = "metric") -> Shop:
    """The built-in demo shop, of our own invention; ``us`` gives its twin that works in US gallons.

    Read from the compiled form beside it, so that the first start needs no YAML.
    """
    name = "demo_shop_us.json" if units == "us" else "demo_shop.json"
    return shop_from_json(json.loads(Path(__file__).with_name(name).read_text(encoding="utf-8")))


def shop_from_json(held: Mapping[str, Any]) -> Shop:
    """A shop from its JSON form, rows as lists by section."""
    sections = {name: {row["id"]: row for row in held.get(name, [])} for name in _SECTIONS.values()}
    return Shop(shop=dict(held.get("shop", {})), **sections, beside=dict(held.get("beside", {})))


def shop_json(shop: Shop) -> dict[str, Any]:
    """The JSON form of a shop; `shop_from_json` reads it back."""
    sections = {name: list(getattr(shop, name).values()) for name in _SECTIONS.values()}
    return {"shop": shop.shop, **sections, **({"beside": shop.beside} if shop.beside else {})}


def stored_shop(store: Store) -> Shop:
    """The shop kept in a logbook; empty where nothing was entered yet."""
    figures = store.row("shop", "shop")
    sections = {
        name: {row.id: row.data for row in store.rows(kind)} for kind, name in _SECTIONS.items()
    }
    beside = {row.id: row.data for row in store.rows("shop") if row.id not in ("shop", "habits")}
    habits = store.row("shop", "habits")
    own = dict(figures.data) if figures else {}
    if habits and habits.data.get("gallon") and not own.get("gallon"):
        own["gallon"] = habits.data["gallon"]
    return Shop(shop=own, **sections, beside=beside)


def keep_shop(store: Store, shop: Shop, *, time: str, who: str) -> list[str]:
    """Write a shop to the logbook: a new version of every row that changed; nothing is removed.

    Returns:
        What was written, as ``kind id``.
    """
    rows = [("shop", "shop", shop.shop)] if shop.shop else []
    rows += [("shop", row_id, row) for row_id, row in shop.beside.items()]
    for kind, name in _SECTIONS.items():
        rows += [(kind, row_id, row) for row_id, row in getattr(shop, name).items()]
    changed = []
    for kind, row_id, data in rows:
        before = store.row(kind, row_id)
        if before is None or before.data != data:
            store.put_row(kind, row_id, data, time=time, who=who)
            changed.append(f"{kind} {row_id}")
    return changed
