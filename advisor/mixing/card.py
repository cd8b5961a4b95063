"""A job card: one self-contained HTML page that prints on one A4 or Letter sheet and works offline."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from math import ceil

_STYLE = """
@page { margin: 12mm; }
body { font: 16pt/1.25 sans-serif; margin: 1em auto; max-width: 46em; color: #000; background: #fff; }
h1 { font-size: 1.4em; margin: 0 0 .2em; } h2 { font-size: 1.1em; margin: .4em 0 .1em; }
.mind { border: 3px solid #000; padding: .2em .8em; } .mind h2 { margin-top: 0; }
ul, ol { margin: 0; padding-left: 1.3em; } li { margin: .1em 0; } p { margin: .5em 0 0; }
.tick { list-style: none; padding-left: 0; } .tick li { padding-left: 1.6em; text-indent: -1.6em; }
.box { display: inline-block; width: .8em; height: .8em; border: 2px solid #000; margin-right: .6em; }
.small { font-size: .75em; }
@media print { body { margin: 0; max-width: none; font-size: SIZEpt; } li { break-inside: avoid; } }
"""

_WIDTH, _HEIGHT = 527.0, 720.0
"""Points of paper left by 12 mm margins: the width of A4 and the height of Letter, whichever is less."""

_LETTER, _LINE = 0.55, 1.25
"""Width of a letter of a wide sans type, and a line's height, in its size."""


def card_html(
    title: str,
    *,
    figures: Sequence[str] = (),
    steps: Sequence[str] = (),
    cautions: Sequence[str] = (),
    notes: Sequence[str] = (),
) -> str:
    """The card as HTML text: cautions on top, figures, steps with boxes to tick, what was assumed.

    All text is escaped. Type shrinks with the amount of text so that it stays on one page.
    """
    body = [f"<h1>{escape(title)}</h1>"]
    if cautions:
        body.append('<div class="mind"><h2>Mind first</h2>' + _list("ul", cautions) + "</div>")
    if figures:
        body.append("<h2>Figures</h2>" + _list("ul", figures))
    if steps:
        ticks = "".join(f'<li><span class="box"></span>{escape(step)}</li>' for step in steps)
        body.append(f'<h2>Do, in this order</h2><ol class="tick">{ticks}</ol>')
    if notes:
        body.append('<div class="small"><h2>Taken for granted</h2>' + _list("ul", notes) + "</div>")
    body.append('<p class="sign">Read: ________ Next day: ________ Date: ________ Initials: ________</p>')
    body.append(
        '<p class="small">The safety data sheet, local rules and your supervisor come before this card.</p>'
    )
    size = print_size([*figures, *steps, *cautions], notes)
    style = _STYLE.replace("SIZE", f"{size:g}")
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{style}</style></head><body>{''.join(body)}</body></html>\n"
    )


def print_size(lines: Sequence[str], small: Sequence[str] = ()) -> float:
    """Largest type in points, 16 down to 6, at which a card of these lines fits one page, A4 or Letter."""
    size = 16.0
    while size > 6.0 and _height(lines, size) + _height(small, 0.75 * size) + 11.5 * size > _HEIGHT:
        size -= 0.25
    return size


def _height(lines: Sequence[str], size: float) -> float:
    """Points that the lines take, each wrapped to the page less its indent and box."""
    wide = (_WIDTH - 3.0 * size) / (_LETTER * size)
    return sum((ceil(len(line) / wide) * _LINE + 0.2) * size for line in lines)


def _list(tag: str, lines: Sequence[str]) -> str:
    return f"<{tag}>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + f"</{tag}>"
