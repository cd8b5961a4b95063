"""The commands. Thin: each wires the parts together and leaves the work to them."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from advisor import __version__

if TYPE_CHECKING:
    from advisor.dialogue.session import Session
    from advisor.dialogue.shop import Shop

_ABOUT = "An assistant at the coolant sump: what is wrong, how sure that is, what to do, in your own pails."


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 fine (a refusal too), 2 bad input."""
    argv = list(sys.argv[1:] if argv is None else argv)
    if argv == ["--version"]:
        print(f"sumpside {__version__}")
        return 0
    from advisor.errors import SumpsideError

    args = _parser(argv).parse_args(argv)
    try:
        return int(args.work(args) or 0)
    except SumpsideError as trouble:
        print(f"sumpside: {trouble.sentence()}", file=sys.stderr)
        return 2
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _parser(argv: Sequence[str]) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="sumpside", description=_ABOUT)
    parser.add_argument("--version", action="store_true", help="print the version")
    parser.add_argument(
        "--demo",
        action="store_true",
        help="talk in the built-in demo shop; nothing is kept with your own cases",
    )
    parser.add_argument(
        "--us", action="store_true", help="with --demo: the demo shop that works in US gallons"
    )
    parser.add_argument("--play", metavar="FILE", help='type the lines of a file ("-": standard input)')
    parser.add_argument("--who", default="operator", help="your sign or role, kept with the case")
    parser.set_defaults(work=_talk)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    read = commands.add_parser("read", help="what a text says, as facts")
    read.add_argument("text", nargs="?", help="the text, in quotes")
    assess = commands.add_parser("assess", help="judge facts or a text from a file")
    assess.add_argument("file", nargs="?", help='YAML or JSON file, "-" for standard input')
    for each in (read, assess):
        each.add_argument("--json", action="store_true", help="answer as JSON")
        each.add_argument("--lines", metavar="FILE", help="one input per line, one JSON object per line out")
    read.set_defaults(work=lambda args: _one_shot("read", args))
    assess.set_defaults(work=lambda args: _one_shot("assess", args))
    about = commands.add_parser("about", help="versions, rule base, engine, folders")
    about.set_defaults(work=_about)
    _more(commands, argv)
    return parser


#: Commands whose options live beside their work: module, name of its parser function, help.
_PARTS = {
    "mix": ("advisor.mix_command", "add_parser", "exact numbers for a fix"),
    "review": ("advisor.case_commands", "add_parser", "saved cases for the supervisor"),
    "path": ("advisor.case_commands", "add_path_parser", "how a case was decided, answer by answer"),
    "log": ("advisor.logbook.command", "add_parser", "check, back up and restore the logbook"),
    "rules": ("advisor.rules_command", "add_parser", "show and check the rule base"),
    "shop": ("advisor.shop_command", "add_parser", "set up the shop from a file"),
}


def _more(commands: Any, argv: Sequence[str]) -> None:
    """Each of the other commands is loaded only when it is called."""
    from importlib import import_module

    wanted = next((word for word in argv if word in _PARTS), None)
    for name, (module, parser, text) in _PARTS.items():
        if wanted == name:
            part = import_module(module)
            getattr(part, parser)(commands).set_defaults(work=part.run)
        elif wanted is None:
            commands.add_parser(name, help=text)


def _one_shot(name: str, args: argparse.Namespace) -> int:
    from advisor import one_shot

    work: int = getattr(one_shot, name)(args)
    return work


def _about(args: argparse.Namespace) -> int:
    from advisor.inference import engine
    from advisor.knowledge.rulebase import load
    from advisor.logbook.place import data_folder

    rules = load()
    print(f"sumpside {__version__}")
    print(
        f"rule base {rules.hash}: {len(rules.causes)} causes, {len(rules.cautions)} cautions, "
        f"{len(rules.observables)} observables, {len(rules.sources)} publications"
    )
    print(engine.notice() or "rules run on durable-rules")
    print(f"cases are kept in {data_folder()}")
    return 0


def _talk(args: argparse.Namespace) -> int:
    if args.version:
        print(f"sumpside {__version__}")
        return 0
    session = make_session(demo=args.demo, us=args.us, who=args.who)
    from advisor.terminal import loop

    if args.play:
        from advisor.errors import BadInput

        try:
            stream = sys.stdin if args.play == "-" else open(args.play, encoding="utf-8")  # noqa: PTH123, SIM115
        except OSError as trouble:
            raise BadInput(
                f"{args.play} cannot be read ({trouble.strerror})",
                value=args.play,
                right="give a text file with one line to type on each line",
            ) from None
        with stream:
            loop.play(session, stream, sys.stdout)
    elif sys.stdin.isatty() and sys.stdout.isatty():
        loop.converse(session)
    else:
        loop.play(session, sys.stdin, sys.stdout)
    return 0


def make_session(*, demo: bool = False, us: bool = False, who: str = "operator") -> Session:
    """A conversation wired to the rules, the logbook and the shop.

    Args:
        demo: use the built-in demo shop and a logbook of its own.
        us: with `demo`, the twin that works in US gallons.
        who: sign or role of the person.
    """
    from datetime import UTC, datetime

    from advisor.dialogue.session import Session
    from advisor.dialogue.understanding import Lexicon
    from advisor.knowledge.rulebase import load
    from advisor.logbook.place import data_folder
    from advisor.logbook.resilient import open_resilient

    rules = load()
    lexicon = Lexicon.from_data(rules.data["phrases"], rules.data["observables"])
    store = open_resilient(data_folder() / "demo" if demo else None)
    return Session(
        rules,
        lexicon,
        store,
        who=who,
        shop=shop_book(store, demo=demo, us=us),
        clock=lambda: datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"),
    )


def shop_book(store: Any, *, demo: bool, us: bool = False) -> Shop:
    """The shop as the conversation knows it, from the logbook or the built-in demo."""
    from advisor.dialogue.case import fact_from
    from advisor.dialogue.shop import Shop as Book
    from advisor.logbook.shop import demo_shop, stored_shop

    shop = demo_shop("us" if us else "metric") if demo else stored_shop(store)
    habits = store.row("shop", "habits")
    gallon = habits.data.get("gallon") if habits else None
    if not shop.shop and not shop.sumps:
        return Book(gallon=gallon)
    book = Book(
        name=shop.shop.get("name", ""),
        system=shop.shop.get("units", "metric"),
        gallon=gallon or shop.shop.get("gallon"),
        region=shop.shop.get("region"),
    )
    for key, row in shop.sumps.items():
        opened = shop.opened(key)
        name = str(row.get("name") or key)
        facts = [fact_from({**f, "origin": f["said"]}, None, 0) for f in opened["facts"]]
        book.sumps[name] = facts
        book.copies[name] = {"sump": opened["sump"], "product": opened["product"]}
    book.containers = shop.opened(None)["containers"]
    return book
