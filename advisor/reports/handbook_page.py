"""The whole rule base as one HTML page: self-contained, for reading, and for printing from a browser.

Nothing is loaded from anywhere: styles are inside, fonts are the reader's own, there is no script.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from advisor.knowledge.rulebase import RuleBase
from advisor.reports.handbook_entry import Entry, Line, Marks, Section, entry_of
from advisor.reports.page import policy

TITLE = "Coolant handbook"
INTRO = (
    "Printed from the rules the program judges by. The product's safety data sheet, the site's rules and "
    "people with the licence come first. Words in brackets say how often a cause alone shows a sign; marks "
    "in square brackets name the source."
)
CHAPTERS = (
    ("cautions", "Cautions", "Dangers come first. None of them is ever weighed against anything."),
    ("causes", "Causes", "What can be wrong, how it shows, what to do about it."),
    ("actions", "Actions", "What to do, and who may do it."),
    ("observables", "Questions and readings", "What to look at, how, and where its limits lie."),
)
_STYLE = """
body { font: 11pt/1.45 system-ui, sans-serif; max-width: 46em; margin: 2em auto; padding: 0 1em;
  color: #111; background: #fff; }
h1, h2, h3, h4 { line-height: 1.2; }
h2 { border-bottom: 2px solid #111; padding-bottom: .2em; margin-top: 2.5em; }
h3 { margin: 2em 0 .3em; }
h4 { margin: .9em 0 .1em; font-size: 1em; }
h4 + p { margin: .1em 0; }
ul, ol { margin: .1em 0; padding-left: 1.5em; }
li.under { margin-left: 1.5em; }
.id, .mark { font-size: .85em; color: #444; }
.contents { columns: 2; column-gap: 2em; list-style: none; padding: 0; }
a { color: inherit; } a:focus-visible { outline: 3px solid #0072b2; outline-offset: 2px; }
@media print {
  body { max-width: none; margin: 0; padding: 0; font-size: 9.5pt; }
  a { text-decoration: none; }
  h2 { break-before: page; }
  h3, h4 { break-after: avoid; }
  li, p { break-inside: avoid; orphans: 2; widows: 2; }
  article.cause { break-before: page; }
  h2 + p + article.cause { break-before: auto; }
}
@page { margin: 18mm 16mm; }
"""


def page(rules: RuleBase) -> str:
    """The handbook as a complete HTML document."""
    marks = Marks(rules)
    chapters = [(key, title, told, entries_of(rules, key)) for key, title, told in CHAPTERS]
    body = [
        f"<h1>{escape(TITLE)}</h1>",
        f"<p>{escape(INTRO)}</p>",
        f'<p class="id">Rule base {rules.hash}</p>',
    ]
    body += _contents(chapters)
    for key, title, told, entries in chapters:
        body.append(f'<section id="{key}"><h2>{escape(title)}</h2>')
        body.append(f"<p>{escape(told)}</p>")
        for entry in entries:
            body += _article(entry, marks)
        body.append("</section>")
    body += _sources(marks)
    head = f'<meta charset="utf-8">{policy()}<title>{escape(TITLE)}</title><style>{_STYLE}</style>'
    return (
        f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>\n'
        + "\n".join(body)
        + "\n</body></html>\n"
    )


def entries_of(rules: RuleBase, kind: str) -> list[Entry]:
    """Cautions from the worst down; causes and the rest by title."""
    names: Iterable[str] = getattr(rules, kind)
    levels = ["emergency", "stop", "warn", "note"]
    if kind == "observables":
        names = [name for name, item in rules.observables.items() if item.question]
    found = [entry_of(rules, kind, name) for name in names]
    if kind == "cautions":
        return sorted(found, key=lambda e: (levels.index(rules.cautions[e.id]["level"]), e.title))
    return sorted(found, key=lambda e: e.title.lower())


def _contents(chapters: list[tuple[str, str, str, list[Entry]]]) -> list[str]:
    made = ['<nav id="contents"><h2>Contents</h2>']
    for key, title, _, entries in chapters:
        made.append(f'<h4><a href="#{key}">{escape(title)}</a></h4><ul class="contents">')
        made += [f'<li><a href="#{_anchor(e)}">{escape(e.title)}</a></li>' for e in entries]
        made.append("</ul>")
    return [*made, '<h4><a href="#sources">Sources</a></h4></nav>']


def _anchor(entry: Entry) -> str:
    return f"{entry.kind}-{entry.id}"


def _article(entry: Entry, marks: Marks) -> list[str]:
    made = [f'<article class="{entry.kind}" id="{_anchor(entry)}"><h3>{escape(entry.title)}</h3>']
    refs = _refs(marks, entry.refs)
    made.append(f'<p>{escape(entry.lead)}{refs} <span class="id">{escape(entry.id)}</span></p>')
    for section in entry.sections:
        made += _section(section, marks)
    return [*made, "</article>"]


def _section(section: Section, marks: Marks) -> list[str]:
    made = [f"<h4>{escape(section.title)}</h4>"]
    if len(section.lines) == 1:
        return [*made, f"<p>{_text(section.lines[0], marks)}</p>"]
    tag = "ol" if section.numbered else "ul"
    rows = []
    for line in section.lines:
        under = ' class="under"' if line.text.startswith(" ") else ""
        rows.append(f"<li{under}>{_text(line, marks)}</li>")
    return [*made, f"<{tag}>", *rows, f"</{tag}>"]


def _text(line: Line, marks: Marks) -> str:
    return escape(line.text.strip()) + _refs(marks, line.refs)


def _refs(marks: Marks, refs: Iterable[str]) -> str:
    told = [
        f'<a href="#source-{number}">{escape(text)}</a>' if number else escape(text)
        for text, number in marks.of(refs)
    ]
    return f' <span class="mark">[{", ".join(told)}]</span>' if told else ""


def _sources(marks: Marks) -> list[str]:
    made = [
        '<section id="sources"><h2>Sources</h2>',
        "<p>Each once, in the order of its first mark.</p>",
        "<ul>",
    ]
    for mark, text in marks.listed():
        made.append(f'<li id="source-{escape(mark)}">[{escape(mark)}] {escape(text)}</li>')
    return [*made, "</ul></section>"]
