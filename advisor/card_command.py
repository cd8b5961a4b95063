"""``sumpside card``: a job card from a case, or the sign of a sump."""

from __future__ import annotations

import argparse
import json
from typing import Any


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("card", help="a job card or a sump sign to print")
    parser.add_argument("case", type=int, nargs="?", help="number of the case")
    parser.add_argument("--sump", metavar="NAME", help="the sign of this sump instead")
    where = 'file to write: a page (.html) or a PDF (.pdf); "-": the page to standard output'
    parser.add_argument("--out", metavar="FILE", help=where)
    parser.add_argument("--demo", action="store_true", help="the demo shop and its cases")
    parser.add_argument("--us", action="store_true", help="with --demo: the demo shop in US gallons")
    parser.add_argument("--json", action="store_true", help="answer as JSON")
    return parser


def run(args: argparse.Namespace) -> int:
    """Write the page.

    Raises:
        BadInput: neither or both of case and sump were given, or the file cannot be written.
    """
    from advisor.errors import BadInput
    from advisor.reports.sheet import sheet_html, write_sheet

    if (args.case is None) == (args.sump is None):
        raise BadInput(
            "a card is of a case or of a sump", right='write "sumpside card 12" or --sump "Mill 1"'
        )
    sheet, name = _job(args) if args.sump is None else _sign(args)
    if args.out == "-":
        print(sheet_html(sheet), end="")
        return 0
    file = args.out or name
    write_sheet(file, sheet)
    print(json.dumps({"written": file}) if args.json else f"Written to {file}.")
    return 0


def _store(args: argparse.Namespace) -> Any:
    from advisor.logbook.place import book_place
    from advisor.logbook.resilient import open_resilient

    return open_resilient(book_place(args.demo))


def _job(args: argparse.Namespace) -> tuple[Any, str]:
    from advisor.reports.cards import job_card
    from advisor.reports.cases import open_case

    return job_card(open_case(_store(args), args.case)), f"job_card_{args.case}.html"


def _sign(args: argparse.Namespace) -> tuple[Any, str]:
    from advisor.logbook.shop import demo_shop, stored_shop
    from advisor.mixing.display import IMPERIAL, METRIC, US
    from advisor.reports.cards import sump_sign

    shop = demo_shop("us" if args.us else "metric") if args.demo else stored_shop(_store(args))
    sump = shop.sump(args.sump)
    product = shop.products.get(sump.get("product") or "")
    show = {"us": US, "imperial": IMPERIAL}.get(str(shop.shop.get("units")), METRIC)
    return sump_sign(sump, product, show, _holds(args, sump["id"])), f"sump_sign_{sump['id']}.html"


def _holds(args: argparse.Namespace, sump: str) -> tuple[float, float, float] | None:
    """The top-up strength that would hold the sump by its log, with its range; None where it tells none."""
    from advisor.logbook.desk import open_desk
    from advisor.logbook.outlook import holding

    if args.us:
        return None  # the US demo shop keeps no log
    desk = open_desk(args.demo)
    with desk.store:
        found = holding(desk, sump)
    return None if found is None else (found.top_up.value, found.top_up.low, found.top_up.high)
