"""The whole rule base as one PDF to print and bind: contents with page numbers, chapters, sources."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any
from xml.sax.saxutils import escape

from advisor.knowledge.rulebase import RuleBase
from advisor.reports.handbook_entry import Entry, Marks, Section
from advisor.reports.handbook_page import CHAPTERS, INTRO, TITLE, entries_of
from advisor.reports.pdf import BOLD, PLAIN, fonts, paper, paragraph, plain, save

_SIZE = 9.0
_MARK = 7.0


def write_handbook(file: str, rules: RuleBase, *, letter: bool = False) -> None:
    """Write the handbook.

    Raises:
        BadInput: the file cannot be written, or reportlab or its font is not installed.
    """
    fonts()
    from reportlab.platypus import PageBreak, Spacer

    marks = Marks(rules)
    flow: list[Any] = [
        paragraph(TITLE, 24, bold=True),
        Spacer(1, 12),
        paragraph(INTRO, 11),
        paragraph(f"Rule base {rules.hash}", _MARK),
        Spacer(1, 12),
        _contents(),
    ]
    for key, title, told in CHAPTERS:
        flow += [PageBreak(), _heading(0, key, title), paragraph(told, 10)]
        for entry in entries_of(rules, key):
            flow += _entry(entry, marks)
    flow += [PageBreak(), _heading(0, "sources", "Sources")]
    for mark, text in marks.listed():
        flow.append(paragraph(f"[{mark}] {text}", 8, leftIndent=22, firstLineIndent=-22))
    foot = f"{TITLE}, rule base {rules.hash}"
    save(file, TITLE, flow, paper(letter=letter), passes=True, foot=foot)


def _contents() -> Any:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus.tableofcontents import TableOfContents

    made = TableOfContents()
    made.levelStyles = [
        ParagraphStyle("chapter", fontName=BOLD, fontSize=10, leading=14, spaceBefore=6),
        ParagraphStyle("entry", fontName=PLAIN, fontSize=8.5, leading=11, leftIndent=14),
    ]
    return made


def _heading(level: int, key: str, text: str) -> Any:
    made = paragraph(text, (18.0, 13.0)[level], bold=True, spaceBefore=(0, 12)[level], keepWithNext=1)
    made.anchor = (level, key, plain(text))
    return made


def _entry(entry: Entry, marks: Marks) -> Iterable[Any]:
    yield _heading(1, f"{entry.kind}-{entry.id}", entry.title)
    lead = escape(plain(entry.lead)) + _refs(marks, entry.refs)
    name = f' <font size="{_MARK:g}" color="#444444">{escape(entry.id)}</font>'
    yield paragraph(lead + name, 10, safe=True, keepWithNext=1)
    for section in entry.sections:
        yield from _section(section, marks)


def _section(section: Section, marks: Marks) -> Iterable[Any]:
    yield paragraph(section.title, _SIZE, bold=True, spaceBefore=3, spaceAfter=0, keepWithNext=1)
    single = len(section.lines) == 1
    for i, line in enumerate(section.lines, 1):
        sign = "" if single else f"{i}. " if section.numbered else "– "
        deep = 12 if line.text.startswith(" ") else 0
        text = sign + escape(plain(line.text.strip())) + _refs(marks, line.refs)
        hang = 0 if single else 12
        yield paragraph(text, _SIZE, safe=True, spaceAfter=1, leftIndent=deep + hang, firstLineIndent=-hang)


def _refs(marks: Marks, refs: Iterable[str]) -> str:
    told = ", ".join(escape(plain(text)) for text, _ in marks.of(refs))
    return f' <font size="{_MARK:g}" color="#444444">[{told}]</font>' if told else ""
