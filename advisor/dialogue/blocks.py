"""A block: one piece of what is put before a person, with a label and how it stands on the page.

Light on purpose: the first screen is drawn from blocks before anything heavy is loaded.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

#: Ranks. A block of rank 0 is always shown; of the others the highest go first where room is short, and
#: a block that is only wanted on an overfull screen has the rank below.
MUST, TALL = 0, -1
#: Lines of detail behind a block with short forms; they leave last, when that block takes its short form.
DETAIL = 1
#: A list that goes as a whole or not at all, and what is shown instead of it.
LIST, INSTEAD = 3, -2
#: Said only where something was put in its short form.
SHORTENED = -3


@dataclass(frozen=True, slots=True)
class Block:
    """One piece of a screen.

    Attributes:
        kind: head, row (a head without a blank line before it), text, item, note, ask, answers,
            emergency, stop, warn or care.
        text, label: what is said, and the word in front of it.
        rank: how soon it may be left out of a screen that is too small; what is left out is on "more".
        briefs: what it says instead where all that may leave has left and it is still too much, ever
            shorter.
    """

    kind: str
    text: str
    label: str = ""
    rank: int = MUST
    briefs: tuple[str, ...] = ()


def ranked(blocks: Iterable[Block], rank: int) -> list[Block]:
    """The blocks with this rank."""
    return [replace(block, rank=rank) for block in blocks]
