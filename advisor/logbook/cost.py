"""What coolant costs, by sump and month: from the additions and the waste on record, at the shop's prices.

Only what is on record is counted; nothing is guessed. Where the strength of an addition was not said or a
product has no price, the amount is a lower bound, and the reader is told so.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from advisor.logbook.moments import moment
from advisor.logbook.prices import WASTE, WATER, Prices
from advisor.showing import volume

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk


@dataclass(slots=True)
class Cost:
    """One sump in one month. Litres are litres, amounts in the shop's currency.

    Attributes:
        concentrate_l, water_l, waste_l: put in and taken out.
        unknown_l: put in without its strength being said; it is in no amount.
        concentrate, water, waste: amounts.
        unpriced: products (and waste) without a price, "" for no product at all; not counted.
    """

    month: str
    sump: str
    concentrate_l: float = 0.0
    water_l: float = 0.0
    waste_l: float = 0.0
    unknown_l: float = 0.0
    concentrate: float = 0.0
    water: float = 0.0
    waste: float = 0.0
    unpriced: set[str] = field(default_factory=set)

    @property
    def total(self) -> float:
        """All amounts that are known."""
        return self.concentrate + self.water + self.waste

    def as_json(self) -> dict[str, Any]:
        """As a JSON object."""
        return {**asdict(self), "total": self.total, "unpriced": sorted(self.unpriced)}


def costs(desk: Desk, sump: str | None = None, first: str = "", last: str = "9999-99") -> list[Cost]:
    """Costs per month and sump, oldest month first.

    Args:
        sump: one sump only.
        first, last: months as ``2026-11``, both included.
    """
    prices = Prices(desk)
    rows: dict[tuple[str, str], Cost] = {}

    def row(time: str, of: str) -> Cost | None:
        month = f"{moment(time).astimezone(desk.now.tzinfo):%Y-%m}"
        return rows.setdefault((month, of), Cost(month, of)) if first <= month <= last else None

    for record in desk.book.records("addition", sump):
        made = row(record.time, record.sump)
        if made is not None:
            _add(made, record.data, record.time, prices)
    for record in desk.book.records("waste", sump):
        made = row(record.time, record.sump)
        if made is not None:
            made.waste_l += record.data["litres"]
            made.waste += _amount(made, prices, WASTE, record.data["litres"], record.time)
    return [rows[key] for key in sorted(rows)]


def _add(made: Cost, data: dict[str, Any], time: str, prices: Prices) -> None:
    litres, strength = float(data["litres"]), data.get("strength")
    if strength is None:
        made.unknown_l += litres
        return
    concentrate, water = litres * strength, litres * (1.0 - strength)
    made.concentrate_l += concentrate
    made.water_l += water
    if concentrate > 0.0:
        made.concentrate += _amount(made, prices, data.get("product") or "", concentrate, time)
    if prices.known(WATER):
        made.water += _amount(made, prices, WATER, water, time)


def _amount(made: Cost, prices: Prices, product: str, litres: float, time: str) -> float:
    price = prices.at(product, time)
    if price is None:
        made.unpriced.add(product)
        return 0.0
    return price * litres


def totals(rows: Iterable[Cost], by: str) -> list[Cost]:
    """Rows summed over months (``by`` sump) or over sumps (``by`` month)."""
    summed: dict[str, Cost] = {}
    for row in rows:
        key = row.sump if by == "sump" else row.month
        month, sump = (row.month, "") if by == "month" else ("", row.sump)
        made = summed.setdefault(key, Cost(month, sump))
        for name in ("concentrate_l", "water_l", "waste_l", "unknown_l", "concentrate", "water", "waste"):
            setattr(made, name, getattr(made, name) + getattr(row, name))
        made.unpriced |= row.unpriced
    return [summed[key] for key in sorted(summed)]


def lines(desk: Desk, rows: Sequence[Cost]) -> list[str]:
    """The table, 79 columns, and what is not in it."""
    currency = str(desk.shop.shop.get("currency") or "")
    head = f"cost {currency}".strip()
    made = [f"{'month':<8}{'sump':<20}{'concentrate':>13}{'water':>12}{'waste':>12}{head:>13}"]
    made += [_line(desk, row) for row in rows]
    if len(rows) > 1:
        whole = Cost("all", "")
        for row in rows:
            for name in ("concentrate_l", "water_l", "waste_l", "concentrate", "water", "waste"):
                setattr(whole, name, getattr(whole, name) + getattr(row, name))
        made.append(_line(desk, whole))
    return made + _missing(desk, rows)


def _line(desk: Desk, row: Cost) -> str:
    parts = (row.concentrate_l, row.water_l, row.waste_l)
    amounts = "".join(
        f"{volume(litres, desk.system) if litres else '-':>{width}}"
        for litres, width in zip(parts, (13, 12, 12), strict=True)
    )
    name = desk.name(row.sump)[:19] if row.sump else ""
    mark = "+" if row.unpriced or row.unknown_l else ""
    return f"{row.month:<8}{name:<20}{amounts}{f'{row.total:.2f}{mark}':>13}"


def _missing(desk: Desk, rows: Sequence[Cost]) -> list[str]:
    """What the amounts leave out."""
    made = []
    unpriced = sorted(set().union(*(row.unpriced for row in rows)))
    unknown = sum(row.unknown_l for row in rows)
    if "" in unpriced:
        sumps = ", ".join(desk.name(sump) for sump in sorted({r.sump for r in rows if "" in r.unpriced}))
        where = f" ({sumps})" if sumps else ""
        made.append(f"Something went in that names no product{where}: give the sump its product.")
    unpriced = [product for product in unpriced if product]
    if unpriced:
        named = ", ".join(str(desk.shop.products.get(key, {}).get("name", key)) for key in unpriced)
        made.append(
            f'No price is known of {named}. Note it: "sumpside stock --price \'900 per 200 L\' --product '
            f'{unpriced[0]}".'
        )
    if unknown:
        amount = volume(unknown, desk.system)
        made.append(f"{amount} went in without its strength being said, and is not counted.")
    if made:
        made.append("+ marks an amount that is at least this much.")
    if not Prices(desk).known(WATER):
        made.append("Mixing water is not priced (water_price in the shop file).")
    if not desk.shop.shop.get("currency"):
        made.append("The shop's currency is not entered (currency in the shop file).")
    return made
