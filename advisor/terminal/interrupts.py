"""Ctrl-C while an answer is worked out and stored: heard, and acted on once that is finished."""

from __future__ import annotations

import signal
from types import FrameType, TracebackType
from typing import Any


class Held:
    """Holds Ctrl-C back while the block runs; `happened` says whether it was pressed.

    So no turn is stored by half. A second Ctrl-C goes through: nobody is locked in.
    """

    def __init__(self) -> None:
        self.happened = False
        self._before: Any = None

    def __enter__(self) -> Held:
        self._before = signal.signal(signal.SIGINT, self._press)
        return self

    def __exit__(self, kind: type[BaseException] | None, error: object, trace: TracebackType | None) -> None:
        signal.signal(signal.SIGINT, self._before)

    def _press(self, number: int, frame: FrameType | None) -> None:
        if self.happened:
            raise KeyboardInterrupt
        self.happened = True
