"""``sumpside cost``: what coolant costs, by sump and month."""

from __future__ import annotations

import argparse
import json
import re
from typing import Any

from advisor.errors import BadInput

_EXAMPLES = """examples:
  sumpside cost                           every sump, month by month
  sumpside cost mill 1 --from 2026-01     one sump, from a month on
  sumpside cost --by sump                 the sum of each sump, or --by month
Prices come from the shop file, or from "sumpside stock --price".
"""


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``cost`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "cost",
        help="what coolant costs, by sump and month",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("sump", nargs="*", metavar="WORD", help="one sump only")
    parser.add_argument("--from", dest="first", metavar="MONTH", help="first month, such as 2026-01")
    parser.add_argument("--to", dest="last", metavar="MONTH", help="last month, itself included")
    parser.add_argument("--by", choices=("sump", "month"), help="sums instead of each month of each sump")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.add_argument("--json", action="store_true", help="answer as JSON")
    return parser


def run(args: argparse.Namespace) -> int:
    """Print the table."""
    from advisor.logbook.cost import costs, lines, totals
    from advisor.logbook.desk import open_desk
    from advisor.logbook.morning import wrapped
    from advisor.logbook.reading_lines import printable

    first, last = _month(args.first, ""), _month(args.last, "9999-99")
    if first > last:
        raise BadInput(f"{first} is after {last}", value=first, right="Give the earlier month with --from.")
    desk = open_desk(args.demo)
    with desk.store:
        sump = desk.sump_only(args.sump) if args.sump else None
        rows = costs(desk, sump, first, last)
        rows = totals(rows, args.by) if args.by else rows
        if args.json:
            held = {"currency": desk.shop.shop.get("currency"), "rows": [row.as_json() for row in rows]}
            print(json.dumps(held, ensure_ascii=False))
        elif not rows:
            print("Nothing that was put in is on record. Write it down:")
            print('"sumpside log mill 1 added 20 L at 2 %".')
        else:
            for line in lines(desk, rows):
                text = printable(line)
                print(text if len(text) <= 79 else "\n".join(row[2:] for row in wrapped(text)))
    return 0


def _month(said: str | None, otherwise: str) -> str:
    if said is None:
        return otherwise
    found = re.fullmatch(r"(\d{4})-(0?[1-9]|1[0-2])", said.strip())
    if found is None:
        raise BadInput(f"{said!r} is no month", value=said, right="Write it like 2026-01.")
    return f"{found[1]}-{int(found[2]):02d}"
