"""``sumpside fixes``: recipes and what came of them, for the supervisor."""

from __future__ import annotations

import argparse
import json
from collections import Counter
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.fixes import Bias, Fix, Volume


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``fixes`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("fixes", help="recipes, and whether they worked")
    parser.add_argument("sump", nargs="*", help="one sump only")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.add_argument("--json", action="store_true", help="answer as JSON")
    return parser


def run(args: argparse.Namespace) -> int:
    """Print the table of fixes, volumes told by them, and instruments they speak against."""
    from advisor.logbook.desk import open_desk
    from advisor.logbook.fixes import biases, fixes, volumes

    desk = open_desk(args.demo)
    with desk.store:
        sump = desk.sump_of(args.sump)[0] if args.sump else None
        found = fixes(desk, sump)
        told, suspected = volumes(desk, found), biases(found)
        if args.json:
            print(json.dumps(_json(found, told, suspected), ensure_ascii=False))
        else:
            print("\n".join(report(desk, found, told, suspected)))
    return 0


def _json(found: list[Fix], told: list[Volume], suspected: list[Bias]) -> dict[str, Any]:
    return {
        "fixes": [{**asdict(fix), "verdict": fix.verdict} for fix in found],
        "volumes": [{**asdict(v), "low": v.low, "high": v.high} for v in told],
        "suspected": [asdict(bias) for bias in suspected],
    }


def report(desk: Desk, found: list[Fix], told: list[Volume], suspected: list[Bias]) -> list[str]:
    """The screen as lines."""
    from advisor.logbook.morning import wrapped
    from advisor.logbook.reading_lines import printable
    from advisor.showing import local_time

    if not found:
        return ["No recipe with its steps ticked is in the book yet."]
    counts = Counter(fix.verdict for fix in found)
    made = [f"{len(found)} fixes: " + ", ".join(f"{n} {verdict}" for verdict, n in counts.most_common()), ""]
    made.append(f"{'date':<11}{'case':>5}  {'sump':<18}{'before':>7}{'promised':>16}{'read':>8}  came out")
    for fix in found:
        span = f"{100 * fix.predicted:.1f} ({100 * fix.low:.1f}-{100 * fix.high:.1f})"
        before = "" if fix.before is None else f"{100 * fix.before:.1f}"
        read = "" if fix.measured is None else f"{100 * fix.measured:.1f}"
        name = desk.name(fix.sump)[:17]
        number = fix.case or f"r{fix.advice}"
        date = local_time(fix.time)[:10]
        row = f"{date:<11}{number:>5}  {name:<18}{before:>7}{span:>16}{read:>8}  {fix.verdict}"
        made.append(printable(row))
    made.append("strengths in per cent; in brackets the range that should hold 9 times in 10")
    for bias in suspected:
        way = "high" if bias.miss > 0 else "low"
        sentence = (
            f"{bias.instrument} is suspected to read {way}: about {100 * abs(bias.miss):.1f} points in "
            f"{bias.sumps} sumps alike. Set it to zero, check it on a known mix, then read again; the "
            "volumes below wait for that."
        )
        made += ["", *wrapped(printable(sentence))]
    return made + _volumes(desk, told)


def _volumes(desk: Desk, told: list[Volume]) -> list[str]:
    from advisor.logbook.reading_lines import printable
    from advisor.showing import volume

    made = ["", "WORKING VOLUMES"] if told else []
    for one in told:
        value, low, high, entered = (
            volume(litres, desk.system) for litres in (one.value, one.low, one.high, one.entered)
        )
        agrees = one.low <= one.entered <= one.high
        tail = "agrees with the entry" if agrees else "enter this one in the shop file"
        plural = "fix" if one.fixes == 1 else "fixes"
        count = f"{one.fixes} {plural}"
        row = f"  {desk.name(one.sump)}: {value} ({low} to {high}) from {count}, entered {entered}: {tail}"
        made.append(printable(row))
    return made
