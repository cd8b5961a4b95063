"""A program of its own that does one command of the logbook again and again, and says when each is done.

``python entering_process.py FIRST WORD ...``: ``{n}`` in a word counts up from FIRST. The home folder and a
server are named by the environment, as for the program itself.
"""

from __future__ import annotations

import contextlib
import io
import sys
from itertools import count

from advisor.cli import main


def enter(first: int, words: list[str]) -> None:
    """Run the command until killed."""
    for number in count(first):
        told = io.StringIO()
        with contextlib.redirect_stdout(told):
            code = main([word.replace("{n}", str(number)) for word in words])
        print(number if code == 0 else f"refused: {told.getvalue()}", flush=True)


if __name__ == "__main__":
    enter(int(sys.argv[1]), sys.argv[2:])
