"""The shop set up by answering questions: the answers become a shop file's rows, checked one by one.

Nothing is required: an empty answer leaves a figure out, to be completed later. A product or sump that the
shop already has is taken up by its name; only what is missing is asked.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from advisor.errors import BadInput, BadQuantity
from advisor.logbook.prices import read_price
from advisor.logbook.row_ids import row_id
from advisor.logbook.shop_file import AT_MOST, UNNAMED, answers, nearest_answer
from advisor.mixing.sump_size import sump_litres
from advisor.quantities import parse, parse_window

Ask = Callable[[str], str]
Tell = Callable[[str], None]
Row = dict[str, Any]
#: Field, question, canonical unit, whether a range may be given.
_PRODUCT = (
    ("factor", "its refractometer factor, from the data sheet", "1", False),
    ("window", "its working range, such as 6-10 %", "fraction", True),
    ("ph_first_fill", "the pH of a fresh fill, such as 9.0-9.4", "pH", True),
    ("water_hardness", "the water hardness it stands, such as 90-360 ppm", "mg/L CaCO3", True),
)
#: What the data sheet allows in use: a range, or the most.
_LIMITS = (
    ("ph", "the pH its sheet gives in use, such as 8.6-9.4", "pH", True),
    ("sump_hardness", "the most hardness in use, such as up to 600 ppm or 35 °dH", "mg/L CaCO3", True),
    ("conductivity", "the most conductivity in use, such as 4000 µS/cm", "µS/cm", True),
    ("chloride", "the most chloride in use, such as 100 mg/L", "mg/L", True),
    ("sulfate", "the most sulphate in use, such as 150 mg/L", "mg/L", True),
    ("tramp_oil", "the most foreign oil, such as 2 %", "fraction", True),
    ("temperature", "the temperature it stands in use, such as 10-40 °C", "°C", True),
)
_USE = (
    ("pump_min_level", "the lowest level for its pump, as a share of full, such as 30 %", "fraction", False),
    ("daily_loss", "what is topped up in a day, such as 8 L/day", "L/day", False),
    ("water_hardness", "the hardness of its own mixing water, where it differs", "mg/L CaCO3", False),
)
_SUMP = (("window", "its own working range, where it differs from the product's", "fraction", True),)
_TARGET = (("target", "the strength aimed for inside its range, such as 7 %", "fraction", False),)
#: Field of a sump, question, observable whose answers are known.
_CHOICES = (
    ("operations", "what is done there (milling, turning, grinding …)", "operation"),
    ("metals", "which metals are cut (steel, aluminium …)", "workpiece"),
    ("water_source", "its mixing water, where it differs from the shop's (tap, well, ro …)", "water_source"),
)
_MEASURE = r"(\d+(?:[.,]\d+)?)"
_BY, _LENGTH = r"\s*[x×*]\s*", r"\s*(mm|cm|m|in|inch|ft)"
_BOX = re.compile(f"{_MEASURE}{_BY}{_MEASURE}{_BY}{_MEASURE}{_LENGTH}", re.IGNORECASE)
_ROUND = re.compile(rf"(?:diameter|ø|d)\s*{_MEASURE}{_BY}{_MEASURE}{_LENGTH}", re.IGNORECASE)
_YES = ("y", "yes", "j", "ja")


def talk(ask: Ask, tell: Tell, before: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Ask for shop, products, sumps, containers and people; the rows as a shop file holds them.

    Args:
        ask: puts a question and gives the answer; an EOFError ends the talk with what is there.
        tell: shows a sentence.
        before: the shop file's rows as they are now.
    """
    held = _held(before or {})
    try:
        _shop(held, ask, tell)
        for sentence in lacking(held):
            tell(sentence)
        while name := _said(ask, "Name of a coolant product (empty when all are there)?"):
            _product(_row(held["products"], name, "product", tell), held, ask, tell)
        while name := _said(ask, "Name or number of a sump (empty when all are there)?"):
            _sump(_row(held["sumps"], name, "sump", tell), held, ask, tell)
        _containers(held, ask, tell)
        _people(held, ask, tell)
    except EOFError:
        tell("Stopped here; what was answered is kept.")
    return {key: rows for key, rows in held.items() if rows}


def lacking(held: Mapping[str, Any]) -> list[str]:
    """What is not complete, one sentence for each row."""
    made = []
    for section, fields in (("products", ("factor", "window")), ("sumps", ("volume", "product"))):
        for row in held.get(section, []):
            missing = [key for key in fields if key not in row and not (key == "volume" and "shape" in row)]
            if missing:
                made.append(f"{row.get('name') or row['id']} lacks its {' and its '.join(missing)}.")
    return made


def _held(before: Mapping[str, Any]) -> dict[str, Any]:
    sections = ("products", "sumps", "containers", "people")
    rows = {key: [dict(row) for row in before.get(key, [])] for key in sections}
    return {"shop": dict(before.get("shop") or {"name": UNNAMED}), **rows}


def _said(ask: Ask, question: str) -> str:
    text = "".join(c if c.isprintable() else " " for c in ask(question))
    return " ".join(text.split())[:60]


def _more(ask: Ask, question: str) -> bool:
    return _said(ask, f"{question} (y, or empty)?").casefold() in _YES


def _row(rows: list[Row], name: str, kind: str, tell: Tell) -> Row:
    """The row of this name, or a new one."""
    for row in rows:
        if name.casefold() in (str(row.get("name", "")).casefold(), row["id"]):
            tell(f"{row.get('name') or row['id']} is there; only what is missing is asked.")
            return row
    made = {"id": row_id(name, kind, {row["id"] for row in rows}), "name": name}
    rows.append(made)
    return made


def _shop(held: dict[str, Any], ask: Ask, tell: Tell) -> None:
    shop = held["shop"]
    if shop.get("name") == UNNAMED:
        shop["name"] = _said(ask, "What is the shop called?") or UNNAMED
    if "region" not in shop:
        region = _said(ask, "Which country, as two letters (de, gb, us …)?").casefold()
        if re.fullmatch(r"[a-z]{2}", region):
            shop["region"] = region
        elif region:
            tell("That is not two letters; left out.")
    if "units" not in shop:
        units = _said(ask, "Litres (metric), US gallons (us) or imperial gallons (imperial)?").casefold()
        if units in ("metric", "us", "imperial"):
            shop["units"] = units
        elif units:
            tell("Taken as metric.")
    wanted = [key for key in ("water_source", "water_hardness", "currency") if key not in shop]
    if wanted and _more(ask, "More about the shop: its mixing water, the currency of prices"):
        _choice(shop, "water_source", "The shop's mixing water (tap, well, ro, di, rain …)", ask, tell)
        asked = (("water_hardness", "its hardness, such as 12 °dH or 200 ppm", "mg/L CaCO3", False),)
        _figures(shop, "The mixing water", asked, held, ask, tell)
        if "currency" not in shop:
            said = _said(ask, "The currency of prices, such as EUR or USD?")
            if re.fullmatch(r"[A-Za-z]{1,5}|[$€£¥]", said):
                shop["currency"] = said


def _product(row: Row, held: dict[str, Any], ask: Ask, tell: Tell) -> None:
    name = row.get("name") or row["id"]
    _figures(row, name, _PRODUCT, held, ask, tell)
    limits = any(key not in row for key, *_ in _LIMITS)
    if limits and _more(ask, f"Limits of {name} in use (pH, hardness, salts, foreign oil, temperature)"):
        _figures(row, name, _LIMITS, held, ask, tell)
    if not all(key in row for key in ("fluid_type", "sds", "price", "label_doses")) and _more(
        ask, f"More about {name}: its kind, data sheet, price, label doses"
    ):
        _choice(row, "fluid_type", f"{name}: its kind (soluble_oil, semi_synthetic, synthetic)", ask, tell)
        if "sds" not in row and (said := _said(ask, f"{name}: where its safety data sheet is kept?")):
            row["sds"] = said
        _price(row, name, held, ask, tell)
        doses = dict(row.get("label_doses", {}))
        while said := _said(ask, f'{name}: a dose of its label, such as "biocide A: 0.1 %" (empty: none)?'):
            what, colon, dose = said.partition(":")
            if colon and what.strip() and len(dose.strip()) > 1:
                doses[what.strip()] = dose.strip()
            else:
                tell('Write it like "biocide A: 0.1 %".')
        if doses:
            row["label_doses"] = doses


def _price(row: Row, name: str, held: Mapping[str, Any], ask: Ask, tell: Tell) -> None:
    if "price" in row:
        return
    while said := _said(ask, f"{name}: its price, such as 900 per 200 L?"):
        try:
            read_price(said, gallon=_gallon(held), currency=held["shop"].get("currency"))
        except BadQuantity as error:
            tell(f"{error.sentence()} Empty to leave it out.")
            continue
        row["price"] = said
        return


def _sump(row: Row, held: dict[str, Any], ask: Ask, tell: Tell) -> None:
    name = row.get("name") or row["id"]
    if "product" not in row:
        row |= _product_of(held["products"], name, ask, tell)
    _size(row, name, held, ask, tell)
    _figures(row, name, _SUMP, held, ask, tell)
    more = ("target", "operations", "metals", "water_source", "pit", *(key for key, *_ in _USE))
    if any(key not in row for key in more) and _more(
        ask, f"More about {name}: target, operations, metals, water, pit, pump, daily loss"
    ):
        _figures(row, name, _TARGET, held, ask, tell)
        for key, question, _ in _CHOICES:
            _choice(row, key, f"{name}: {question}", ask, tell)
        _figures(row, name, _USE, held, ask, tell)
        if "pit" not in row and _more(ask, f"{name}: does its tank stand in a pit or below the floor"):
            row["pit"] = True


def _product_of(products: Sequence[Row], sump: str, ask: Ask, tell: Tell) -> dict[str, str]:
    if not products:
        return {}
    names = [str(row.get("name") or row["id"]) for row in products]
    if len(products) == 1:
        tell(f"{sump} runs on {names[0]}, the only product.")
        return {"product": products[0]["id"]}
    listed = ", ".join(f"{n} {name}" for n, name in enumerate(names, start=1))
    while said := _said(ask, f"Which product is in {sump} ({listed})?"):
        for number, (row, name) in enumerate(zip(products, names, strict=True), start=1):
            if said.casefold() in (str(number), name.casefold()):
                return {"product": row["id"]}
        tell(f"There is no product {said!r}; give its number or name.")
    return {}


def _size(row: Row, name: str, held: Mapping[str, Any], ask: Ask, tell: Tell) -> None:
    """What a sump holds, as a volume or as the inside measures of its tank."""
    if "volume" in row or "shape" in row:
        return
    question = f"{name}: what it holds when full (190 L, 50 US gal, 1000 x 500 x 300 mm)?"
    while said := _said(ask, question):
        shape = _shape(said)
        if shape:
            row["shape"] = shape
            return
        try:
            sump_litres(said, _gallon(held))
        except BadQuantity as error:
            tell(f"{error.sentence()} Empty to leave it out.")
            continue
        row["volume"] = said
        return


def _shape(said: str) -> dict[str, str]:
    """Inside measures as a shop file holds them; empty when it is none."""
    tube, box = _ROUND.fullmatch(said), _BOX.fullmatch(said)
    if tube:
        return {"diameter": f"{tube[1]} {tube[3]}", "depth": f"{tube[2]} {tube[3]}"}
    if box:
        sides = ("length", "width", "depth")
        return {side: f"{box[place]} {box[4]}" for place, side in enumerate(sides, start=1)}
    return {}


def _choice(row: Row, key: str, question: str, ask: Ask, tell: Tell) -> None:
    """Words of the vocabulary, several apart by commas; each unknown one is explained."""
    if key in row:
        return
    observable = next((one for field, _, one in _CHOICES if field == key), key)
    known, many = answers()[observable], key != "fluid_type"
    while said := _said(ask, f"{question}?"):
        parts = [word.strip().casefold() for word in re.split(r"[,;]", said)]
        words = [word.replace(" ", "_") for word in parts if word]
        wrong = [word for word in words if word not in known]
        if not wrong and words and (many or len(words) == 1):
            row[key] = list(dict.fromkeys(words)) if many else words[0]
            return
        what = wrong[0] if wrong else said
        right = nearest_answer(what, known)
        tell(f"{what!r} is not known; {right}{'' if right.endswith('?') else '.'}")


def _containers(held: dict[str, Any], ask: Ask, tell: Tell) -> None:
    for kind, question in (("pail", "your pail holds"), ("cup", "your measuring cup or jug holds")):
        if any(row.get("kind", "pail") == kind for row in held["containers"]):
            continue
        size = _figure("volume", question, "L", False, held, ask, tell)
        if size is not None:
            held["containers"].append({"id": kind, "name": kind, "kind": kind, "volume": size})


def _people(held: dict[str, Any], ask: Ask, tell: Tell) -> None:
    """Who may change limits: without a list every sign is taken at its word."""
    if held["people"]:
        return
    while sign := _said(ask, "Sign of somebody who may change limits (empty when all are there)?"):
        if not re.fullmatch(r"[^\W\d][\w.-]{0,11}", sign) or any(r["id"] == sign for r in held["people"]):
            tell("Give a short sign such as CD, each once.")
            continue
        held["people"].append({"id": sign, "role": "supervisor"})


def _figures(
    row: Row, name: str, fields: tuple[tuple[str, str, str, bool], ...], held: dict[str, Any], ask: Ask,
    tell: Tell,
) -> None:  # fmt: skip
    """Ask for the figures a row lacks, each kept as soon as it is answered."""
    for key, question, unit, many in fields:
        if key not in row:
            value = _figure(key, f"{name}: {question}", unit, many, held, ask, tell)
            if value is not None:
                row[key] = value


def _gallon(held: Mapping[str, Any]) -> Any:
    """Which gallon a bare one is here."""
    habit = held["shop"].get("gallon") or held["shop"].get("units")
    return habit if habit in ("us", "imperial") else None


def _figure(
    key: str, question: str, unit: str, many: bool, held: dict[str, Any], ask: Ask, tell: Tell
) -> Any:
    """A figure as it was said, once it can be read; None when it was left out."""
    while said := _said(ask, f"{question[0].upper()}{question[1:]}?"):
        try:
            if many:
                low, high = parse_window(AT_MOST.sub("", said), unit, gallon=_gallon(held))
                if key == "ph" and low.value == high.value:
                    right = "give a range such as 8.6-9.4"
                    raise BadQuantity(f"{said} is one figure", value=said, right=right)
                return said
            value = parse(said, unit, gallon=_gallon(held)).value
            if value <= 0.0:
                raise BadQuantity(f"{said} is not above zero", value=said, right="give a figure above 0")
            return value if key == "factor" else said
        except BadInput as error:
            tell(f"{error.sentence()} Empty to leave it out.")
    return None
