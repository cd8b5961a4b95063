"""Blocks as lines of text: wrapped, labels in front, colour only as an addition."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from advisor.dialogue.blocks import Block

#: Narrowest and widest text that is set; wider screens are left empty for the eye's sake.
NARROW, WIDE = 40, 100
_BOLD, _ALARM, _ASK, _PLAIN = "\x1b[1m", "\x1b[1;7m", "\x1b[1;4m", "\x1b[0m"
_LABELLED = {"head", "emergency", "stop", "warn", "care", "note"}
_SPACED = {"head", "emergency", "stop", "warn", "ask"}


def render(blocks: Iterable[Block], width: int = 80, colour: bool = False) -> str:
    """The blocks as text of at most `width` columns.

    Args:
        blocks: what to show.
        width: columns of the screen; kept between 40 and 100.
        colour: whether escape codes may mark labels and the question. Nothing depends on them.
    """
    width = max(NARROW, min(WIDE, width)) - 1
    lines: list[str] = []
    for block in blocks:
        if block.kind in _SPACED and lines and lines[-1]:
            lines.append("")
        lines += _block(block, width, colour)
    return "\n".join(lines)


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
