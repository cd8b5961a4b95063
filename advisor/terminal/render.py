"""Blocks as lines of text: wrapped, labels in front, colour only as an addition."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass, replace

from advisor.dialogue.blocks import DETAIL, INSTEAD, LIST, MUST, SHORTENED, TALL, Block

#: Narrowest and widest text that is set; wider screens are left empty for the eye's sake.
NARROW, WIDE = 40, 100
_BOLD, _ALARM, _ASK, _PLAIN = "\x1b[1m", "\x1b[1;7m", "\x1b[1;4m", "\x1b[0m"
#: Lines of a screen that the prompt, the typed line and the bottom line take.
SPARE = 3
_LABELLED = {"head", "row", "emergency", "stop", "warn", "care", "note"}
_SPACED = {"head", "emergency", "stop", "warn", "ask"}
#: Those that have one also where every line counts.
_ALWAYS_SPACED = {"emergency", "ask"}
#: Of the blocks with a short form, those that take it last.
_SHORT_LAST = {"care": 1, "warn": 2, "stop": 3}


def render(blocks: Iterable[Block], width: int = 80, colour: bool = False, rows: int | None = 24) -> str:
    """The blocks as text of at most `width` columns, and of one screen where their ranks allow it.

    Args:
        blocks: what to show.
        width: columns of the screen; kept between 40 and 100.
        colour: whether escape codes may mark labels and the question. Nothing depends on them.
        rows: lines of the screen; blocks that may be left out are, until the rest fits. None: all of them.
    """
    width = max(NARROW, min(WIDE, width)) - 1
    made = [_Made(block, _block(block, width, colour)) for block in blocks]
    if rows is None:
        return "\n".join(_lines([each for each in made if each.block.rank >= 0]))
    room = rows - SPARE
    shown = _fitted(made, room, width, colour)
    lines = _lines(shown)
    short = any(each.short for each in shown)  # a page that was asked for has no short form, and is turned
    if len(lines) > room and short:
        lines = _lines(shown, tight=True)
    if len(lines) > room:
        lines = _lines(_tall(made, shown), tight=short)
    return "\n".join(lines)


@dataclass(slots=True, eq=False)
class _Made:
    """A block with its lines, and whether it took its short form."""

    block: Block
    body: list[str]
    short: bool = False

    @property
    def rank(self) -> int:
        return self.block.rank


def _lines(made: list[_Made], *, tight: bool = False) -> list[str]:
    lines: list[str] = []
    beside = False  # short ones stand close to each other
    for each in made:
        spaced = each.block.kind in (_ALWAYS_SPACED if tight else _SPACED)
        if spaced and lines and lines[-1] and not (each.short and beside):
            lines.append("")
        lines += each.body
        beside = each.short
    return lines


def _fitted(made: list[_Made], room: int, width: int, colour: bool) -> list[_Made]:
    """What fits into `room` lines: the highest rank and the later block go first, then short forms are taken.

    What must stay may still be longer.
    """
    left = [each for each in made if each.rank >= 0]
    while len(_lines(left)) > room:
        rank = max((each.rank for each in left), default=MUST)
        if rank <= DETAIL:
            return _shortened(made, left, room, width, colour)
        if rank == LIST:
            left = [each for each in made if each in left or each.rank == INSTEAD]
            left = [each for each in left if each.rank != LIST]
            continue
        last = max(i for i, each in enumerate(left) if each.rank == rank)
        del left[last]
    return left


def _shortened(made: list[_Made], left: list[_Made], room: int, width: int, colour: bool) -> list[_Made]:
    """The mildest blocks in a short form first, as few as the room asks for; none is left out."""
    told = [each for each in made if each in left or each.rank == SHORTENED]
    for _ in range(max((len(each.block.briefs) for each in told), default=0)):
        long = [each for each in told if each.block.briefs]
        order = sorted(long, key=lambda each: (_SHORT_LAST.get(each.block.kind, 0), -told.index(each)))
        for each in order:
            at = told.index(each)
            last = at + 1
            while last < len(told) and told[last].rank == DETAIL:
                last += 1
            text, *shorter = each.block.briefs
            each.block, each.short = replace(each.block, text=text, briefs=tuple(shorter)), True
            each.body = _block(each.block, width, colour)
            del told[at + 1 : last]
            if len(_lines(told)) <= room:
                return told
    return told


def _tall(made: list[_Made], told: list[_Made]) -> list[_Made]:
    """What is shown, with the blocks for an overfull screen in their places: before what follows them."""
    for i, each in enumerate(made):
        if each.rank == TALL:
            behind = next((n for n in made[i + 1 :] if n in told), None)
            told.insert(told.index(behind) if behind is not None else len(told), each)
    return told


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
