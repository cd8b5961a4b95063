"""The rule base compiled into staged rules and conditions, once per rule base.

Stages: ``findings`` (from facts), ``signs`` (the trace of rule, fact, cause and direction),
``cautions`` (from facts, findings, proposals and leading causes; never weighed), ``actions`` (what is
called for and what is forbidden).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from advisor.inference.conditions import Comparison, Condition, Leaf, comparisons, leaves, read, value_of
from advisor.inference.knowns import Knowns
from advisor.inference.staged import Rule, Staged, finding_rules, rules_for
from advisor.knowledge.rulebase import Favour, RuleBase, Sign

FINDINGS, SIGNS, CAUTIONS, ACTIONS = "findings", "signs", "cautions", "actions"


@dataclass(frozen=True, slots=True)
class Pull:
    """What a fired sign rule carries: the sign, the answer it saw, and the chance it gives that answer."""

    sign: Sign
    answer: str
    seen: bool


def procedure_conditions(item: dict[str, Any]) -> list[Any]:
    """Every condition of a procedure: of itself, its steps and its ends."""
    parts = [item, *item["steps"], *item.get("ends", [])]
    return [part[k] for part in parts for k in ("when", "known", "only_if", "unless") if k in part]


class Program:
    """Everything of a rule base that has conditions, ready to run."""

    def __init__(self, rules: RuleBase, prefer: str | None = None) -> None:
        from advisor.inference.engine import make

        self.rules = rules
        self.favours: dict[str, list[tuple[Condition, Favour]]] = {
            cause.id: [(read(f.fact), f) for f in cause.favours] for cause in rules.causes.values()
        }
        self.windows = [(read(w["when"]) if "when" in w else None, w) for w in rules.windows]
        self.plain = {id(raw): read(raw) for raw in _plain_conditions(rules)}
        stages = [self._findings(), self._signs(), self._cautions(), self._actions()]
        self.keys = sorted({key for stage in stages for rule in stage for key, _ in rule.when})
        conditions = [c for held in self.favours.values() for c, _ in held]
        conditions += [c for c, _ in self.windows if c] + list(self.plain.values())
        conditions += [
            read(item[k])
            for group in (rules.findings, rules.cautions, rules.actions)
            for item in group.values()
            for k in ("when", "forbidden_when")
            if k in item
        ]
        led = [read(w) for item in rules.procedures.values() for w in procedure_conditions(item)]
        self.compared: dict[str, Comparison] = {c.key: c for c in comparisons([*conditions, *led])}
        self.leaf_keys = sorted({leaf.key for c in conditions for leaf in leaves(c)} | set(self.keys))
        self.staged: Staged = make(stages, prefer)

    def _findings(self) -> list[Rule]:
        made: list[Rule] = []
        for key, finding in self.rules.findings.items():
            made += finding_rules(key, FINDINGS, read(finding["when"]))
        return made

    def _signs(self) -> list[Rule]:
        made: list[Rule] = []
        for cause in self.rules.causes.values():
            for sign in cause.signs:
                item = self.rules.observables.get(sign.node)
                if item is not None and item.kind == "one_of":
                    for answer in sign.chances:
                        leaf = Leaf(f"{sign.node}: {answer}")
                        made += rules_for(
                            f"{sign.id} {answer}", SIGNS, leaf, payload=Pull(sign, answer, True)
                        )
                    continue
                made += rules_for(f"{sign.id} seen", SIGNS, Leaf(sign.node), payload=Pull(sign, "yes", True))
                made += rules_for(
                    f"{sign.id} not seen", SIGNS, read({"not": sign.node}), payload=Pull(sign, "yes", False)
                )
        return made

    def _cautions(self) -> list[Rule]:
        made: list[Rule] = []
        for key, item in self.rules.cautions.items():
            made += rules_for(f"caution {key}", CAUTIONS, read(item["when"]), payload=key)
        return made

    def _actions(self) -> list[Rule]:
        made: list[Rule] = []
        for key, item in self.rules.actions.items():
            if "when" in item:
                made += rules_for(f"action {key}", ACTIONS, read(item["when"]), payload=("called_for", key))
            if "forbidden_when" in item:
                made += rules_for(
                    f"action {key} forbidden",
                    ACTIONS,
                    read(item["forbidden_when"]),
                    payload=("forbidden", key),
                )
        return made

    def status(self, key: str, known: Knowns) -> bool | None:
        """Status of a leaf key, comparisons included."""
        compared = self.compared.get(key)
        if compared is None:
            return known.status(key)
        fact = known.present.get(compared.quantity)
        if fact is None or isinstance(fact.value, str) or fact.value is None:
            return None
        return compared.status(fact.value)

    def statuses(self, known: Knowns) -> tuple[dict[str, bool], frozenset[str]]:
        """Every known leaf's status, and which of them are loosely held."""
        found: dict[str, bool] = {}
        loose = set()
        there = frozenset(fact.id for fact in known.present.values())
        for key in self.leaf_keys:
            compared = self.compared.get(key)
            truth = known.status(key, there) if compared is None else self.status(key, known)
            if truth is not None:
                found[key] = truth
                if not known.firm(compared.quantity if compared else key):
                    loose.add(key)
        return found, frozenset(loose)

    def verdict_on(self, condition: Condition, known: Knowns) -> bool | None:
        """Whether a condition is true, false or not known."""
        return value_of(condition, lambda key: self.status(key, known))

    def true(self, condition: Condition | None, known: Knowns) -> bool:
        """Whether a condition is true; no condition is always true."""
        return condition is None or value_of(condition, lambda key: self.status(key, known)) is True

    def holds(self, raw: Any, known: Knowns) -> bool:
        """Whether the condition of a scale, of a published figure or of a link between causes is true."""
        return raw is None or self.true(self.plain[id(raw)], known)

    def find(self, known: Knowns) -> tuple[dict[str, bool], frozenset[str]]:
        """Tell `known` every finding that is true or ruled out.

        Returns:
            the status of every known leaf, findings included, and which are loosely held.
        """
        found, loose = self.statuses(known)
        outcome = self.staged.run(found, loose, [FINDINGS])
        known.findings = {
            key: outcome.statuses[key] for key in self.rules.findings if key in outcome.statuses
        }
        return {**found, **known.findings}, loose


def _plain_conditions(rules: RuleBase) -> Iterator[Any]:
    """Conditions outside the staged rules, as written: of limits and of links between causes."""
    for band in rules.bands:
        yield from (row["when"] for row in [*band["scales"], *band.get("published", [])] if "when" in row)
    for cause in rules.causes.values():
        yield from (lead["when"] for lead in cause.text.get("leads_to", []) if "when" in lead)


@lru_cache(maxsize=8)
def program(rules: RuleBase, prefer: str | None = None) -> Program:
    """The compiled program of one rule base, made once."""
    return Program(rules, prefer)
