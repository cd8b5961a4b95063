"""The staged rules in plain Python: the oracle for durable-rules, and its stand-in where it is missing."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from advisor.inference.conditions import Literal
from advisor.inference.staged import Rule, Staged


class PlainStagedRules(Staged):
    """Counts down, for each rule, the literals still missing; a rule at zero fires."""

    name = "plain"

    def __init__(self, stages: Sequence[Sequence[Rule]]) -> None:
        super().__init__(stages)
        self._waiting: dict[str, dict[Literal, list[int]]] = {}
        for stage, rules in self.stages.items():
            waiting = self._waiting.setdefault(stage, {})
            for i, rule in enumerate(rules):
                for literal in rule.when:
                    waiting.setdefault(literal, []).append(i)

    def _fired(self, stage: str, given: Collection[Literal]) -> set[int]:
        rules, waiting = self.stages[stage], self._waiting[stage]
        missing: dict[int, int] = {}
        fired: set[int] = set()
        known = set(given)
        agenda = list(known)
        while agenda:
            for i in waiting.get(agenda.pop(), ()):
                missing[i] = missing.get(i, len(rules[i].when)) - 1
                if missing[i]:
                    continue
                fired.add(i)
                gives = rules[i].gives
                if gives and gives not in known:
                    known.add(gives)
                    agenda.append(gives)
        return fired
