"""``sumpside shop``: the shop book from a YAML file or by answering questions, and back to a file."""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from dataclasses import replace
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
    parser.add_argument("--demo", action="store_true", help="the demo shop instead")
    parser.add_argument("--who", default="operator", help="your sign or role; limits belong to the shop")
    return parser


def run(args: argparse.Namespace) -> int:
    """Import, talk, export, or list the shop's sumps."""
    if args.example:
        import advisor.logbook

        folder = Path(str(advisor.logbook.__file__)).parent
        print((folder / "demo_shop.yaml").read_text(encoding="utf-8"), end="")
        return 0
    from advisor.logbook.shop import stored_shop
    from advisor.logbook.shop_file import export_shop, import_shop

    store = _store(args.demo)
    if args.source:
        return _keep(store, import_shop(Path(args.source)), args.who)
    shop = stored_shop(store)
    if args.talk:
        kept = _kept_answers(args.demo) if sys.stdin.isatty() else None
        done = _keep(store, _talked(kept, shop), args.who)
        if kept:
            kept.done()
        return done
    if args.target:
        text = export_shop(shop)
        if args.target == "-":
            print(text, end="")
        else:
            _write(args.target, text)
        return 0
    print("\n".join(_listed(shop)))
    return 0


def _store(demo: bool) -> Any:
    if demo:
        from advisor.logbook.desk import open_desk

        return open_desk(demo=True).store
    from advisor.logbook.resilient import open_resilient

    return open_resilient()


def _write(file: str, text: str) -> None:
    try:
        Path(file).write_text(text, encoding="utf-8")
    except OSError as error:
        what, right = f"{file} cannot be written ({error.strerror})", "Name a file that can be."
        raise BadInput(what, value=file, right=right) from error
    print(f"The shop is in {file}.")


def _listed(shop: Shop) -> list[str]:
    """The shop's sumps and products, and what is not entered."""
    from advisor.logbook.reading_lines import printable
    from advisor.logbook.shop_talk import lacking
    from advisor.showing import volume

    if not shop.sumps and not shop.products:
        return ['No shop is set up. Answer a few questions ("sumpside shop --talk"), or just start talking.']
    units = shop.shop.get("units", "metric")
    made = []
    for row in shop.sumps.values():
        size = row.get("figures", {}).get("sump_volume")
        product = shop.products.get(row.get("product") or "", {}).get("name", "product not entered")
        holds = volume(size, units) if size else "volume not entered"
        made.append(printable(f"{row.get('name') or row['id']}: {holds}, {product}"))
    rows = _written(shop)
    made += [printable(sentence) for sentence in lacking({"products": rows["products"]})]
    if lacking(rows):
        made.append('Complete it with "sumpside shop --talk".')
    return made


def _written(shop: Shop) -> dict[str, Any]:
    """The shop as its file holds it."""
    sections = ("products", "sumps", "containers", "people")
    rows = {name: [row["written"] for row in getattr(shop, name).values()] for name in sections}
    return {"shop": shop.shop.get("written"), **rows}


def _keep(store: Any, shop: Shop, who: str) -> int:
    from advisor.logbook.rights import refuse_changes
    from advisor.logbook.shop import keep_shop, stored_shop

    refuse_changes(stored_shop(store), shop, who)
    now = datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    changed = keep_shop(store, shop, time=now, who=who)
    print("Nothing changed." if not changed else "Taken over: " + ", ".join(changed) + ".")
    return 0


def _kept_answers(demo: bool) -> KeptAnswers:
    """The answers typed so far, in case a talk before this one broke off."""
    from advisor.logbook.kept_answers import KeptAnswers
    from advisor.logbook.place import book_place

    kept = KeptAnswers(book_place(demo).folder, "shop", datetime.now(UTC).strftime("%Y-%m-%dT%H:%M:%SZ"))
    if kept.waiting:
        print(f"An earlier talk goes on; {kept.waiting} of its answers are kept.")
        print(f"To begin anew instead, press Ctrl-C and delete {kept.path}.")
    return kept


def _talked(kept: KeptAnswers | None, before: Shop) -> Shop:
    """The shop as somebody tells it, read the way a shop file is; what is there already stays."""
    from advisor.dialogue.leaving import leaves
    from advisor.logbook.shop_file import UNNAMED, import_shop
    from advisor.logbook.shop_talk import talk
    from advisor.terminal.asked import asked

    if kept is None:
        answers = iter(sys.stdin.read().splitlines())

        def ask(question: str) -> str:
            try:
                said = next(answers)
            except StopIteration:
                raise EOFError from None
            print(f"{question} {said}")
            if leaves(said):
                raise EOFError
            return said
    else:

        def ask(question: str) -> str:
            assert kept is not None
            return kept.ask(f"{question} ", asked)

        print('An empty answer leaves a figure out; "q" or Ctrl-D stops and keeps what is there.')
    rows = _written(before)
    held = talk(ask, print, rows)
    if not held.get("sumps") and not held.get("products"):
        print('No sump and no product is named yet. To go on: "sumpside shop --talk".')
        if held == {"shop": {"name": UNNAMED}}:  # left before anything was said: no shop is made of that
            return before
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "answers.yaml"
        file.write_text(json.dumps(held, ensure_ascii=False), encoding="utf-8")  # JSON is YAML
        made = import_shop(file)
    return replace(made, beside={})  # order and columns stay as they are kept
