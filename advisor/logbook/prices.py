"""Prices as the shop enters them, in its own currency, and the one in force at a time.

A price is an amount for a volume: ``900 per 200 L``, ``4.50 per L``, ``17 / US gal``, ``950 per drum``. It is
kept as an amount per litre. A price noted in the book holds from its day on; before the first of them, and
where none was noted, the shop file's price holds.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput, BadQuantity
from advisor.quantities import Gallon, parse, split_number

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.readings import Record

#: Products of a price that are none: mixing water, and what a carrier takes away.
WATER, WASTE = "water", "waste"
RIGHT = 'write it like "900 per 200 L", "17 per US gal" or "950 per drum"'
_PRICE = re.compile(r"(?P<amount>.+?)\s*(?:/|\bper\b|\bpro\b|\bfor\b)\s*(?P<per>.+)", re.IGNORECASE)
_SIGN = re.compile(r"[A-Za-z]{1,5}|[$€£¥]")


def read_price(
    text: str, *, gallon: Gallon | None = None, drum_l: float | None = None, currency: str | None = None
) -> float:
    """The amount per litre that a price says.

    Args:
        text: as written.
        gallon: which gallon a bare one is.
        drum_l: what the product's drum holds, for a price per drum.
        currency: the shop's own; a price in another one is refused.

    Raises:
        BadQuantity: it cannot be read, is below zero, names another currency, or a drum of unknown size.
    """
    found = _PRICE.fullmatch(" ".join(text.split()))
    if found is None:
        raise BadQuantity(f"{text!r} is no price", value=text, right=RIGHT)
    amount = _amount(found["amount"], text, currency)
    per = found["per"].strip()
    if per.casefold() == "drum":
        if drum_l is None:
            right = 'give the product its "drum" in the shop file, such as 200 L'
            raise BadQuantity("what a drum holds is not entered", value=text, right=right)
        litres = drum_l
    else:
        litres = parse(per if per[0].isdigit() else f"1 {per}", "L", gallon=gallon).value
    if litres <= 0.0:
        raise BadQuantity(f"{text!r} is for no volume", value=text, right=RIGHT)
    return amount / litres


def _amount(said: str, whole: str, currency: str | None) -> float:
    signs = _SIGN.findall(said)
    bare = _SIGN.sub(" ", said).strip()
    for sign in signs if any(c.isdigit() for c in bare) else ():
        if currency and sign.casefold() != currency.casefold():
            right = f"give it in {currency}, or change the shop's currency"
            raise BadQuantity(f"{sign} is not this shop's currency", value=whole, right=right)
    try:
        amount, rest = split_number(bare)
    except ValueError:
        raise BadQuantity(f"{whole!r} is no price", value=whole, right=RIGHT) from None
    if rest or amount < 0.0:
        raise BadQuantity(f"{whole!r} is no price", value=whole, right=RIGHT)
    return amount


class Prices:
    """The prices of one shop: those of its file, and those noted in the book from their day on."""

    def __init__(self, desk: Desk) -> None:
        self._file = file_prices(desk)
        self._noted: dict[str, list[Record]] = {}
        for row in desk.book.records("price"):
            self._noted.setdefault(row.data["product"], []).append(row)

    def at(self, product: str, time: str) -> float | None:
        """Amount per litre of a product (or `WATER`, `WASTE`) at a time; None where none is known."""
        noted = self._noted.get(product, [])
        before = [row for row in noted if row.time <= time]
        if before:
            return float(before[-1].data["per_litre"])
        there = self._file.get(product)
        if there is None and noted:
            return float(noted[0].data["per_litre"])
        return there

    def known(self, product: str) -> bool:
        """Whether any price of a product is known."""
        return product in self._file or product in self._noted


def file_prices(desk: Desk) -> dict[str, float]:
    """Amounts per litre that the shop file gives, by product, water and waste."""
    held: dict[str, Any] = {key: row.get("price") for key, row in desk.shop.products.items()}
    held |= {WATER: desk.shop.shop.get("water_price"), WASTE: desk.shop.shop.get("waste_price")}
    return {key: float(price) for key, price in held.items() if price is not None}


def priced(desk: Desk, product: str) -> str:
    """The product a price is for: its id, `WATER` or `WASTE`.

    Raises:
        BadInput: the shop has no such product.
    """
    names: Sequence[str] = (*desk.shop.products, WATER, WASTE)
    for key in names:
        name = str(desk.shop.products.get(key, {}).get("name", key))
        if product.casefold() in (key.casefold(), name.casefold()):
            return key
    right = f"Use one of {', '.join(names)}."
    raise BadInput(f"there is no product {product!r}", value=product, right=right)
