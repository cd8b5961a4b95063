"""What the advisor itself would have asked at the same sump: the same moves as in a conversation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.dialogue import phrases, policy
from advisor.dialogue.asking import SAFE_MEANS
from advisor.dialogue.case import CaseState
from advisor.drills.hidden import Hidden
from advisor.inference.assess import Assessment, assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase

#: What asking about people and danger tells.
PEOPLE = (*SAFE_MEANS, "hazard_context")
#: Minutes that asking about people and danger takes.
SAFETY_MINUTES = 1.0
#: Turns after which the advisor has certainly made up its mind.
_MOST = 30


@dataclass(frozen=True, slots=True)
class Look:
    """One thing asked at the sump.

    Attributes:
        id: the observable, or ``safety`` for people and danger at once.
        facts: what it brought; empty where nobody has a figure.
        minutes: work; hours: waiting for a result.
        asked: the question in words; name: what was looked at, in words.
    """

    id: str
    facts: tuple[Fact, ...]
    minutes: float
    hours: float
    asked: str
    name: str = ""


def look(rules: RuleBase, hidden: Hidden, target: str) -> Look:
    """What asking one thing brings and costs."""
    if target == policy.SAFETY:
        held = [f for key in PEOPLE if key in rules.observables for f in hidden.shows(rules, key)]
        asked = phrases.SAFETY_QUESTION
        return Look(target, tuple(held), SAFETY_MINUTES, 0.0, asked, "people and danger")
    item = rules.observables[target]
    question = item.question or f"What is the {item.name}?"
    told = tuple(hidden.shows(rules, target))
    return Look(target, told, item.effort, item.wait_h, question, item.name)


def advisor_path(rules: RuleBase, hidden: Hidden) -> tuple[list[Look], Assessment]:
    """What the advisor asks at this sump until it decides, and its verdict."""
    state = CaseState(facts=[*hidden.sign, *hidden.opening], sump="drill")
    looks: list[Look] = []
    for _ in range(_MOST):
        view = assess(state.facts, rules, skip=tuple(sorted(state.skipped)))
        move = policy.next_move(state, view, sumps=False)
        if move.name == "emergency":
            state.acknowledged.add(str(move.target))
            continue
        target = move.target or ""
        if target == policy.COMPLAINT and not looks:
            target = policy.SAFETY  # nobody complains of anything: it begins with the people
        if move.name != "ask" or (target != policy.SAFETY and target not in rules.observables):
            return looks, view
        state.asked[target] = state.asked.get(target, 0) + 1
        found = look(rules, hidden, target)
        looks.append(found)
        state.facts += found.facts
        if not found.facts:
            state.skipped.add(target)
    return looks, assess(state.facts, rules)


def asks_people(looks: Sequence[Look]) -> bool:
    """Whether people and danger are among what was asked."""
    return any(one.id == policy.SAFETY or one.id in PEOPLE for one in looks)


def minutes(looks: list[Look]) -> float:
    """Minutes of work of some looks; the same thing looked at twice counts twice."""
    return sum(one.minutes for one in looks)


def hours(looks: list[Look]) -> float:
    """Hours until the last result is in, everything slow being started at once."""
    return max((one.hours for one in looks), default=0.0)
