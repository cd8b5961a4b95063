"""Random rule bases and statuses, and an oracle that shares no code with the program."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

from advisor.inference.conditions import All, Any_, Condition, Leaf, Not
from advisor.inference.staged import Rule, finding_rules, rules_for

#: Kleene's values as numbers: "and" is the least, "or" the greatest, "not" the distance from one.
NUMBER = {True: 1.0, None: 0.5, False: 0.0}
VALUE = {number: value for value, number in NUMBER.items()}


def kleene(condition: Condition, known: dict[str, bool]) -> bool | None:
    """The condition's value by arithmetic."""
    return VALUE[_number(condition, known)]


def _number(condition: Condition, known: dict[str, bool]) -> float:
    if isinstance(condition, Leaf):
        return NUMBER[known.get(condition.key)]
    if isinstance(condition, Not):
        return 1 - _number(condition.part, known)
    numbers = [_number(part, known) for part in condition.parts]
    return min(numbers) if isinstance(condition, All) else max(numbers)


@dataclass
class Base:
    """A random rule base: findings that may build on earlier ones, and signs that read both."""

    facts: list[str]
    findings: dict[str, Condition] = field(default_factory=dict)
    signs: dict[str, Condition] = field(default_factory=dict)

    def stages(self) -> list[list[Rule]]:
        """The base as staged rules."""
        findings = [finding_rules(key, "findings", made) for key, made in self.findings.items()]
        signs = [rules_for(key, "signs", made) for key, made in self.signs.items()]
        return [[rule for rules in group for rule in rules] for group in (findings, signs)]

    def expected(self, statuses: dict[str, bool]) -> tuple[dict[str, bool], set[str]]:
        """All statuses, and the signs that hold, as the three-valued reading says."""
        known = dict(statuses)
        for key, made in self.findings.items():
            value = kleene(made, known)
            if value is not None:
                known[key] = value
        return known, {key for key, made in self.signs.items() if kleene(made, known) is True}


def condition(random: Random, keys: list[str], depth: int = 0) -> Condition:
    """A random condition over `keys`."""
    kind = random.random()
    if depth > 2 or kind < 0.45:
        return Leaf(random.choice(keys))
    if kind < 0.6:
        return Not(condition(random, keys, depth + 1))
    parts = tuple(condition(random, keys, depth + 1) for _ in range(random.randint(1, 3)))
    return All(parts) if kind < 0.8 else Any_(parts)


def base(random: Random, findings: int, signs: int, observables: int) -> Base:
    """A random rule base of about this size."""
    made = Base([f"seen {i}: {word}" for i in range(observables) for word in ("grey", "fine", "mild")])
    for i in range(random.randint(1, findings)):
        made.findings[f"finding {i}"] = condition(random, [*made.facts, *made.findings])
    for i in range(random.randint(1, signs)):
        made.signs[f"sign {i}"] = condition(random, [*made.facts, *made.findings])
    return made


def statuses(random: Random, base: Base, share: float = 0.6) -> dict[str, bool]:
    """Some of the facts present, some ruled out, the others unknown."""
    return {key: random.random() < 0.5 for key in base.facts if random.random() < share}


def shuffled(random: Random, known: dict[str, bool]) -> dict[str, bool]:
    """The same statuses, told in another order."""
    items = list(known.items())
    random.shuffle(items)
    return dict(items)
