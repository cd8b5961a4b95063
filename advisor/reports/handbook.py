"""Entries of the rule base on the screen: what a coolant person reads, sources as short marks."""

from __future__ import annotations

from advisor.dialogue.blocks import Block
from advisor.errors import UnknownId
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.handbook_entry import KINDS, Entry, Line, Marks, entries_called


def list_blocks(rules: RuleBase) -> list[Block]:
    """Every cause in one line."""
    return [Block("item", c.plain, key) for key, c in sorted(rules.causes.items())]


def show_blocks(rules: RuleBase, name: str | None) -> list[Block]:
    """One cause, caution, action or observable.

    Raises:
        UnknownId: nothing is called so; with the nearest that exists.
    """
    entries = entries_called(rules, name or "")
    if not entries:
        near = nearest(name or "", [key for kind in KINDS for key in getattr(rules, kind)])
        right = f'did you mean "{near}"?' if near else 'list the causes with "sumpside rules list"'
        raise UnknownId(f'nothing is called "{name or ""}"', value=name, right=right)
    marks = Marks(rules)
    blocks = [block for entry in entries for block in _entry_blocks(entry, marks)]
    if marks.listed():
        blocks.append(Block("head", "", "SOURCES"))
        blocks += [Block("item", text, mark) for mark, text in marks.listed()]
    return blocks


def _entry_blocks(entry: Entry, marks: Marks) -> list[Block]:
    blocks = [Block("head", "", entry.title.upper())]
    if entry.lead or entry.refs:
        blocks.append(Block("text", (entry.lead + _marks(marks, Line("", entry.refs))).strip()))
    for section in entry.sections:
        blocks.append(Block("head", "", section.title.upper()))
        for i, line in enumerate(section.lines, 1):
            label = f"{i}." if section.numbered else "  -" if line.text.startswith(" ") else "-"
            blocks.append(Block("item", line.text.strip() + _marks(marks, line), label))
    return blocks


def _marks(marks: Marks, line: Line) -> str:
    told = ", ".join(text for text, _ in marks.of(line.refs))
    return f" [{told}]" if told else ""
