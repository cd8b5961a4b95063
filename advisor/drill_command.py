"""``sumpside drill``: a hidden fault in a simulated sump, for training."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("drill", help="find a hidden fault, for training")
    parser.add_argument("--seed", type=int, metavar="N", help="the same number gives the same sump")
    parser.add_argument("--level", default="fair", help="easy, fair or hard")
    parser.add_argument("--cause", metavar="CAUSE", help="drill this fault")
    parser.add_argument("--file", metavar="FILE", help="a trainer's own drill, in YAML")
    parser.add_argument("--example", action="store_true", help="print such a file to start from")
    parser.add_argument("--exercise", metavar="WHICH", help="pails, repeat or trust: an exercise")
    parser.add_argument("--play", metavar="LINES", help='type the lines of a file ("-": standard input)')
    parser.add_argument("--nickname", default="", help="keep the result under this name")
    parser.add_argument("--with", dest="partner", default="", help="with repeat: who reads besides")
    parser.add_argument("--record", metavar="NICKNAME", help="the competence record of this nickname")
    parser.add_argument("--out", metavar="FILE", help="with --record: write it, as .html or .pdf")
    parser.add_argument(
        "--html", metavar="FILE", help="write the debrief as a page, your path beside the advisor's"
    )
    parser.add_argument("--board", action="store_true", help="the class by nickname")
    parser.add_argument("--results", metavar="FILE", help="write all results as CSV")
    parser.add_argument("--forget", metavar="NICKNAME", help="take this nickname's results out for good")
    parser.add_argument("--json", action="store_true", help="print the result as JSON at the end")
    return parser


def run(args: argparse.Namespace) -> int:
    """Play a drill, or show, write or erase results."""
    from advisor.drills import board
    from advisor.logbook.place import data_folder
    from advisor.terminal.render import render

    folder = data_folder()
    if args.forget:
        print(f"{board.forget(folder, args.forget)} results taken out.")
        return 0
    if args.results:
        from advisor.reports.page import write

        rows = board.results(folder)
        write(args.results, board.table(rows))
        print(f"{len(rows)} results written to {args.results}.")
        return 0
    if args.record:
        return _record(folder, args)
    if args.board:
        print(render(board.board_blocks(board.results(folder)), rows=None))
        return 0
    if args.example:
        from advisor.drills.own import EXAMPLE

        print(EXAMPLE, end="")
        return 0
    name = board.nickname(args.nickname) if args.nickname else ""
    partner = board.nickname(args.partner) if args.partner else ""
    drill = _drill(args)
    with _lines(args.play) as lines:
        _play(drill, lines)
    if args.exercise:
        row = {"drill": f"exercise {args.exercise}", "points": drill.points}
        if args.exercise == "repeat":
            row |= {"pairs": drill.pairs, **({"with": partner} if partner else {})}
        _keep_row(name, folder, row, args)
    else:
        _keep(args, drill, name, folder)
    return 0


def _drill(args: argparse.Namespace) -> Any:
    """The drill that was asked for; without a seed one is drawn and told, so that it can be repeated."""
    from random import SystemRandom

    seed = args.seed if args.seed is not None else SystemRandom().randrange(1, 100_000)
    if args.exercise:
        return _exercise(args.exercise, seed)
    from advisor.drills.hidden import draw
    from advisor.drills.own import own_drill
    from advisor.drills.play import Drill
    from advisor.knowledge.rulebase import load

    rules = load()
    if args.file:
        hidden = own_drill(rules, Path(args.file))
        return Drill(rules, hidden, hidden.title)
    return Drill(rules, draw(rules, seed, args.level, cause=args.cause), f"{args.level}, seed {seed}")


def _exercise(which: str, seed: int) -> Any:
    from advisor.drills.exercises import EXERCISES, Pails, Repeat, questions
    from advisor.errors import BadInput

    if which not in EXERCISES:
        right = f"use one of {', '.join(EXERCISES)}"
        raise BadInput(f'no exercise is called "{which}"', value=which, right=right)
    if which == "trust":
        from advisor.drills.trust import Trust, glasses

        return Trust(glasses(seed))
    return Pails(questions(seed)) if which == "pails" else Repeat()


def _lines(name: str | None) -> Any:
    from contextlib import nullcontext

    if name in (None, "-"):
        return nullcontext(sys.stdin)
    from advisor.errors import BadInput

    try:
        return open(str(name), encoding="utf-8", errors="replace")  # noqa: PTH123
    except OSError as trouble:
        raise BadInput(
            f"{name} cannot be read ({trouble.strerror})",
            value=name,
            right="give a text file with one line to type on each line",
        ) from None


def _play(drill: Any, lines: Iterable[str]) -> None:
    """Type lines into the drill; their end ends it."""
    from advisor.terminal.render import render

    live = sys.stdin.isatty() and lines is sys.stdin
    print(render(drill.open(), rows=None), flush=True)
    if live:
        print("\n> ", end="", flush=True)
    for line in lines:
        if not live:
            print(f"\n> {''.join(c if c.isprintable() else ' ' for c in line.strip())}\n")
        print(render(drill.say(line), rows=None), flush=True)
        if drill.over:
            return
        if live:
            print("\n> ", end="", flush=True)
    print(render(drill.finish(), rows=None), flush=True)


def _keep(args: argparse.Namespace, drill: Any, name: str, folder: Path) -> None:
    from advisor.drills.debrief import steps
    from advisor.drills.scoring import result
    from advisor.reports.compare import compare_blocks, compare_page, path_from
    from advisor.terminal.render import render

    row = result(drill.title, drill.run, drill.score, drill.hidden) | {"rules": drill.rules.hash}
    names = ("You", "Advisor")
    paths = [path_from(drill.rules, steps(drill.hidden, looks)) for looks in (drill.run.looks, drill.advised)]
    print("\n" + render(compare_blocks(names, paths), rows=None))
    if args.html:
        from advisor.reports.page import write

        write(args.html, compare_page(f"Drill: {drill.title}", names, paths))
        print(f"Written to {args.html}.")
    _keep_row(name, folder, row, args)


def _record(folder: Path, args: argparse.Namespace) -> int:
    """One person's record, on the screen or on paper."""
    from advisor.drills import board
    from advisor.reports.record import record_sheet
    from advisor.reports.sheet import sheet_blocks, write_sheet
    from advisor.terminal.render import render

    sheet = record_sheet(board.results(folder), board.nickname(args.record))
    if args.out:
        write_sheet(args.out, sheet)
        print(f"Written to {args.out}.")
    else:
        print(render(sheet_blocks(sheet), rows=None))
    return 0


def _keep_row(name: str, folder: Path, row: dict[str, Any], args: argparse.Namespace) -> None:
    """Keep a result under the nickname, where one was given, and print it where that was asked for."""
    from advisor.drills import board

    row = row | {"time": datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")}
    if name:
        board.keep(folder, {**row, "nickname": name})
    if args.json:
        print(json.dumps(row, ensure_ascii=False))
