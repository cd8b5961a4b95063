"""Everything noted so far: the latest of each thing, with what it was before, in the person's words."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import SHOP_BOOK
from advisor.dialogue.screens import fact_words
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.quantities import System

if TYPE_CHECKING:
    from advisor.dialogue.doubts import Doubt

#: Earlier values named behind the latest.
EARLIER = 2


class _Entry:
    """One thing noted: the fact that holds, and those it took the place of, latest first."""

    def __init__(self, fact: Fact) -> None:
        self.fact = fact
        self.before: list[Fact] = []

    def replace(self, fact: Fact) -> None:
        """A later fact holds now."""
        self.before.insert(0, self.fact)
        self.fact = fact


def entries(facts: Iterable[Fact], rules: RuleBase) -> list[_Entry]:
    """What holds of the facts, in the order first named; several answers of one question may hold at once."""
    found: list[_Entry] = []
    for fact in facts:
        same = [e for e in found if e.fact.id == fact.id]
        if rules.observables[fact.id].kind == "any_of" and fact.value is not None:
            same = [e for e in same if e.fact.value in (fact.value, None)]
        if same:
            same[0].replace(fact)
            for other in same[1:]:  # "no smell" takes the place of every smell
                same[0].before.insert(0, other.fact)
                found.remove(other)
        else:
            found.append(_Entry(fact))
    return found


def noted_blocks(
    facts: Iterable[Fact], rules: RuleBase, system: System, doubts: Iterable[Doubt] = ()
) -> list[Block]:
    """What was said, what is still unclear, and in one piece what the shop book gave."""
    held = entries(facts, rules)
    said = [e for e in held if e.fact.said != SHOP_BOOK]
    blocks = [Block("item", _line(entry, rules, system), "-") for entry in said]
    blocks += [Block("item", doubt.words(), "?") for doubt in doubts]
    book = [fact_words(e.fact, rules, system) for e in held if e.fact.said == SHOP_BOOK]
    if book:
        blocks.append(Block("note", f"{'; '.join(book)}.", phrases.FROM_THE_BOOK.capitalize()))
    return blocks or [Block("text", phrases.NOTHING_NOTED)]


def _line(entry: _Entry, rules: RuleBase, system: System) -> str:
    now = fact_words(entry.fact, rules, system)
    before = [fact_words(f, rules, system) for f in entry.before if f.said != SHOP_BOOK]
    before = [words for words in dict.fromkeys(before) if words != now][:EARLIER]
    quoted = f' ("{entry.fact.said}")' if entry.fact.said else ""
    was = f" [{phrases.WAS} {', '.join(before)}]" if before else ""
    return f"{now}{quoted}{was}"
