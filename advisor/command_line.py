"""An argument parser whose refusals say what was wrong and what would be right, in plain words."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterable, Sequence
from typing import Any, ClassVar, NoReturn

#: A word this near to another is taken for a slip of the fingers (common practice, no source).
_NEAR = 0.6


class Parser(argparse.ArgumentParser):
    """As `argparse.ArgumentParser`; parsers of its commands are of the same kind."""

    #: the innermost parser that has seen the arguments: its options are the ones meant
    innermost: ClassVar[argparse.ArgumentParser | None] = None
    #: what may be called, told when the first word is none of them
    commands: Iterable[str] = ()

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """As the base class; remembers who was asked last."""
        Parser.innermost = self
        return super().parse_known_args(args, namespace)

    def error(self, message: str) -> NoReturn:
        """Say it in a sentence on standard error and leave with exit code 2."""
        inner = Parser.innermost or self
        said = _sentence(message, inner, list(self.commands))
        print(f"sumpside: {said}", file=sys.stderr)
        sys.exit(2)


def _sentence(message: str, parser: argparse.ArgumentParser, commands: Sequence[str]) -> str:
    more = f'"{parser.prog} --help" shows what can be said.'
    lost = message.removeprefix("unrecognized arguments: ")
    if lost != message:
        word = lost.split()[0]
        if word.startswith("-"):
            return f"{parser.prog!r} has no {word}. {_nearest(word, _options(parser))}{more}"
        if commands and parser.prog == "sumpside":
            near = _nearest(word, commands)
            talk = "" if near else 'To talk about a sump, type "sumpside" alone and say it there. '
            return f"there is no command {word!r}. {near}{talk}{more}"
        return f"{parser.prog!r} cannot use {lost!r}. {more}"
    wanted = message.removeprefix("the following arguments are required: ")
    if wanted != message:
        choices = _choices(parser)
        one_of = f" Choose one of {_list(choices)}." if choices else ""
        return f"{parser.prog!r} needs {wanted}.{one_of} {more}"
    pattern = r"argument (?P<name>[^:]+): invalid (?P<kind>choice|\w+ value): (?P<word>'[^']*')"
    bad = re.match(pattern, message)
    if bad and bad["kind"] == "choice":
        offered = re.findall(r"'([^']+)'", message[bad.end() :])
        near = _nearest(bad["word"].strip("'"), offered)
        return f"{bad['word']} is not among the choices. {near or f'Choose one of {_list(offered)}. '}{more}"
    if bad:
        return f"{bad['word']} is no number, and {bad['name']} wants one. {more}"
    return f"{message}. {more}"


def _list(names: Sequence[str]) -> str:
    return ", ".join(names)


def _options(parser: argparse.ArgumentParser) -> list[str]:
    return [o for action in parser._actions for o in action.option_strings]


def _choices(parser: argparse.ArgumentParser) -> list[str]:
    """The names of what a parser offers first: its commands, or the choices of its first word."""
    named = (action.choices for action in parser._actions if action.choices and not action.option_strings)
    return [str(c) for c in next(named, ())]


def _nearest(word: str, offered: Iterable[str]) -> str:
    from difflib import get_close_matches

    close = get_close_matches(word, list(offered), n=2, cutoff=_NEAR)
    return f"Did you mean {' or '.join(close)}? " if close else ""
