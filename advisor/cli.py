"""The commands. Thin: each wires the parts together and leaves the work to them."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from advisor import __version__

if TYPE_CHECKING:
    from advisor.dialogue.session import Session
    from advisor.dialogue.shop import Shop
    from advisor.dialogue.understanding import Lexicon
    from advisor.logbook.place import Place

_ABOUT = "An assistant at the coolant sump: what is wrong, how sure that is, what to do, in your own pails."


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 fine (a refusal too), 2 bad input."""
    argv = list(sys.argv[1:] if argv is None else argv)
    argv = ["--help"] if argv == ["help"] else argv
    if argv == ["--version"]:
        print(f"sumpside {__version__}")
        return 0
    from advisor.errors import SumpsideError
    from advisor.terminal.characters import settle

    settle(sys.stdout)
    settle(sys.stderr)
    args = (_parser if _command(argv) else _talk_parser)(argv).parse_args(argv)
    if "--demo" in argv:  # said before the command, it would be lost to the command's own default
        args.demo = True
    try:
        with _patience(argv):
            return int(args.work(args) or 0)
    except SumpsideError as trouble:
        print(f"sumpside: {trouble.sentence()}", file=sys.stderr)
        return 2
    except EOFError:  # a question was answered by leaving, before anything was written
        print("\nLeft. Nothing more was done.", file=sys.stderr)
        return 0
    except KeyboardInterrupt:
        print("\nStopped.", file=sys.stderr)
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _patience(argv: Sequence[str]) -> Any:
    """A word on the terminal when a command that asks nothing takes longer than half a second."""
    from contextlib import nullcontext

    if not any(word in _ASK_NOTHING for word in argv):
        return nullcontext()
    from advisor.terminal.progress import patient

    return patient(sys.stderr)


def _command(argv: Sequence[str]) -> bool:
    """Whether anything but the conversation is wanted; its own parser is all the first prompt needs."""
    return "-h" in argv or "--help" in argv or any(word in _PARTS or word in _OWN for word in argv)


def _talk_parser(argv: Sequence[str]) -> argparse.ArgumentParser:
    from advisor.command_line import Parser

    parser = Parser(prog="sumpside", description=_ABOUT)
    parser.commands = (*_OWN, *_PARTS)
    parser.add_argument("--version", action="store_true", help="print the version")
    parser.add_argument(
        "--demo", action="store_true", help="talk in the built-in demo shop; its cases are kept apart"
    )
    parser.add_argument("--us", action="store_true", help="with --demo: the demo shop in US gallons")
    parser.add_argument("--play", metavar="FILE", help='type the lines of a file ("-": standard input)')
    parser.add_argument("--who", default="operator", help="your sign or role, kept with the case")
    parser.set_defaults(work=_talk)
    return parser


def _parser(argv: Sequence[str]) -> argparse.ArgumentParser:
    parser = _talk_parser(argv)
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


#: Commands of this module.
_OWN = {"read", "assess", "about"}
#: Commands that ask the person nothing while they work.
_ASK_NOTHING = {
    "read", "assess", "about", "audit", "card", "cost", "export", "fixes", "handover", "path", "rules",
    "today", "trend",
}  # fmt: skip
#: Commands whose options live beside their work: module, name of its parser function, help.
_PARTS = {
    "mix": ("advisor.mix_command", "add_parser", "exact numbers for a fix"),
    "review": ("advisor.case_commands", "add_parser", "saved cases for the supervisor"),
    "path": ("advisor.case_commands", "add_path_parser", "how a case was decided, answer by answer"),
    "card": ("advisor.card_command", "add_parser", "a job card or a sump sign to print"),
    "drill": ("advisor.drill_command", "add_parser", "find a hidden fault, for training"),
    "log": ("advisor.log_command", "add_parser", "write down and list readings; look after the logbook"),
    "today": ("advisor.today_command", "add_parser", "what is due, out of limits, left open"),
    "trend": ("advisor.trend_command", "add_parser", "a sump over time, as a plot"),
    "import": ("advisor.table_commands", "add_parser", "readings from a CSV file"),
    "export": ("advisor.table_commands", "add_export_parser", "readings to CSV, JSON or Parquet"),
    "fixes": ("advisor.fixes_command", "add_parser", "recipes, and whether they worked"),
    "round": ("advisor.round_command", "add_parser", "a round of all sumps, on paper or typed"),
    "pails": ("advisor.daily_commands", "add_pails_parser", "pails of the open recipe that went in"),
    "handover": ("advisor.daily_commands", "add_handover_parser", "what the last shift left open"),
    "idle": ("advisor.daily_commands", "add_idle_parser", "a sump will stand still: what to do before"),
    "restart": ("advisor.daily_commands", "add_restart_parser", "a sump runs again: what to do before"),
    "spill": ("advisor.daily_commands", "add_spill_parser", "a spill, on record"),
    "waste": ("advisor.daily_commands", "add_waste_parser", "waste taken out of a sump, on record"),
    "stock": ("advisor.stock_command", "add_parser", "concentrate left, used by sump and month, its price"),
    "drum": ("advisor.drum_command", "add_parser", "check a new drum of concentrate"),
    "sample": ("advisor.sample_command", "add_parser", "a sample for a laboratory, with its label"),
    "zero": ("advisor.sample_command", "add_zero_parser", "an instrument was set to zero"),
    "changeover": ("advisor.changeover_command", "add_parser", "a sump goes to another product or metal"),
    "cost": ("advisor.cost_command", "add_parser", "what coolant costs, by sump and month"),
    "audit": ("advisor.audit_command", "add_parser", "the record of a sump, for an auditor"),
    "rules": ("advisor.rules_command", "add_parser", "show and check the rule base"),
    "shop": ("advisor.shop_command", "add_parser", "set up the shop by questions or from a file"),
}


def _more(commands: Any, argv: Sequence[str]) -> None:
    """Each of the other commands is loaded only when it is called."""
    from importlib import import_module

    wanted = next((word for word in argv if word in _PARTS), None)
    for name, (module, parser, text) in _PARTS.items():
        if wanted == name:
            part = import_module(module)
            made = getattr(part, parser)(commands)
            made.description = made.description or f"{text[0].upper()}{text[1:]}."
            made.set_defaults(work=part.run)
        elif wanted is None:
            commands.add_parser(name, help=text)


def _one_shot(name: str, args: argparse.Namespace) -> int:
    from advisor import one_shot

    work: int = getattr(one_shot, name)(args)
    return work


def _about(args: argparse.Namespace) -> int:
    from advisor.inference import engine
    from advisor.knowledge.rulebase import load
    from advisor.logbook.store import place_name

    rules = load()
    print(f"sumpside {__version__}")
    print(
        f"rule base {rules.hash}: {len(rules.causes)} causes, {len(rules.cautions)} cautions, "
        f"{len(rules.observables)} observables, {len(rules.sources)} publications"
    )
    print(engine.notice() or "rules run on durable-rules")
    print(f"cases are kept in {place_name()}")
    return 0


def _talk(args: argparse.Namespace) -> int:
    if args.version:
        print(f"sumpside {__version__}")
        return 0
    from advisor.terminal import loop

    store = _open_store(args.demo)
    if args.play or not (sys.stdin.isatty() and sys.stdout.isatty()):
        with _lines(args.play) as stream:
            loop.play(make_session(store, args), stream, sys.stdout)
        return 0
    from advisor.dialogue.opening import first_screen

    first, offered = first_screen(store, args.who)
    loop.converse(
        first,
        store,
        loop.Waiting(lambda: warm(_place(args.demo)), lambda: make_session(store, args), offered),
    )
    return 0


def _open_store(demo: bool) -> Any:
    from advisor.logbook.resilient import open_resilient

    return open_resilient(_place(demo))


def _place(demo: bool) -> Place:
    from advisor.logbook.place import book_place

    return book_place(demo)


def _lines(name: str | None) -> Any:
    """The lines to type: a file, or standard input."""
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


@lru_cache(maxsize=1)
def shared_lexicon() -> Lexicon:
    """The phrases of the rule base that ships with the program, made once."""
    from advisor.dialogue.understanding import Lexicon
    from advisor.knowledge.rulebase import load

    data = load().data
    return Lexicon.from_data(data["phrases"], data["observables"])


def warm(place: Place | None = None) -> None:
    """Load rules and phrases and use each once, so that the first answer comes at once.

    Args:
        place: of a logbook in which this rule base is kept, by a connection of its own.
    """
    from advisor.dialogue import session  # noqa: F401  (loading it is the point)
    from advisor.dialogue.understanding import understand
    from advisor.inference.assess import assess
    from advisor.knowledge.rulebase import load

    assess(understand("pH 8.6 and a bit of foam, 50 L", lexicon=shared_lexicon()).facts, load())
    if place is not None:
        _keep_rules(place)


def _keep_rules(place: Place) -> None:
    import json

    from advisor.errors import StoreTrouble
    from advisor.knowledge.rulebase import load
    from advisor.logbook.store import open_store

    rules = load()
    try:
        store = open_store(place)
        if store.rule_base(rules.hash) is None:
            compiled = json.dumps(rules.data, ensure_ascii=False, separators=(",", ":"))
            store.keep_rule_base(rules.hash, compiled.encode())
        store.close()
    except StoreTrouble:
        pass  # the conversation's own store says so, and keeps the rules with its first verdict


def make_session(store: Any, args: argparse.Namespace) -> Session:
    """A conversation wired to the rules, the logbook and the shop.

    Args:
        store: the logbook.
        args: ``demo`` and ``us`` choose the built-in shop, ``who`` is the person's sign.
    """
    from datetime import UTC, datetime

    from advisor.dialogue.session import Session
    from advisor.knowledge.rulebase import load

    rules, lexicon = load(), shared_lexicon()
    shop = shop_book(store, demo=args.demo, us=args.us)

    def clock() -> str:
        return datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

    return Session(rules, lexicon, store, who=args.who, shop=shop, clock=clock)


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
        told = [f for f in opened["facts"] if f["id"] != "region"]  # the case itself holds that one
        facts = [fact_from({**f, "origin": f["said"]}, None, 0) for f in told]
        book.sumps[name] = facts
        book.copies[name] = {"sump": opened["sump"], "product": opened["product"]}
    book.containers = shop.opened(None)["containers"]
    return book
