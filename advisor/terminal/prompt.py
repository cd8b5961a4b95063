"""The line a person types: with editing, history and completion, or plain where the terminal is dumb."""

from __future__ import annotations

import signal
from typing import TYPE_CHECKING, Protocol

from prompt_toolkit import PromptSession
from prompt_toolkit.application import get_app
from prompt_toolkit.history import InMemoryHistory

from advisor.terminal.completion import BottomLine, OfferedAnswers

if TYPE_CHECKING:
    from advisor.dialogue.session import Session
    from advisor.terminal.loop import Waiting


class Prompt(Protocol):
    """What the conversation asks of a prompt."""

    def line(self, mark: str) -> str:
        """One line; raises EOFError on Ctrl-D and KeyboardInterrupt on Ctrl-C."""

    def remember(self, session: Session) -> None:
        """Take over what the session wants to be edited next."""

    def put_back(self, text: str) -> None:
        """Let the next line begin with this text."""


def make_prompt(waiting: Waiting) -> Prompt:
    """The prompt this terminal can carry."""
    from advisor.terminal.loop import dumb

    return PlainPrompt(waiting) if dumb() else FullPrompt(waiting)


def hear_ctrl_c() -> None:
    """Let Ctrl-C through where the shell that began the program keeps it away."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)


class PlainPrompt:
    """Reads with the terminal's own line editing; for terminals that can only print lines."""

    def __init__(self, waiting: Waiting) -> None:
        self._waiting = waiting
        self._next = ""
        hear_ctrl_c()

    def line(self, mark: str) -> str:
        """One line."""
        self._waiting.begin()
        if self._next:
            text, self._next = self._next, ""
            print(f"{mark}{text}")
            return text
        return input(mark)

    def remember(self, session: Session) -> None:
        """Nothing: a line that cannot be seen cannot be edited."""

    def put_back(self, text: str) -> None:
        """The next line is this text."""
        self._next = text


class FullPrompt:
    """prompt_toolkit's line, with the offered answers on Tab and the bottom line."""

    def __init__(self, waiting: Waiting) -> None:
        self._history = InMemoryHistory()
        self._known: int | None = None
        self._next, self._replace = "", False
        bottom = BottomLine(waiting)
        self._prompt: PromptSession[str] = PromptSession(
            history=self._history,
            completer=OfferedAnswers(waiting),
            complete_while_typing=False,
            bottom_toolbar=lambda: bottom.text(get_app().output.get_size().columns),
            reserve_space_for_menu=4,
        )
        self._prompt.default_buffer.on_text_changed += waiting.begin

    def line(self, mark: str) -> str:
        """One line; what was taken back stands in it, and typing anything else replaces it."""
        text, self._next = self._next, ""
        select = self._select if text and self._replace else None
        return self._prompt.prompt(mark, default=text, pre_run=select)

    def remember(self, session: Session) -> None:
        """The answer taken back stands in the next line; a resumed case brings its words to the history."""
        if self._known is None and session.case is not None:
            self._known = session.case
            typed = set(self._history.get_strings())
            for _, words in sorted(session.record.words.items()):
                if words not in typed:
                    self._history.append_string(words)
        self._next, session.edit, self._replace = session.edit, "", True

    def put_back(self, text: str) -> None:
        """The next line begins with this text."""
        self._next, self._replace = text, False

    def _select(self) -> None:
        buffer = self._prompt.default_buffer
        buffer.cursor_position = 0
        buffer.start_selection()
        if buffer.selection_state is not None:
            buffer.selection_state.enter_shift_mode()
        buffer.cursor_position = len(buffer.text)
