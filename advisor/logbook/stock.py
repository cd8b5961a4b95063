"""Concentrate: what came, what went, per product, sump and month."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.logbook.moments import moment

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk


@dataclass(frozen=True, slots=True)
class Use:
    """Litres put into one sump in one month: concentrate, and water; `unknown` litres of unsaid strength."""

    sump: str
    month: str
    product: str
    concentrate: float
    water: float
    unknown: float


def use(desk: Desk) -> list[Use]:
    """Use per sump, month and product, oldest month first."""
    sums: dict[tuple[str, str, str], list[float]] = defaultdict(lambda: [0.0, 0.0, 0.0])
    for row in desk.book.records("addition"):
        month = f"{moment(row.time).astimezone(desk.now.tzinfo):%Y-%m}"
        litres, strength = row.data["litres"], row.data.get("strength")
        total = sums[month, row.sump, row.data.get("product") or ""]
        if strength is None:
            total[2] += litres
        else:
            total[0] += litres * strength
            total[1] += litres * (1.0 - strength)
    return [Use(sump, month, product, *total) for (month, sump, product), total in sorted(sums.items())]


def left(desk: Desk) -> dict[str, float]:
    """Litres of concentrate left of each product that was ever delivered, by what is recorded."""
    stock: dict[str, float] = defaultdict(float)
    for row in desk.book.records("delivery"):
        stock[row.data["product"]] += row.data["litres"]
    for item in use(desk):
        if item.product in stock:
            stock[item.product] -= item.concentrate
    return dict(stock)
