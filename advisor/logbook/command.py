"""``sumpside log verify|backup|restore|export-case``: the logbook looked after by hand."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput
from advisor.logbook.book import ReadingBook
from advisor.logbook.place import book_place
from advisor.logbook.store import open_store
from advisor.logbook.tables import TableStore
from advisor.logbook.upkeep import back_up, case_json, check, restore

if TYPE_CHECKING:
    import argparse


def add_parser(subparsers: Any) -> argparse.ArgumentParser:
    """Add ``log`` and its own commands to the program's parser; `run` does what was asked."""
    log: argparse.ArgumentParser = subparsers.add_parser("log", help="check, copy and export the saved cases")
    log.set_defaults(run=run)
    commands = "verify|backup|restore|erase|export-case"
    doing = log.add_subparsers(dest="log_command", required=True, metavar=commands)
    verifying = doing.add_parser("verify", help="check that no saved case was changed")
    verifying.add_argument("case", nargs="*", type=int, help="case numbers; all when none is given")
    verifying.add_argument("--hash", metavar="HASH", help="a hash noted on a card, which must be among them")
    backing = doing.add_parser("backup", help="write a copy of the logbook, also while it is in use")
    backing.add_argument("file", type=Path)
    restoring = doing.add_parser("restore", help="bring a copy back; the present logbook is kept beside it")
    restoring.add_argument("file", type=Path)
    erasing = doing.add_parser(
        "erase", help="take what was typed out for good: of a case, of one of its lines, or a name everywhere"
    )
    erasing.add_argument("what", nargs="+", metavar="CASE [LINE] | entry NUMBER | NAME")
    erasing.add_argument("--sure", action="store_true", help="without asking")
    exporting = doing.add_parser("export-case", help="one case as JSON, events and words")
    exporting.add_argument("case", type=int)
    exporting.add_argument("file", nargs="?", type=Path, help="where to write it; the screen when left out")
    exporting.add_argument("--without-words", action="store_true", help="leave out what persons typed")
    for each in (verifying, backing, restoring, erasing, exporting):
        each.add_argument("--demo", action="store_true", help="the demo shop's cases")
    return log


def run(args: argparse.Namespace) -> int:
    """Do one ``log`` command. Exit code 0, or 1 when `verify` found something.

    Raises:
        BadInput, StoreTrouble: for the caller to print.
    """
    place = book_place(getattr(args, "demo", False))
    if args.log_command == "restore":
        aside = restore(args.file, place)
        print(f"{args.file} is the logbook now." + (f" The former one is {aside}." if aside else ""))
        return 0
    with open_store(place) as store:
        if args.log_command == "verify":
            book = ReadingBook(store)
            problems = check(store, args.case or None, noted=args.hash) + book.check()
            return _verify(problems, len(args.case or store.cases()), len(book.entries()))
        if args.log_command == "backup":
            size = back_up(store, args.file)
            held = _counted(len(store.cases()), len(ReadingBook(store).entries()))
            print(f"Copied {held} to {args.file} ({size / 1024:.0f} KiB).")
            return 0
        if args.log_command == "erase":
            _erase(store, args.what, args.sure)
            copies = ", ".join(sorted(str(path) for path in place.folder.glob("logbook.*-*.db")))
            print(f"Copies made before are not changed{f': {copies}' if copies else ''}.")
            return 0
        _write(case_json(store, args.case, with_words=not args.without_words), args.file)
    return 0


def _verify(problems: list[str], count: int, entries: int) -> int:
    for problem in problems:
        print(problem)
    if problems:
        print(f"{len(problems)} problems found in {count} cases.", file=sys.stderr)
        return 1
    print(f"{_counted(count, entries)} checked: every record is as it was written.")
    return 0


def _counted(cases: int, entries: int) -> str:
    """What a logbook holds, in words."""
    more = f" and {entries} {'entry' if entries == 1 else 'entries'} of readings" if entries else ""
    return f"{cases} {'case' if cases == 1 else 'cases'}{more}"


def _erase(store: TableStore, what: list[str], sure: bool) -> None:
    """By number what was typed in a case or with an entry; anything else is a name, struck everywhere."""
    if what[0] == "entry" and len(what) == 2 and what[1].isdecimal():
        agreed = _agreed(f"the words of entry {what[1]}", sure)
        gone = ReadingBook(store).erase_words(int(what[1])) if agreed else 0
    elif all(word.isdecimal() for word in what) and len(what) <= 2:
        case, *line = map(int, what)
        store.events(case)  # says so when there is none
        agreed = _agreed(f"the words of case {', line '.join(what)}", sure)
        gone = store.erase_words(case, *line) if agreed else 0
    else:
        _erase_name(store, " ".join(what), sure)
        return
    print(f"{gone} {'line was' if gone == 1 else 'lines were'} erased; the chain of records is as it was.")


def _erase_name(store: TableStore, name: str, sure: bool) -> None:
    from advisor.logbook.erasing import covered, erase, find
    from advisor.logbook.reading_lines import printable

    found = find(store, name)
    for one in found:
        print(f"  {one.place()}: {printable(one.text)}")
    places = "one place" if len(found) == 1 else f"{len(found)} places"
    if found and _agreed(f"{name!r} in {places} listed above", sure):
        erase(store, found, name)
        print(f"Erased in {places}; the rest of each line, and the chain of records, stay.")
    elif not found:
        print(f"{name!r} is in nothing that was typed or noted.")
    left = covered(store, name)
    if left:
        print(f"Where the chain covers it (a sign, a reason) it cannot be changed: {left} of the records.")


def _agreed(what: str, sure: bool) -> bool:
    """Whether it is really to go. Raises BadInput where nobody can be asked."""
    if sure:
        return True
    if not sys.stdin.isatty():
        raise BadInput(f"erase {what}?", right="Nothing was erased. If it is really to go, add --sure.")
    return input(f"Erase {what} for good? (y/n) ").strip().casefold() in ("y", "yes", "j", "ja")


def _write(case: dict[str, Any], file: Path | None) -> None:
    text = json.dumps(case, ensure_ascii=False, indent=1) + "\n"
    if file is None:
        sys.stdout.write(text)
        return
    try:
        file.write_text(text, encoding="utf-8")
    except OSError as error:
        what, right = f"{file} cannot be written ({error.strerror})", "Name a file that can be."
        raise BadInput(what, value=str(file), right=right) from error
    print(f"Case {case['case']} is in {file}.")
