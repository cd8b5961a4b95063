"""One question on the terminal, answered in a line."""

from __future__ import annotations

from advisor.dialogue.leaving import leaves


def asked(question: str) -> str:
    """What is typed.

    Raises:
        EOFError: the person leaves, by a word or by Ctrl-D.
    """
    text = input(question)
    if leaves(text):
        raise EOFError
    return text
