"""``sumpside today``: the shop in the morning."""

from __future__ import annotations

import argparse
import json
from typing import Any


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``today`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "today", help="what is due, out of limits, left open"
    )
    parser.add_argument("--why", action="store_true", help="with the source of each interval and limit")
    parser.add_argument("--all", action="store_true", help="every line, nothing cut short")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.add_argument("--json", action="store_true", help="answer as JSON")
    return parser


def run(args: argparse.Namespace) -> int:
    """Print the morning screen."""
    from advisor.logbook.desk import open_desk
    from advisor.logbook.morning import lines, morning, morning_json

    desk = open_desk(args.demo)
    with desk.store:
        seen = morning(desk)
        if args.json:
            print(json.dumps(morning_json(desk, seen), ensure_ascii=False))
        else:
            print("\n".join(lines(desk, seen, why=args.why, everything=args.all)))
    return 0
