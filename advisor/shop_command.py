"""``sumpside shop``: the shop book from a YAML file or by answering questions, and back to a file."""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.logbook.kept_answers import KeptAnswers
    from advisor.logbook.shop import Shop


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``shop`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("shop", help="set up the shop")
    parser.add_argument("--talk", action="store_true", help="set it up by answering questions")
    parser.add_argument(
        "--example", action="store_true", help="print the demo shop's file, to copy and change"
    )
    parser.add_argument("--import", dest="source", metavar="FILE", help="take over a shop file (YAML)")
    parser.add_argument("--export", dest="target", metavar="FILE", help='write the shop ("-": to the screen)')
    parser.add_argument("--who", default="operator", help="your sign or role; limits belong to the shop")
    return parser


def run(args: argparse.Namespace) -> int:
    """Import, talk, export, or list the shop's sumps."""
    if args.example:
        import advisor.logbook

        folder = Path(str(advisor.logbook.__file__)).parent
        print((folder / "demo_shop.yaml").read_text(encoding="utf-8"), end="")
        return 0
    from advisor.logbook.resilient import open_resilient
    from advisor.logbook.shop import stored_shop
    from advisor.logbook.shop_file import export_shop, import_shop

    store = open_resilient()
    if args.source:
        return _keep(store, import_shop(Path(args.source)), args.who)
    if args.talk:
        kept = _kept_answers() if sys.stdin.isatty() else None
        done = _keep(store, _talked(kept), args.who)
        if kept:
            kept.done()
        return done
    shop = stored_shop(store)
    if args.target:
        text = export_shop(shop)
        if args.target == "-":
            print(text, end="")
        else:
            Path(args.target).write_text(text, encoding="utf-8")
        return 0
    if not shop.sumps:
        print('No shop is set up. Answer a few questions with "sumpside shop --talk", or just start talking.')
    for row in shop.sumps.values():
        print(f"{row.get('name') or row['id']}: {row.get('written', {}).get('volume', 'volume not entered')}")
    return 0


def _keep(store: Any, shop: Shop, who: str) -> int:
    from advisor.logbook.rights import refuse_changes
    from advisor.logbook.shop import keep_shop, stored_shop

    refuse_changes(stored_shop(store), shop, who)
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    changed = keep_shop(store, shop, time=now, who=who)
    print("Nothing changed." if not changed else "Taken over: " + ", ".join(changed) + ".")
    return 0


def _kept_answers() -> KeptAnswers:
    """The answers typed so far, in case a talk before this one broke off."""
    from advisor.logbook.kept_answers import KeptAnswers
    from advisor.logbook.place import book_place

    kept = KeptAnswers(book_place().folder, "shop", datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"))
    if kept.waiting:
        print(f"An earlier talk goes on; {kept.waiting} of its answers are kept.")
        print(f"To begin anew instead, press Ctrl-C and delete {kept.path}.")
    return kept


def _talked(kept: KeptAnswers | None) -> Shop:
    """The shop as somebody tells it, read the way a shop file is."""
    from advisor.logbook.shop_file import import_shop
    from advisor.logbook.shop_talk import talk

    if kept is None:
        answers = iter(sys.stdin.read().splitlines())

        def ask(question: str) -> str:
            try:
                said = next(answers)
            except StopIteration:
                raise EOFError from None
            print(f"{question} {said}")
            return said
    else:

        def ask(question: str) -> str:
            assert kept is not None
            return kept.ask(f"{question} ", input)

        print("An empty answer leaves a figure out; Ctrl-D stops and keeps what is there.")
    held = talk(ask, print)
    if not held.get("sumps") and not held.get("products"):
        raise BadInput("no sump and no product was named", right="Nothing was changed.")
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "answers.yaml"
        file.write_text(json.dumps(held, ensure_ascii=False), encoding="utf-8")  # JSON is YAML
        return import_shop(file)
