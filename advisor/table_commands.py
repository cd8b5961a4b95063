"""``sumpside import`` and ``sumpside export``: readings as tables, in and out."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Callable

    from advisor.logbook.desk import Desk
    from advisor.logbook.table_import import Taken

SHOWN = 20
#: Signs in the bar that shows how far an import is.
BAR = 40


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``import`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("import", help="readings from a CSV file")
    parser.add_argument("file", type=Path)
    parser.add_argument(
        "--map", action="append", default=[], metavar="HEADING=MEANING",
        help="what a column means: sump, time, date, clock, who, skip, how it was got "
        "(sample_point, method, instrument, zeroed, lot), or a figure with its unit, such as "
        '"Conc=concentration:%%"; kept for the next table with the same headings',
    )  # fmt: skip
    parser.add_argument("--new", action="store_true", help="begin sumps that the shop does not know")
    parser.add_argument("--month-first", action="store_true", help="03/04/2025 is the fourth of March")
    parser.add_argument("--check", action="store_true", help="read and report, write nothing")
    parser.add_argument("--left-out", type=Path, metavar="FILE", help="write the bad rows with reasons (CSV)")
    parser.add_argument("--who", default="operator", help="who measured, where the table does not say")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.set_defaults(part="import")
    return parser


def add_export_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``export`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("export", help="readings to CSV, JSON or Parquet")
    parser.add_argument("file", help='file ending in .csv, .json or .parquet ("-": CSV to the screen)')
    parser.add_argument("--sump", nargs="+", metavar="NAME", help="one sump only")
    parser.add_argument("--from", dest="since", metavar="DATE", help="from this day on")
    parser.add_argument("--to", dest="until", metavar="DATE", help="up to this day, itself included")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.set_defaults(part="export")
    return parser


def run(args: argparse.Namespace) -> int:
    """Do what was asked."""
    from advisor.logbook.desk import open_desk

    desk = open_desk(args.demo)
    with desk.store:
        return _import(desk, args) if args.part == "import" else _export(desk, args)


def _said(pairs: list[str]) -> dict[str, str]:
    said = {}
    for pair in pairs:
        heading, equals, meaning = pair.rpartition("=")
        if not equals or not heading or not meaning:
            raise BadInput(f"{pair!r} maps nothing", value=pair, right='Write it like --map "pH value=ph".')
        said[heading.strip()] = meaning.strip()
    return said


def _ask(heading: str) -> str:
    from advisor.terminal.asked import asked

    return asked(f"What is the column {heading!r}? (sump, time, ph, concentration:% …; empty: skip) ")


def _import(desk: Desk, args: argparse.Namespace) -> int:
    from advisor.logbook.table_columns import columns, keep_meanings
    from advisor.logbook.table_import import Taking, read_table, without_known

    table = read_table(args.file)
    headings = table.headings
    said = _said(args.map)
    asked: dict[str, str] = {}

    def ask(heading: str) -> str:
        asked[heading] = _ask(heading).strip() or "skip"
        return asked[heading]

    alone = not (sys.stdin.isatty() and sys.stdout.isatty())
    meanings = columns(desk, headings, said, None if alone else ask)
    taking = Taking(desk, meanings, who=args.who, new=args.new, day_first=not args.month_first)
    taken = without_known(desk, taking.take(table, _progress("reading")))
    if not args.check:
        keep_meanings(desk, headings, {**said, **asked}, args.who)
    if taken.readings and not args.check:
        named = {reading.sump for reading in taken.readings}
        # a name whose every row was bad is no sump; the others begin together with their readings
        begun = {sump: desk.shop.sumps[sump] for sump in taking.begun if sump in named}
        written = _progress("writing")
        desk.book.enter(
            taken.readings, time=desk.time, who=args.who, how="import", begun=begun, progress=written
        )
    _report(taken, args, [c.heading for c in meanings if c.meaning == "skip"])
    if taken.bad and args.left_out:
        _write_left_out(taken, headings, args.left_out)
    return 0


def _progress(doing: str) -> Callable[[float], None] | None:
    """A bar that fills, where somebody looks at it."""
    if not sys.stderr.isatty():
        return None

    def told(share: float) -> None:
        full = int(BAR * share)
        bar = "#" * full + "." * (BAR - full)
        print(f"\r{doing} [{bar}] {100 * share:3.0f} %", end="", file=sys.stderr, flush=True)

    return told


def _report(taken: Taken, args: argparse.Namespace, skipped: list[str]) -> None:
    where = "Would go into the book" if args.check else "Now in the book"
    rows = taken.rows - len(taken.bad)
    if sys.stderr.isatty():
        print(f"\r{' ' * (BAR + 20)}\r", end="", file=sys.stderr, flush=True)
    print(f"{where}: {_many(len(taken.readings), 'reading')} of {_many(rows, 'row')}.")
    if taken.known:
        what = "in the book already, or twice in the table"
        print(f"{_many(taken.known, 'reading')} not taken again: {what}.")
    if taken.empty:
        print(f"Without a figure: {_many(taken.empty, 'row')}.")
    if skipped:
        print(f"Columns not used: {', '.join(skipped)}.")
    if taken.bad:
        print(f"{_many(len(taken.bad), 'row')} left out:")
        for bad in taken.bad[:SHOWN]:
            print(f"  line {bad.line}: {bad.why}")
        if len(taken.bad) > SHOWN:
            print(f"  and {len(taken.bad) - SHOWN} more; --left-out FILE writes them all.")


def _many(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what}s"


def _write_left_out(taken: Taken, headings: list[str], file: Path) -> None:
    import csv

    from advisor.logbook.table_export import safe_cell

    with _writable(file) as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow([*map(safe_cell, headings), "line", "why"])
        for bad in taken.bad:
            writer.writerow([*map(safe_cell, bad.cells), bad.line, safe_cell(bad.why)])
    print(f"They are in {file}.")


def _writable(file: Path) -> Any:
    try:
        return file.open("w", encoding="utf-8", newline="")
    except OSError as error:
        what, right = f"{file} cannot be written ({error.strerror})", "Name a file that can be."
        raise BadInput(what, value=str(file), right=right) from error


def _export(desk: Desk, args: argparse.Namespace) -> int:
    from datetime import timedelta

    from advisor.logbook.case_readings import take_over
    from advisor.logbook.moments import moment, read_time, stamp
    from advisor.logbook.table_export import write_csv, write_json, write_parquet

    take_over(desk)

    def start(text: str) -> Any:
        return moment(read_time(f"{text} 00:00", desk.now))

    since = stamp(start(args.since)) if args.since else None
    last = start(args.until).astimezone(desk.now.tzinfo) + timedelta(days=1) if args.until else None
    until = stamp(last) if last else None
    if args.sump:
        sump, _ = desk.sump_of(args.sump)
        readings: Any = desk.book.of(sump, since=since, until=until)
    else:
        readings = desk.book.every(since, until)
    if args.file == "-":
        write_csv(desk, readings, sys.stdout)
        return 0
    file = Path(args.file)
    if file.suffix == ".parquet":
        count = write_parquet(desk, readings, file)
    elif file.suffix in (".csv", ".json"):
        with _writable(file) as out:
            count = (write_csv if file.suffix == ".csv" else write_json)(desk, readings, out)
    else:
        right = "End it in .csv, .json or .parquet."
        raise BadInput(f"{file.name!r} does not say which form is wanted", value=args.file, right=right)
    print(f"{count} readings are in {file}.")
    return 0
