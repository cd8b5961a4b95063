"""A word to the person when something takes longer than half a second."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from advisor.dialogue import phrases

#: Seconds of silence after which a person wonders whether anything happens (common practice, no source).
PATIENCE = 0.5


@contextmanager
def patient(out: TextIO, after: float = PATIENCE) -> Iterator[None]:
    """Say once that work is going on when the block runs longer than `after` seconds.

    Said only on a terminal; what goes to a file or another program stays as it is.
    """
    if not out.isatty():
        yield
        return
    import threading

    timer = threading.Timer(after, lambda: print(phrases.ONE_MOMENT, file=out, flush=True))
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
