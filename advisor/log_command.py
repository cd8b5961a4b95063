"""``sumpside log``: readings of a sump in one line, listed, corrected; and the logbook looked after.

``log SUMP READING PH …`` writes, ``log SUMP`` lists, ``log verify|backup|restore|erase|export-case`` look
after the file.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput, UnknownId

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.line import Drafted
    from advisor.logbook.readings import Context, Reading

UPKEEP = ("verify", "backup", "restore", "erase", "export-case")
LISTED = 20
_BEGUN = "{sump} is new in the shop; what it holds and its product can be entered later."
_EXAMPLES = """examples:
  sumpside log 14 6.5 9.1                 reading on the glass 6.5, pH 9.1
  sumpside log mill 1 6.5 brix ph 9.1 level 80%
  sumpside log mill 1 - 9.1 bit of foam   pH alone, and what was seen
  sumpside log mill 1 added 20 L at 2 %
  sumpside log mill 1 missed nitrite: no strips
  sumpside log mill 1                     what is in the book, with numbers
  sumpside log mill 1 9.2 --correct 41 --reason "strip read too early"
  sumpside log verify|backup|restore|erase|export-case ...
"""


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``log`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "log",
        help="write down or list readings; check, copy and export the logbook",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("words", nargs="*", metavar="WORD", help="sump, then reading and pH, or a line")
    parser.add_argument("--at", metavar="TIME", help="when it was measured; now when left out")
    parser.add_argument("--who", default="operator", help="your sign or role")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.add_argument("--new", action="store_true", help="begin a sump that the shop does not know yet")
    parser.add_argument("--sure", action="store_true", help="keep an unusual figure without being asked")
    parser.add_argument("--correct", type=int, metavar="N", help="this reading replaces reading N")
    parser.add_argument("--strike", metavar="N", help="reading N (or record rN) was none; it is struck out")
    parser.add_argument("--reason", help="why it is corrected or struck out")
    parser.add_argument("--point", default="", help="where the sample was taken")
    parser.add_argument("--method", default="", help="how: strip, meter, titration, dip slide")
    parser.add_argument("--instrument", default="", help="sign of the instrument")
    parser.add_argument("--zeroed", default="", metavar="DATE", help="when it was last set to zero")
    parser.add_argument("--sample", metavar="N", help="result of laboratory sample N, such as r5")
    parser.add_argument("--lot", default="", help="lot of the strip or slide")
    parser.add_argument("--approved", metavar="SIGN", help="who approved what was added")
    parser.add_argument("--all", action="store_true", help="list every reading, also corrected ones")
    parser.add_argument("--json", action="store_true", help="answer as JSON")
    parser.add_argument("--hash", help="with verify: a hash noted on a card")
    parser.add_argument("--without-words", action="store_true", help="with export-case: without typed words")
    return parser


def run(args: argparse.Namespace) -> int:
    """Write, list, correct, or look after the file."""
    if args.words and args.words[0] in UPKEEP:
        return _upkeep(args)
    if not args.words:
        right = 'Write "sumpside log 14 6.5 9.1" (sump, reading, pH); "sumpside log -h" shows more.'
        raise BadInput("which sump?", right=right)
    from advisor.logbook.desk import open_desk

    desk = open_desk(args.demo)
    with desk.store:
        return _at_desk(desk, args)


def _at_desk(desk: Desk, args: argparse.Namespace) -> int:
    if _for_all(desk, args.words):
        return _same_for_all(desk, args)
    sump, rest, fresh = _sump(desk, args)
    if args.strike is not None:
        return _strike(desk, sump, args)
    if fresh and not rest:
        desk.keep_sump(sump, args.who)
        print(_BEGUN.format(sump=args.words[0]))
    return _write(desk, sump, rest, args, fresh=fresh) if rest else _list(desk, sump, args)


def _upkeep(args: argparse.Namespace) -> int:
    """Hand over to the commands that look after the file."""
    from advisor.logbook import command

    parser = argparse.ArgumentParser(prog="sumpside")
    command.add_parser(parser.add_subparsers())
    more = (["--hash", args.hash] if args.hash else []) + (["--without-words"] if args.without_words else [])
    more += ["--sure"] if args.sure and args.words[0] == "erase" else []
    more += ["--demo"] if args.demo else []
    return command.run(parser.parse_args(["log", *args.words, *more]))


def _sump(desk: Desk, args: argparse.Namespace) -> tuple[str, list[str], bool]:
    """The sump meant, the words after it, and whether it is new.

    An unknown one is begun where nothing is set up, or where that is asked for; it is kept together with
    what is written of it, so that a line that is refused leaves no empty sump behind.
    """
    try:
        return *desk.sump_of(args.words), False
    except UnknownId as error:
        called = args.words[0]
        nothing_yet = not desk.shop.sumps and len(args.words) > 1
        if not (args.new or nothing_yet or _agreed(f"{error.sentence()}\nBegin {called!r} as a new sump?")):
            raise
    return desk.new_sump(called), list(args.words[1:]), True


def _agreed(question: str) -> bool:
    """Whether a person at a terminal says yes; without one, no."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return False
    try:
        return input(f"{question} (y/n) ").strip().casefold() in ("y", "yes", "j", "ja")
    except EOFError:
        return False


def _context(desk: Desk, args: argparse.Namespace) -> Context:
    from advisor.logbook.readings import Context

    zeroed = args.zeroed or (desk.zeroed(args.instrument) if args.instrument else "")
    return Context(
        who=args.who,
        sample_point=args.point,
        method=args.method,
        instrument=args.instrument,
        zeroed=zeroed,
        lot=args.lot,
    )


def _measured(desk: Desk, sump: str, args: argparse.Namespace) -> tuple[str, Context]:
    """When it was measured and how: a laboratory's result belongs to the time and place of its sample."""
    from advisor.logbook.moments import read_time
    from advisor.logbook.records import first_number, record_number
    from advisor.logbook.samples import method_of

    context = _context(desk, args)
    time = read_time(args.at, desk.now) if args.at else desk.time
    if not args.sample:
        return time, context
    row = desk.book.record(record_number(args.sample))
    if row.kind != "sample" or row.sump != sump:
        right = '"sumpside sample" lists those that are out.'
        raise BadInput(f"r{row.id} is no sample of {desk.name(sump)}", value=args.sample, right=right)
    point = context.sample_point or str(row.data.get("point") or "")
    made = replace(context, method=method_of(first_number(row)), sample_point=point)
    return (time if args.at else row.time), made


def _write(
    desk: Desk, sump: str, rest: Sequence[str], args: argparse.Namespace, *, fresh: bool = False
) -> int:
    """Keep what a line says; with a fresh sump, its row with it."""
    from advisor.logbook.line import draft

    time, context = _measured(desk, sump, args)
    drafted = draft(desk, sump, rest, time=time, context=context)
    if args.approved:
        drafted = _approved(desk, drafted, args.approved)
    if args.correct is not None:
        drafted = _correcting(desk, drafted, args)
    _settle_doubts(drafted.doubts, args.sure)
    begun = {sump: desk.shop.sumps[sump]} if fresh else {}
    entry = desk.book.enter(
        drafted.readings,
        drafted.records,
        time=desk.time,
        who=args.who,
        how="line",
        words=" ".join(rest),
        begun=begun,
    )
    numbers = [r.id for r in desk.book.of(sump, all_versions=True) if r.entry == entry.id]
    if args.json:
        print(json.dumps({"entry": entry.id, "readings": numbers, "notes": list(drafted.notes)}))
        return 0
    from advisor.logbook.reading_lines import entry_line

    if fresh:
        print(_BEGUN.format(sump=args.words[0]))
    print(entry_line(desk, sump, drafted, numbers))
    for note in drafted.notes:
        print(note)
    return 0


def _approved(desk: Desk, drafted: Drafted, sign: str) -> Drafted:
    """The draft with its additions approved by somebody who may."""
    from advisor.logbook.rights import refuse_without_right

    refuse_without_right(desk.shop, sign, "approve what is poured")
    signed = {"approved": sign}
    return replace(
        drafted,
        records=tuple(
            replace(r, data={**r.data, **signed}) if r.kind == "addition" else r for r in drafted.records
        ),
    )


def _settle_doubts(doubts: Sequence[str], sure: bool, agreed: Callable[[str], bool] | None = None) -> None:
    """Have each doubt confirmed, or write nothing.

    Raises:
        BadInput: somebody says no, or nobody is there to ask.
    """
    for doubt in () if sure else doubts:
        if not (agreed or _agreed)(f"{doubt} Is it so?"):
            right = "Nothing was written. Look again; if it is so, add --sure."
            raise BadInput(doubt.rstrip("."), right=right)


def _correcting(desk: Desk, drafted: Drafted, args: argparse.Namespace) -> Drafted:
    """The draft as a correction: one reading of the same kind, at the time of the one it replaces."""
    old = desk.book.reading(args.correct)
    if drafted.readings and drafted.readings[0].sump != old.sump:
        right = f"Write the sump it belongs to: {desk.name(old.sump)}."
        raise BadInput(f"reading {old.id} is of another sump", value=old.id, right=right)
    alike = [r for r in drafted.readings if r.observable == old.observable]
    if not alike and len(drafted.readings) == 1:
        alike = [_as(desk, drafted.readings[0], old)]
    if len(alike) != 1:
        name = desk.rules.observables[old.observable].name
        raise BadInput(f"reading {args.correct} is a {name}", value=args.correct, right=f"Give one {name}.")
    time = alike[0].time if args.at else old.time
    made = replace(alike[0], time=time, corrects=args.correct, reason=args.reason, mark=old.mark)
    return replace(drafted, readings=(made,), records=(), doubts=(), notes=())


def _as(desk: Desk, reading: Reading, old: Reading) -> Reading:
    """A bare number taken as what it corrects ("9.2" for a pH)."""
    from advisor.logbook.line import finish
    from advisor.logbook.plausible import refuse_impossible

    if reading.raw is None or reading.context.raw_unit != "°Bx":
        return reading
    unit = desk.rules.observables[old.observable].unit or ""
    bare = replace(reading.context, method="", factor=None, raw_unit="", low=None, high=None, source="")
    refuse_impossible(desk, old.observable, reading.raw)
    return finish(desk, reading.sump, reading.time, old.observable, reading.raw, unit, bare)


def _strike(desk: Desk, sump: str, args: argparse.Namespace) -> int:
    if args.strike.lower().startswith("r"):
        return _strike_record(desk, sump, args)
    if not args.strike.isdigit():
        right = '"sumpside log SUMP" lists readings, "sumpside audit SUMP" records (r12).'
        raise BadInput(f"{args.strike!r} is no number", value=args.strike, right=right)
    old = desk.book.reading(int(args.strike))
    struck = replace(old, sump=sump, result=None, raw=None, corrects=old.id, reason=args.reason)
    desk.book.enter([struck], time=desk.time, who=args.who, how="line")
    print(f"Reading {args.strike} is struck out; it stays in the book.")
    return 0


def _strike_record(desk: Desk, sump: str, args: argparse.Namespace) -> int:
    from advisor.logbook.records import record_number, struck

    old = desk.book.record(record_number(args.strike))
    if old.sump != sump:
        right = f'"sumpside audit {desk.name(sump)}" lists its records.'
        raise BadInput(f"record r{old.id} is not of {desk.name(sump)}", value=args.strike, right=right)
    desk.book.enter((), [struck(old, args.reason)], time=desk.time, who=args.who, how="line")
    print(f"Record r{old.id} is struck out; it stays in the book.")
    return 0


def _for_all(desk: Desk, words: Sequence[str]) -> bool:
    """Whether one figure is meant for every sump ("all 7", "7 for all")."""
    low = [word.casefold() for word in words]
    return (low[0] == "all" and len(low) > 1 and "all" not in desk.shop.sumps) or low[-2:] == ["for", "all"]


def _same_for_all(desk: Desk, args: argparse.Namespace) -> int:
    """Keep one figure put down for every sump, marked as no measurement."""
    from advisor.logbook.line import draft
    from advisor.logbook.moments import read_time
    from advisor.logbook.readings import NOT_MEASURED

    words = [word for word in args.words if word.casefold() not in ("all", "for", "put")]
    if not desk.shop.sumps:
        raise BadInput("the shop has no sumps yet", right="Write down one sump after the other.")
    time = read_time(args.at, desk.now) if args.at else desk.time
    made: list[Reading] = []
    for sump in desk.shop.sumps:
        drafted = draft(desk, sump, words, time=time, context=_context(desk, args))
        made += [replace(reading, mark=NOT_MEASURED) for reading in drafted.readings]
    desk.book.enter(made, time=desk.time, who=args.who, how="same for all", words=" ".join(args.words))
    count = len(desk.shop.sumps)
    print(
        f"One figure for {count} sumps is not a measurement. It is kept as said and marked so; "
        "no check counts as done by it, and no trend uses it. Read each sump, for example with "
        '"sumpside round".'
    )
    return 0


def _list(desk: Desk, sump: str, args: argparse.Namespace) -> int:
    from advisor.logbook.case_readings import take_over
    from advisor.logbook.reading_lines import list_lines, reading_json

    take_over(desk)
    limit = None if args.all else LISTED
    readings = desk.book.of(sump, limit=limit, all_versions=args.all)
    if args.json:
        print(json.dumps([reading_json(reading) for reading in readings], ensure_ascii=False))
        return 0
    print("\n".join(list_lines(desk, sump, readings, all_versions=args.all)))
    return 0
