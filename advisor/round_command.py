"""``sumpside round``: the sheet of all sumps, and its paper entered afterwards."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.kept_answers import KeptAnswers
    from advisor.logbook.readings import Context, Reading


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


def _lines(source: str) -> list[str]:
    """The lines of a file, or of what is piped in."""
    if source == "-":
        return sys.stdin.read().splitlines()
    try:
        return Path(source).read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError as error:
        what, right = f"{source} cannot be read ({error.strerror})", "Name a text file."
        raise BadInput(what, value=source, right=right) from error


def _typed(desk: Desk, kept: KeptAnswers, time: str, context: Context) -> list[str]:
    """Ask for each sump in walking order; an empty line passes one over, an end of input ends the round.

    A line that cannot be, or is doubted and not confirmed, is asked for again at once.
    """
    from advisor.logbook.rounds import read_round, walking_order
    from advisor.terminal.asked import asked

    print('Reading, pH, and what was seen; empty to pass over, "q" or Ctrl-D when done.')
    if kept.waiting:
        from advisor.logbook.moments import show_day

        began = show_day(kept.begun, desk.now)
        print(f"The round begun {began} goes on; {kept.waiting} of its answers are kept.")
        print(f"To begin a new one instead, press Ctrl-C and delete {kept.path}.")
    lines: list[str] = []
    for sump in walking_order(desk):
        name = desk.name(sump)

        def will_do(said: str, name: str = name) -> bool:
            seen = read_round(desk, [f"{name} {said}"] if said.strip() else [], time=time, context=context)
            for problem in (*(bad.partition(": ")[2] for bad in seen.bad), *seen.doubts):
                print(f"  {problem}")
            return not seen.bad and (not seen.doubts or _agreed())

        try:
            said = kept.ask(f"{name}: ", asked, will_do).strip()
        except EOFError:
            break
        if said:
            lines.append(f"{name} {said}")
    return lines


def _agreed() -> bool:
    return input("  Was it really so? (y/n) ").strip().casefold() in ("y", "yes", "j", "ja")


def _enter(desk: Desk, args: argparse.Namespace) -> int:
    from advisor.logbook.kept_answers import KeptAnswers
    from advisor.logbook.moments import read_time
    from advisor.logbook.place import book_place
    from advisor.logbook.readings import Context

    by_hand = args.enter == "-" and sys.stdin.isatty()
    kept = KeptAnswers(book_place(args.demo).folder, "round", desk.time) if by_hand else None
    time = read_time(args.at, desk.now) if args.at else kept.begun if kept else desk.time
    zeroed = args.zeroed or (desk.zeroed(args.instrument) if args.instrument else "")
    context = Context(who=args.who, instrument=args.instrument, zeroed=zeroed)
    try:
        lines = _typed(desk, kept, time, context) if kept else _lines(args.enter)
        if kept and not lines:
            kept.done()
            print("Nothing was typed, so nothing is written.")
            return 0
        again = bool(kept and kept.waiting)
        _keep(desk, args, lines, time, context, sure=args.sure or by_hand, again=again)
    except KeyboardInterrupt:
        print("\nStopped. What was typed is kept for the next `sumpside round --enter`.")
        return 1
    if kept:
        kept.done()
    return 0


def _keep(
    desk: Desk,
    args: argparse.Namespace,
    lines: list[str],
    time: str,
    context: Context,
    *,
    sure: bool,
    again: bool,
) -> None:
    """Write a round, and say what to pour; `sure`: doubts are settled, `again`: it goes on from before."""
    from dataclasses import replace

    from advisor.logbook.rounds import advice_records, advise, read_round

    entered = read_round(desk, lines, time=time, context=context)
    if args.sure:
        entered = replace(entered, readings=tuple(replace(r, mark="") for r in entered.readings), flags=())
    problems = [*entered.bad, *(() if sure else entered.doubts)]
    if problems:
        right = "Nothing was written. Correct the lines; where a figure is really so, add --sure."
        raise BadInput("the round cannot be taken as it is:\n  " + "\n  ".join(problems), right=right)
    words = "\n".join(lines)
    if again and _written(desk, entered.readings, words):
        print("This round is in the book already.")
        return
    advice = advise(desk, entered)
    rows = advice_records(advice, desk.time)
    records = [*entered.records, *rows]
    desk.book.enter(entered.readings, records, time=desk.time, who=args.who, how="round", words=words)
    sumps, count = len(entered.sumps), len(entered.readings)
    print(f"{sumps} sump{'s' * (sumps != 1)}, {count} reading{'s' * (count != 1)} are in the book.")
    for flag in entered.flags:
        print(flag)
    if advice:
        from advisor.logbook.morning import wrapped

        print("\nPAILS")
        for one in advice:
            print("\n".join(wrapped(one.line)))
    if rows:
        print('\nCount what goes in with "sumpside pails SUMP N"; the next reading tells whether it')
        print("worked.")


def _written(desk: Desk, readings: Sequence[Reading], words: str) -> bool:
    """Whether a round that goes on was written just before the program was ended."""
    if not readings:
        return False
    first = readings[0]
    there = desk.book.of(first.sump, first.observable, since=first.time)
    return any(r.time == first.time and desk.book.words(r.entry or 0) == words for r in there)
