"""Which cautions are news in a turn, and which a graver one has told already."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue.blocks import Block
from advisor.dialogue.carried import brought_again
from advisor.dialogue.case import CaseState
from advisor.dialogue.glance import in_two_forms
from advisor.dialogue.recipes import run_down_block
from advisor.dialogue.shortening import first_sentence
from advisor.inference.assess import Assessment

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: The label of a caution that holds on after the graver one that said it has been lifted.
STILL_CARE = "STILL: TAKE CARE"


def fresh(state: CaseState, view: Assessment) -> list[str]:
    """Cautions not put before the person yet; mere notes are told with a verdict."""
    return [c for c in _unshown(state, view) if c not in _said_by_graver(state, view)]


def _unshown(state: CaseState, view: Assessment) -> list[str]:
    level = {c: view.known.rules.cautions[c]["level"] for c in view.cautions}
    told = {c for c in state.shown if not brought_again(view.known.rules, state, c)}
    return [c for c in view.cautions if c not in told and level[c] != "note"]


def _said_by_graver(state: CaseState, view: Assessment) -> list[str]:
    """Warnings that stand by themselves now and were part of a graver caution told before."""
    rules, before = view.known.rules, state.ever_shown
    covered = {c for s in before if s in rules.cautions for c in rules.cautions[s].get("covers", ())}
    return [c for c in _unshown(state, view) if c in covered and rules.cautions[c]["level"] == "warn"]


def blocks(state: CaseState, view: Assessment) -> tuple[list[str], list[Block]]:
    """The ids put before the person in this turn, and the blocks: the news whole, the rest in one line."""
    rules, new = view.known.rules, fresh(state, view)
    made = in_two_forms(rules, new)
    told = run_down_block(view) if "running_down_proposed" in new else None
    still = _said_by_graver(state, view)
    short = [Block("warn", first_sentence(rules.cautions[c]["text"]), STILL_CARE) for c in still]
    return [*new, *still], [*made, *([told] if told else []), *short]


def told(session: Session) -> list[Block]:
    """What is news of the cautions that stand now, stored as shown."""
    state = session.state()
    shown, made = blocks(state, session.view(state=state))
    session.record.shown(shown)
    return made
