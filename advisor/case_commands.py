"""``sumpside review`` and ``sumpside path``: saved cases, looked at and signed."""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from advisor.dialogue.blocks import Block
from advisor.errors import BadInput, StoreTrouble


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``review`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("review", help="saved cases for the supervisor")
    parser.add_argument("case", type=int, nargs="?", help="number of the case to open; without it, the list")
    said = 'what to say about it: "what if pH was 8.2", "overrule it was ... because ..."'
    parser.add_argument("words", nargs="*", help=said)
    parser.add_argument(
        "--change",
        action="append",
        default=[],
        metavar="ANSWER",
        help='judge again with this answer changed: "strength was 6.5", "no foam"; nothing is recorded',
    )
    parser.add_argument("--today", action="store_true", help="judge on today's rule base")
    parser.add_argument("--report", action="store_true", help="where people and rules disagree")
    parser.add_argument(
        "--rejudge",
        action="store_true",
        help="judge every past case on today's rules; show those that come out differently",
    )
    parser.add_argument("--rules", metavar="FOLDER", help="with --rejudge: the edited rules to be tried")
    parser.add_argument("--agree", action="store_true", help="sign that the verdict is right")
    parser.add_argument("--overrule", metavar="CAUSE", help="sign that another cause is right, in your words")
    parser.add_argument("--reason", default="", help="why, in a sentence")
    parser.add_argument("--who", default="", help="the name that signs; asked for where it is missing")
    parser.add_argument("--again", action="store_true", help="sign besides where it is signed already")
    parser.add_argument("--talk", action="store_true", help="take lines from standard input")
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
    if _talks(args):
        return _talk(store, args)
    made = _path(store, args) if args.part == "path" else _review(store, args)
    if args.json:
        print(json.dumps(made, ensure_ascii=False))
        return 0
    from advisor.terminal.render import render

    print(render(made, rows=None))
    return 0


def _talks(args: argparse.Namespace) -> bool:
    """Whether to go on by typing: looking at the list or at one case, at a terminal."""
    if args.part != "review" or args.json or args.words:
        return False
    asked = (args.change, args.today, args.report, args.rejudge, args.rules, args.agree, args.overrule)
    only = not any(asked)
    return bool(args.talk) or (only and sys.stdin.isatty() and sys.stdout.isatty())


def _desk(store: Any, args: argparse.Namespace) -> Any:
    from advisor.cli import shared_lexicon
    from advisor.reports.review_talk import ReviewTalk, signer

    who = signer(args.who) if args.who else ""
    made = ReviewTalk(store, shared_lexicon(), _now, suggested=_login(), who=who, may_lift=_lifts(store))
    made.results = _results(args)
    return made


def _lifts(store: Any) -> Callable[[str], None]:
    """Refuses a sign that may not say that a stop is put right: where people are listed, only their roles."""
    from advisor.logbook.rights import refuse_without_right
    from advisor.logbook.shop import stored_shop

    def may_lift(who: str) -> None:
        shop = stored_shop(store)
        if shop.people:
            refuse_without_right(shop, who, "sign that a stop is put right")

    return may_lift


def _login() -> str:
    """The name this person is logged in under, "" where the machine does not say."""
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return ""


def _talk(store: Any, args: argparse.Namespace) -> int:
    """The supervisor's desk, line by line."""
    from advisor.terminal.desk import sit, type_in

    desk = _desk(store, args)
    first = desk.open(args.case)
    if sys.stdin.isatty() and sys.stdout.isatty():
        sit(desk, first, store)
    else:
        type_in(desk, first, sys.stdin)
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

    if args.rules and not args.rejudge:
        right = "add --rejudge; a case is opened on its own rules, with --today on today's"
        raise BadInput("--rules is for judging again", value=args.rules, right=right)
    if args.report:
        return review.report_json(store) if args.json else review.report_blocks(store)
    if args.rejudge:
        return _rejudge(store, args)
    if args.case is None:
        if args.agree or args.overrule or args.change:
            raise BadInput("which case?", right="give its number: sumpside review 12 --agree")
        came = _results(args)
        return review.list_json(store, came) if args.json else review.list_blocks(store, came)
    case = open_case(store, args.case, today=args.today)
    if args.words:
        return _said(store, args)
    if args.agree or args.overrule:
        return _sign(store, args, case)
    if args.change:
        from advisor.cli import shared_lexicon
        from advisor.reports.signing import changes

        extra = changes(case, args.change, shared_lexicon())
        return review.changed_json(case, extra) if args.json else review.changed_blocks(case, extra)
    came = _results(args)([case.number]).get(case.number, [])
    if args.json:
        return {**case_screen.case_json(case), "by_log": [one.text for one in came]}
    return case_screen.case_blocks(case) + [one.block() for one in came]


def _results(args: argparse.Namespace) -> Any:
    """Tells what the logbook says came of cases: what was promised, and what was read after the last pail."""
    from advisor.logbook.audit_text import fix_text
    from advisor.logbook.desk import open_desk
    from advisor.logbook.fixes import fixes
    from advisor.reports.review import Result

    def came(numbers: Sequence[int]) -> dict[int, list[Result]]:
        held: dict[int, list[Result]] = {}
        try:
            desk = open_desk(args.demo)
        except StoreTrouble:
            return held  # the cases are kept in memory then, and so told without what was read later
        with desk.store:
            for fix in fixes(desk, cases_of=numbers):
                text = fix_text(fix).removeprefix("recheck: ")
                held.setdefault(fix.case, []).append(Result(text, fix.verdict in ("stronger", "weaker")))
        return held

    return came


def _said(store: Any, args: argparse.Namespace) -> Any:
    """One line said about a case, as at the desk."""
    if args.json:
        right = "leave --json away, or use --change, --agree or --overrule"
        raise BadInput("words are answered in words", right=right)
    desk = _desk(store, args)
    desk.one_line = True
    desk.open(args.case)
    return _asked_on(desk, desk.say(" ".join(args.words)))


def _asked_on(desk: Any, blocks: list[Block]) -> list[Block]:
    """The end of it, each further question of the desk being put to the person.

    Raises:
        BadInput: nobody is there to answer.
    """
    from advisor.terminal.render import render

    while desk.waiting is not None:
        print(render(blocks, rows=None), file=sys.stderr)
        print("> ", end="", file=sys.stderr, flush=True)
        line = sys.stdin.readline()
        if not line:
            right = 'answer the question, or add --who "your name"; --again where it is signed already'
            raise BadInput("nobody signed, so nothing was recorded", right=right)
        blocks = desk.say(line)
    return blocks


def _sign(store: Any, args: argparse.Namespace, case: Any) -> Any:
    """Sign by options: asked for is only what they leave open."""
    from advisor.reports.eyes import signatures
    from advisor.reports.signing import signature

    data = signature(case, args.overrule, args.reason)
    desk = _desk(store, args)
    desk.one_line = True
    desk.open(args.case)
    again = {e.number for e in signatures(case.events)} if args.again else set()
    blocks = _asked_on(desk, desk.sign(data["cause"], data["reason"] or "", again))
    event = store.events(case.number)[-1]
    signed = event.kind == "review" and event.number > case.events[-1].number
    if not signed:
        right = 'answer with a name, or add --who "your name"'
        raise BadInput("nobody signed, so nothing was recorded", right=right)
    made = {"signed": True, "who": event.who, "time": event.time, "seal": event.hash}
    return made if args.json else blocks


def _now() -> str:
    return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _rejudge(store: Any, args: argparse.Namespace) -> Any:
    """Every case with a verdict on today's rules, or on others that are tried; how far it is goes to
    standard error.
    """
    if args.rules:
        if not Path(args.rules).is_dir():
            right = "give the folder of the edited rules, such as a copy of rules/"
            raise BadInput(f"there is no folder {args.rules}", value=args.rules, right=right)
        os.environ["SUMPSIDE_RULES"] = args.rules  # also for the processes that share the work
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
