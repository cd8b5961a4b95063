"""The words that leave, the same wherever something is typed."""

from __future__ import annotations

#: A whole line that is one of these leaves; Ctrl-D does, too.
WORDS = frozenset({"q", ":q", "quit", "exit", "leave", "bye", "goodbye", "stop", "stop here"})


def leaves(text: str) -> bool:
    """Whether a line says that the person wants to leave."""
    return " ".join(text.lower().split()).strip(" .!") in WORDS
