"""Stops that talk does not lift: what is only said to have passed leaves standing what it brought on.

A smell that fades proves nothing, a chip bin that is cold now was warm an hour ago, and "no" to the safety
question does not undo a danger told before it. A correction may be a slip or a second thought, so it is
told that the stop stays ("not rotten eggs, musty"). Only a line taken back, a new reading of an
instrument, or somebody who says that it is dealt with ends a stop of this case.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from advisor.dialogue import phrases_led
from advisor.dialogue.blocks import Block
from advisor.dialogue.carried import GRAVE
from advisor.dialogue.case import CaseState
from advisor.dialogue.shortening import first_sentence
from advisor.dialogue.understanding import Understood
from advisor.inference.assess import Assessment, assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: Dangers of the moment: dealt with, they are no more.
NOW = ("danger_now", "hydrogen_signs")
#: Words that say that something was there and is no longer; a correction has none of them.
_PASSED = re.compile(
    r"\b(?:gone|went away|fad(?:ed|es|ing)|over|any ?more|no longer|stopped|cleared|aired|now|better|passed"
    r"|weg|vorbei|verflogen|mehr)\b"
)


def held(state: CaseState, rules: RuleBase) -> tuple[str, ...]:
    """Stops of this case that stood when they were put before the person and are not dealt with yet.

    Args:
        state: the fold of the case.
        rules: says which cautions stop, and which are about a mere proposal.
    """
    shown = told(state, rules)
    if not _said_more(state, shown):
        return ()
    stood: dict[int, tuple[str, ...]] = {}
    for number in {state.shown_at[c] for c in shown}:
        then = [f for f in state.facts if (f.event or 0) < number or _measured(f, rules)]
        stood[number] = _alone(tuple(then), rules)
    return tuple(c for c in shown if c in stood[state.shown_at[c]])


@lru_cache(maxsize=32)
def _alone(facts: tuple[Fact, ...], rules: RuleBase) -> tuple[str, ...]:
    """The cautions of these facts by themselves; a turn asks for the same ones several times."""
    return tuple(assess(facts, rules, questions=False).cautions)


def _said_more(state: CaseState, shown: Sequence[str]) -> bool:
    """Whether anything was told after one of these cautions was."""
    return bool(shown) and any((f.event or 0) > min(state.shown_at[c] for c in shown) for f in state.facts)


def _measured(fact: Fact, rules: RuleBase) -> bool:
    """Whether an instrument shows it; people are counted, and a count is no instrument's."""
    item = rules.observables[fact.id]
    return item.kind == "quantity" and item.unit not in (None, "1") and fact.status == "present"


def _lasting(rules: RuleBase, caution: str) -> bool:
    item = rules.cautions.get(caution, {})
    return item.get("level") in GRAVE and "refuses" not in item


def _passed(fact: Fact, before: list[Fact], words: Mapping[int, str]) -> bool:
    """Whether a fact rules out what was told to be so, without being a correction of it."""
    if fact.status != "ruled_out":
        return False
    was = [f for f in before if f.id == fact.id and f.status == "present"]
    if fact.value is None:
        return bool(was)
    here = any(f.value == fact.value for f in was)
    return here and bool(_PASSED.search(words.get(fact.event or 0, "").casefold()))


def still_blocks(rules: RuleBase, stops: Sequence[str], lead: str = "") -> list[Block]:
    """Stops told before, each in its first sentence, with what has to happen first and how to say so.

    Args:
        rules, stops: the cautions, by id.
        lead: what is said before the first of them.
    """
    blocks = []
    for key in stops:
        item = rules.cautions[key]
        lifted = phrases_led.NOT_BEFORE.format(this=item["lifted_by"]) if item.get("lifted_by") else ""
        text = " ".join(filter(None, [lead, first_sentence(item["text"]), lifted]))
        blocks.append(Block(item["level"], text, phrases_led.STILL.get(item["level"], "TAKE CARE")))
    return [*blocks, Block("text", phrases_led.STILL_LIFT)] if blocks else []


def in_a_line(rules: RuleBase, caution: str) -> list[Block]:
    """An emergency that stands, in its first sentence, before an answer to anything else."""
    item = rules.cautions[caution]
    return [Block(item["level"], first_sentence(item["text"]), phrases_led.STILL[item["level"]])]


def not_lifted(session: Session, before: CaseState, state: CaseState) -> list[Block]:
    """Stops that a line has not lifted although what brought them on has passed or is put right, and
    those that it did lift: neither is silent."""
    words, rules = session.record.words, session.rules
    shown = told(before, rules)
    if not shown:
        return []
    was, now = session.view(state=before).cautions, session.view(state=state).cautions
    covered = {c for s in now for c in rules.cautions[s].get("covers", ())}
    lifted = [c for c in shown if c in was and c not in now and c not in covered | state.acknowledged]
    blocks = [
        Block("text", phrases_led.STANDS_NO_LONGER.format(told=first_sentence(rules.cautions[c]["text"])))
        for c in lifted
    ]
    alone = [_alone(tuple(s.facts), rules) for s in (before, state)]
    kept = [c for c in shown if c in now and c in alone[0] and c not in alone[1]]
    new = [(i, f) for i, f in enumerate(state.facts) if i >= len(before.facts)]
    over = any(_passed(f, state.facts[:i], words) for i, f in new)
    lead = "" if over else phrases_led.NOT_BY_WORDS
    return blocks + still_blocks(rules, [c for c in kept if rules.cautions[c]["level"] == "stop"], lead)


def said_again(session: Session, state: CaseState, view: Assessment) -> list[Block]:
    """What stops the machine, told again before an answer to a line that could not be used: it may be the
    one somebody meant to talk it away with."""
    found = [c for c in view.cautions if c in state.shown and _lasting(session.rules, c)]
    return still_blocks(session.rules, found[:1])[:-1]


def standing(view: Assessment, rules: RuleBase) -> list[str]:
    """The stops and emergencies that stand, gravest first; what is merely proposed is none."""
    return [c for c in view.cautions if _lasting(rules, c)]


def left_standing(session: Session) -> dict[str, list[str]]:
    """What the end of a case keeps of its stops, so that the next start can offer to go on with them."""
    state = session.state()
    open_ = {*told(state, session.rules)}
    stands = [c for c in standing(session.view(state=state), session.rules) if c in open_]
    return {"stands": stands} if stands else {}


def told(state: CaseState, rules: RuleBase) -> list[str]:
    """Stops of this case that were put before the person and have not been acknowledged."""
    return [c for c in state.shown if c not in state.acknowledged and _lasting(rules, c)]


def end(session: Session, state: CaseState, text: str, meant: Sequence[str]) -> list[str]:
    """End those of `meant` that only what has passed, or a danger of the moment, brought on; which ones."""
    rules = session.rules
    over = {f.key: replace(f, status="ruled_out", said=text) for f in state.facts if f.id in NOW}
    without = _alone((*state.facts, *over.values()), rules) if meant else ()
    alone = _alone(tuple(state.facts), rules) if meant else ()
    of_passing = [c for c in held(state, rules) if c not in alone]
    stops = [c for c in told(state, rules) if c in meant and (c in of_passing or c not in without)]
    if stops:
        session.record.said(text, Understood(facts=tuple(over.values())), state.expecting, answered=False)
        session.record.append("acknowledged", {"cautions": stops, "passed": True})
    return stops
