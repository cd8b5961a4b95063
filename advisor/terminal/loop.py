"""The conversation on a terminal, from a pipe, or from a file of lines."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING, TextIO

from advisor.dialogue import phrases
from advisor.dialogue.screens import Block
from advisor.dialogue.session import Session
from advisor.terminal.render import render

if TYPE_CHECKING:
    from prompt_toolkit import PromptSession

MARK = "> "


def wants_colour(stream: TextIO) -> bool:
    """Colour only on a real terminal that is not dumb, and never with NO_COLOR set."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def play(session: Session, lines: Iterable[str], out: TextIO, width: int = 80) -> None:
    """Type `lines` into the conversation, plain text out; the end of the lines is Ctrl-D."""

    def tell(blocks: list[Block]) -> None:
        if blocks:
            print(render(blocks, width), file=out, flush=True)
        _notices(session, out, width)

    tell(session.open())
    for line in lines:
        line = line.rstrip("\r\n")
        print(f"{MARK}{''.join(c if c.isprintable() else ' ' for c in line)}\n", file=out, flush=True)
        tell(session.say(line))
        if session.over:
            return
    tell(session.leave())


def converse(session: Session) -> None:
    """The conversation on a terminal, with editing, history and completion of the offered answers."""
    from prompt_toolkit import PromptSession
    from prompt_toolkit.history import InMemoryHistory

    from advisor.terminal.completion import OfferedAnswers, bottom_line

    out, colour = sys.stdout, wants_colour(sys.stdout)

    def tell(blocks: list[Block]) -> None:
        width = shutil.get_terminal_size((80, 24)).columns
        if blocks:
            print(render(blocks, width, colour) + "\n", file=out, flush=True)
        _notices(session, out, width)

    prompt: PromptSession[str] = PromptSession(
        history=InMemoryHistory(),
        completer=OfferedAnswers(session),
        complete_while_typing=False,
        bottom_toolbar=lambda: bottom_line(session),
        reserve_space_for_menu=0,
    )
    tell(session.open())
    while not session.over:
        line = _ask(prompt, session, tell)
        if line is None:
            tell(session.leave())
            return
        tell(session.say(line))


def _ask(prompt: PromptSession[str], session: Session, tell: object) -> str | None:
    """One line from the person; None when they leave."""
    try:
        return prompt.prompt(MARK)
    except EOFError:
        return None
    except KeyboardInterrupt:
        print(render([Block("ask", phrases.LEAVING)]))
        try:
            answer = prompt.prompt(MARK).strip().lower()
        except (EOFError, KeyboardInterrupt):
            return None
        return None if answer in {"y", "yes", "leave", "quit"} else (answer or "")


def _notices(session: Session, out: TextIO, width: int) -> None:
    held = session.store.notices
    if held:
        print(render([Block("care", text, "NOTE") for text in held], width), file=out, flush=True)
        held.clear()
