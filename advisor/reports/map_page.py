"""The map of a cause or question as one page: a drawing of what leads where, its signs as bars, all of it
in words below. Nothing in it needs colour, the pointer or the network.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from math import log

from advisor.dialogue import phrases
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.handbook_entry import Marks
from advisor.reports.page import page, tag, wrap
from advisor.reports.rule_map import Group, Link, RuleMap, likelier

#: Boxes drawn for one answer of a question; the words below hold them all.
_DRAWN = 5
_WIDE, _BOX, _LETTERS, _LINE, _GAP = 1120.0, 320.0, 37, 19.0, 8.0
_LEFT, _MIDDLE, _RIGHT = 6.0, 400.0, 794.0
#: The bars of signs: where they start, how long the longest is, how high a row.
_AXIS, _LONGEST, _ROW = 690.0, 190.0, 42.0
_STYLE = """
svg { width: 100%; height: auto; font: 15px system-ui, sans-serif; }
svg a { text-decoration: none; } svg a text { fill: #000; }
.box { fill: #fff; stroke: #000; stroke-width: 1.5; } .own .box { stroke-width: 4; }
.soft .box { stroke-dasharray: 5 4; } svg a:hover .box { fill: #e4e4e4; }
svg a:focus { outline: none; } svg a:focus .box { fill: #fff3c4; stroke-width: 5; }
.flow { fill: none; stroke: #444; } .against { stroke-dasharray: 6 5; } .head { font-weight: 700; }
.how { fill: #333; font-style: italic; }
.bar { fill: #333; } .bar.against { fill: #fff; stroke: #333; stroke-width: 2; stroke-dasharray: 6 3; }
.axis { stroke: #000; stroke-width: 1.5; }
li { margin: .3rem 0; } li:target { outline: 4px solid #0072b2; outline-offset: 3px; }
a:focus-visible { outline: 4px solid #0072b2; }
@media print { svg { max-height: 24cm; } li { break-inside: avoid; } }
"""

#: Up and down walk over the boxes; Enter, as for every link, goes to the words; Escape comes back.
_SCRIPT = """
(function () {
  var boxes = [].slice.call(document.querySelectorAll('svg a')), last = null;
  document.addEventListener('keydown', function (event) {
    if (event.ctrlKey || event.altKey || event.metaKey || !boxes.length) { return; }
    var at = boxes.indexOf(document.activeElement);
    if (event.key === 'Escape' && last) { event.preventDefault(); last.focus(); return; }
    if (event.key === 'Enter' && at >= 0) { last = boxes[at]; return; }
    var move = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (!move) { return; }
    event.preventDefault();
    boxes[(at + move + boxes.length) % boxes.length].focus();
  });
}());
"""


@dataclass(frozen=True, slots=True)
class _Drawn:
    """One box: the place of its link in the words below, its text, and where it stands."""

    anchor: str
    link: Link
    lines: tuple[str, ...]
    top: float
    high: float


def map_page(rules: RuleBase, made: RuleMap) -> str:
    """The map as a page."""
    marks = Marks(rules)
    groups = list(enumerate(made.groups))
    words = [_words(i, group, marks) for i, group in groups]
    body = [
        tag("h1", f"{made.title}: map of the {made.kind}"),
        tag("p", made.lead),
        tag("p", f"Rule base {rules.hash}. {_legend(made)}", class_="small"),
        _drawing(made, groups),
    ]
    signs = [(i, g) for i, g in groups if g.title.startswith("Signs")]
    if signs:
        body += [tag("h2", "Signs: how far each speaks"), _bars(signs)]
    body += [tag("h2", "The same in words, with sources"), *words, *_sources(marks)]
    return page(f"Map: {made.title}", "".join(body), style=_STYLE, script=_SCRIPT)


def _legend(made: RuleMap) -> str:
    if made.kind == "cause":
        return "Broken frames are settings, full ones causes. The up and down keys walk from box to box."
    return "Full lines speak for a cause, broken ones against it; thicker is stronger. Keys up and down walk."


# --- the drawing --------------------------------------------------------------------------------------


def _drawing(made: RuleMap, groups: Sequence[tuple[int, Group]]) -> str:
    sides = {side: [(i, g) for i, g in groups if g.side == side] for side in ("before", "after")}
    heights = {side: _tall(held, made) for side, held in sides.items()}
    high = max(140.0, *heights.values())
    parts = []
    for side, held in sides.items():
        parts.append(_column(held, made, side, (high - heights[side]) / 2, high / 2))
    own = _wrap(made.title, 22)
    top = high / 2 - (len(own) * _LINE + 30) / 2
    parts.append(
        f'<g class="own"><rect class="box" x="{_MIDDLE}" y="{top:.1f}" width="{_BOX}" '
        f'height="{len(own) * _LINE + 30:.1f}"/>'
        + "".join(_text(_MIDDLE + _BOX / 2, top + 15 + (n + 0.8) * _LINE, row, "head", "middle")
                  for n, row in enumerate(own)) + "</g>"
    )  # fmt: skip
    label = f"{made.title}: " + "; ".join(
        f"{g.title}: {', '.join(k.name for k in g.links[:_DRAWN])}" for _, g in groups if g.side != "under"
    )
    return (
        f'<svg viewBox="0 0 {_WIDE:g} {high:.0f}" role="group" aria-label="{escape(label)}" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg>'
    )


def _links(group: Group, made: RuleMap) -> Sequence[Link]:
    """The links drawn: all of a cause's; of a question's answer the strongest for, then against."""
    if made.kind == "cause":
        return group.links
    return sorted(group.links, key=lambda k: -abs(log(max(k.weight, 1e-9))))[:_DRAWN]


def _lines(link: Link) -> tuple[str, ...]:
    return tuple(_wrap(link.name, _LETTERS)) + ((link.how,) if link.how else ())


def _tall(held: Sequence[tuple[int, Group]], made: RuleMap) -> float:
    total = 0.0
    for _, group in held:
        total += len(_wrap(group.title, _LETTERS)) * _LINE + 2 * _GAP
        total += sum(len(_lines(k)) * _LINE + 10 + _GAP for k in _links(group, made)) + _GAP
    return total


def _column(held: Sequence[tuple[int, Group]], made: RuleMap, side: str, top: float, middle: float) -> str:
    left = _LEFT if side == "before" else _RIGHT
    parts = []
    for i, group in held:
        for row in _wrap(group.title, _LETTERS):
            parts.append(_text(left, top + 0.9 * _LINE, row, "head"))
            top += _LINE
        top += _GAP
        for link in _links(group, made):
            lines = _lines(link)
            drawn = _Drawn(f"w{i}-{group.links.index(link)}", link, lines, top, len(lines) * _LINE + 10)
            parts.append(_box(drawn, left, side, middle))
            top += drawn.high + _GAP
        top += 2 * _GAP
    return "".join(parts)


def _box(drawn: _Drawn, left: float, side: str, middle: float) -> str:
    link, at = drawn.link, drawn.top + drawn.high / 2
    soft = "" if link.key else ' class="soft"'
    rows = [
        _text(left + 10, drawn.top + 4 + (n + 0.8) * _LINE, row,
              "how" if link.how and n == len(drawn.lines) - 1 else "")
        for n, row in enumerate(drawn.lines)
    ]  # fmt: skip
    told = ". ".join(text for text in (link.name, link.how, link.because) if text)
    return (
        f'{_flow(link, left, side, at, middle)}<a href="#{drawn.anchor}"{soft}><title>{escape(told)}</title>'
        f'<rect class="box" x="{left}" y="{drawn.top:.1f}" width="{_BOX}" height="{drawn.high:.1f}"/>'
        f"{''.join(rows)}</a>"
    )


def _flow(link: Link, left: float, side: str, at: float, middle: float) -> str:
    """The line between a box and the middle, with its arrow head at the end it leads to."""
    start, end = (left + _BOX, _MIDDLE) if side == "before" else (_MIDDLE + _BOX, left)
    y1, y2 = (at, middle) if side == "before" else (middle, at)
    bend = (end - start) / 2
    wide = 1.5 + min(4.5, 1.2 * abs(log(max(link.weight, 1e-9))))
    broken = " against" if link.weight < 1 else ""
    return (
        f'<path class="flow{broken}" stroke-width="{wide:.1f}" d="M{start:.1f} {y1:.1f}C{start + bend:.1f} '
        f'{y1:.1f} {end - bend:.1f} {y2:.1f} {end - 8:.1f} {y2:.1f}"/>'
        f'<polygon points="{end:.1f},{y2:.1f} {end - 10:.1f},{y2 - 5:.1f} {end - 10:.1f},{y2 + 5:.1f}"/>'
    )


def _wrap(text: str, letters: int) -> list[str]:
    return textwrap.wrap(text, letters) or [""]


def _text(x: float, y: float, text: str, kind: str = "", anchor: str = "start") -> str:
    named = f' class="{kind}"' if kind else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{named}>{escape(text)}</text>'


# --- the signs ----------------------------------------------------------------------------------------


def _bars(signs: Sequence[tuple[int, Group]]) -> str:
    """Every sign as a bar: full to the right speaks for, hollow to the left against; longer is stronger."""
    rows = [(f"w{i}-{n}", link) for i, group in signs for n, link in enumerate(group.links)]
    most = max(abs(log(max(link.weight, 1e-9))) for _, link in rows) or 1.0
    parts = []
    for n, (anchor, link) in enumerate(rows):
        top = n * _ROW
        long = max(3.0, _LONGEST * abs(log(max(link.weight, 1e-9))) / most)
        left = _AXIS if link.weight > 1 else _AXIS - long
        kind = "bar" if link.weight > 1 else "bar against"
        names = textwrap.wrap(link.name, 60)[:2]
        told = f"{link.how}; {likelier(link.weight)}"
        written = [_text(0, top + 17 + 18 * k, row) for k, row in enumerate(names)]
        parts.append(
            f'<a href="#{anchor}"><title>{escape(link.because)}</title>'
            f'<rect class="box" x="-4" y="{top + 1:.0f}" width="{_WIDE}" height="{_ROW - 4:.0f}" '
            f'style="stroke:none"/>{"".join(written)}'
            f'<rect class="{kind}" x="{left:.1f}" y="{top + 6:.0f}" width="{long:.1f}" height="14"/>'
            f"{_text(max(_AXIS, left + long) + 8, top + 18, told, 'how')}</a>"
        )
    high = len(rows) * _ROW
    parts.append(f'<line class="axis" x1="{_AXIS}" x2="{_AXIS}" y1="0" y2="{high:.0f}"/>')
    return (
        f'<svg viewBox="-4 0 {_WIDE:g} {high:.0f}" role="group" aria-label="Signs and how far each speaks" '
        f'xmlns="http://www.w3.org/2000/svg">{"".join(parts)}</svg>'
    )


# --- the words ----------------------------------------------------------------------------------------


def _words(i: int, group: Group, marks: Marks) -> str:
    rows = []
    for n, link in enumerate(group.links):
        refs = [
            wrap("a", escape(text), href=f"#s{number}") if number else escape(text)
            for text, number in marks.of(link.refs)
        ]
        told = phrases.sentence(link.name + (f" ({link.how})" if link.how else ""))
        cited = f" [{', '.join(refs)}]" if refs else ""
        rows.append(wrap("li", escape(f"{told} {link.because}".strip()), cited, id=f"w{i}-{n}"))
    return tag("h3", group.title) + wrap("ul", *rows)


def _sources(marks: Marks) -> list[str]:
    rows = [
        tag("li", f"[{mark}] {text}", id=f"s{mark}") for mark, text in marks.listed()
    ]
    return [tag("h2", "Sources"), wrap("ul", *rows)] if rows else []
