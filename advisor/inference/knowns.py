"""What is known about a sump: facts gathered so that a rule's leaf is true, false or unknown.

Later facts win over earlier ones. Nothing is ever false for not having been said.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from advisor.knowledge.facts import Fact, number
from advisor.knowledge.rulebase import RuleBase

if TYPE_CHECKING:
    from advisor.inference.bands import Limit

@lru_cache(maxsize=4096)
def _parts(leaf: str) -> tuple[str, str]:
    """A leaf's observable and value, the value "" where it names none."""
    key, _, value = leaf.partition(":")
    return key.strip(), value.strip()


class Knowns:
    """Facts by key, with the three-valued status of every leaf a rule may name."""

    def __init__(self, rules: RuleBase, facts: Iterable[Fact] = ()) -> None:
        self.rules = rules
        self.present: dict[str, Fact] = {}
        self.ruled_out: dict[str, Fact] = {}
        self.findings: dict[str, bool] = {}
        #: the limits each band was placed by, filled by `advisor.inference.derive`
        self.limits: dict[str, Limit] = {}
        for fact in facts:
            self.add(fact)

    def add(self, fact: Fact) -> None:
        """Take in one fact; it replaces what it contradicts."""
        kind = self.rules.observables[fact.id].kind
        if fact.status == "ruled_out":
            self._rule_out(fact, kind)
            return
        if kind == "one_of":
            for key in [k for k in self.present if k == fact.id or k.startswith(fact.id + ": ")]:
                del self.present[key]
        self.ruled_out.pop(fact.key, None)
        self.ruled_out.pop(fact.id, None)
        self.present[fact.key] = fact

    def _rule_out(self, fact: Fact, kind: str) -> None:
        firm = [
            k for k, f in self.present.items() if (k == fact.key or (fact.value is None and f.id == fact.id))
        ]
        if not fact.firm and any(self.present[k].firm for k in firm):
            for key in firm:  # "maybe not" makes what was firmly said doubtful; it does not undo it
                self.present[key] = replace(self.present[key], firm=False)
            return
        if fact.value is None:
            for held in (self.present, self.ruled_out):
                for key in [k for k in held if k == fact.id or k.startswith(fact.id + ": ")]:
                    del held[key]
        else:
            self.present.pop(fact.key, None)
        self.ruled_out[fact.key] = fact

    def facts(self) -> list[Fact]:
        """Every fact that stands."""
        return [*self.present.values(), *self.ruled_out.values()]

    def values(self, observable: str) -> list[Fact]:
        """The present facts of one observable."""
        return [f for f in self.present.values() if f.id == observable]

    def quantity(self, observable: str) -> float | None:
        """The number known for a quantity, or None."""
        fact = self.present.get(observable)
        return number(fact) if fact else None

    def choice(self, observable: str) -> str | None:
        """The value known for a one_of observable, or None."""
        held = self.values(observable)
        return str(held[-1].value) if held and isinstance(held[-1].value, str) else None

    def fact_for(self, leaf: str) -> Fact | None:
        """The fact that decides a leaf, whichever way."""
        if leaf in self.present:
            return self.present[leaf]
        if leaf in self.ruled_out:
            return self.ruled_out[leaf]
        key = leaf.partition(":")[0].strip()
        held = self.values(key)
        if held and (leaf == key or self.rules.observables[key].kind == "one_of"):
            return held[-1]
        if key in self.ruled_out:
            return self.ruled_out[key]
        parent = self.rules.observables[key].belongs_to if key in self.rules.observables else None
        return self.fact_for(parent) if parent and self.status(parent) is False else None

    def status(self, leaf: str, there: frozenset[str] | None = None) -> bool | None:
        """True, False (ruled out) or None (unknown) for ``"id: value"``, ``"id"`` or a finding's id.

        Args:
            there: ids of all present facts, where many leaves are asked about at once.
        """
        if leaf in self.rules.findings:
            return self.findings.get(leaf)
        key, value = _parts(leaf)
        item = self.rules.observables.get(key)
        if item is None:
            return None
        if leaf in self.present:
            return True
        held = key in there if there is not None else any(f.id == key for f in self.present.values())
        if held and not value:
            return True
        if leaf in self.ruled_out or key in self.ruled_out:
            return False
        if held and item.kind == "one_of":
            return False
        if item.belongs_to and self.status(item.belongs_to) is False:
            return False
        return None

    def firm(self, leaf: str) -> bool:
        """False when the fact that decides the leaf was held loosely."""
        fact = self.fact_for(leaf)
        return fact.firm if fact else True
