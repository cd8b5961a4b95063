"""``sumpside review`` and ``sumpside path``: saved cases, looked at and signed."""

from __future__ import annotations

import argparse
import json
import sys
import time
from datetime import UTC, datetime
from typing import Any

from advisor.dialogue.blocks import Block
from advisor.errors import BadInput


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``review`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("review", help="saved cases for the supervisor")
    parser.add_argument("case", type=int, nargs="?", help="number of the case to open; without it, the list")
    parser.add_argument(
        "--change",
        action="append",
        default=[],
        metavar='"ID: VALUE"',
        help='judge again with this answer changed, such as "ph: 8.2" or "not foam"; nothing is recorded',
    )
    parser.add_argument("--today", action="store_true", help="judge on today's rule base")
    parser.add_argument("--report", action="store_true", help="where people and rules disagree")
    parser.add_argument(
        "--rejudge",
        action="store_true",
        help="judge every past case on today's rules; show those that come out differently",
    )
    parser.add_argument("--agree", action="store_true", help="sign that the verdict is right")
    parser.add_argument("--overrule", metavar="CAUSE", help="sign that another cause is right")
    parser.add_argument("--reason", default="", help="why, in a sentence")
    parser.add_argument("--who", default="supervisor", help="your sign or role")
    _options(parser)
    parser.set_defaults(part="review")
    return parser


def add_path_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``path`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "path", help="how a case was decided, answer by answer"
    )
    parser.add_argument("case", type=int, help="number of the case")
    parser.add_argument("--html", metavar="FILE", help="write it as one page for a projector or for print")
    parser.add_argument("--against", type=int, metavar="CASE", help="set another case's path beside it")
    _options(parser)
    parser.set_defaults(part="path")
    return parser


def _options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--demo", action="store_true", help="the cases of the demo shop")
    parser.add_argument("--json", action="store_true", help="answer as JSON")


def run(args: argparse.Namespace) -> int:
    """Print what was asked for, or sign."""
    from advisor.logbook.place import book_place
    from advisor.logbook.resilient import open_resilient

    store = open_resilient(book_place(args.demo))
    made = _path(store, args) if args.part == "path" else _review(store, args)
    if args.json:
        print(json.dumps(made, ensure_ascii=False))
        return 0
    from advisor.terminal.render import render

    print(render(made))
    return 0


def _path(store: Any, args: argparse.Namespace) -> Any:
    from advisor.reports.cases import open_case, path_of
    from advisor.reports.path import path_blocks, step_json

    case = open_case(store, args.case)
    if args.against is not None:
        return _against(store, args, case)
    if args.html:
        from advisor.reports.page import write
        from advisor.reports.path_page import path_page

        write(args.html, path_page(case))
        return {"written": args.html} if args.json else [Block("text", f"Written to {args.html}.")]
    return [step_json(step) for step in path_of(case)] if args.json else path_blocks(case)


def _against(store: Any, args: argparse.Namespace, case: Any) -> Any:
    """Two cases' paths beside each other."""
    from advisor.reports.cases import open_case, path_of
    from advisor.reports.compare import compare_blocks, compare_page, comparison
    from advisor.reports.page import write

    other = open_case(store, args.against)
    paths = [list(path_of(case)), list(path_of(other))]
    names = tuple(f"case {one.number}" for one in (case, other))
    if args.html:
        write(args.html, compare_page(f"{names[0]} and {names[1]}", names, paths))
        return {"written": args.html} if args.json else [Block("text", f"Written to {args.html}.")]
    if args.json:
        return {label: dict(zip(names, texts, strict=True)) for label, texts in comparison(paths)}
    return compare_blocks(names, paths)


def _review(store: Any, args: argparse.Namespace) -> Any:
    from advisor.reports import case_screen, review
    from advisor.reports.cases import open_case

    if args.report:
        return review.report_json(store) if args.json else review.report_blocks(store)
    if args.rejudge:
        return _rejudge(store, args)
    if args.case is None:
        if args.agree or args.overrule or args.change:
            raise BadInput("which case?", right="give its number: sumpside review 12 --agree")
        return review.list_json(store) if args.json else review.list_blocks(store)
    case = open_case(store, args.case, today=args.today)
    if args.agree or args.overrule:
        data = review.signature(case, args.overrule, args.reason)
        event = store.append(case.number, "review", data, time=_now(), who=args.who)
        seal = f"Signed by {args.who}. The latest seal of the case is {event.hash[:16]}."
        return {"signed": True, "seal": event.hash} if args.json else [Block("text", seal)]
    if args.change:
        extra = review.changes(case, args.change)
        return review.changed_json(case, extra) if args.json else review.changed_blocks(case, extra)
    return case_screen.case_json(case) if args.json else case_screen.case_blocks(case)


def _now() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _rejudge(store: Any, args: argparse.Namespace) -> Any:
    """Every case with a verdict on today's rules; how far it is goes to standard error."""
    from advisor.reports.rejudge import bar, change_json, changed_blocks, past, rejudge

    listed = [past(row.id, store.events(row.id)) for row in store.cases()]
    cases = [one for one in listed if one is not None]
    live, began = sys.stderr.isatty(), time.monotonic()

    def progress(done: int, changed: int) -> None:
        if live or done == len(cases):
            text = bar(done, len(cases), changed, time.monotonic() - began)
            start, end = ("\r" if live else ""), ("\n" if done == len(cases) else "")
            print(f"{start}{text:<78}", end=end, file=sys.stderr, flush=True)

    found = rejudge(cases, progress)
    if args.json:
        return {"judged": len(cases), "changed": [change_json(one) for one in found]}
    return changed_blocks(found, len(cases))
