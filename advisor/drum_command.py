"""``sumpside drum``: a new drum of concentrate is checked before any of it goes into a sump."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from advisor.daily_commands import correctable, keep_record
from advisor.errors import BadInput, BadQuantity, UnknownId

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

_EXAMPLES = """examples:
  sumpside drum                      the steps, and the drums checked so far
  sumpside drum p1 --lot 4711        asks for each part (empty leaves it out)
  sumpside drum p1 --lot 4711 --made 2026-03-01 --look normal --smell normal
      --mixed 6% --reading 5.9 --ph 9.2 --mix-look normal
"""
LOOKS = ("normal", "layered", "thick", "frozen_once", "old")
MIX_LOOKS = ("normal", "curdled", "separated")


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``drum`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "drum",
        help="check a new drum of concentrate, with a jar of fresh mix",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("product", nargs="*", metavar="PRODUCT", help="the product's id or name")
    parser.add_argument("--lot", help="batch or lot on the drum")
    parser.add_argument("--made", metavar="DATE", help="when it was made")
    parser.add_argument("--best-before", metavar="DATE", help="its best-before date")
    parser.add_argument("--look", help=f"of the concentrate: {', '.join(LOOKS)}")
    parser.add_argument("--smell", help='"normal", or what it is like')
    parser.add_argument("--mixed", metavar="STRENGTH", help="what the jar was made up to, such as 6%%")
    parser.add_argument("--reading", metavar="BRIX", help="of the jar, on the glass")
    parser.add_argument("--water", metavar="BRIX", help="of your plain water, on the same glass")
    parser.add_argument("--ph", help="of the jar")
    parser.add_argument("--ph-method", choices=("strip", "meter"), default="strip", help="of --ph")
    parser.add_argument("--mix-look", help=f"of the jar after 15 minutes: {', '.join(MIX_LOOKS)}")
    parser.add_argument("--outcome", choices=("use", "aside"), help="if you decide otherwise; with --reason")
    parser.add_argument("--why", action="store_true", help="with the source of each comparison")
    parser.add_argument("--who", default="operator", help="your sign or role")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.set_defaults(part="drum")
    return correctable(parser)


def run(args: argparse.Namespace) -> int:
    """Show the steps, or take the check down and say what it comes to."""
    from advisor.logbook.desk import open_desk

    desk = open_desk(args.demo)
    with desk.store:
        if args.product:
            _check(desk, args)
        else:
            _steps(desk)
    return 0


def product_of(desk: Desk, words: list[str]) -> str:
    """The product that words name, by id or by name with or without what stands in brackets.

    Raises:
        UnknownId: the shop has none of that name.
    """
    said = " ".join(words).casefold()
    for key, row in desk.shop.products.items():
        name = str(row.get("name", "")).casefold()
        if said in (key.casefold(), name, name.partition(" (")[0]):
            return key
    there = ", ".join(desk.shop.products) or "no products yet (sumpside shop --talk)"
    raise UnknownId(f"there is no product {said!r}", value=said, right=f"The shop has: {there}.")


def _steps(desk: Desk) -> None:
    from advisor.logbook.moments import show_day
    from advisor.logbook.morning import wrapped
    from advisor.logbook.reading_lines import printable
    from advisor.logbook.worklists import worklists

    print("A new drum, before any of it goes into a sump:")
    for step in worklists()["drum"]["steps"]:
        print("\n".join(wrapped(f"- {step['text']} [{desk.cite(step['sources'])}]")))
    held = desk.book.records("drum")[-10:]
    if held:
        print("Checked so far:")
    for row in held:
        name = desk.shop.products.get(row.data["product"], {}).get("name", row.data["product"])
        came_to = f"lot {row.data['lot']}: {_OUTCOME[row.data['outcome']]}"
        print(printable(f"  r{row.id} {show_day(row.time, desk.now)}: {name}, {came_to}"))


_OUTCOME = {"use": "fit for use", "aside": "set aside", "unfinished": "check not finished"}


def _check(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook import drums
    from advisor.logbook.morning import wrapped

    product = product_of(desk, args.product)
    lot = args.lot or (_ask("Batch or lot on the drum") if _person() else None)
    if not lot:
        right = "Add --lot with what the drum says; without it no drum can be traced."
        raise BadInput("which lot?", right=right)
    told = {**_before(desk, args), **_told(args)}
    found = drums.compare(desk, product, told)
    if not told:
        right = 'Give what you saw and read, such as --look normal --mixed 6% --reading 5.9 --ph 9.2.'
        raise BadInput("nothing was looked at", right=right)
    outcome, decided = _outcome(desk, args, drums.proposed(found, told))
    data = {
        "product": product,
        "lot": lot,
        "outcome": outcome,
        "findings": [
            {"about": one.about, "fits": one.fits, "text": one.text, "sources": list(one.sources)}
            for one in found
        ],
        "decided": decided,
        "reason": args.reason,
        **told,
    }
    keep_record(desk, "drum", "", data, args)
    name = desk.shop.products[product].get("name", product)
    print(f"{name}, lot {lot}: {_OUTCOME[outcome].upper()}")
    for one in found:
        sign = "ok" if one.fits else "!!"
        tail = f" [{desk.cite(one.sources)}]" if args.why else ""
        print("\n".join(wrapped(f"{sign} {one.text}{tail}")))
    _close(desk, outcome, drums.missing(told))


def _before(desk: Desk, args: argparse.Namespace) -> dict[str, Any]:
    """What a check that is corrected had seen and read."""
    from advisor.logbook.drums import PARTS
    from advisor.logbook.records import record_number

    if not args.correct:
        return {}
    old = desk.book.record(record_number(args.correct)).data
    return {key: old[key] for key in (*PARTS, "ph_method") if key in old}


def _close(desk: Desk, outcome: str, missing: list[str]) -> None:
    from advisor.logbook.morning import wrapped
    from advisor.logbook.worklists import worklists

    if missing:
        print(f"Not looked at: {', '.join(part.replace('_', ' ') for part in missing)}.")
    if outcome == "aside":
        held = worklists()["drum"]
        print("\n".join(row[2:] for row in wrapped(f"{held['aside']} [{desk.cite(held['aside_sources'])}]")))
    elif outcome == "unfinished":
        print("Not fit for use until that is done: check it again with all of it.")
    else:
        print("From now on what goes in of this product is booked under this lot.")


def _outcome(desk: Desk, args: argparse.Namespace, called_for: str) -> tuple[str, str | None]:
    """What becomes of the drum, and whose decision that is where it is not what the check calls for."""
    from advisor.logbook.rights import refuse_without_right

    if args.outcome in (None, called_for):
        return called_for, None
    if not args.reason:
        raise BadInput(f"the check says {_OUTCOME[called_for]}", right="Say why with --reason.")
    if args.outcome == "use":
        refuse_without_right(desk.shop, args.who, "overrule the check of a drum")
    return args.outcome, f"against the check, by {args.who}"


def _person() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _ask(question: str) -> str | None:
    """What is answered, None for nothing; leaving (EOFError) ends the check before anything is written."""
    from advisor.terminal.asked import asked

    return asked(f"{question}? ").strip() or None


def _told(args: argparse.Namespace) -> dict[str, Any]:
    """What was seen and read, in canonical units; at a terminal what is missing is asked for."""
    from advisor.logbook.drums import PARTS

    given = {key: getattr(args, key) for key in PARTS}
    asking = _person() and not any(value is not None for value in given.values())
    told: dict[str, Any] = {}
    for key, question in PARTS.items():
        said = _ask(question) if asking else given[key]
        while said is not None:
            try:
                told[key] = _read(key, said)
                break
            except BadInput as error:
                if not asking:
                    raise
                print(error.sentence())
                said = _ask(question)
    if "ph" in told:
        told["ph_method"] = args.ph_method
    return told


def _read(key: str, said: str) -> Any:
    from advisor.quantities import parse

    if key in ("made", "best_before"):
        return _date(said)
    if key in ("look", "mix_look"):
        known = LOOKS if key == "look" else MIX_LOOKS
        word = said.strip().casefold().replace(" ", "_")
        if word not in known:
            right = f"Use one of {', '.join(known)}."
            raise BadInput(f"{said!r} is no look we know", value=said, right=right)
        return word
    if key == "smell":
        return " ".join(said.split())[:80]
    value = parse(said, {"mixed": "fraction", "ph": "pH"}.get(key, "°Bx")).value
    if key == "mixed" and not 0.0 < value <= 0.5:
        right = "Give what it was made up to, such as 6 %."
        raise BadQuantity(f"a jar at {said} is no fresh mix", value=said, right=right)
    return value


def _date(said: str) -> str:
    """A day as ISO text; ``2026-03`` is the first of March."""
    import re
    from datetime import date

    text = said.strip()
    found = re.fullmatch(r"(\d{4})-(\d{1,2})(?:-(\d{1,2}))?", text)
    turned = re.fullmatch(r"(\d{1,2})[./](\d{1,2})[./](\d{4})", text)
    try:
        if found:
            return date(int(found[1]), int(found[2]), int(found[3] or 1)).isoformat()
        if turned:
            return date(int(turned[3]), int(turned[2]), int(turned[1])).isoformat()
    except ValueError:
        pass
    raise BadInput(f"{said!r} is no date", value=said, right="Write it like 2026-03-01 or 01.03.2026.")
