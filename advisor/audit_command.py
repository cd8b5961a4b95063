"""``sumpside audit SUMP --from --to``: the record of one sump, printed for an auditor."""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict
from typing import Any


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``audit`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "audit", help="the record of a sump, for an auditor"
    )
    parser.add_argument("sump", nargs="*", metavar="WORD", help="the sump")
    parser.add_argument("--shop", action="store_true", help="what belongs to no sump: drums, prices …")
    parser.add_argument("--from", dest="since", metavar="DATE", help="first day; 90 days back when left out")
    parser.add_argument("--to", dest="until", metavar="DATE", help="last day, itself included")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.add_argument("--json", action="store_true", help="answer as JSON")
    return parser


def run(args: argparse.Namespace) -> int:
    """Print the record. Exit code 1 when a record was changed after it was written."""
    from advisor.errors import BadInput
    from advisor.logbook.audit import audit, period
    from advisor.logbook.audit_text import lines
    from advisor.logbook.desk import open_desk
    from advisor.logbook.reading_lines import reading_json

    desk = open_desk(args.demo)
    with desk.store:
        if not args.sump and not args.shop:
            raise BadInput("which sump?", right='Name it, or add --shop for what belongs to no sump.')
        sump = "" if args.shop else desk.sump_only(args.sump)
        seen = audit(desk, sump, *period(desk, args.since, args.until))
        if args.json:
            held = {
                "sump": sump,
                "from": seen.since,
                "to": seen.until,
                "readings": [reading_json(reading) for reading in seen.readings],
                "records": [asdict(record) for record in seen.records],
                "cases": [asdict(row) for row, _ in seen.cases],
                "shop": [asdict(record) for record in seen.shop],
                "late": [asdict(gap) for gap in seen.gaps],
                "changes": [asdict(one) for one in seen.changes],
                "fixes": [{**asdict(fix), "verdict": fix.verdict} for fix in seen.fixes],
                "problems": list(seen.problems),
                "seal": seen.head,
            }
            print(json.dumps(held, ensure_ascii=False))
        else:
            print("\n".join(lines(desk, seen)))
    return 1 if seen.problems else 0
