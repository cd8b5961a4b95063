"""The conversation on a terminal, from a pipe, or from a file of lines."""

from __future__ import annotations

import os
import shutil
import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, Protocol, TextIO

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.leaving import leaves
from advisor.terminal.render import SPARE, render

if TYPE_CHECKING:
    import threading

    from advisor.dialogue.session import Session
    from advisor.terminal.prompt import Prompt

MARK = "> "
_YES = {"y", "yes"}
_STAY = {"no", "go", "n", "stay"}


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


def dumb() -> bool:
    """Whether the terminal says that it can do nothing but print lines."""
    return os.environ.get("TERM", "").lower() in {"dumb", "unknown"}


def wants_colour(stream: TextIO) -> bool:
    """Colour only on a real terminal that is not dumb, and never with NO_COLOR set."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and not dumb()


def one_line(text: str) -> str:
    """What was typed or pasted as one line: each pasted line ends its own sentence."""
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    ended = [line if line.endswith((".", "!", "?", ",", ";", ":")) else f"{line}." for line in lines[:-1]]
    return " ".join([*ended, *lines[-1:]])


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
    from advisor.terminal.interrupts import Held
    from advisor.terminal.progress import patient
    from advisor.terminal.prompt import make_prompt

    screen = Screen(sys.stdout, store)
    screen.tell(first)
    prompt = make_prompt(waiting)
    while True:
        line = _ask(prompt, screen)
        if line is None:
            screen.tell(waiting.session().leave() if waiting.ready else [])
            return
        if screen.pages and not line.strip():
            screen.next_page()
            continue
        with Held() as held, patient(sys.stdout):
            session = waiting.session()
            count = len(session.record.events)
            blocks = session.say(one_line(line))
        screen.pages.clear()
        print()
        screen.tell(blocks, asked=count == len(session.record.events))
        if session.over:
            return
        if held.happened and not _stays(prompt, screen):
            screen.tell(session.leave())
            return
        prompt.remember(session)


class Screen:
    """What stands between blocks and the terminal: its size, its colour, and pages that were asked for.

    Args:
        out: where text goes.
        store: the logbook, whose notices are shown under each answer.
    """

    def __init__(self, out: TextIO, store: Any) -> None:
        self.out, self.store = out, store
        self.colour = wants_colour(out)
        self.pages: list[str] = []

    def tell(self, blocks: list[Block], *, asked: bool = False) -> None:
        """Show blocks; where they were asked for and are longer than the screen, page by page."""
        columns, rows = shutil.get_terminal_size((80, 24))
        if blocks:
            text = render(blocks, columns, self.colour, None if asked else rows)
            if asked and text.count("\n") >= rows - SPARE:
                self.pages = text.split("\n")
                self.next_page()
            else:
                print(f"{text}\n", file=self.out, flush=True)
        _notices(self.store, self.out, columns)

    def next_page(self) -> None:
        """The next screen of what was asked for, cut at an empty line where there is one."""
        columns, rows = shutil.get_terminal_size((80, 24))
        room = max(4, rows - SPARE - 2)
        if len(self.pages) <= room:
            page, self.pages = self.pages, []
        else:
            cut = next((i for i in range(room, room // 2, -1) if not self.pages[i]), room)
            page, self.pages = self.pages[:cut], self.pages[cut:]
            while self.pages and not self.pages[0]:
                del self.pages[0]
        print("\n".join(page) + "\n", file=self.out, flush=True)
        if self.pages:
            print(render([Block("ask", phrases.PAGE_ON)], columns, self.colour), file=self.out, flush=True)


class Typed(Protocol):
    """Where a line is typed."""

    def line(self, mark: str) -> str:
        """One line; raises EOFError on Ctrl-D and KeyboardInterrupt on Ctrl-C."""


def _ask(prompt: Prompt, screen: Screen) -> str | None:
    """One line from the person; None when they leave."""
    try:
        return prompt.line(MARK)
    except EOFError:
        return None
    except KeyboardInterrupt:
        return leave_or(prompt, screen)


def leave_or(prompt: Typed, screen: Screen, asks: str = phrases.LEAVING) -> str | None:
    """After Ctrl-C: None when the person leaves, else what they typed instead ("" for nothing)."""
    screen.tell([Block("ask", asks)])
    try:
        answer = prompt.line(MARK).strip()
    except (EOFError, KeyboardInterrupt):
        return None
    if answer.lower() in _YES or leaves(answer):
        return None
    return "" if not answer or answer.lower().split(" ")[0] in _STAY else answer


def _stays(prompt: Prompt, screen: Screen) -> bool:
    """Whether the person goes on after a Ctrl-C that came while an answer was worked out."""
    answer = leave_or(prompt, screen)
    if answer:
        prompt.put_back(answer)
    return answer is not None


def _notices(store: Any, out: TextIO, width: int) -> None:
    held = store.notices
    if held:
        print(render([Block("care", text, "NOTE") for text in held], width), file=out, flush=True)
        held.clear()
