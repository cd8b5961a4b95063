"""A job card: one self-contained HTML page that prints on one A4 or Letter sheet and works offline."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from math import sqrt

_STYLE = """
@page { margin: 12mm; }
body { font: 16pt/1.3 sans-serif; margin: 1em auto; max-width: 46em; color: #000; background: #fff; }
h1 { font-size: 24pt; margin: 0 0 .3em; } h2 { font-size: 17pt; margin: .6em 0 .2em; }
.mind { border: 3px solid #000; padding: .3em .8em; } .mind h2 { margin-top: 0; }
ul, ol { margin: 0; padding-left: 1.3em; } li { margin: .15em 0; }
.tick { list-style: none; padding-left: 0; } .tick li { padding-left: 1.6em; text-indent: -1.6em; }
.box { display: inline-block; width: .8em; height: .8em; border: 2px solid #000; margin-right: .6em; }
.small { font-size: 10pt; } .sign { margin-top: .8em; }
@media print { body { margin: 0; max-width: none; font-size: SIZEpt; } li { break-inside: avoid; } }
"""


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
    length = sum(len(text) for block in (figures, steps, cautions, notes) for text in block)
    style = _STYLE.replace("SIZE", f"{print_size(length):g}")
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{style}</style></head><body>{''.join(body)}</body></html>\n"
    )


def print_size(characters: int) -> float:
    """Type size in points at which so many characters still fit one page, between 8 and 15."""
    # An A4 page less margins is about 186 by 273 mm; a sans letter takes about half its size in width and
    # 1.3 in height, and headings, half-empty lines and the signature take about half of the page.
    area = 186 * 273 / 0.3528**2
    fits = sqrt(area * 0.5 / (0.65 * max(1, characters)))
    return max(8.0, min(15.0, fits))


def _list(tag: str, lines: Sequence[str]) -> str:
    return f"<{tag}>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + f"</{tag}>"
