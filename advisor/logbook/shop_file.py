"""A shop as one YAML file: read with every mistake explained, and written back as it was said."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, Literal

from advisor.errors import BadInput, BadQuantity, BadRules
from advisor.logbook.intervals import intervals
from advisor.logbook.prices import read_price
from advisor.logbook.shop import SHEET_LIMITS, Shop, shop_from_json, shop_json
from advisor.logbook.shop_beside import beside_of, order_of, tables_of
from advisor.mixing.sump_size import sump_litres

_LENGTH = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*(mm|cm|m|in|inch|ft)\s*")
_PLAIN = re.compile(r"[A-Za-z][\w]*(?: [\w()/]+)*")
_WORDS_OF_YAML = {"true", "false", "null", "yes", "no", "on", "off", "y", "n"}
#: What people write for a region -> its code.
_REGION = {"uk": "gb"}
#: Words before a limit that is the most a data sheet allows.
AT_MOST = re.compile(r"^\s*(?:up to|at most|max\.?|below|under|<=?|≤)\s*", re.IGNORECASE)
#: Field of the file -> the observable its words belong to.
_CHOICES = {"operations": "operation", "metals": "workpiece", "water_source": "water_source"}

#: Name of a shop that was never named.
UNNAMED = "Our shop"

Place = Callable[..., str]


def import_shop(file: Path) -> Shop:
    """Read and check a shop file.

    Raises:
        BadInput: with file, line and what would be right: not YAML, an unknown key, product or word,
            a quantity that cannot be read, an id given twice.
    """
    from advisor.knowledge.loader import checked
    from advisor.knowledge.shop_schema import ShopFile
    from advisor.knowledge.yaml_source import read

    document = read(file)
    try:
        model = checked(document, ShopFile)
    except BadRules as error:
        right = error.right.replace("rules/README.md for the keys", '"sumpside shop --example" for the keys')
        raise BadInput(error.what, value=error.value, place=error.place, right=right) from None
    return _Reader(document.place, model.model_dump(mode="json", exclude_unset=True)).shop()


def export_shop(shop: Shop) -> str:
    """The shop as the text of a YAML file; `import_shop` reads the same shop from it."""
    sections = {k: v for k, v in shop_json(shop).items() if k not in ("shop", "beside")}
    tables = [{"written": table} for table in tables_of(shop.beside)]
    lines = ["shop:", *_entries(_shop_entries(shop), "  ")]
    for name, rows in {**sections, "tables": tables}.items():
        if rows:
            lines.append(f"{name}:")
            for row in rows:
                first, *rest = _entries(row["written"], "    ")
                lines += [f"  - {first.strip()}", *rest]
    return "\n".join(lines) + "\n"


def _shop_entries(shop: Shop) -> dict[str, Any]:
    """The shop's own entries as they are now: the order last kept, and the habits learnt in conversation."""
    written = dict(shop.shop.get("written", {}))
    written.setdefault("name", UNNAMED)
    if shop.shop.get("gallon") and shop.shop["gallon"] != written.get("units"):
        written["gallon"] = shop.shop["gallon"]
    order = [sump for sump in order_of(shop.beside) if sump in shop.sumps]
    return {**written, **({"walking_order": order} if order else {})}


def _entries(written: Mapping[str, Any], indent: str) -> list[str]:
    return [f"{indent}{key}: {_scalar(value)}" for key, value in written.items()]


def _scalar(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_scalar(key)}: {_scalar(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_scalar, value)) + "]"
    if isinstance(value, str) and _PLAIN.fullmatch(value) and value.casefold() not in _WORDS_OF_YAML:
        return value
    return json.dumps(value, ensure_ascii=False)  # a JSON scalar is a YAML scalar


class _Reader:
    """From the checked file to rows with figures; knows where each value stands."""

    def __init__(self, place: Place, written: dict[str, Any]) -> None:
        self.place = place
        self.written = written
        habit = written["shop"].get("gallon") or written["shop"].get("units")
        self.gallon: Literal["us", "imperial"] | None = habit if habit in ("us", "imperial") else None
        self.answers = answers()

    def shop(self) -> Shop:
        for section in ("products", "sumps", "containers", "people"):
            self._ids_once(section)
        held = {
            "shop": self._shop(self.written["shop"]),
            "products": self._rows("products", self._product),
            "sumps": self._rows("sumps", self._sump),
            "containers": self._rows("containers", self._container),
            "people": self._rows("people", lambda row, _: {"role": row.get("role", "operator")}),
            "beside": beside_of(self._order(), self.written.get("tables", [])),
        }
        return shop_from_json(held)

    def _rows(self, section: str, figures: Callable[[dict[str, Any], tuple[Any, ...]], Any]) -> list[Any]:
        made = []
        for index, row in enumerate(self.written.get(section, [])):
            name = row.get("name") or row["id"].replace("_", " ")
            made.append({"id": row["id"], "name": name, **figures(row, (section, index)), "written": row})
        return made

    def _shop(self, row: dict[str, Any]) -> dict[str, Any]:
        return {
            "name": row["name"],
            "region": _REGION.get(row.get("region", ""), row.get("region")),
            "units": row.get("units", "metric"),
            "gallon": self.gallon,
            "demo": row.get("demo", False),
            **{key: row[key] for key in ("currency", "limits_by") if row.get(key)},
            **({"checks": self._checks(row)} if row.get("checks") else {}),
            **self._prices(row, ("water_price", "waste_price"), ("shop",)),
            "figures": {**self._choices(row, ("shop",)), **self._hardness(row, ("shop",))},
            "written": row,
        }

    def _order(self) -> list[str]:
        order: list[str] = self.written["shop"].get("walking_order", [])
        known = [sump["id"] for sump in self.written.get("sumps", [])]
        for index, sump in enumerate(order):
            if sump not in known:
                place = ("shop", "walking_order", index)
                raise self._wrong(f"there is no sump {sump!r}", place, nearest_answer(sump, known))
        return order

    def _prices(self, row: dict[str, Any], keys: tuple[str, ...], path: tuple[Any, ...]) -> dict[str, float]:
        """Amounts per litre, by key."""
        drum = self._one(row, "drum", "L", path) if "drum" in row else None
        currency = self.written["shop"].get("currency")
        made = {"drum_l": drum} if drum is not None else {}
        for key in keys:
            if key in row:
                said = str(row[key])
                try:
                    made[key] = read_price(said, gallon=self.gallon, drum_l=drum, currency=currency)
                except BadQuantity as error:
                    raise self._wrong(f"{key}: {error.what}", (*path, key), error.right) from error
        return made

    def _checks(self, row: dict[str, Any]) -> dict[str, float]:
        """Days between checks where the shop asks for its own."""
        known = list(intervals()["checks"])
        for check in row.get("checks", {}):
            if check not in known:
                place = ("shop", "checks", check)
                raise self._wrong(f"no check is called {check!r}", place, nearest_answer(check, known))
        return {check: self._one(row["checks"], check, "day", ("shop", "checks"))
                for check in row.get("checks", {})}  # fmt: skip

    def _product(self, row: dict[str, Any], path: tuple[Any, ...]) -> dict[str, Any]:
        figures: dict[str, Any] = {}
        if "factor" in row:
            figures["refractometer_factor"] = float(row["factor"])
        if "fluid_type" in row:
            figures["fluid_type"] = self._word("fluid_type", row["fluid_type"], (*path, "fluid_type"))
        if "ph_first_fill" in row:
            figures["ph_first_fill"] = self._range(row, "ph_first_fill", "pH", path)
        if "window" in row:
            figures["target"] = self._range(row, "window", "fraction", path)
        limits = {k: self._limit(row, k, unit, path) for k, unit in SHEET_LIMITS.items() if k in row}
        more: dict[str, Any] = {key: row[key] for key in ("sds", "label_doses") if key in row}
        more |= self._prices(row, ("price",), path)
        return {**more, "limits": limits, "figures": figures}

    def _sump(self, row: dict[str, Any], path: tuple[Any, ...]) -> dict[str, Any]:
        figures = {**self._choices(row, path), **self._hardness(row, path)}
        volume = self._volume(row, path)
        if volume is not None:
            figures["sump_volume"] = volume
        aim = self._one(row, "target", "fraction", path) if "target" in row else None
        window = self._range(row, "window", "fraction", path) if "window" in row else None
        if aim is not None and isinstance(window, list) and not window[0] <= aim <= window[1]:
            raise self._wrong(f"the target {row['target']} lies outside the window {row['window']}",
                              (*path, "target"), "give a target inside the window, or widen the window")
        if window is not None:
            figures["target"] = window
        elif aim is not None and not self._in_sheet(row, aim):
            figures["target"] = aim
        for key, unit in (("pump_min_level", "fraction"), ("daily_loss", "L/day")):
            if key in row:
                figures[key] = self._one(row, key, unit, path)
        if "system" in row:
            figures["system"] = row["system"]
        if row.get("pit"):
            figures["hazard_context"] = ["pit"]
        return {"product": self._product_id(row, path), "aim": aim, "figures": figures}

    def _in_sheet(self, row: dict[str, Any], aim: float) -> bool:
        """Whether the product's data sheet gives a window that holds the strength aimed for."""
        for index, product in enumerate(self.written.get("products", [])):
            if product["id"] == row.get("product") and "window" in product:
                span = self._range(product, "window", "fraction", ("products", index))
                return isinstance(span, list) and span[0] <= aim <= span[1]
        return False

    def _container(self, row: dict[str, Any], path: tuple[Any, ...]) -> dict[str, Any]:
        litres = self._one(row, "volume", "L", path)
        kind = row.get("kind", "pail")
        return {"kind": kind, "litres": litres, "figures": {kind: litres} if kind in ("pail", "cup") else {}}

    def _choices(self, row: dict[str, Any], path: tuple[Any, ...]) -> dict[str, Any]:
        return {
            observable: [self._word(observable, word, (*path, key, i)) for i, word in enumerate(row[key])]
            for key, observable in _CHOICES.items()
            if row.get(key)
        }

    def _hardness(self, row: dict[str, Any], path: tuple[Any, ...]) -> dict[str, Any]:
        if "water_hardness" not in row:
            return {}
        return {"water_hardness": self._one(row, "water_hardness", "mg/L CaCO3", path)}

    def _volume(self, row: dict[str, Any], path: tuple[Any, ...]) -> float | None:
        if "shape" not in row:
            return self._said_volume(row, path) if "volume" in row else None
        metres = {key: self._length(text, (*path, "shape", key)) for key, text in row["shape"].items()}
        if "diameter" in metres:
            from math import pi

            return round(1000 * pi / 4 * metres["diameter"] ** 2 * metres["depth"], 2)
        return round(1000 * metres["length"] * metres["width"] * metres["depth"], 2)

    def _said_volume(self, row: dict[str, Any], path: tuple[Any, ...]) -> float:
        try:
            return sump_litres(str(row["volume"]), self.gallon)
        except BadQuantity as error:
            raise self._wrong(f"volume: {error.what}", (*path, "volume"), error.right) from error

    def _length(self, text: str, path: tuple[Any, ...]) -> float:
        found = _LENGTH.fullmatch(text)
        if not found:
            raise self._wrong(f"{text!r} is not a length", path, "write it like 1200 mm or 48 in")
        from advisor.quantities import registry

        return float(registry().Quantity(float(found[1].replace(",", ".")), found[2]).to("m").magnitude)

    def _product_id(self, row: dict[str, Any], path: tuple[Any, ...]) -> str | None:
        known = [product["id"] for product in self.written.get("products", [])]
        wanted = row.get("product")
        if wanted is not None and wanted not in known:
            right = nearest_answer(wanted, known)
            raise self._wrong(f"there is no product {wanted!r}", (*path, "product"), right)
        return wanted

    def _word(self, observable: str, word: str, path: tuple[Any, ...]) -> str:
        if word not in self.answers[observable]:
            right = nearest_answer(word, self.answers[observable])
            raise self._wrong(f"{word!r} is not known as {observable.replace('_', ' ')}", path, right)
        return word

    def _one(self, row: dict[str, Any], key: str, unit: str, path: tuple[Any, ...]) -> float:
        from advisor.quantities import parse

        try:
            return parse(str(row[key]), unit, gallon=self.gallon).value
        except BadQuantity as error:
            raise self._wrong(f"{key}: {error.what}", (*path, key), error.right) from error

    def _range(self, row: dict[str, Any], key: str, unit: str, path: tuple[Any, ...]) -> list[float] | float:
        from advisor.quantities import parse_window

        try:
            low, high = parse_window(str(row[key]), unit, gallon=self.gallon)
        except BadQuantity as error:
            raise self._wrong(f"{key}: {error.what}", (*path, key), error.right) from error
        return low.value if low.value == high.value else [low.value, high.value]

    def _limit(self, row: dict[str, Any], key: str, unit: str, path: tuple[Any, ...]) -> list[float] | float:
        """A limit of the data sheet: a range, or the most it allows; pH only as a range."""
        written = dict(row) | {key: AT_MOST.sub("", str(row[key]))}
        held = self._range(written, key, unit, path)
        if key == "ph" and not isinstance(held, list):
            raise self._wrong(f"ph: {row[key]} is one figure", (*path, key), "write a range such as 8.6-9.4")
        return held

    def _ids_once(self, section: str) -> None:
        seen: set[str] = set()
        for index, row in enumerate(self.written.get(section, [])):
            if row["id"] in seen:
                raise self._wrong(f"{section} give the id {row['id']!r} twice", (section, index, "id"),
                                  "give each its own")
            seen.add(row["id"])

    def _wrong(self, what: str, path: tuple[Any, ...], right: str) -> BadInput:
        return BadInput(what, place=self.place(path), right=right)


@cache
def answers() -> dict[str, list[str]]:
    """The answers of every choice in the vocabulary; the rest of the rules need not be whole for that."""
    from advisor.knowledge.loader import compiled, documents, rules_folder

    files = [document.data for document in documents(rules_folder(), "vocabulary")]
    if not files:
        return {key: list(item.get("answers", {})) for key, item in compiled()["observables"].items()}
    return {item["id"]: list(item.get("answers", {})) for data in files for item in data["observables"]}


def nearest_answer(word: str, known: list[str]) -> str:
    """What would be right instead of a word that is not known."""
    from advisor.knowledge.loader import nearest

    near = nearest(word, known)
    return f'did you mean "{near}"?' if near else "use one of " + ", ".join(known or ["(none yet)"])


def compile_demo() -> None:
    """Write the JSON form of the demo shops beside their YAML files."""
    for file in sorted(Path(__file__).parent.glob("demo_shop*.yaml")):
        text = json.dumps(shop_json(import_shop(file)), ensure_ascii=False, indent=1)
        file.with_suffix(".json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    compile_demo()
