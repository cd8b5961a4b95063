"""What one line told, said back before the conversation goes on, so that a misreading is seen at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue import phrases, policy
from advisor.dialogue.asking import SAFE_MEANS
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import SHOP_BOOK, CaseState
from advisor.dialogue.reading.settling import NOT_A_SUMP
from advisor.dialogue.screens import fact_words
from advisor.dialogue.understanding import Understood

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: Unused words named at most, and how soon they make room on a small screen.
MOST_UNUSED, UNUSED_RANK = 6, 2
#: Words that only say again that a share is a level ("half full").
_OF_A_LEVEL = {"full", "filled", "voll"}


def said_back(session: Session, got: Understood, state: CaseState, sump: str | None) -> list[Block]:
    """The shop's entry of a sump just chosen, what was noted, what cannot be, and what was not used.

    Args:
        session: whose rules, units and shop word it.
        got: what was understood.
        state: the case before the line, for the question it answers.
        sump: the sump it chose, or None.
    """
    blocks = []
    if sump:
        book = Block("note", f"{session.shop.summary(sump)}.", "From the shop book", briefs=(f"{sump}.",))
        blocks.append(book)
    told = [f for f in got.facts if f.said != SHOP_BOOK and (f.value, f.status) != (NOT_A_SUMP, "ruled_out")]
    clear = {f.id for f in told if f.status == "ruled_out"}
    if clear and state.expecting == policy.SAFETY and {f.id for f in told} == clear <= {*SAFE_MEANS}:
        all_clear = clear == {*SAFE_MEANS}
        blocks.append(Block("note", phrases.SAFE if all_clear else phrases.SAFE_BUT, "Noted"))
        told = []
    said = [fact_words(f, session.rules, session.shop.system) for f in told]
    if said:
        many = phrases.MANY_NOTED.format(count=len(said))
        whole = "; ".join(said) + "."
        label = "Changed" if got.corrections else "Noted"
        shorter = len(said) > 1 and len(many) < len(whole)
        blocks.append(Block("note", whole, label, briefs=(many,) if shorter else ()))
    blocks += [Block("text", text) for text in got.wrong]
    levels = _OF_A_LEVEL if any(f.id == "sump_fill" for f in got.facts) else set()
    unused = [word for word in got.unused if word.lower() not in levels]
    if unused and got.facts:
        words = ", ".join(f'"{w}"' for w in unused[:MOST_UNUSED])
        blocks.append(Block("text", phrases.UNUSED.format(words=words), rank=UNUSED_RANK))
    return blocks
