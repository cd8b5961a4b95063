"""Weights of hypotheses over a network of causes and observed nodes; the arithmetic behind `belief`.

Thousands of hypotheses are weighed for one judgement, so what does not change between them is worked out
once: the factors of each node by the causes that are present, and the ratios each cause brings to them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from math import prod
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from advisor.inference.belief import Network, Node

Heard = list[tuple[int, Mapping[str, float]]]
#: For one answer of a node: (bit of a cause, whether it adds by noisy-OR, the ratio it brings).
Ratios = list[tuple[int, bool, float]]

BITS = 30
HALF = (1 << BITS) - 1


class Factor(dict[int, float]):
    """One factor of a hypothesis's weight by which of the causes it depends on are present; remembered."""

    def __init__(self, scope: int, work: Callable[[int], float]) -> None:
        super().__init__()
        self.scope, self.work = scope, work

    def __missing__(self, key: int) -> float:
        found = self[key] = self.work(key)
        return found


class Weights:
    """Weights of hypotheses over a network, as products of factors: one of each node, one of each cause's
    being there or staying away. A hypothesis is a mask, one bit a cause.
    """

    def __init__(self, net: Network) -> None:
        self.net = net
        self.order = sorted(net.priors)
        self.bit = {cause: 1 << i for i, cause in enumerate(self.order)}
        self.children = {
            cause: [(self.bit[c], w) for c, w in net.leads.get(cause, {}).items() if c in self.bit]
            for cause in self.order
        }
        self.parents: dict[str, list[tuple[int, float]]] = {cause: [] for cause in self.order}
        for cause, led in self.children.items():
            for child, w in led:
                self.parents[self.order[child.bit_length() - 1]].append((self.bit[cause], w))
        self.heard: list[tuple[Node, list[tuple[int, Mapping[str, float]]]]] = [
            (node, [(self.bit[c], chances) for c, chances in node.chances.items() if c in self.bit])
            for node in net.nodes
        ]
        self.factors = [Factor(sum(b for b, _ in who), seen(node, who)) for node, who in self.heard]
        self.factors += [
            Factor(self.bit[c] | sum(b for b, _ in self.parents[c]), self._coming(c)) for c in self.order
        ]
        self.weights: dict[int, float] = {0: self._whole(0)}
        self._touched: dict[int, list[tuple[int, int, Factor]]] = {}
        self._named: dict[tuple[int, int], list[str]] = {}
        self._led: dict[int, list[int]] = {}

    def _coming(self, cause: str) -> Callable[[int], float]:
        """How a cause weighs by its own presence and its parents': relative to its not starting."""
        own, absent, parents = self.bit[cause], 1 - self.net.priors[cause], self.parents[cause]

        def work(mask: int) -> float:
            spared = prod(1 - w for parent, w in parents if mask & parent)
            return (1 - absent * spared) / absent if mask & own else spared

        return work

    def _whole(self, mask: int) -> float:
        return prod(factor[mask & factor.scope] for factor in self.factors)

    def weight(self, mask: int) -> float:
        """Unnormalised probability of exactly the causes in `mask`, relative to the empty prior."""
        known = self.weights.get(mask)
        if known is None:
            known = self.weights[mask] = self._whole(mask)
        return known

    def grow(self, mask: int, additions: Iterable[int]) -> list[int]:
        """`mask` with each addition, weighed from the weight of `mask`: only what an addition touches
        changes.
        """
        weights, touched, total = self.weights, self._touched, self.weight(mask)
        made = []
        for more in additions:
            grown = mask | more
            made.append(grown)
            if grown in weights:
                continue
            weight = total
            for _, scope, factor in touched.get(more) or self._touching(more):
                held = factor[mask & scope]
                if not held:
                    weight = self._whole(grown)
                    break
                weight *= factor[grown & scope] / held
            weights[grown] = weight
        return made

    def grow_by_many(self, mask: int, additions: Sequence[int]) -> list[int]:
        """As `grow`, for many additions to one mask: what it weighs by each factor is looked up once."""
        before = [factor[mask & factor.scope] for factor in self.factors]
        if not all(before):
            return self.grow(mask, additions)
        weights, touched, total = self.weights, self._touched, self.weight(mask)
        made = [mask | more for more in additions]
        for grown, more in zip(made, additions, strict=True):
            if grown in weights:
                continue
            weight = total
            for i, scope, factor in touched.get(more) or self._touching(more):
                weight *= factor[grown & scope] / before[i]
            weights[grown] = weight
        return made

    def _touching(self, more: int) -> list[tuple[int, int, Factor]]:
        found = self._touched[more] = [
            (i, f.scope, f) for i, f in enumerate(self.factors) if f.scope & more
        ]
        return found

    def forget(self) -> None:
        """Let go of what was remembered for weighing; what the masks mean stays."""
        self.factors, self.heard = [], []
        for held in (self.weights, self._touched, self._led):
            held.clear()

    def members(self, mask: int) -> list[str]:
        """The causes of `mask`, in order of their names."""
        if mask <= HALF:
            return self.half(mask, 0)
        return self.half(mask & HALF, 0) + self.half(mask >> BITS, BITS)

    def half(self, mask: int, first: int) -> list[str]:
        """The causes of a few bits, remembered: most hypotheses share theirs with many others."""
        found = self._named.get((mask, first))
        if found is None:
            found, rest = [], mask
            while rest:
                low = rest & -rest
                found.append(self.order[low.bit_length() - 1 + first])
                rest ^= low
            self._named[mask, first] = found
        return found

    def led_to(self, mask: int) -> list[int]:
        """Bits of what the causes of `mask` lead to, in order of the causes; some may come twice."""
        found = self._led.get(mask)
        if found is None:
            found = self._led[mask] = [b for cause in self.members(mask) for b, _ in self.children[cause]]
        return found


def seen(node: Node, who: Heard) -> Callable[[int], float]:
    """Chance of what was seen at a node, by which of the causes it hears are present: the same as
    `belief.likelihood` of what those causes show.
    """
    ratios = {answer: _ratios(base, answer, who) for answer, base in node.bases.items()}
    if len(ratios) == 1 and "yes" in ratios:
        return _yes_no(node, ratios["yes"])
    return _choice(node, ratios, who)


def _ratios(base: float, answer: str, who: Heard) -> Ratios:
    """What each cause brings to one answer; a cause that leaves it at its base is left out.

    Raises:
        ValueError: a base of 0, for which no inhibitor can be expressed.
    """
    if base <= 0:
        raise ValueError(f"the base rate of {answer!r} must be above 0")
    found = []
    for bit, chances in who:
        chance = chances.get(answer)
        if chance is not None and chance != base:
            adds = chance > base
            found.append((bit, adds, (1.0 - chance) / (1.0 - base) if adds else chance / base))
    return found


def _chance(mask: int, base: float, ratios: Ratios) -> float:
    absent, hold = 1.0 - base, 1.0
    for bit, adds, ratio in ratios:
        if mask & bit:
            if adds:
                absent *= ratio
            else:
                hold *= ratio
    return (1.0 - absent) * hold


def _yes_no(node: Node, ratios: Ratios) -> Callable[[int], float]:
    base, slip = node.bases["yes"], node.slip
    wrong = slip if node.false_yes is None else node.false_yes
    said = bool(node.weights["yes"])

    def work(mask: int) -> float:
        chance = _chance(mask, base, ratios)
        yes = chance * (1 - slip) + (1 - chance) * wrong
        return yes if said else 1 - yes

    return work


def _choice(node: Node, ratios: Mapping[str, Ratios], who: Heard) -> Callable[[int], float]:
    """As `_chance` for every answer, looking once which causes are there."""
    bits = [bit for bit, _ in who]
    answers = [(1.0 - node.bases[a], {bit: (adds, r) for bit, adds, r in held}) for a, held in ratios.items()]
    places = {answer: i for i, answer in enumerate(ratios)}
    wanted = [(places.get(answer), weight) for answer, weight in node.weights.items() if weight]
    slip, others = node.slip, max(1, len(answers) - 1)

    def work(mask: int) -> float:
        there = [bit for bit in bits if mask & bit]
        chances = []
        for rest, brings in answers:
            absent, hold = rest, 1.0
            for bit in there:
                brought = brings.get(bit)
                if brought is None:
                    continue
                if brought[0]:
                    absent *= brought[1]
                else:
                    hold *= brought[1]
            chances.append((1.0 - absent) * hold)
        total, found = sum(chances), 0.0
        for place, weight in wanted:
            chance = 0.0 if place is None else chances[place] / total
            found += weight * (chance * (1 - slip) + (1 - chance) * slip / others)
        return found

    return work
