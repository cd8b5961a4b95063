"""``sumpside sample`` and ``sumpside zero``: a sample with its label, an instrument set to zero."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from advisor.daily_commands import correctable, keep_record
from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

POINTS = ("nozzle", "mid_depth", "surface", "return")
_EXAMPLES = """examples:
  sumpside sample mill 1 --test "pH, germs, nitrite" --point nozzle
  sumpside sample mill 1 --test metals --label sample.html   its label
  sumpside sample                              how to take one; which are out
  sumpside log mill 1 nitrite 12 --sample r5   its result
"""


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``sample`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "sample",
        help="a sample for a laboratory, with its label",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("sump", nargs="*", metavar="WORD", help="the sump")
    parser.add_argument("--test", metavar="TESTS", help='what for, such as "pH, germs, nitrite"')
    parser.add_argument("--point", help=f"where it was taken: {', '.join(POINTS)}")
    parser.add_argument("--at", metavar="TIME", help="when it was taken; now when left out")
    parser.add_argument("--why", help="what it is about, in a few words")
    parser.add_argument("--laboratory", metavar="NAME", help="who tests it")
    parser.add_argument("--label", metavar="FILE", help="write the label as a page to print")
    parser.add_argument("--who", default="operator", help="who took it: sign or role")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.set_defaults(part="sample")
    return correctable(parser)


def add_zero_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``zero`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "zero",
        help="an instrument was set to zero",
        epilog="Readings written with --instrument of that sign then carry the time of its last zero.",
    )
    parser.add_argument("instrument", nargs="*", help="its sign, such as R2")
    parser.add_argument("--water", metavar="BRIX", help="what it showed on water before")
    parser.add_argument("--who", default="operator", help="your sign or role")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.set_defaults(part="zero", correct=None, reason=None)
    return parser


def run(args: argparse.Namespace) -> int:
    """Take down a sample or a zero."""
    from advisor.logbook.desk import open_desk

    desk = open_desk(args.demo)
    with desk.store:
        if args.part == "zero":
            _zero(desk, args)
        elif args.sump:
            _sample(desk, args)
        else:
            _how(desk)
    return 0


def _how(desk: Desk) -> None:
    from advisor.logbook.morning import wrapped
    from advisor.logbook.samples import waiting, waiting_lines
    from advisor.logbook.worklists import worklists

    print("A sample for a laboratory:")
    for step in worklists()["samples"]["steps"]:
        print("\n".join(wrapped(f"- {step['text']} [{desk.cite(step['sources'])}]")))
    out = waiting(desk)
    if out:
        print("Out, without a result:")
    for line in waiting_lines(desk, out):
        print("\n".join(wrapped(line)))


def _sample(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.moments import read_time
    from advisor.logbook.morning import wrapped
    from advisor.logbook.samples import label, named_tests, sources

    sump = desk.sump_only(args.sump)
    if args.point and args.point.casefold().replace(" ", "_") not in POINTS:
        right = f"Use {', '.join(POINTS)}."
        raise BadInput(f"{args.point!r} is no sample point", value=args.point, right=right)
    data = {
        "tests": named_tests(args.test or "") if args.test or not args.correct else None,
        "point": args.point.casefold().replace(" ", "_") if args.point else None,
        "taken_by": None if args.correct else args.who,
        "why": args.why,
        "laboratory": args.laboratory,
        "lot": desk.lot(desk.shop.sumps.get(sump, {}).get("product")),
    }
    row = keep_record(desk, "sample", sump, data, args, read_time(args.at, desk.now) if args.at else None)
    rows = label(desk, row)
    for name, value in rows:
        print("\n".join(line[2:] for line in wrapped(f"{name + ':':<9}{value}")))
    if not row.data.get("point"):
        print("Where it was taken is not said: --point nozzle.")
    if args.label:
        from advisor.reports.label import label_page
        from advisor.reports.page import write

        write(args.label, label_page(f"Sample r{row.id}", rows, sources(desk, row)))
        print(f"The label is in {args.label}; print it from a browser.")
    print("\n".join(line[2:] for line in wrapped(sources(desk, row))))


def _zero(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.quantities import parse

    sign = " ".join(args.instrument)
    if not sign:
        raise BadInput("which instrument?", right='Write its sign: "sumpside zero R2".')
    shows = parse(args.water, "°Bx").value if args.water else None
    keep_record(desk, "zeroed", "", {"instrument": sign, "shows": shows}, args)
    off = f" It showed {shows:g} on water: readings since its last zero were off by that." if shows else ""
    print(f"{sign} is set to zero, on record.{off}")
