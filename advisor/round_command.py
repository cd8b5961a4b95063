"""``sumpside round``: the sheet of all sumps, and its paper entered afterwards."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``round`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "round", help="a round of all sumps, on paper or typed"
    )
    parser.add_argument("--order", metavar="NAMES", help='walking order, such as "mill 1, lathe 2"; kept')
    parser.add_argument("--html", type=Path, metavar="FILE", help="the sheet as a page to print")
    parser.add_argument(
        "--enter", nargs="?", const="-", metavar="FILE",
        help='enter the paper: one sump to a line ("mill 1 6.5 9.1"), from a file or typed',
    )  # fmt: skip
    parser.add_argument("--at", metavar="TIME", help="when the round was walked; now when left out")
    parser.add_argument("--who", default="operator", help="who walked it")
    parser.add_argument("--instrument", default="", help="sign of the instrument")
    parser.add_argument("--zeroed", default="", metavar="DATE", help="when it was last set to zero")
    parser.add_argument("--sure", action="store_true", help="unusual or equal figures were really read")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    return parser


def run(args: argparse.Namespace) -> int:
    """Print the sheet, keep an order, or enter a round."""
    from advisor.logbook.desk import open_desk
    from advisor.logbook.rounds import keep_order, sheet, sheet_html, sheet_text

    desk = open_desk(args.demo)
    with desk.store:
        if args.order:
            order = keep_order(desk, [name for name in args.order.split(",") if name.strip()], args.who)
            print("Walking order: " + ", ".join(desk.name(sump) for sump in order) + ".")
            return 0
        if args.enter:
            return _enter(desk, args)
        if not desk.shop.sumps:
            right = 'Write down a first reading: "sumpside log 14 6.5 9.1".'
            raise BadInput("the shop has no sumps yet", right=right)
        if args.html:
            _write(args.html, sheet_html(desk, sheet(desk)))
        else:
            print("\n".join(sheet_text(desk, sheet(desk))))
    return 0


def _write(file: Path, text: str) -> None:
    try:
        file.write_text(text, encoding="utf-8")
    except OSError as error:
        what, right = f"{file} cannot be written ({error.strerror})", "Name a file that can be."
        raise BadInput(what, value=str(file), right=right) from error
    print(f"The sheet is in {file}; print it from a browser.")


def _lines(desk: Desk, source: str) -> Iterable[str]:
    if source != "-":
        try:
            return Path(source).read_text(encoding="utf-8", errors="replace").splitlines()
        except OSError as error:
            what, right = f"{source} cannot be read ({error.strerror})", "Name a text file."
            raise BadInput(what, value=source, right=right) from error
    return _typed(desk) if sys.stdin.isatty() else sys.stdin.read().splitlines()


def _typed(desk: Desk) -> Iterator[str]:
    """Ask for each sump in walking order; an empty line passes one over, an end of input ends the round."""
    from advisor.logbook.rounds import walking_order

    print("Reading, pH, and what was seen; empty to pass over, Ctrl-D when done.")
    for sump in walking_order(desk):
        try:
            said = input(f"{desk.name(sump)}: ").strip()
        except EOFError:
            return
        if said:
            yield f"{desk.name(sump)} {said}"


def _enter(desk: Desk, args: argparse.Namespace) -> int:
    from dataclasses import replace

    from advisor.logbook.moments import read_time
    from advisor.logbook.readings import Context
    from advisor.logbook.rounds import pails, read_round

    time = read_time(args.at, desk.now) if args.at else desk.time
    zeroed = args.zeroed or (desk.zeroed(args.instrument) if args.instrument else "")
    context = Context(who=args.who, instrument=args.instrument, zeroed=zeroed)
    lines = list(_lines(desk, args.enter))
    entered = read_round(desk, lines, time=time, context=context)
    if args.sure:
        entered = replace(entered, readings=tuple(replace(r, mark="") for r in entered.readings), flags=())
    problems = [*entered.bad, *(() if args.sure else entered.doubts)]
    if problems:
        right = "Nothing was written. Correct the lines; where a figure is really so, add --sure."
        raise BadInput("the round cannot be taken as it is:\n  " + "\n  ".join(problems), right=right)
    desk.book.enter(
        entered.readings, entered.records, time=desk.time, who=args.who, how="round", words="\n".join(lines)
    )
    print(f"{len(entered.sumps)} sumps, {len(entered.readings)} readings are in the book.")
    for flag in entered.flags:
        print(flag)
    poured = pails(desk, entered)
    if poured:
        from advisor.logbook.morning import wrapped

        print("\nPAILS")
        for line in poured:
            print("\n".join(wrapped(line)))
    return 0
