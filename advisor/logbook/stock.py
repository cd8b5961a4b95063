"""Concentrate: what came, what went, per product, sump and month."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from advisor.logbook.moments import days_between, moment, stamp

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


#: Days looked back on to tell how long a stock lasts; common practice, no source.
LOOK_BACK_DAYS = 60
#: A shorter stretch of the book tells no use; common practice, no source.
SHORTEST_DAYS = 14


def days_left(desk: Desk, product: str, litres: float) -> float | None:
    """How long so many litres of concentrate last at the use of the last weeks; None where none was used."""
    since = stamp(desk.now - timedelta(days=LOOK_BACK_DAYS))
    rows = [r for r in desk.book.records("addition", since=since) if r.data.get("product") == product]
    used: float = sum(r.data["litres"] * (r.data.get("strength") or 0.0) for r in rows)
    days = days_between(min((r.time for r in rows), default=desk.time), desk.time)
    return litres / used * days if used > 0.0 and litres > 0.0 and days >= SHORTEST_DAYS else None


def left(desk: Desk) -> dict[str, float]:
    """Litres of concentrate left of each product that was ever delivered, by what is recorded."""
    stock: dict[str, float] = defaultdict(float)
    for row in desk.book.records("delivery"):
        stock[row.data["product"]] += row.data["litres"]
    for item in use(desk):
        if item.product in stock:
            stock[item.product] -= item.concentrate
    return dict(stock)
