"""``sumpside stock``: concentrate that came, what is left, what it costs, what each sump used."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from advisor.daily_commands import correctable, keep_record, litres_of
from advisor.errors import BadInput, UnknownId

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

_EXAMPLES = """examples:
  sumpside stock                        what is left, what was used
  sumpside stock --delivery "200 L" --product p1 --lot 4711   a delivery
  sumpside stock --price "900 per 200 L" --product p1
  sumpside stock --price "180 per 1000 L" --product water  ("waste": disposal)
"""


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``stock`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "stock",
        help="concentrate: what is left, what each sump used by month",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--delivery", metavar="VOLUME", help='a delivery, such as "200 L"')
    parser.add_argument("--price", metavar="PRICE", help='in the shop\'s currency, such as "900 per 200 L"')
    parser.add_argument("--product", help="the product's id or name")
    parser.add_argument("--lot", help="with --delivery: its lot")
    parser.add_argument("--who", default="operator", help="your sign or role")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.add_argument("--strike", metavar="N", help="record N (delivery, price, drum) was none")
    parser.set_defaults(part="stock")
    return correctable(parser)


def run(args: argparse.Namespace) -> int:
    """Write down a delivery or a price, or show what there is."""
    from advisor.logbook.desk import open_desk

    desk = open_desk(args.demo)
    with desk.store:
        if args.strike:
            _strike(desk, args)
        elif args.delivery or args.price or args.correct:
            _write(desk, args)
        else:
            print("\n".join(_table(desk)))
    return 0


def _write(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.prices import WASTE, WATER, priced, read_price
    from advisor.showing import volume

    if args.product is None:
        right = f"Add --product; the shop has {', '.join(desk.shop.products) or 'no products yet'}."
        raise BadInput("which product?", right=right)
    product = priced(desk, args.product)
    name = desk.shop.products.get(product, {}).get("name", product)
    if args.delivery and product in (WATER, WASTE):
        raise UnknownId(f"{product} is no product that is delivered", right="Name a product of the shop.")
    currency = desk.shop.shop.get("currency")
    price = None
    if args.price:
        drum = desk.shop.products.get(product, {}).get("drum_l")
        price = read_price(args.price, gallon=desk.gallon, drum_l=drum, currency=currency)
    if args.delivery or (args.correct and not args.price):
        data = {"litres": litres_of(desk, args.delivery), "product": product, "lot": args.lot}
        row = keep_record(desk, "delivery", "", data, args)
        print(f"{volume(row.data['litres'], desk.system)} of {name} on record.")
    if price is not None:
        if args.delivery:
            args.correct = None
        held = {"product": product, "per_litre": price, "currency": currency, "said": args.price}
        keep_record(desk, "price", "", held, args)
        signed = args.price if not currency or currency in args.price else f"{currency} {args.price}"
        print(f"{name}: {signed} from now on.")


def _strike(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.records import record_number, struck

    old = desk.book.record(record_number(args.strike))
    if old.sump:
        right = f'Write "sumpside log {desk.name(old.sump)} --strike r{old.id}".'
        raise BadInput(f"record r{old.id} is of {desk.name(old.sump)}", value=args.strike, right=right)
    desk.book.enter((), [struck(old, args.reason)], time=desk.time, who=args.who, how="stock")
    print(f"Record r{old.id} is struck out; it stays in the book.")


def _table(desk: Desk) -> list[str]:
    from advisor.logbook import stock
    from advisor.logbook.reading_lines import printable
    from advisor.showing import volume

    made = []
    for product, litres in stock.left(desk).items():
        name = desk.shop.products.get(product, {}).get("name", product)
        days = stock.days_left(desk, product, litres)
        lasts = f", about {days:.0f} days at the use of late" if days is not None else ""
        made.append(f"{name}: {volume(litres, desk.system)} left, by what is on record{lasts}")
    rows = stock.use(desk)
    if not rows:
        return [*map(printable, made), "Nothing that was put in is on record yet."]
    made.append(f"{'month':<9}{'sump':<24}{'concentrate':>14}{'water':>14}{'not said':>14}")
    for row in rows:
        parts = [
            volume(litres, desk.system) if litres else "-"
            for litres in (row.concentrate, row.water, row.unknown)
        ]
        made.append(f"{row.month:<9}{desk.name(row.sump)[:23]:<24}" + "".join(f"{p:>14}" for p in parts))
    return [*map(printable, made), 'What it costs: "sumpside cost".']
