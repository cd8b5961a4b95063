"""Belief over the answers as an inline SVG: one line a cause, told apart without colour.

Every line has its own dash pattern, its own mark and its name at its end, so that the chart reads in
grey and on a poor projector. The colours keep apart for people who confuse red and green (Okabe and
Ito, Color Universal Design, 2008, from memory, unverified).
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

#: Colour, dashes and mark of each line, in order; the darkest first, so that the leader prints best.
LOOKS = (
    ("#0072b2", "", "circle"),
    ("#d55e00", "12 5", "square"),
    ("#000000", "3 4", "diamond"),
    ("#007a59", "16 4 3 4", "triangle"),
    ("#a0457d", "8 3 2 3 2 3", "cross"),
    ("#7a5b00", "2 7", "ring"),
)
#: Lines that fit beside each other with their names.
MOST = len(LOOKS)
_WIDE, _HIGH = 960, 580
_LEFT, _RIGHT, _TOP, _BOTTOM = 82, 330, 24, 56
_LINE, _LETTERS = 20, 23


@dataclass(frozen=True, slots=True)
class Line:
    """One cause over the answers: its name, its probability (0 to 1) before the first and after each."""

    name: str
    values: tuple[float, ...]


def chart(lines: Sequence[Line], steps: Sequence[str], told: Sequence[Sequence[str]]) -> str:
    """The chart as SVG text.

    Args:
        lines: at most `MOST`, the most important first, all of one length.
        steps: what stands under each point; the first is the start, before any answer.
        told: for each line and point, its probability in words.
    """
    middle = _across(len(steps))
    parts = [_grid(steps, middle)]
    for i, (line, words) in enumerate(zip(lines[:MOST], told, strict=False)):
        parts.append(_line(line, words, steps, middle, i))
    parts.append(_names(lines[:MOST]))
    label = "Belief in each cause after each answer: " + "; ".join(
        f"{line.name} {words[-1]}" for line, words in zip(lines, told, strict=False)
    )
    return (
        f'<svg class="chart" viewBox="0 0 {_WIDE} {_HIGH}" role="img" aria-label="{escape(label)}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg>'
    )


def _across(count: int) -> list[float]:
    wide = _WIDE - _LEFT - _RIGHT
    return [_LEFT + (wide * i / (count - 1) if count > 1 else wide / 2) for i in range(count)]


def _height(value: float) -> float:
    return _TOP + (_HIGH - _TOP - _BOTTOM) * (1 - value)


def _grid(steps: Sequence[str], middle: list[float]) -> str:
    right, foot = _WIDE - _RIGHT, _height(0)
    made = []
    for tenth in (0, 2, 4, 6, 8, 10):
        y = _height(tenth / 10)
        made.append(f'<line x1="{_LEFT}" x2="{right}" y1="{y:.1f}" y2="{y:.1f}" class="rule"/>')
        made.append(f'<text x="{_LEFT - 10}" y="{y + 5:.1f}" text-anchor="end">{tenth} in 10</text>')
    half = (middle[1] - middle[0]) / 2 if len(middle) > 1 else 60
    every = 1 + (len(steps) - 1) // 16
    for i, (x, name) in enumerate(zip(middle, steps, strict=True)):
        left = max(0.0, x - half)
        hit = f'<rect x="{left:.1f}" y="{_TOP}" width="{2 * half:.1f}" height="{foot - _TOP:.1f}"/>'
        short = "start" if i == 0 else str(i)
        text = f'<text x="{x:.1f}" y="{foot + 22:.1f}" text-anchor="middle">{short}</text>'
        if i % every:
            text = ""
        made.append(f'<g class="column" data-step="{i}"><title>{escape(name)}</title>{hit}{text}</g>')
    x = (_LEFT + right) / 2
    made.append(f'<text x="{x:.0f}" y="{_HIGH - 8}" text-anchor="middle">answer number</text>')
    return "".join(made)


def _line(line: Line, told: Sequence[str], steps: Sequence[str], middle: list[float], i: int) -> str:
    colour, dashes, mark = LOOKS[i]
    at = [(x, _height(value)) for x, value in zip(middle, line.values, strict=True)]
    path = "M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in at)
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    marks = "".join(
        f'<g data-step="{n}"><title>{escape(f"{line.name}: {told[n]}; {steps[n]}")}</title>'
        f"{_mark(mark, x, y, colour)}</g>"
        for n, (x, y) in enumerate(at)
    )
    return (
        f'<g class="belief" data-line="{i}"><path d="{path}" fill="none" stroke="{colour}" '
        f'stroke-width="3.5"{dashed}/>{marks}</g>'
    )


def _mark(shape: str, x: float, y: float, colour: str) -> str:
    solid = f'fill="{colour}" stroke="#fff" stroke-width="1.5"'
    if shape == "circle":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="7" {solid}/>'
    if shape == "ring":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6" fill="#fff" stroke="{colour}" stroke-width="3"/>'
    if shape == "square":
        return f'<rect x="{x - 6.5:.1f}" y="{y - 6.5:.1f}" width="13" height="13" {solid}/>'
    if shape == "cross":
        arms = f"M{x - 6:.1f} {y - 6:.1f}l12 12M{x + 6:.1f} {y - 6:.1f}l-12 12"
        return f'<path d="{arms}" stroke="{colour}" stroke-width="4" fill="none"/>'
    points = {"diamond": "0,-9 9,0 0,9 -9,0", "triangle": "0,-9 8.5,6.5 -8.5,6.5"}[shape]
    return f'<polygon points="{points}" transform="translate({x:.1f} {y:.1f})" {solid}/>'


def _names(lines: Sequence[Line]) -> str:
    """The names at the ends of the lines, moved apart where the ends meet, each tied to its end."""
    x = _WIDE - _RIGHT
    texts = [textwrap.wrap(line.name, _LETTERS) or [""] for line in lines]
    ends = [_height(line.values[-1]) for line in lines]
    places = spread(ends, [len(text) * _LINE + 5.0 for text in texts], _TOP - 14.0, _HIGH - 8.0)
    made = []
    for i, (text, end, top) in enumerate(zip(texts, ends, places, strict=True)):
        colour, dashes, mark = LOOKS[i]
        middle = top + len(text) * _LINE / 2
        dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
        made.append(
            f'<g class="name"><path d="M{x + 9} {end:.1f}L{x + 26} {middle:.1f}" stroke="#555" '
            f'fill="none"/><path d="M{x + 26} {middle:.1f}h46" stroke="{colour}" stroke-width="3.5" '
            f'fill="none"{dashed}/>{_mark(mark, x + 49, middle, colour)}'
        )
        made += [
            f'<text x="{x + 82}" y="{top + (n + 0.75) * _LINE:.1f}">{escape(row)}</text>'
            for n, row in enumerate(text)
        ]
        made.append("</g>")
    return "".join(made)


def spread(middles: Sequence[float], sizes: Sequence[float], top: float, foot: float) -> list[float]:
    """Tops of boxes near the heights they belong to, none over another, all inside where they fit.

    Args:
        middles: wanted middle of each box; sizes: its height; top, foot: the space.
    """
    order = sorted(range(len(middles)), key=lambda i: (middles[i], i))
    places = [0.0] * len(middles)
    under = top
    for i in order:
        places[i] = max(under, middles[i] - sizes[i] / 2)
        under = places[i] + sizes[i]
    over = foot
    for i in reversed(order):
        places[i] = min(places[i], over - sizes[i])
        over = places[i]
    return places
