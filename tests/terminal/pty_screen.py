"""The real program on a pseudo-terminal, and the screen it has drawn."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path
from types import TracebackType

import pexpect
import pyte

ROOT = Path(__file__).resolve().parents[2]
#: Seconds until a text that should appear is given up; a loaded machine is slow, a passing test is not.
PATIENCE = 40.0
ENTER, CTRL_C, CTRL_D, TAB, END, UP = "\r", "\x03", "\x04", "\t", "\x1b[F", "\x1b[A"
PASTE = "\x1b[200~{}\x1b[201~"


class _Screen(pyte.Screen):
    """A screen that answers when it is asked where its cursor is, as a terminal does."""

    answer_to: pexpect.spawn | None = None

    def write_process_input(self, data: str) -> None:
        if self.answer_to is not None:
            self.answer_to.send(data)


class Terminal:
    """One run of the program.

    Args:
        home: the data folder, so that runs can follow each other.
        columns, rows: the size of the screen.
        options: of the command line.
        term: what the terminal says it is.
    """

    def __init__(
        self, home: Path, columns: int = 80, rows: int = 24, *options: str, term: str = "xterm-256color"
    ) -> None:
        cache = os.environ.get("XDG_CACHE_HOME", str(Path.home() / ".cache"))  # rules are compiled once
        env = {"PATH": os.environ["PATH"], "HOME": str(home), "XDG_CACHE_HOME": cache, "TERM": term}
        env |= {"SUMPSIDE_HOME": str(home / "data"), "LANG": "C.UTF-8", "PYTHONPATH": str(ROOT)}
        self.screen = _Screen(columns, rows)
        self._stream = pyte.ByteStream(self.screen)
        self.seen = b""
        self.child = pexpect.spawn(
            sys.executable, ["-m", "advisor", *options], env=env, dimensions=(rows, columns), timeout=PATIENCE
        )
        self.child.delaybeforesend = None
        self.screen.answer_to = self.child

    def __enter__(self) -> Terminal:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: object, trace: TracebackType | None) -> None:
        self.child.close(force=True)

    def text(self) -> str:
        """What stands on the screen, without the blanks behind each line."""
        return "\n".join(line.rstrip() for line in self.screen.display).rstrip()

    def _read(self) -> bool:
        """Take in what the program wrote; False once it has ended."""
        try:
            piece = self.child.read_nonblocking(65536, timeout=0.05)
        except pexpect.TIMEOUT:
            return True
        except pexpect.EOF:
            return False
        self.seen += piece
        self._stream.feed(piece)
        return True

    def wait(self, *texts: str, prompt: bool = False, patience: float = PATIENCE) -> str:
        """The screen once every text stands on it (line ends count as blanks), and the prompt, if asked."""
        until = time.monotonic() + patience
        while time.monotonic() < until:
            alive = self._read()
            flat = " ".join(self.text().split())
            asked = self.screen.display[self.screen.cursor.y].startswith(">")
            if all(text in flat for text in texts) and (asked or not prompt):
                return self.text()
            if not alive:
                break
        raise AssertionError(f"waited in vain for {texts}; the screen was:\n{self.text()}")

    def say(self, line: str, *texts: str) -> str:
        """Type a line, and wait for what its answer must show and for the next prompt."""
        self.child.send(line + ENTER)
        return self.wait(*texts, prompt=True)

    def keys(self, keys: str, *texts: str) -> str:
        """Press keys and wait; a press lost between a plain prompt and its read is pressed again, once."""
        self.child.send(keys)
        if not texts:
            return self.text()
        try:
            return self.wait(*texts, patience=PATIENCE / 2)
        except AssertionError:
            self.child.send(keys)
            return self.wait(*texts)

    def resize(self, columns: int, rows: int) -> None:
        """Give the window another size."""
        lost = max(0, self.screen.lines - rows)  # pyte takes them off the top, and leaves the cursor behind
        self.screen.resize(rows, columns)
        self.screen.cursor.y = max(0, self.screen.cursor.y - lost)
        self.screen.cursor.x = min(self.screen.cursor.x, columns - 1)
        self.child.setwinsize(rows, columns)

    def ended(self) -> str:
        """The last screen, once the program has ended by itself."""
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            if not self._read():
                return self.text()
        raise AssertionError(f"still running:\n{self.text()}")
