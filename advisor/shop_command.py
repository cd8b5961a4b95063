"""``sumpside shop``: the shop book from a YAML file and back."""

from __future__ import annotations

import argparse
from datetime import UTC, datetime
from pathlib import Path
from typing import Any


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``shop`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("shop", help="set up the shop from a file")
    parser.add_argument("--import", dest="source", metavar="FILE", help="take over a shop file (YAML)")
    parser.add_argument("--export", dest="target", metavar="FILE", help='write the shop ("-": to the screen)')
    parser.add_argument("--who", default="supervisor", help="your sign or role; targets belong to the shop")
    return parser


def run(args: argparse.Namespace) -> int:
    """Import, export, or list the shop's sumps."""
    from advisor.logbook.resilient import open_resilient
    from advisor.logbook.shop import keep_shop, stored_shop
    from advisor.logbook.shop_file import export_shop, import_shop

    store = open_resilient()
    if args.source:
        now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        changed = keep_shop(store, import_shop(Path(args.source)), time=now, who=args.who)
        print("Nothing changed." if not changed else "Taken over: " + ", ".join(changed) + ".")
        return 0
    shop = stored_shop(store)
    if args.target:
        text = export_shop(shop)
        if args.target == "-":
            print(text, end="")
        else:
            Path(args.target).write_text(text, encoding="utf-8")
        return 0
    if not shop.sumps:
        print('No shop is set up. Take one over with "sumpside shop --import FILE", or just start talking.')
    for row in shop.sumps.values():
        print(f"{row.get('name') or row['id']}: {row.get('written', {}).get('volume', 'volume not entered')}")
    return 0
