"""A saved case opened for looking at: its events, its facts, and the judgement after each answer."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from advisor.dialogue import phrases, policy
from advisor.dialogue.case import LATEST, SHOP_BOOK, CaseState, at_verdict, fold
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

    @property
    def judged(self) -> list[Fact]:
        """What the last verdict stood on; all that was told where there is none. A reading after the fix
        is not part of it.
        """
        return ruled(f for f in at_verdict(self.events, self.words).facts if heard(f, self.rules))

    def view(self, facts: list[Fact] | None = None) -> Assessment:
        """The judgement of what the verdict stood on, or of other facts, on this rule base."""
        brought = [c for _, c in at_verdict(self.events, self.words).carried]
        return assess(self.judged if facts is None else facts, self.rules, carried=brought)

    def tried(self, extra: Iterable[Fact]) -> Assessment:
        """The judgement with answers changed: they count as said last, so that a strength takes the place of
        the reading it came from.
        """
        return self.view([*self.judged, *(replace(fact, event=LATEST) for fact in extra)])

    @property
    def complaint(self) -> str:
        """The first line that told something; the first one where none did, "" where it was erased."""
        told = sorted({fact.event or 0 for fact in self.state.facts if fact.said != SHOP_BOOK})
        return next((self.words[n] for n in [*told, *sorted(self.words)] if n in self.words), "")


@dataclass(frozen=True, slots=True)
class StepOfPath:
    """The judgement after one answer.

    Attributes:
        event: number of the event in the case.
        words: what the person typed, "" when it was erased.
        facts: what the answer brought.
        before, after: the judgement without and with it.
        asked: the question it answered, "" when it was told unasked.
        erased: True when words were typed and have been erased since.
    """

    event: int
    words: str
    facts: tuple[Fact, ...]
    before: Assessment
    after: Assessment
    asked: str = ""
    erased: bool = False

    @property
    def told(self) -> tuple[Fact, ...]:
        """The facts somebody told; the shop's own figures are left out."""
        return tuple(f for f in self.facts if f.said != SHOP_BOOK)


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
    state = fold(events, words)
    state.facts = [fact for fact in state.facts if heard(fact, rules)]
    return Opened(number, tuple(events), words, state, rules)


def heard(fact: Fact, rules: RuleBase) -> bool:
    """Whether these rules know the fact's id and answer; another rule base may have had more."""
    item = rules.observables.get(fact.id)
    return item is not None and (not isinstance(fact.value, str) or fact.value in item.answers)


def ruled(facts: Iterable[Fact]) -> list[Fact]:
    """The facts with the shop's window in force where one was entered, as the conversation judges them."""
    held = list(facts)
    entered = any(f.id == "target" and f.said == SHOP_BOOK for f in held)
    return [f for f in held if not (entered and f.id == "target" and f.said != SHOP_BOOK)]


def path_of(case: Opened) -> Iterator[StepOfPath]:
    """The judgement after each answer that brought facts, in order, up to the last verdict: a reading
    after the fix is no part of how it was decided.
    """
    last = case.verdict_event
    facts: list[Fact] = []
    before = assess([], case.rules, questions=False)
    held = {event.number: event for event in case.events}
    by_event: dict[int, list[Fact]] = {}
    for fact in case.state.facts:
        by_event.setdefault(fact.event or 0, []).append(fact)
    numbers = sorted(n for n in by_event if last is None or n < last.number)
    for number, following in zip(numbers, [*numbers[1:], last.number if last else None], strict=True):
        facts += by_event[number]
        upto = [e for e in case.events if following is None or e.number < following]
        brought = [c for _, c in fold(upto).carried]
        after = assess(ruled(facts), case.rules, questions=False, carried=brought)
        event, words = held[number], case.words.get(number, "")
        asked = _question(case.rules, event.data.get("expecting"))
        erased = bool(event.words_key) and not words
        yield StepOfPath(number, words, tuple(by_event[number]), before, after, asked, erased)
        before = after


def _question(rules: RuleBase, target: object) -> str:
    fixed = {
        policy.COMPLAINT: phrases.WHAT_DO_YOU_SEE,
        policy.SUMP: phrases.WHICH_SUMP,
        policy.SAFETY: phrases.SAFETY_QUESTION,
    }
    if target in fixed:
        return fixed[str(target)]
    item = rules.observables.get(str(target))
    return (item.question or f"What is the {item.name}?") if item else ""
