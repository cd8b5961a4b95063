"""Blocks as lines of text: wrapped, labels in front, colour only as an addition."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from advisor.dialogue.blocks import INSTEAD, LIST, TALL, Block

#: Narrowest and widest text that is set; wider screens are left empty for the eye's sake.
NARROW, WIDE = 40, 100
_BOLD, _ALARM, _ASK, _PLAIN = "\x1b[1m", "\x1b[1;7m", "\x1b[1;4m", "\x1b[0m"
#: Lines of a screen that the prompt, the typed line and the bottom line take.
SPARE = 3
_LABELLED = {"head", "row", "emergency", "stop", "warn", "care", "note"}
_SPACED = {"head", "emergency", "stop", "warn", "ask"}


def render(blocks: Iterable[Block], width: int = 80, colour: bool = False, rows: int | None = 24) -> str:
    """The blocks as text of at most `width` columns, and of one screen where their ranks allow it.

    Args:
        blocks: what to show.
        width: columns of the screen; kept between 40 and 100.
        colour: whether escape codes may mark labels and the question. Nothing depends on them.
        rows: lines of the screen; blocks that may be left out are, until the rest fits. None: all of them.
    """
    width = max(NARROW, min(WIDE, width)) - 1
    made = [(block.rank, _spaced(block), _block(block, width, colour)) for block in blocks]
    if rows is None:
        return "\n".join(_lines([each for each in made if each[0] >= 0]))
    return "\n".join(_lines(_fitted(made, rows - SPARE)))


_Made = tuple[int, bool, list[str]]


def _spaced(block: Block) -> bool:
    return block.kind in _SPACED


def _lines(made: list[_Made]) -> list[str]:
    lines: list[str] = []
    for _, spaced, body in made:
        if spaced and lines and lines[-1]:
            lines.append("")
        lines += body
    return lines


def _fitted(made: list[_Made], room: int) -> list[_Made]:
    """What fits into `room` lines, the highest rank and the later block going first.

    What must stay may still be longer; then the blocks for an overfull screen are shown as well.
    """
    left = [each for each in made if each[0] >= 0]
    while len(_lines(left)) > room:
        rank = max((each[0] for each in left), default=0)
        if rank <= 0:
            return [each for each in made if each[0] in {0, TALL} or (each[0] == INSTEAD and each in left)]
        if rank == LIST:
            left = [each for each in made if each in left or each[0] == INSTEAD]
            left = [each for each in left if each[0] != LIST]
            continue
        last = max(i for i, each in enumerate(left) if each[0] == rank)
        del left[last]
    return left


def _block(block: Block, width: int, colour: bool) -> list[str]:
    text = clean(block.text)
    if block.kind in _LABELLED:
        gap = ": " if block.kind == "note" else "  "
        head = clean(block.label)
        body = _wrap(f"{head}{gap}{text}".rstrip(), width, "", "  ")
        if colour and head:
            mark = _ALARM if block.kind in {"emergency", "stop"} else _BOLD
            body[0] = f"{mark}{head}{_PLAIN}{body[0][len(head) :]}"
        return body
    if block.kind == "item":
        label = clean(block.label)
        indent = " " * (max(4, len(label) + 3))
        return _wrap(f"  {label}".ljust(len(indent)) + text, width, "", indent)
    if block.kind == "answers":
        return _answers(text, width)
    if block.kind == "ask":
        body = _wrap(text, width, "", "")
        return [f"{_ASK}{line}{_PLAIN}" for line in body] if colour else body
    return _wrap(text, width, "", "")


def _answers(text: str, width: int) -> list[str]:
    """Offered answers: as many to a line as fit whole, so that none is torn apart."""
    lines: list[str] = []
    for answer in text.split("   "):
        if lines and len(lines[-1]) + 3 + len(answer) <= width:
            lines[-1] += "   " + answer
        else:
            lines += _wrap(answer, width, "  ", "    ")
    return lines


def _wrap(text: str, width: int, first: str, rest: str) -> list[str]:
    return textwrap.wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        drop_whitespace=True,
        replace_whitespace=False,
    ) or [""]


def clean(text: str) -> str:
    """Text without control characters, so that nothing typed or stored can steer the screen."""
    return "".join(c if c.isprintable() else " " for c in text)
