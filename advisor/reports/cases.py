"""A saved case opened for looking at: its events, its facts, and the judgement after each answer."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from advisor.dialogue.case import CaseState, fold
from advisor.dialogue.events import Event, standing
from advisor.errors import BadInput
from advisor.inference.assess import Assessment, assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase, load


@dataclass(frozen=True, slots=True)
class Opened:
    """One case with everything needed to look at it."""

    number: int
    events: tuple[Event, ...]
    words: dict[int, str]
    state: CaseState
    rules: RuleBase

    @property
    def verdict_event(self) -> Event | None:
        """The last verdict that stands."""
        held = [e for e in standing(self.events) if e.kind == "verdict"]
        return held[-1] if held else None

    def view(self, facts: list[Fact] | None = None) -> Assessment:
        """The judgement of the case's facts, or of others, on this rule base."""
        return assess(self.state.facts if facts is None else facts, self.rules)


@dataclass(frozen=True, slots=True)
class StepOfPath:
    """The judgement after one answer: the words, the facts it brought, and the view before and after."""

    event: int
    words: str
    facts: tuple[Fact, ...]
    before: Assessment
    after: Assessment


def open_case(store: Any, number: int, *, today: bool = False) -> Opened:
    """Open a case on the rule base it was judged with, or on today's.

    Raises:
        BadInput: there is no such case.
    """
    if number not in {row.id for row in store.cases()}:
        there = ", ".join(str(row.id) for row in store.cases(limit=8)) or "none yet"
        raise BadInput(f"there is no case {number}", value=number, right=f"saved cases: {there}")
    events = store.events(number)
    words = store.words(number)
    rules = load()
    hashes = [e.data["rules"] for e in events if e.kind == "verdict"]
    if hashes and hashes[-1] != rules.hash and not today:
        kept = store.rule_base(hashes[-1])
        if kept is not None:
            rules = RuleBase(json.loads(kept))
    return Opened(number, tuple(events), words, fold(events, words), rules)


def path_of(case: Opened) -> Iterator[StepOfPath]:
    """The judgement after each answer that brought facts, in order."""
    facts: list[Fact] = []
    before = assess([], case.rules, questions=False)
    by_event: dict[int, list[Fact]] = {}
    for fact in case.state.facts:
        by_event.setdefault(fact.event or 0, []).append(fact)
    for number in sorted(by_event):
        facts += by_event[number]
        after = assess(facts, case.rules, questions=False)
        yield StepOfPath(number, case.words.get(number, ""), tuple(by_event[number]), before, after)
        before = after
