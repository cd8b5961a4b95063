"""``sumpside mix``: mixing figures from the command line, for people or as JSON.

Every subcommand is a row of a table (in `mix_recipes`, `mix_calculations`, `mix_instruments` and
`mix_decisions`): its options with their units, and a function from values to an answer. Quantities, gallons,
exit codes and output are handled here once.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from advisor.mixing.display import Display


@dataclass(frozen=True, slots=True)
class Opt:
    """One option: its flag without dashes, the name it fills, and how it is read.

    ``unit`` is a canonical unit, or ``window`` (two fractions), ``flag`` (no value), ``text``,
    ``list:UNIT`` (given more than once, or separated by semicolons), or ``file``.
    """

    flag: str
    unit: str
    help: str
    into: str = ""

    @property
    def name(self) -> str:
        """The name the value is handed over under."""
        return self.into or self.flag.replace("-", "_")


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculation gives: the JSON object, and the same for people in titled blocks.

    ``cautions`` come first on a card, ``figures`` next, ``steps`` with boxes to tick, ``notes`` last;
    ``others`` (ways not recommended) stay off it.
    """

    data: dict[str, Any]
    title: str
    figures: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Command:
    """One subcommand of ``sumpside mix``."""

    name: str
    help: str
    options: tuple[Opt, ...]
    answer: Callable[[dict[str, Any], Display], Answer]
    volume: str = field(default="sump-volume")


_COMMON = (
    Opt("units", "text", 'how volumes are shown: "L", "US gal" or "imp gal"'),
    Opt("gallon", "text", 'which gallon a bare one is: "us" or "imperial"'),
    Opt("card", "file", "also write a job card that prints on one page to this HTML file"),
)


def add_parser(subparsers: Any) -> argparse.ArgumentParser:
    """Adds ``mix`` and its subcommands to the program's parser."""
    parser: argparse.ArgumentParser = subparsers.add_parser(
        "mix",
        help="work out a recipe or another mixing figure",
        allow_abbrev=False,
        description='Mixing figures. Quantities carry their unit: --sump-volume "50 US gal" --strength 13%%.',
    )
    kinds = parser.add_subparsers(dest="mix_kind", metavar="KIND", required=True)
    for command in _commands().values():
        sub = kinds.add_parser(command.name, help=command.help, description=command.help, allow_abbrev=False)
        for option in (*command.options, *_COMMON):
            if option.unit == "flag":
                sub.add_argument(f"--{option.flag}", action="store_true", help=option.help)
            elif option.unit.startswith("list:"):
                sub.add_argument(f"--{option.flag}", action="append", help=option.help, metavar="X")
            else:
                sub.add_argument(f"--{option.flag}", help=option.help, metavar="X")
        sub.add_argument("--json", action="store_true", help="print one JSON object")
    return parser


def run(args: argparse.Namespace) -> int:
    """Runs one ``mix`` subcommand: 0 (a refusal too), or 2 for input that cannot be used."""
    from advisor.errors import BadInput

    command = _commands()[args.mix_kind]
    try:
        values, said, assumed = _read(command, args)
        show = _display(command, args, said)
        if assumed:
            values["taken_for_granted"] = tuple(assumed)
        answer = command.answer(values, show)
        if args.card:
            _write_card(args.card, answer)
    except BadInput as error:
        print(_with_flag(error, command), file=sys.stderr)
        return 2
    print(json.dumps(answer.data, ensure_ascii=False, indent=2) if args.json else as_text(answer))
    return 0


def as_text(answer: Answer) -> str:
    """An answer for people, 80 columns, readable without colour."""
    lines = [answer.title]
    for line in (*answer.figures, *answer.others):
        lines += _wrapped(line, "  ")
    blocks = (("Mind:", answer.cautions), ("Steps:", answer.steps), ("Taken for granted:", answer.notes))
    for heading, block in blocks:
        if block:
            lines += ["", heading]
            for number, sentence in enumerate(block, 1):
                lines += _wrapped(sentence, f"{number:2d}. " if heading == "Steps:" else "  - ")
    return "\n".join(lines)


def _wrapped(sentence: str, lead: str) -> list[str]:
    """A sentence in lines of 79, a number never parted from its unit."""
    import re
    import textwrap

    tied = re.sub(r"(?<=\d) (?=(?:%|L|mL|kg|US|imp)(?:\W|$))", "\u00a0", sentence)
    wrapped = textwrap.wrap(tied, 79, initial_indent=lead, subsequent_indent="    ")
    return [line.replace("\u00a0", " ") for line in wrapped]


def _commands() -> dict[str, Command]:
    from advisor.mix_calculations import CALCULATIONS
    from advisor.mix_decisions import DECISIONS
    from advisor.mix_instruments import INSTRUMENTS
    from advisor.mix_recipes import RECIPES

    return {command.name: command for command in (*RECIPES, *CALCULATIONS, *INSTRUMENTS, *DECISIONS)}


def _read(command: Command, args: argparse.Namespace) -> tuple[dict[str, Any], dict[str, str], list[str]]:
    """Values by name, the words they came from, and the assumptions reading them took."""
    gallon = _gallon(args.gallon)
    values: dict[str, Any] = {}
    said: dict[str, str] = {}
    assumed: list[str] = []
    for option in command.options:
        given = getattr(args, option.flag.replace("-", "_"))
        if given is None or given is False:
            continue
        if isinstance(given, str):
            said[option.flag] = given
        values[option.name] = _value(option, given, gallon, assumed)
    _one_gallon(said)
    assumed += _bare_volumes(command, said, args)
    return values, said, list(dict.fromkeys(assumed))


def _value(option: Opt, given: Any, gallon: Literal["us", "imperial"] | None, assumed: list[str]) -> Any:
    from advisor import quantities
    from advisor.errors import BadQuantity

    def one(text: str, unit: str) -> float:
        if unit == "L/day" and "/" not in text and "per" not in text and "day" not in text:
            unit = "L"
        try:
            parsed = quantities.parse(text, unit, gallon=gallon)
        except BadQuantity as error:
            error.place = error.place or f"--{option.flag}"
            raise
        if parsed.assumed:
            assumed.append(parsed.assumed[0].upper() + parsed.assumed[1:].rstrip(".") + ".")
        return parsed.value

    if option.unit in ("flag", "text", "file"):
        return given
    if option.unit == "window":
        try:
            low, high = quantities.parse_window(given, "fraction", gallon=gallon)
        except BadQuantity as error:
            error.place = error.place or f"--{option.flag}"
            raise
        return (low.value, high.value)
    if option.unit.startswith("list:"):
        unit = option.unit.removeprefix("list:")
        parts = [part.strip() for text in given for part in text.split(";") if part.strip()]
        return tuple(parts) if unit == "text" else tuple(one(part, unit) for part in parts)
    return one(given, option.unit)


def _gallon(given: str | None) -> Literal["us", "imperial"] | None:
    from advisor.errors import BadInput

    if given is None:
        return None
    low = given.strip().casefold()
    if low in ("us", "u.s.", "american"):
        return "us"
    if low in ("imperial", "imp", "uk"):
        return "imperial"
    raise BadInput(
        f'"{given}" is not a gallon', place="--gallon", value=given, right='write "us" or "imperial"'
    )


def _which_gallon(text: str) -> str:
    import re

    low = text.casefold()
    if not re.search(r"gal|fl|oz|quart|\bqt|pint|\bpt", low):
        return ""
    if re.search(r"\b(?:imp|imperial|uk|british)", low):
        return "imperial"
    return "US" if re.search(r"\b(?:us|u\.s\.)", low) else ""


def _one_gallon(said: Mapping[str, str]) -> None:
    from advisor.errors import BadInput

    found = {_which_gallon(text): flag for flag, text in said.items()}
    if "US" in found and "imperial" in found:
        raise BadInput(
            f"US and imperial measures are mixed (--{found['US']} and --{found['imperial']})",
            right="give all volumes in one of the two, or in litres",
        )


def _bare_volumes(command: Command, said: Mapping[str, str], args: argparse.Namespace) -> list[str]:
    """What volumes without a unit are taken for: litres, said so; beside gallons the unit is asked for."""
    from advisor.errors import BadInput

    volumes = {o.flag: said[o.flag] for o in command.options if o.flag in said and o.unit.startswith("L")}
    bare = {flag: text for flag, text in volumes.items() if not any(c.isalpha() for c in text)}
    gallons = (
        args.gallon
        or "gal" in (args.units or "").casefold()
        or any(_which_gallon(text) or "gal" in text.casefold() for text in volumes.values())
    )
    for flag, text in bare.items():
        if gallons:
            raise BadInput(
                f"{text} has no unit, and other volumes are in gallons",
                place=f"--{flag}",
                value=text,
                right=f'write "{text} L", "{text} US gal" or "{text} imp gal"',
            )
    return [f"--{flag} {text} has no unit: it is taken as litres." for flag, text in bare.items()]


def _display(command: Command, args: argparse.Namespace, said: Mapping[str, str]) -> Display:
    from advisor.mixing.display import Display

    if args.units:
        names = {
            "l": "L",
            "litre": "L",
            "liter": "L",
            "us gal": "US gal",
            "us": "US gal",
            "imp gal": "imp gal",
            "imperial": "imp gal",
            "imp": "imp gal",
        }
        return Display(names.get(args.units.strip().casefold(), args.units))
    volume = said.get(command.volume) or next(
        (text for text in said.values() if "gal" in text.casefold()), ""
    )
    if "gal" not in volume.casefold():
        return Display("L")
    bare_imperial = _gallon(args.gallon) == "imperial" and not _which_gallon(volume)
    return Display("imp gal" if bare_imperial or _which_gallon(volume) == "imperial" else "US gal")


def _with_flag(error: Any, command: Command) -> str:
    flags = {option.name: option.flag for option in command.options}
    if error.place in flags:
        error.place = f"--{flags[error.place]}"
    return str(error)


def _write_card(path: str, answer: Answer) -> None:
    from pathlib import Path

    from advisor.errors import BadInput
    from advisor.mixing.card import card_html

    page = card_html(
        answer.title, figures=answer.figures, steps=answer.steps, cautions=answer.cautions, notes=answer.notes
    )
    try:
        Path(path).write_text(page, encoding="utf-8")
    except OSError as error:
        raise BadInput(
            f"the card cannot be written to {path} ({error.strerror})",
            place="--card",
            value=path,
            right="give a file name in a folder you may write to",
        ) from error
