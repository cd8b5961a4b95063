"""The conversation on a terminal, from a pipe, or from a file of lines."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, TextIO

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.terminal.render import render

if TYPE_CHECKING:
    import threading

    from prompt_toolkit import PromptSession

    from advisor.dialogue.session import Session

MARK = "> "
_YES = {"y", "yes", "leave", "quit", "exit"}


class Waiting:
    """A session that is made ready while the person types the first line, not before the first prompt.

    Args:
        warm: loads rules and phrases; takes a few tenths of a second, touches no file of the person's,
            and so may run beside the typing.
        make: makes the session; quick once warm.
        offered: the half-finished case the first screen offered, or None.
    """

    def __init__(self, warm: Callable[[], object], make: Callable[[], Session], offered: int | None) -> None:
        self._warm, self._make, self._offered = warm, make, offered
        self._session: Session | None = None
        self._thread: threading.Thread | None = None

    @property
    def ready(self) -> Session | None:
        """The session when it is made already, else None."""
        return self._session

    def begin(self, *_: Any) -> None:
        """Start warming in the background; further calls do nothing."""
        if self._session is None and self._thread is None:
            import threading

            self._thread = threading.Thread(target=self._warm, daemon=True)
            self._thread.start()

    def session(self) -> Session:
        """The session, waited for or made now."""
        if self._thread is not None:
            self._thread.join()
        if self._session is None:
            self._session = self._make()
            self._session.offered = self._offered
        return self._session


def wants_colour(stream: TextIO) -> bool:
    """Colour only on a real terminal that is not dumb, and never with NO_COLOR set."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def play(session: Session, lines: Iterable[str], out: TextIO, width: int = 80) -> None:
    """Type `lines` into the conversation, plain text out; the end of the lines is Ctrl-D."""

    def tell(blocks: list[Block]) -> None:
        if blocks:
            print(render(blocks, width), file=out, flush=True)
        _notices(session.store, out, width)

    tell(session.open())
    for line in lines:
        line = line.rstrip("\r\n")
        print(f"\n{MARK}{''.join(c if c.isprintable() else ' ' for c in line)}\n", file=out, flush=True)
        tell(session.say(line))
        if session.over:
            return
    tell(session.leave())


def converse(first: list[Block], store: Any, waiting: Waiting) -> None:
    """The conversation on a terminal, with editing, history and completion of the offered answers.

    Args:
        first: the first screen.
        store: the logbook, for its notices.
        waiting: the session, made once the person begins to type.
    """
    from prompt_toolkit import PromptSession
    from prompt_toolkit.history import InMemoryHistory

    from advisor.terminal.completion import OfferedAnswers, bottom_line

    out, colour = sys.stdout, wants_colour(sys.stdout)

    def tell(blocks: list[Block]) -> None:
        width = shutil.get_terminal_size((80, 24)).columns
        if blocks:
            print(render(blocks, width, colour) + "\n", file=out, flush=True)
        _notices(store, out, width)

    tell(first)
    prompt: PromptSession[str] = PromptSession(
        history=InMemoryHistory(),
        completer=OfferedAnswers(waiting),
        complete_while_typing=False,
        bottom_toolbar=lambda: bottom_line(waiting.ready),
        reserve_space_for_menu=4,
    )
    prompt.default_buffer.on_text_changed += waiting.begin
    while True:
        line = _ask(prompt)
        if line is None:
            tell(waiting.session().leave() if waiting.ready else [])
            return
        session = waiting.session()
        print()
        tell(session.say(line))
        if session.over:
            return


def _ask(prompt: PromptSession[str]) -> str | None:
    """One line from the person; None when they leave."""
    try:
        return prompt.prompt(MARK)
    except EOFError:
        return None
    except KeyboardInterrupt:
        print(render([Block("ask", phrases.LEAVING)]))
        try:
            answer = prompt.prompt(MARK).strip()
        except (EOFError, KeyboardInterrupt):
            return None
        if answer.lower() in _YES:
            return None
        return "" if answer.lower().split(" ")[0] in {"no", "go", "n", "stay"} else answer


def _notices(store: Any, out: TextIO, width: int) -> None:
    held = store.notices
    if held:
        print(render([Block("care", text, "NOTE") for text in held], width), file=out, flush=True)
        held.clear()
