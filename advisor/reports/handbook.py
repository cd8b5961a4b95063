"""Entries of the rule base on the screen: what a coolant person reads, sources as short marks."""

from __future__ import annotations

from advisor.dialogue.blocks import Block
from advisor.errors import UnknownId
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.handbook_entry import Line, Marks, entry_of


def list_blocks(rules: RuleBase) -> list[Block]:
    """Every cause in one line."""
    return [Block("item", c.plain, key) for key, c in sorted(rules.causes.items())]


def show_blocks(rules: RuleBase, name: str | None) -> list[Block]:
    """One cause, caution, action or observable.

    Raises:
        UnknownId: nothing is called so; with the nearest that exists.
    """
    entry = entry_of(rules, name or "")
    if entry is None:
        known = [*rules.causes, *rules.cautions, *rules.actions, *rules.observables]
        near = nearest(name or "", known)
        right = f'did you mean "{near}"?' if near else 'list the causes with "sumpside rules list"'
        raise UnknownId(f'nothing is called "{name or ""}"', value=name, right=right)
    marks = Marks(rules)
    blocks = [Block("head", "", entry.title.upper())]
    if entry.lead:
        blocks.append(Block("text", entry.lead + _marks(marks, Line("", entry.refs))))
    elif entry.refs:
        marks.of(entry.refs)
    for section in entry.sections:
        blocks.append(Block("head", "", section.title.upper()))
        for i, line in enumerate(section.lines, 1):
            label = f"{i}." if section.numbered else "  -" if line.text.startswith(" ") else "-"
            blocks.append(Block("item", line.text.strip() + _marks(marks, line), label))
    if marks.listed():
        blocks.append(Block("head", "", "SOURCES"))
        blocks += [Block("item", text, mark) for mark, text in marks.listed()]
    return blocks


def _marks(marks: Marks, line: Line) -> str:
    told = ", ".join(text for text, _ in marks.of(line.refs))
    return f" [{told}]" if told else ""
