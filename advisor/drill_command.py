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
        if drill.over and not drill.left:
            row = {"drill": f"exercise {args.exercise}", "points": drill.points}
            if args.exercise == "repeat":
                row |= {"pairs": drill.pairs, **({"with": partner} if partner else {})}
            _keep_row(name, folder, row, args)
    elif drill.score is not None:
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
        return Drill(rules, hidden, hidden.title, _both_paths)
    hidden = draw(rules, seed, args.level, cause=args.cause)
    return Drill(rules, hidden, f"{args.level}, seed {seed}", _both_paths)


def _both_paths(drill: Any) -> list[tuple[str, list[Any]]]:
    """The last part of the talk after a drill: both paths, answer by answer."""
    from advisor.reports.compare import compare_blocks

    names, paths, efforts = _compared(drill)
    return [("both paths, answer by answer", compare_blocks(names, paths, efforts))]


def _compared(drill: Any) -> tuple[tuple[str, str], list[Any], list[str]]:
    """The trainee's path and the advisor's: names, paths, and what each cost as the score counts it."""
    from advisor.drills.debrief import steps
    from advisor.drills.scoring import cost_words
    from advisor.reports.compare import path_from

    walked = (drill.run.looks, drill.advised)
    paths = [path_from(drill.rules, steps(drill.hidden, looks)) for looks in walked]
    return ("You", "Advisor"), paths, [cost_words(looks) for looks in walked]


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
    """Let a person play, or type lines into the drill; the end of the lines ends it with a score."""
    from advisor.terminal.desk import sit, type_in

    at_terminal = sys.stdin.isatty() and sys.stdout.isatty()
    if lines is sys.stdin and at_terminal:
        sit(drill, drill.open())
        return
    type_in(drill, drill.open(), lines, ending=drill.finish)


def _keep(args: argparse.Namespace, drill: Any, name: str, folder: Path) -> None:
    from advisor.drills.scoring import result

    row = result(drill.title, drill.run, drill.score, drill.hidden) | {"rules": drill.rules.hash}
    if args.html:
        from advisor.reports.compare import compare_page
        from advisor.reports.page import write

        write(args.html, compare_page(f"Drill: {drill.title}", *_compared(drill)))
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
