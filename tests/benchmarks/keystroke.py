"""A keystroke and a Tab at the conversation's prompt, beside a bare prompt, in one run.

    python tests/benchmarks/keystroke.py [rounds]

Keys are sent down a pipe to a prompt that draws nowhere, first to a bare ``PromptSession``, then to the
conversation's prompt with a case open. A Tab is the list of offered answers with their meaning, and the
bottom line; each new bottom line is worked out once after every event. Processor time, so that other
work on the machine does not count.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

TYPED = "the pump sounds rough and the level fell " * 5
LINES = ("lathe 2 smells of rotten eggs since monday, oil on top", "nobody is hurt", "pH 7.9, reads 5.5 %")


def waiting(folder: str, lines: Sequence[str] = LINES) -> Any:
    """A conversation of three lines, or of others, as the prompt sees it."""
    from advisor.cli import shared_lexicon, shop_book
    from advisor.dialogue.session import Session
    from advisor.knowledge.rulebase import load
    from advisor.logbook.store import open_store
    from advisor.terminal.loop import Waiting

    store = open_store(Path(folder))
    shop = shop_book(store, demo=True)
    session = Session(load(), shared_lexicon(), store, clock=lambda: "2025-03-03T06:00:00Z", shop=shop)
    session.open()
    for line in lines:
        session.say(line)
    held = Waiting(lambda: None, lambda: session, None)
    held.session()
    return held


def typing(make: Callable[[], Callable[[str], str]]) -> float:
    """Processor seconds per key typed into the prompt that `make` gives."""
    from prompt_toolkit.application import create_app_session
    from prompt_toolkit.input import create_pipe_input
    from prompt_toolkit.output import DummyOutput

    with create_pipe_input() as pipe, create_app_session(input=pipe, output=DummyOutput()):
        prompt = make()
        pipe.send_text("x\r")
        prompt("> ")
        pipe.send_text(f"{TYPED}\r")
        start = time.process_time()
        prompt("> ")
        return (time.process_time() - start) / (len(TYPED) + 1)


def tabs(held: Any) -> tuple[list[float], float]:
    """Processor seconds of each list of offers, and of a new bottom line."""
    from prompt_toolkit.completion import CompleteEvent
    from prompt_toolkit.document import Document

    from advisor.terminal.completion import BottomLine, OfferedAnswers

    offers, bottom, taken = OfferedAnswers(held), BottomLine(held), []
    start = time.process_time()
    bottom.text(80)
    first = time.process_time() - start
    for typed in ["", *"abcdefghijklmnopqrstuvwxyz", "no", "what", "stop here"]:
        start = time.process_time()
        list(offers.get_completions(Document(typed, len(typed)), CompleteEvent()))
        bottom.text(80)
        taken.append(time.process_time() - start)
    return taken, first


def main() -> None:
    """Print the ratios."""
    from prompt_toolkit import PromptSession

    from advisor.terminal.prompt import FullPrompt

    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    with tempfile.TemporaryDirectory() as folder:
        held = waiting(folder)
        pairs = [
            (typing(lambda: PromptSession[str]().prompt), typing(lambda: FullPrompt(held).line))
            for _ in range(rounds)
        ]
        bare, ours = (1000 * statistics.median(column) for column in zip(*pairs, strict=True))
        listed, first = tabs(held)
    worst = 1000 * max(listed)
    print(f"a key: bare prompt {bare:.3f} ms, here {ours:.3f} ms: {ours / bare:.2f} times")
    print(
        f"a Tab: {1000 * statistics.median(listed):.3f} ms, worst {worst:.3f} ms: {worst / bare:.2f} times a "
        f"bare key; a new bottom line {1000 * first:.2f} ms"
    )


if __name__ == "__main__":
    main()
