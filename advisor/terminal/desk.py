"""A desk on the terminal: a line in, blocks out, a screen at a time; for the review and the drills."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from typing import Any, Protocol

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.terminal.loop import MARK, Screen, dumb, leave_or
from advisor.terminal.prompt import hear_ctrl_c
from advisor.terminal.render import render


class Desk(Protocol):
    """What answers the lines."""

    over: bool

    def say(self, text: str) -> list[Block]:
        """Take one line and answer it."""

    def leave(self) -> list[Block]:
        """End it, the person being gone; what is told then."""


class _NoBook:
    """Stands for the logbook where there is none: it has no notices."""

    notices: tuple[str, ...] = ()


class _Line:
    """The line a person types, with editing and history where the terminal can carry them."""

    def __init__(self) -> None:
        from prompt_toolkit import PromptSession
        from prompt_toolkit.history import InMemoryHistory

        self._prompt: PromptSession[str] | None = None
        if dumb():
            hear_ctrl_c()
        else:
            self._prompt = PromptSession(history=InMemoryHistory())

    def line(self, mark: str) -> str:
        """One line; raises EOFError on Ctrl-D and KeyboardInterrupt on Ctrl-C."""
        return input(mark) if self._prompt is None else self._prompt.prompt(mark)


def sit(desk: Desk, first: list[Block], store: Any = None) -> None:
    """Let a person work at a desk on a terminal until it is over or they leave.

    Args:
        first: the first screen.
        store: the logbook whose notices are shown, None where there is none.
    """
    screen, prompt = Screen(sys.stdout, store or _NoBook()), _Line()
    screen.tell(first, asked=True)
    while not desk.over:
        try:
            line: str | None = prompt.line(MARK)
        except EOFError:
            line = None
        except KeyboardInterrupt:
            line = leave_or(prompt, screen, phrases.LEAVING_DESK)
        if line is None:
            screen.tell(desk.leave())
            return
        if screen.pages and not line.strip():
            screen.next_page()
            continue
        screen.pages.clear()
        print()
        screen.tell(desk.say(line), asked=True)


def type_in(
    desk: Desk, first: list[Block], lines: Iterable[str], ending: Callable[[], list[Block]] | None = None
) -> None:
    """Type lines into a desk, plain text out.

    Args:
        ending: what the end of the lines does; None: the person leaves, as by Ctrl-D.
    """
    print(render(first, rows=None), flush=True)
    for line in lines:
        print(f"\n{MARK}{''.join(c if c.isprintable() else ' ' for c in line.strip())}\n")
        print(render(desk.say(line), rows=None), flush=True)
        if desk.over:
            return
    told = (ending or desk.leave)()
    if told:
        print(f"\n{render(told, rows=None)}", flush=True)
