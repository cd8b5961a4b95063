"""What the answers to one question are expected to be under each hypothesis, before it is asked.

Signs answer by the chances of the belief network. Settings (metal, water, what was put in) are no evidence
there: they move the odds of causes, so their answers weigh hypotheses by how far each favours them, and an
answer that favours nothing changes nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import prod

from advisor.inference.belief import Belief, Node, answer_chances
from advisor.inference.conditions import Condition, leaves, value_of
from advisor.inference.evidence import make_node, node_bases, sign_index
from advisor.inference.knowns import Knowns
from advisor.inference.program import Program, program
from advisor.knowledge.rulebase import Observable, RuleBase

#: No setting is surer than this to be met with a cause it favours (judgement, common practice, no source).
SUREST = 0.9
#: Causes looked at when it is told what an answer would speak for, and how much likelier than usual it must
#: be with one of them (judgement, common practice, no source).
LIKELY, SPEAKS = 8, 4.0
#: leaf -> cause -> the conditions of its rule that name the leaf, with their factors.
Favours = Mapping[str, Mapping[str, list[tuple[Condition, float]]]]


@dataclass(frozen=True, slots=True)
class Weighed:
    """The hypotheses a question is chosen by: causes, share, first action; and every cause of theirs."""

    hypotheses: Sequence[tuple[frozenset[str], float, str]]
    causes: frozenset[str]


@lru_cache(maxsize=4)
def favours_by_leaf(prog: Program) -> Favours:
    """Which causes a setting may favour, by leaf; a comparison is found under its quantity."""
    made: dict[str, dict[str, list[tuple[Condition, float]]]] = {}
    for cause, held in prog.favours.items():
        for condition, favour in held:
            for leaf in {part.key for part in leaves(condition)}:
                compared = prog.compared.get(leaf)
                name = compared.quantity if compared else leaf
                made.setdefault(name, {}).setdefault(cause, []).append((condition, favour.factor))
    return made


def middle(rules: RuleBase, quantity: str, band: str, answer: str) -> float | None:
    """A number that lies in one band of a quantity whose limits do not depend on anything else."""
    found = next((b for b in rules.bands if b["of"] == quantity and b["fills"] == band), None)
    if found is None or len(found["scales"]) != 1:
        return None
    low = 0.0
    for step in found["scales"][0]["steps"]:
        high = step.get("below", step.get("up_to"))
        if step["answer"] == answer:
            return (low + high) / 2 if high is not None else low * 1.25
        if high is not None:
            low = high
    return None


def tilt(known: Knowns, item: Observable, node: str, answer: str, among: frozenset[str]) -> dict[str, float]:
    """How far one answer would multiply the odds of each cause `among` some, beyond what is known already."""
    prog = program(known.rules)
    index = favours_by_leaf(prog)
    leaf = f"{node}: {answer}"
    heard = [index[key] for key in (leaf, item.id) if key in index]
    if not heard:
        return {}
    number = middle(known.rules, item.id, node, answer) if item.kind == "quantity" else None
    one_of = known.rules.observables[node].kind == "one_of"

    def told(key: str) -> bool | None:
        compared = prog.compared.get(key)
        if compared and compared.quantity == item.id:
            return None if number is None else compared.status(number)
        if key in (leaf, node):
            return True
        return False if one_of and key.startswith(f"{node}: ") else prog.status(key, known)

    made: dict[str, float] = {}
    for cause in {c for one in heard for c in one if c in among}:
        held = {id(c): (c, times) for one in heard for c, times in one.get(cause, [])}
        factor = prod(
            times
            for condition, times in held.values()
            if value_of(condition, told) is True and not prog.true(condition, known)
        )
        if factor != 1.0:
            made[cause] = factor
    return made


@lru_cache(maxsize=1024)
def _asked_nodes(rules: RuleBase, node: str, slip: float) -> tuple[Node, ...]:
    """The network nodes an answer fills: the choice, or each part of what adds up."""
    filled, index = rules.observables[node], sign_index(rules).shown
    shown = [f"{node}: {a}" for a in filled.answers] if filled.kind == "any_of" else [node]
    return tuple(make_node(rules, name, {}, slip) for name in shown if name in index)


def _bases(rules: RuleBase, filled: Observable) -> Mapping[str, float]:
    """How often each answer is met; of a choice the one answer without a base takes the rest."""
    return node_bases(rules, filled.id) if filled.kind == "one_of" else filled.bases


class Outcomes:
    """Chance of each answer to one question under each hypothesis, remembered by the causes that matter.

    Args:
        known: what is known.
        item: the observable asked about.
        node: what its answer fills: itself, or the band of a quantity.
        weighed: the hypotheses considered, each with its share and first action.
    """

    def __init__(self, known: Knowns, item: Observable, node: str, weighed: Weighed) -> None:
        filled = known.rules.observables[node]
        tilts = {a: tilt(known, item, node, a, weighed.causes) for a in filled.answers}
        self.tilts = {a: causes for a, causes in tilts.items() if causes}
        self.parted = filled.kind == "any_of"
        self.nodes = _asked_nodes(known.rules, node, item.slip)
        self.causes = frozenset(c for n in self.nodes for c in n.chances).union(*self.tilts.values())
        self.slip = item.slip
        self.memo: dict[frozenset[str], list[float]] = {}
        self.groups: dict[tuple[frozenset[str], str], float] = {}
        for members, p, label in weighed.hypotheses:
            key = (members & self.causes, label)
            self.groups[key] = self.groups.get(key, 0.0) + p
        if not self.nodes:
            self.neutral, self.shares = self._met(_bases(known.rules, filled))

    def chances(self, members: frozenset[str]) -> list[float]:
        """Chance of every answer when exactly these causes are present, slip included."""
        key = members & self.causes
        made = self.memo.get(key)
        if made is None:
            made = self.memo[key] = self._slipped(self._signs(key)) if self.nodes else self._setting(key)
        return made

    def splits(self) -> list[dict[str, float]]:
        """For each answer, the share of each first action it would leave; all of them sum to 1."""
        after: list[dict[str, float]] = []
        for (key, label), p in self.groups.items():
            made = self.memo.get(key) or self.chances(key)
            for i, chance in enumerate(made):
                if i == len(after):
                    after.append({})
                after[i][label] = after[i].get(label, 0.0) + p * chance
        return after

    def _favour(self, answer: str, members: frozenset[str]) -> float:
        return prod(times for cause, times in self.tilts.get(answer, {}).items() if cause in members)

    def _met(self, bases: Mapping[str, float]) -> tuple[float, dict[str, float]]:
        """How often no telling setting is met, and each telling one's chance per unit of its favour."""
        met, mean = {}, {}
        for answer in self.tilts:
            base = bases[answer]
            favours = [(p, self._favour(answer, members)) for (members, _), p in self.groups.items()]
            met[answer] = sum(p * base * f / (1 - base + base * f) for p, f in favours)
            mean[answer] = sum(p * f for p, f in favours)
        scale = min(1.0, SUREST / max(1e-9, sum(met.values())))
        shares = {a: scale * met[a] / mean[a] for a in met}
        return 1.0 - scale * sum(met.values()), shares

    def _setting(self, key: frozenset[str]) -> list[float]:
        return [*(share * self._favour(answer, key) for answer, share in self.shares.items()), self.neutral]

    def _signs(self, key: frozenset[str]) -> list[float]:
        if not self.parted:
            node = self.nodes[0]
            chances = answer_chances(node.bases, [node.chances[c] for c in key if c in node.chances])
            if len(chances) == 1:
                return [chances["yes"], 1 - chances["yes"]]
            return [p * self._favour(answer, key) for answer, p in chances.items()]
        yes = []
        for node in self.nodes:
            chance = answer_chances(node.bases, [node.chances[c] for c in key if c in node.chances])["yes"]
            if self.tilts:
                favour = self._favour(node.id.partition(": ")[2], key)
                chance = chance * favour / (1 - chance + chance * favour)
            yes.append(chance)
        return [*yes, prod(1 - chance for chance in yes)]

    def _slipped(self, chances: list[float]) -> list[float]:
        total = sum(chances)
        spread = self.slip / max(1, len(chances) - 1)
        return [c / total * (1 - self.slip) + (1 - c / total) * spread for c in chances]


def points(rules: RuleBase, belief: Belief, node: str, most: int = 3) -> list[tuple[str, str]]:
    """Which answer would speak for which of the likely causes, the weightiest first, one answer a cause."""
    filled = rules.observables[node]
    found: list[tuple[float, str, str]] = []
    for part in _asked_nodes(rules, node, filled.slip):
        for cause in sorted(belief.marginals, key=lambda c: -belief.marginals[c])[:LIKELY]:
            if rules.causes[cause].referral:
                continue
            for answer, chance in part.chances.get(cause, {}).items():
                told = part.id.partition(": ")[2] or answer
                if told in filled.answers and chance > SPEAKS * part.bases.get(answer, 1.0):
                    found.append((belief.marginals[cause] * chance, told, cause))
    made: list[tuple[str, str]] = []
    for _, answer, cause in sorted(found, reverse=True):
        if all(answer != a and cause != c for a, c in made):
            made.append((answer, cause))
    return made[:most]
