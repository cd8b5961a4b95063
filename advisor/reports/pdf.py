"""Sheets as PDF, with the fonts inside the file. The only place of reportlab, loaded when a PDF is wanted.

Type is as large as lets the whole sheet stand on one page. Whatever a sump is called is text and nothing
else; a letter that the font lacks is written as its plain base letter, or as a question mark.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from advisor.errors import BadInput
from advisor.reports.sheet import BOX, Part, Sheet

PLAIN, BOLD = "OpenSans", "OpenSans-Bold"
#: Points: the margin of 12 mm, and the sizes of type between which a sheet is fitted.
MARGIN, LARGEST, LEAST, STEP = 34.0, 22.0, 5.0, 0.25
#: Signs that the font lacks, in other words.
_OTHER_WORDS = {"→": "->", "←": "<-", "☐": "[ ]", "□": "[ ]", "✓": "x"}


def write_pdf(file: str, sheet: Sheet) -> None:
    """Write a sheet as a PDF of one page.

    Raises:
        BadInput: reportlab or its font is not installed, the file cannot be written, or there is more
            on the sheet than one page holds in the smallest type.
    """
    whole = paper(letter=sheet.letter)
    wide, high = whole[0] - 2 * MARGIN, whole[1] - 2 * MARGIN
    size = LARGEST
    while _height(_flow(sheet.parts, size, wide), wide) > high:
        size -= STEP
        if size < LEAST:
            raise BadInput(
                f'"{sheet.title}" is more than one page holds', right="write it as HTML, which may run on"
            )
    save(file, sheet.title, _flow(sheet.parts, size, wide), whole)


def save(
    file: str,
    title: str,
    flow: list[Any],
    whole: tuple[float, float],
    *,
    passes: bool = False,
    foot: str = "",
) -> None:
    """Lay out and write.

    Args:
        flow: what stands on the pages; whole: width and height of the paper in points.
        passes: lay out again until the page numbers in the contents stand.
        foot: what stands under every page, with its number; "" for nothing.

    Raises:
        BadInput: the file cannot be written.
    """
    from reportlab.platypus import SimpleDocTemplate

    def under(canvas: Any, made: Any) -> None:
        if foot:
            canvas.setFont(PLAIN, 7)
            canvas.drawCentredString(whole[0] / 2, MARGIN / 2, f"{plain(foot)}, page {made.page}")

    try:
        with Path(file).open("wb") as out:
            made = _template(SimpleDocTemplate)(
                out, pagesize=whole, title=plain(title), author="Sumpside", invariant=1,
                leftMargin=MARGIN - 6, rightMargin=MARGIN - 6, topMargin=MARGIN - 6, bottomMargin=MARGIN - 6,
            )  # fmt: skip
            build = made.multiBuild if passes else made.build
            build(flow, onFirstPage=under, onLaterPages=under)
    except OSError as trouble:
        raise BadInput(
            f"{file} cannot be written ({trouble.strerror})",
            value=file,
            right="give a file in a folder that exists and that you may write to",
        ) from None


def _template(base: Any) -> Any:
    """A document whose headings that carry an anchor are listed in the contents and the outline."""

    class Template(base):  # type: ignore[misc]
        def afterFlowable(self, made: Any) -> None:  # noqa: N802  (the library's name)
            anchor = getattr(made, "anchor", None)
            if anchor:
                level, key, text = anchor
                self.canv.bookmarkPage(key)
                self.canv.addOutlineEntry(text, key, level, closed=level > 0)
                self.notify("TOCEntry", (level, escape(text), self.page, key))

    return Template


def paper(*, letter: bool = False) -> tuple[float, float]:
    """Width and height of the paper in points: A4 (ISO 216), or US letter."""
    return (612.0, 792.0) if letter else (595.28, 841.89)


@lru_cache(maxsize=1)
def fonts() -> frozenset[int]:
    """Load the fonts into reportlab; the letters that both have.

    Raises:
        BadInput: reportlab or the font is not installed.
    """
    try:
        import ttf_opensans
        from reportlab.pdfbase import pdfmetrics
        from reportlab.pdfbase.ttfonts import TTFont
    except ImportError as missing:
        right = "Install reportlab and ttf-opensans, or write an HTML file and print it from a browser."
        raise BadInput(f"a PDF needs {missing.name}, which is not installed", right=right) from None
    folder = Path(str(ttf_opensans.__file__)).parent / "ttf"
    made = [TTFont(name, str(folder / f"{name}{end}.ttf")) for name, end in ((PLAIN, "-Regular"), (BOLD, ""))]
    for font in made:
        pdfmetrics.registerFont(font)
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)
    return frozenset(set(made[0].face.charToGlyph) & set(made[1].face.charToGlyph))


def plain(text: str) -> str:
    """The text in letters that the font has."""
    return "".join(_letter(sign) for sign in text)


def _letter(sign: str) -> str:
    if ord(sign) in fonts() and sign.isprintable():
        return sign
    if sign.isspace():
        return " "
    if sign in _OTHER_WORDS:
        return _OTHER_WORDS[sign]
    base = "".join(s for s in unicodedata.normalize("NFKD", sign) if ord(s) in fonts() and s.isprintable())
    return base or ("?" if sign.isprintable() else "")


def paragraph(text: str, size: float, *, bold: bool = False, safe: bool = False, **look: Any) -> Any:
    """A paragraph of plain text, or of markup that is `safe` already."""
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import Paragraph

    font = BOLD if bold else PLAIN
    fonts()
    style = {"spaceAfter": 0.25 * size, "splitLongWords": 1, **look}
    made = ParagraphStyle("p", fontName=font, fontSize=size, leading=1.28 * size, **style)
    return Paragraph(text if safe else escape(plain(text)), made)


def _height(flow: Sequence[Any], wide: float) -> float:
    """Points that these take one under the other."""
    total = 0.0
    for made in flow:
        around = float(made.getSpaceAfter()) + float(made.getSpaceBefore())
        total += float(made.wrap(wide, 10_000)[1]) + around
    return total


def _flow(parts: Sequence[Part], size: float, wide: float, *, bold: bool = False) -> list[Any]:
    flow: list[Any] = []
    for part in parts:
        flow += _one(part, size, wide, bold)
    return flow


def _one(part: Part, size: float, wide: float, bold: bool) -> list[Any]:
    scale = {"title": 1.35, "big": 2.2, "small": 0.75}.get(part.kind)
    if scale:
        return [paragraph(part.text, scale * size, bold=part.kind != "small")]
    if part.kind == "text":
        return [paragraph(part.text, size, bold=bold)]
    if part.kind == "line":
        return [_frame([paragraph(part.text, size)], size, wide, 1.5)]
    head = [paragraph(part.text, 1.1 * size, bold=True, spaceBefore=0.3 * size)] if part.text else []
    if part.kind == "head":
        return head
    if part.kind == "ticks":
        return [*head, *(_tick(line, size, wide, bold) for line in part.lines)]
    if part.kind == "frame":
        inner = _flow(part.parts, size, wide - 1.4 * size, bold=True)
        return [_frame([*head, *inner], size, wide, 3.5)]
    return [*head, _table(part, size, wide)]


def _frame(inner: list[Any], size: float, wide: float, line: float) -> Any:
    from reportlab.platypus import Table

    made = Table([[inner]], colWidths=[wide], spaceBefore=0.3 * size, spaceAfter=0.4 * size)
    pad = 0.5 * size
    made.setStyle([("BOX", (0, 0), (-1, -1), line, "#000000"), ("LEFTPADDING", (0, 0), (-1, -1), pad),
                   ("RIGHTPADDING", (0, 0), (-1, -1), pad), ("TOPPADDING", (0, 0), (-1, -1), 0.3 * size),
                   ("BOTTOMPADDING", (0, 0), (-1, -1), 0.3 * size)])  # fmt: skip
    return made


def _tick(text: str, size: float, wide: float, bold: bool) -> Any:
    from reportlab.platypus import Table

    side = 1.9 * size
    row = [_box(size), paragraph(text, size, bold=bold, spaceAfter=0)]
    made = Table([row], colWidths=[side, wide - side])
    made.setStyle([("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0),
                   ("RIGHTPADDING", (0, 0), (-1, -1), 0), ("TOPPADDING", (0, 0), (-1, -1), 0.1 * size),
                   ("BOTTOMPADDING", (0, 0), (-1, -1), 0.2 * size)])  # fmt: skip
    return made


def _box(size: float) -> Any:
    return _boxes(1, size, 2 * size)


def _boxes(count: int, size: float, wide: float) -> Any:
    """So many boxes to tick, in as many rows as this width asks for."""
    from reportlab.graphics.shapes import Drawing, Rect

    side, step = 1.05 * size, 1.45 * size
    across = max(1, int((wide - 14) / step))
    down = -(-count // across)
    squares = [
        Rect(1 + step * (n % across), step * (down - 1 - n // across), side, side, strokeWidth=1.5,
             strokeColor="black", fillColor=None)
        for n in range(count)
    ]  # fmt: skip
    return Drawing(step * min(count, across) + 3, step * (down - 1) + 1.2 * size, *squares)


def _widths(rows: Sequence[Sequence[str]], wide: float) -> list[float]:
    """Columns as wide as their longest cell asks, within bounds, so that dates and figures stay whole."""
    letters = [min(30, max(6, *map(len, column))) for column in zip(*rows, strict=True)]
    return [wide * count / sum(letters) for count in letters]


def _table(part: Part, size: float, wide: float) -> Any:
    from reportlab.platypus import Table

    widths = [0.36 * wide, 0.64 * wide] if part.kind == "pairs" else _widths(part.rows, wide)
    rows = []
    for i, row in enumerate(part.rows):
        strong = part.kind == "table" and i == 0
        cells = [
            _boxes(len(text), size, widths[j])
            if set(text) == {BOX}
            else paragraph(text, size, bold=strong or (part.kind == "pairs" and j == 0), spaceAfter=0)
            for j, text in enumerate(row)
        ]
        rows.append(cells)
    made = Table(rows, colWidths=widths, spaceBefore=0.2 * size, spaceAfter=0.4 * size)
    made.setStyle([("GRID", (0, 0), (-1, -1), 1.2, "#000000"), ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
                   ("TOPPADDING", (0, 0), (-1, -1), 0.15 * size),
                   ("BOTTOMPADDING", (0, 0), (-1, -1), 0.25 * size)])  # fmt: skip
    return made
