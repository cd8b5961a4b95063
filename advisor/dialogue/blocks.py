"""A block: one piece of what is put before a person, with a label and how it stands on the page.

Light on purpose: the first screen is drawn from blocks before anything heavy is loaded.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Block:
    """One piece of a screen. Kinds: head, text, item, note, ask, answers, emergency, stop, warn, care."""

    kind: str
    text: str
    label: str = ""
