"""A small label to print: names and values, black on white, one label to a page."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, sqrt

from advisor.reports.page import page, tag, wrap

#: Size of the paper in millimetres: a label of a common roll.
WIDTH, HEIGHT = 100, 70
#: Largest print in points, and the lines and characters of a line that then fit; tried in a browser.
LARGEST, LINES, LINE = 8.5, 13, 48
_STYLE = f"""
body {{ padding: 2mm; max-width: {WIDTH}mm; font-size: 9pt; line-height: 1.15; }}
.label {{ border: 2px solid #000; padding: 2mm; break-inside: avoid; }}
table {{ border-collapse: collapse; width: 100%; }}
th, td {{ text-align: left; vertical-align: top; padding: .2mm 1mm; }}
th {{ font-weight: 400; width: 17mm; white-space: nowrap; }} .big td {{ font-size: 1.5em; font-weight: 700; }}
.mind td {{ font-weight: 700; border-top: 1px solid #000; }}
@page {{ size: {WIDTH}mm {HEIGHT}mm; margin: 2mm; }}
@media print {{ body {{ padding: 0; font-size: SIZEpt; }} .small {{ display: none; }} }}
"""


def label_page(title: str, rows: Sequence[tuple[str, str]], note: str) -> str:
    """The label as a page; the note stands below it on the screen and is not printed."""
    made = []
    for place, (name, value) in enumerate(rows):
        kind = "big" if place < 2 else "mind" if name == "mind" else None
        made.append(wrap("tr", tag("th", name, scope="row"), tag("td", value), class_=kind))
    size = _size(rows)
    body = wrap("div", wrap("table", *made), class_="label") + tag("p", note, class_="small")
    return page(title, body, style=_STYLE.replace("SIZE", f"{size:g}"))


def _size(rows: Sequence[tuple[str, str]]) -> float:
    """Size of print in points at which the label fits its paper: smaller by the root of what is too much."""
    lines = sum(1.7 * ceil(len(value) / 30) if place < 2 else ceil(len(value) / LINE)
                for place, (_, value) in enumerate(rows))  # fmt: skip
    return round(LARGEST * min(1.0, sqrt(LINES / lines)), 1)
