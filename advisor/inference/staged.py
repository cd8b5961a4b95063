"""Rules in stages, and what both matchers share: checks at load, order, firm or loose.

A rule is a conjunction of statuses. Within a stage a rule may give a further status that other rules
of the stage wait for; what a stage gives is known to the stages after it. Firing is a pure function of
the statuses put in: nothing is kept from one call to the next.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import ClassVar

from advisor.errors import BadRules
from advisor.inference.conditions import Condition, Literal, Not, normal_form


@dataclass(frozen=True, slots=True)
class Rule:
    """Fires when every literal of `when` holds.

    Attributes:
        id: unique over all stages.
        stage: name of its stage.
        when: what must hold; at least one literal, none the opposite of another.
        gives: the status that follows, or None.
        payload: carried back untouched by the firing.
    """

    id: str
    stage: str
    when: tuple[Literal, ...]
    gives: Literal | None = None
    payload: object = None


@dataclass(frozen=True, slots=True)
class Firing:
    """One rule that fired, the statuses it matched, and whether all of them were firm."""

    rule: str
    stage: str
    facts: tuple[Literal, ...]
    firm: bool
    gives: Literal | None = None
    payload: object = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What firing came to.

    Attributes:
        firings: in the order in which the rules were given.
        statuses: the statuses put in and those that followed.
        loose: which of them rest on something loosely held in every way they are known.
    """

    firings: tuple[Firing, ...]
    statuses: dict[str, bool]
    loose: frozenset[str]


def rules_for(
    name: str, stage: str, condition: Condition, *, gives: Literal | None = None, payload: object = None
) -> tuple[Rule, ...]:
    """One rule for each way in which `condition` can be true.

    The ids are `name`, or ``name|1``, ``name|2`` where there are several ways.

    Raises:
        EngineLimit: the condition has too many alternatives.
    """
    ways = normal_form(condition, place=name)
    return tuple(
        Rule(name if len(ways) == 1 else f"{name}|{i}", stage, way, gives, payload)
        for i, way in enumerate(ways, 1)
    )


def finding_rules(key: str, stage: str, condition: Condition, *, payload: object = None) -> tuple[Rule, ...]:
    """Rules that make the finding `key` true, and rules that rule it out; neither fired is unknown.

    The ids begin with ``key is so`` and ``key is not so``.
    """
    is_so = rules_for(f"{key} is so", stage, condition, gives=Literal(key, True), payload=payload)
    is_not = rules_for(f"{key} is not so", stage, Not(condition), gives=Literal(key, False), payload=payload)
    return is_so + is_not


class Staged(ABC):
    """Stages of rules, checked; what a matcher adds is `_fired`."""

    #: ``durable`` or ``plain``, for `sumpside about`
    name: ClassVar[str]

    def __init__(self, stages: Sequence[Sequence[Rule]]) -> None:
        """Check and take over `stages`.

        Raises:
            BadRules: a rule id or stage name is used twice, or a rule can never fire or always fires.
            EngineLimit: more than the matcher can hold.
        """
        self.stages: dict[str, tuple[Rule, ...]] = {}
        ids: set[str] = set()
        for rules in stages:
            if not rules:
                continue
            name = rules[0].stage
            if name in self.stages:
                raise BadRules(f'the stage "{name}" comes twice', right="put its rules into one list")
            for rule in rules:
                _check(rule, name, ids)
                ids.add(rule.id)
            self.stages[name] = tuple(rules)

    @abstractmethod
    def _fired(self, stage: str, given: Collection[Literal]) -> set[int]:
        """Places, within the stage, of the rules that fire from `given` and what follows from it."""

    def fire(
        self,
        statuses: Mapping[str, bool],
        loose: Collection[str] = frozenset(),
        stages: Sequence[str] | None = None,
    ) -> tuple[Firing, ...]:
        """The rules that fire; see `run`."""
        return self.run(statuses, loose, stages).firings

    def run(
        self,
        statuses: Mapping[str, bool],
        loose: Collection[str] = frozenset(),
        stages: Sequence[str] | None = None,
    ) -> Outcome:
        """Fire the stages in order, each from the statuses put in and what earlier stages gave.

        Args:
            statuses: key to True (present) or False (ruled out); what is unknown is left out.
            loose: keys among them that are loosely held.
            stages: names of the stages to run, in this order; all of them when None. A name without
                rules is no error.

        Raises:
            BadRules: two rules, or a rule and a fact, say the opposite of each other.
        """
        known = dict(statuses)
        firm = {key for key in known if key not in loose}
        firings: list[Firing] = []
        for stage in self.stages if stages is None else stages:
            rules = self.stages.get(stage, ())
            if not rules:
                continue
            fired = [rules[i] for i in sorted(self._fired(stage, [Literal(*item) for item in known.items()]))]
            _add_given(fired, known)
            _add_firm(fired, firm)
            firings += [
                Firing(r.id, stage, r.when, all(key in firm for key, _ in r.when), r.gives, r.payload)
                for r in fired
            ]
        return Outcome(tuple(firings), known, frozenset(known.keys() - firm))


def _check(rule: Rule, stage: str, ids: set[str]) -> None:
    if rule.id in ids:
        raise BadRules("two rules have this id", value=rule.id, place=rule.id, right="rename one of them")
    if rule.stage != stage:
        raise BadRules(
            f'stands among the rules of stage "{stage}"',
            value=rule.stage,
            place=rule.id,
            right=f'put it into the list of "{rule.stage}"',
        )
    if not rule.when:
        raise BadRules("would always fire", place=rule.id, right="give it a condition")
    keys = {key for key, _ in rule.when}
    if len(keys) != len(rule.when):
        raise BadRules("asks the same key twice", place=rule.id, right="keep one of the two")


def _add_given(fired: Iterable[Rule], known: dict[str, bool]) -> None:
    for rule in fired:
        if rule.gives is None:
            continue
        key, wanted = rule.gives
        if known.setdefault(key, wanted) is not wanted:
            raise BadRules(
                f'says that "{key}" is {"so" if wanted else "not so"}, and something else says the opposite',
                value=key,
                place=rule.id,
                right="change one of the conditions so that both cannot hold",
            )


def _add_firm(fired: Sequence[Rule], firm: set[str]) -> None:
    """A status is firm when one rule gives it from firm statuses alone."""
    waiting = [rule for rule in fired if rule.gives]
    while True:
        settled = [rule for rule in waiting if all(key in firm for key, _ in rule.when)]
        if not settled:
            return
        firm.update(rule.gives.key for rule in settled if rule.gives)
        waiting = [rule for rule in waiting if rule not in settled]
