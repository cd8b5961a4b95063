"""What stands on one sheet for the shop floor, before it is HTML or PDF: parts in order, plain text only."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from advisor.dialogue.blocks import Block
from advisor.mixing.card import print_size
from advisor.reports.page import page, tag, wrap, write

#: Lines that headings, frames and the line to fill in take on the paper.
_HEADINGS = 10
#: A box to tick, in a table.
BOX = "☐"
_STYLE = """
body { font-size: 1.3rem; max-width: 50rem; margin: 0 auto; }
.mind { border: 5px solid #000; padding: .3rem 1rem; margin: .6rem 0; }
.mind p { font-weight: 700; }
ul.tick { list-style: none; margin: .3rem 0; padding: 0; }
ul.tick li { padding-left: 2em; text-indent: -2em; margin: .25em 0; break-inside: avoid; }
.box { display: inline-block; width: 1.1em; height: 1.1em; border: 3px solid #000; margin-right: .9em;
  vertical-align: -.15em; }
table { border-collapse: collapse; width: 100%; margin: .3rem 0; }
td .box { margin-right: .35em; }
th, td { border: 2px solid #000; padding: .2em .5em; text-align: left; }
.line { border: 2px solid #000; padding: .4em .6em; margin-top: .6rem; }
.big { font-size: 2.2em; font-weight: 700; }
@media print { body { font-size: SIZEpt; line-height: 1.25; } h1 { font-size: 1.35em; }
  h2 { font-size: 1.1em; } .small { font-size: .75em; } }
"""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a sheet.

    Attributes:
        kind: ``title``, ``head``, ``big``, ``text``, ``small`` or ``line`` (framed, to fill in) hold `text`;
            ``ticks`` hold `lines` with boxes under the heading `text`; ``table`` holds `rows`, the first
            its head, a cell of `BOX` signs as many boxes to tick; ``pairs`` hold `rows` of name and value;
            ``frame`` holds `parts` in a thick frame.
        text: the words, or a heading, "" for none.
    """

    kind: str
    text: str = ""
    lines: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet: its title for the file, its parts, how much larger than fits safely its type may be in a
    browser, and whether it is meant for US paper."""

    title: str
    parts: tuple[Part, ...]
    scale: float = 1.0
    letter: bool = False


def sheet_html(sheet: Sheet) -> str:
    """The sheet as a page that prints on one side of paper."""
    size = sheet.scale * _size(sheet)
    return page(sheet.title, "".join(map(_html, sheet.parts)), style=_STYLE.replace("SIZE", f"{size:g}"))


def sheet_blocks(sheet: Sheet) -> list[Block]:
    """The sheet for the terminal, without what is only for a pen."""
    blocks: list[Block] = []
    for part in sheet.parts:
        if part.kind in {"title", "big"}:
            blocks.append(Block("head", "", part.text.upper()))
        elif part.kind in {"text", "small"}:
            blocks.append(Block("text", part.text))
        elif part.kind == "pairs":
            blocks += [Block("item", value, name) for name, value in part.rows]
        elif part.kind == "table":
            blocks.append(Block("head", "", part.text.upper()))
            wide = [max(map(len, column)) for column in zip(*part.rows, strict=True)]
            for row in part.rows:
                cells = [cell.ljust(size) for cell, size in zip(row, wide, strict=True)]
                blocks.append(Block("text", "  ".join(cells).rstrip()))
        blocks += [Block("item", line, "-") for line in part.lines]
    return blocks


def write_sheet(file: str, sheet: Sheet) -> None:
    """Write the sheet: a PDF where the file's name ends so, else a page.

    Raises:
        BadInput: the file cannot be written, or what a PDF needs is not installed.
    """
    if file.lower().endswith(".pdf"):
        from advisor.reports.pdf import write_pdf

        write_pdf(file, sheet)
    else:
        write(file, sheet_html(sheet))


def _size(sheet: Sheet) -> float:
    """Largest type at which a browser fits the sheet on its page: bold is wider, rows are taller."""
    plain, bold, rows = _texts(sheet.parts)
    wider = [line + "x" * (len(line) // 6) for line in bold]
    return print_size([*plain, *wider, *["x"] * (2 * rows + _HEADINGS)])


def _texts(parts: Sequence[Part], framed: bool = False) -> tuple[list[str], list[str], int]:
    """What runs over lines: plain text, bold text, and rows of tables."""
    plain: list[str] = []
    bold: list[str] = []
    rows = 0
    for part in parts:
        (bold if framed else plain).extend(part.lines)
        if part.kind == "text":
            (bold if framed else plain).append(part.text)
        elif part.kind in {"table", "pairs"}:
            rows += len(part.rows)
            bold += [" ".join(row) for row in part.rows] if part.kind == "pairs" else []
            plain += [row[-1] * 4 for row in part.rows if set(row[-1]) == {BOX}]  # boxes run over lines too
        inner = _texts(part.parts, True)
        plain, bold, rows = plain + inner[0], bold + inner[1], rows + inner[2]
    return plain, bold, rows


def _html(part: Part) -> str:
    if part.kind == "title":
        return tag("h1", part.text)
    if part.kind == "text":
        return tag("p", part.text)
    if part.kind in {"big", "small", "line"}:
        return tag("p", part.text, class_=part.kind)
    head = tag("h2", part.text) if part.text else ""
    if part.kind == "head":
        return head
    if part.kind == "ticks":
        rows = [wrap("li", tag("span", class_="box"), tag("span", line)) for line in part.lines]
        return head + wrap("ul", *rows, class_="tick")
    if part.kind == "pairs":
        return head + wrap("table", *(wrap("tr", tag("th", a), tag("td", b)) for a, b in part.rows))
    if part.kind == "frame":
        return wrap("div", head, *map(_html, part.parts), class_="mind")
    first, *more = part.rows
    rows = [wrap("tr", *(tag("th", text) for text in first)), *(wrap("tr", *_cells(row)) for row in more)]
    return head + wrap("table", *rows)


def _cells(row: Sequence[str]) -> Iterable[str]:
    boxes = tag("span", class_="box")
    return (wrap("td", *[boxes] * len(text)) if set(text) == {BOX} else tag("td", text) for text in row)
