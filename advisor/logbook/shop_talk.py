"""The shop set up by answering questions: the answers become a shop file's rows, checked one by one.

Nothing is required: an empty answer leaves a figure out, to be completed later.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from advisor.errors import BadQuantity
from advisor.quantities import parse, parse_window

Ask = Callable[[str], str]
Tell = Callable[[str], None]
#: Field, question, canonical unit, whether a range may be given.
_PRODUCT = (
    ("factor", "its refractometer factor, from the data sheet", "1", False),
    ("window", "its working range, such as 6-10 %", "fraction", True),
    ("ph_first_fill", "the pH of a fresh fill, such as 9.0-9.4", "pH", True),
    ("water_hardness", "the water hardness it stands, such as 90-360 ppm", "mg/L CaCO3", True),
)
_SUMP = (
    ("volume", "what it holds when full, such as 190 L or 50 US gal", "L", False),
    ("window", "its own working range, where it differs from the product's", "fraction", True),
)


def talk(ask: Ask, tell: Tell) -> dict[str, Any]:
    """Ask for shop, products, sumps and the pail; the rows as a shop file holds them.

    Args:
        ask: puts a question and gives the answer; an EOFError ends the talk with what is there.
        tell: shows a sentence.
    """
    held: dict[str, Any] = {"shop": {"name": "Our shop"}, "products": [], "sumps": [], "containers": []}
    try:
        _shop(held, ask, tell)
        while (name := _said(ask, "Name of a coolant product (empty when all are there)?")):
            row: dict[str, Any] = {"id": _id(name, "product", held["products"]), "name": name}
            held["products"].append(row)
            _figures(row, _PRODUCT, held, ask, tell)
        while (name := _said(ask, "Name or number of a sump (empty when all are there)?")):
            row = {"id": _id(name, "sump", held["sumps"]), "name": name}
            held["sumps"].append(row)
            row |= _product(held["products"], name, ask, tell)
            _figures(row, _SUMP, held, ask, tell)
        pail = _figure("volume", "your pail holds", "L", False, held, ask, tell)
        if pail is not None:
            held["containers"].append({"id": "pail", "name": "pail", "kind": "pail", "volume": pail})
    except EOFError:
        tell("Stopped here; what was answered is kept.")
    return {key: rows for key, rows in held.items() if rows}


def _said(ask: Ask, question: str) -> str:
    text = "".join(c if c.isprintable() else " " for c in ask(question))
    return " ".join(text.split())[:60]


def _shop(held: dict[str, Any], ask: Ask, tell: Tell) -> None:
    name = _said(ask, "What is the shop called?")
    if name:
        held["shop"]["name"] = name
    region = _said(ask, "Which country, as two letters (de, gb, us …)?").casefold()
    if re.fullmatch(r"[a-z]{2}", region):
        held["shop"]["region"] = region
    elif region:
        tell("That is not two letters; left out.")
    units = _said(ask, "Litres (metric), US gallons (us) or imperial gallons (imperial)?").casefold()
    if units in ("metric", "us", "imperial"):
        held["shop"]["units"] = units
    elif units:
        tell("Taken as metric.")


def _id(name: str, kind: str, there: list[dict[str, Any]]) -> str:
    key = "_".join(re.findall(r"[a-z0-9]+", name.casefold()))[:40] or kind
    key = key if key[0].isalpha() else f"{kind}_{key}"
    used = {row["id"] for row in there}
    number = 2
    made = key
    while made in used:
        made, number = f"{key}_{number}", number + 1
    return made


def _product(products: list[dict[str, Any]], sump: str, ask: Ask, tell: Tell) -> dict[str, str]:
    if not products:
        return {}
    if len(products) == 1:
        tell(f"{sump} runs on {products[0]['name']}, the only product.")
        return {"product": products[0]["id"]}
    listed = ", ".join(f"{n} {row['name']}" for n, row in enumerate(products, start=1))
    while said := _said(ask, f"Which product is in {sump} ({listed})?"):
        for number, row in enumerate(products, start=1):
            if said.casefold() in (str(number), row["name"].casefold()):
                return {"product": row["id"]}
        tell(f"There is no product {said!r}; give its number or name.")
    return {}


def _figures(
    row: dict[str, Any], fields: tuple[tuple[str, str, str, bool], ...], held: dict[str, Any], ask: Ask,
    tell: Tell,
) -> None:  # fmt: skip
    """Ask for the figures of a row, each kept as soon as it is answered."""
    for key, question, unit, many in fields:
        value = _figure(key, f"{row['name']}: {question}", unit, many, held, ask, tell)
        if value is not None:
            row[key] = value


def _figure(
    key: str, question: str, unit: str, many: bool, held: dict[str, Any], ask: Ask, tell: Tell
) -> Any:
    """A figure as it was said, once it can be read; None when it was left out."""
    habit = held["shop"].get("units")
    gallon = habit if habit in ("us", "imperial") else None
    while said := _said(ask, f"{question[0].upper()}{question[1:]}?"):
        try:
            if many:
                parse_window(said, unit, gallon=gallon)
                return said
            value = parse(said, unit, gallon=gallon).value
            if value <= 0.0:
                raise BadQuantity(f"{said} is not above zero", value=said, right="give a figure above 0")
            return value if key == "factor" else said
        except BadQuantity as error:
            tell(f"{error.sentence()} Empty to leave it out.")
    return None
