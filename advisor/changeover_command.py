"""``sumpside changeover``: a sump is changed to another product or to other metals."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.logbook.changeover import Plan
    from advisor.logbook.desk import Desk
    from advisor.logbook.readings import Record

_EXAMPLES = """examples:
  sumpside changeover mill 1 --to demo_synthetic   the plan, cautions first
  sumpside changeover mill 1 --metals magnesium    the same product
  sumpside changeover mill 1                             how far it is
  sumpside changeover mill 1 --done 1 --says "fits" --document "letter 7"
  sumpside changeover mill 1 --done 4,5
  sumpside changeover mill 1 --leave 9 --reason "new machine" --who sup
  sumpside changeover mill 1 --filled --window 5-8% --target 6% --who sup
  sumpside changeover mill 1 --finish --who sup
"""


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``changeover`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "changeover",
        help="a sump is changed to another product or metal",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("sump", nargs="*", metavar="WORD", help="the sump")
    parser.add_argument("--to", metavar="PRODUCT", help="the new product")
    parser.add_argument("--metals", metavar="LIST", help="all metals cut from now on")
    parser.add_argument("--done", metavar="N,…", help="steps of the plan that are done")
    parser.add_argument("--says", help="with --done: what the supplier answered")
    parser.add_argument("--document", help="with --done: where that answer stands")
    parser.add_argument("--note", help="with --done: a few words")
    parser.add_argument("--leave", metavar="N", type=int, help="leave a step out, with --reason")
    parser.add_argument("--filled", action="store_true", help="the new charge is in; the shop takes it")
    parser.add_argument("--window", metavar="RANGE", help="with --filled: where not the data sheet's")
    parser.add_argument("--target", metavar="STRENGTH", help="with --filled: the strength aimed for")
    parser.add_argument("--finish", action="store_true", help="all is done and read")
    parser.add_argument("--drop", action="store_true", help="it is not done after all, with --reason")
    parser.add_argument("--reason", help="why")
    parser.add_argument("--why", action="store_true", help="with the source of each step")
    parser.add_argument("--who", default="operator", help="your sign or role")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    return parser


def run(args: argparse.Namespace) -> int:
    """Plan, tick, finish, drop, or show."""
    from advisor.logbook.changeover import all_under_way, headline
    from advisor.logbook.desk import open_desk

    desk = open_desk(args.demo)
    with desk.store:
        if not args.sump:
            begun = all_under_way(desk)
            for made in begun:
                print(f"{headline(desk, made)}: {len(made.done)} of {len(made.steps)} steps done")
            if not begun:
                print("No changeover is under way. Begin one:")
                print('"sumpside changeover mill 1 --to PRODUCT".')
            return 0
        _one(desk, desk.sump_only(args.sump), args)
    return 0


def _one(desk: Desk, sump: str, args: argparse.Namespace) -> None:
    from advisor.logbook import changeover

    if args.to or args.metals:
        _begin(desk, sump, args)
        return
    made = changeover.needed(desk, sump)
    if args.done:
        rows = changeover.tick(
            made, _numbers(args.done), desk.time, says=args.says, document=args.document, note=args.note
        )
        _keep(desk, rows, args.who)
    elif args.leave is not None:
        row = changeover.leave_out(desk, made, args.leave, desk.time, args.who, args.reason)
        _keep(desk, [row], args.who)
    elif args.filled:
        _filled(desk, made, args)
    elif args.finish:
        _finish(desk, made, args)
        return
    elif args.drop:
        _drop(desk, made, args)
        return
    _show(desk, changeover.needed(desk, sump), args)


def _numbers(said: str) -> list[int]:
    found = re.findall(r"\d+", said)
    if not found or re.search(r"[^\d,;\s]", said):
        raise BadInput(f"{said!r} names no steps", value=said, right="Write them like 4 or 4,5.")
    return list(dict.fromkeys(int(number) for number in found))


def _keep(desk: Desk, rows: list[Record], who: str) -> None:
    desk.book.enter((), rows, time=desk.time, who=who, how="changeover")


def _begin(desk: Desk, sump: str, args: argparse.Namespace) -> None:
    from advisor.drum_command import product_of
    from advisor.logbook import changeover

    before = changeover.under_way(desk, sump)
    if before is not None:
        what = f"a changeover of {changeover.headline(desk, before)} is under way"
        raise BadInput(what, value=sump, right="Finish it with --finish, or drop it with --drop --reason.")
    to = product_of(desk, [args.to]) if args.to else None
    metals = [word.strip().casefold().replace(" ", "_") for word in (args.metals or "").split(",")]
    made = changeover.plan(desk, sump, to, [metal for metal in metals if metal])
    _keep(desk, [changeover.planned(made, desk.time)], args.who)
    from advisor.logbook.morning import wrapped

    print("\n".join(row[2:] for row in wrapped(f"{changeover.headline(desk, made)}: the plan is on record.")))
    _mind(desk, made, args.why)
    _show(desk, made, args)


def _mind(desk: Desk, made: Plan, why: bool) -> None:
    from advisor.logbook.changeover import cautions
    from advisor.logbook.morning import wrapped

    held = cautions(desk, made)
    if held:
        print("\nFIRST MIND THIS")
    for level, text, source in held:
        stop = "STOP. " if level in ("emergency", "stop") else ""
        tail = f" [{source}]" if why else ""
        print("\n".join(wrapped(f"- {stop}{text}{tail}")))
    last = "The safety data sheets, local rules and your safety officer come first."
    print("\n".join(wrapped(last)))


def _show(desk: Desk, made: Plan, args: argparse.Namespace) -> None:
    import textwrap

    from advisor.logbook.changeover import headline, lines
    from advisor.logbook.reading_lines import printable

    head = f"{headline(desk, made)}: {len(made.done)} of {len(made.steps)} steps done"
    print("\n" + textwrap.fill(printable(head), 79))
    for line in lines(desk, made, why=args.why):
        print(textwrap.fill(printable(line), 79, subsequent_indent=" " * 7, break_on_hyphens=False))
    if not made.left:
        close = f'"sumpside changeover {desk.name(made.sump)} --finish --who SIGN"'
        print(f"All done. A supervisor closes it: {close}.")


def _filled(desk: Desk, made: Plan, args: argparse.Namespace) -> None:
    from advisor.logbook import changeover

    row = changeover.filled(desk, made, desk.time, args.who, args.window, args.target)
    shop_row = changeover.changed_row(desk, made, args.window, args.target)
    _put(desk, made.sump, shop_row, args.who)  # before it is ticked: done twice it does no harm
    _keep(desk, [row], args.who)
    print(f"{changeover.headline(desk, made)}: filled; the shop reckons with it from now on.")
    if not args.window:
        print("Its window is now that of the new product's data sheet.")


def _finish(desk: Desk, made: Plan, args: argparse.Namespace) -> None:
    from advisor.logbook import changeover
    from advisor.logbook.records import record

    changeover.refuse_unready(desk, made, args.who)
    shop_row = changeover.changed_row(desk, made, args.window, args.target) if made.to is None else None
    data = {"phase": "finished", "to": made.to, "metals": list(made.metals) or None}
    if shop_row is not None:
        _put(desk, made.sump, shop_row, args.who)
    _keep(desk, [record("changeover", made.sump, desk.time, data)], args.who)
    print(f"{changeover.headline(desk, made)}: done, and in the shop's book.")
    print(f'Print its new sign: "sumpside card --sump \'{desk.name(made.sump)}\'".')


def _put(desk: Desk, sump: str, row: dict[str, Any], who: str) -> None:
    desk.store.put_row("sump", sump, row, time=desk.time, who=who)
    desk.shop.sumps[sump] = row


def _drop(desk: Desk, made: Plan, args: argparse.Namespace) -> None:
    from advisor.logbook.changeover import headline
    from advisor.logbook.records import record

    if not args.reason:
        raise BadInput("why is it dropped?", right="Say it with --reason.")
    row = record("changeover", made.sump, desk.time, {"phase": "dropped", "note": args.reason})
    _keep(desk, [row], args.who)
    print(f"{headline(desk, made)}: dropped. What was done stays on record.")
