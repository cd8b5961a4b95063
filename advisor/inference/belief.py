"""From findings to the probability of each cause: a noisy-OR network with chains, judged exactly.

The form is the published reformulation of a large diagnostic knowledge base as a two-level noisy-OR
network (Shwe et al., Methods of Information in Medicine 30, 1991, 241-255), judged by enumerating
hypotheses (exact inference: Heckerman, UAI 1989). Ours adds inhibitors, exclusive answers, causes
that lead to causes, and slip by observable; ``rules/README.md`` says what each word means.

A hypothesis is the set of causes that are present. Its *starts* are those no other present cause
leads to. Hypotheses with one or two starts are enumerated, a third while a firm finding stays
unexplained; each with subsets of what its starts lead to.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import prod
from operator import itemgetter

from advisor.inference.weights import BITS, HALF, Weights

#: Complete hypotheses below this share of the best are dropped (design decision, tested for its cost).
DROP = 1e-4
#: A loosely held answer is wrong about this often (judgement, common practice, no source).
LOOSE_SLIP = 0.2


@dataclass(frozen=True, slots=True)
class Node:
    """One thing that was observed.

    Attributes:
        id: the node's name, for explanations.
        bases: chance of each answer with no cause present; a yes/no node has the key ``yes`` only.
            For a choice the shares missing to 1 belong to ``none of these`` (key ``""``).
        chances: cause id -> answer -> chance with this cause alone; unnamed answers stay at base.
        weights: answer -> how well it fits what was seen (1 for the answer seen, 0 for others; a
            number near a limit spreads). For a yes/no node: ``{"yes": 1}`` or ``{"yes": 0}``.
        slip: chance that the answer is wrong all the same.
        false_yes: for a yes/no node, the chance that it is said though it is not so; `slip` when None.
            One of many possible answers is said by mistake more rarely than any of them.
    """

    id: str
    bases: Mapping[str, float]
    chances: Mapping[str, Mapping[str, float]]
    weights: Mapping[str, float]
    slip: float
    false_yes: float | None = None


@dataclass(frozen=True, slots=True)
class Network:
    """Causes with their chances of starting, what they lead to, and the observed nodes."""

    priors: Mapping[str, float]
    leads: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    nodes: Sequence[Node] = ()


class Belief:
    """The outcome: hypotheses with their probability, and each cause's marginal probability.

    Args:
        shares: the probability of each hypothesis kept, as a mask, the likeliest first.
        weights: what the masks mean.
    """

    __slots__ = ("_hypotheses", "_shares", "_weights", "marginals")

    def __init__(
        self, shares: Sequence[tuple[float, int]], weights: Weights, marginals: dict[str, float]
    ) -> None:
        self._shares, self._weights, self.marginals = shares, weights, marginals
        self._hypotheses: tuple[tuple[frozenset[str], float], ...] | None = None

    @property
    def hypotheses(self) -> tuple[tuple[frozenset[str], float], ...]:
        """Each hypothesis, as the causes that are present, with its probability; the likeliest first."""
        if self._hypotheses is None:
            members = self._weights.members
            self._hypotheses = tuple((frozenset(members(mask)), p) for p, mask in self._shares)
        return self._hypotheses

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Belief):
            return NotImplemented
        return (self.hypotheses, self.marginals) == (other.hypotheses, other.marginals)

    __hash__ = None  # type: ignore[assignment]

    def mass(self, cause: str, without: str | None = None) -> float:
        """Probability that `cause` is present, counting only hypotheses without another cause."""
        bit, other = self._bits([cause]), self._bits([without] if without else [])
        return sum(p for p, mask in self._shares if mask & bit and not mask & other)

    def masses(self, without: str) -> dict[str, float]:
        """The mass of every cause without another one, in one pass; a cause in none of them is left out."""
        found: dict[str, float] = {}
        other, members = self._bits([without]), self._weights.members
        for p, mask in self._shares:
            if not mask & other:
                for cause in members(mask):
                    found[cause] = found.get(cause, 0.0) + p
        return found

    def none_of(self, causes: Iterable[str]) -> float:
        """Probability that none of these causes is present."""
        bits = self._bits(causes)
        return sum(p for p, mask in self._shares if not mask & bits)

    def _bits(self, causes: Iterable[str]) -> int:
        held = self._weights.bit
        return sum(held.get(cause, 0) for cause in set(causes))


def answer_chances(bases: Mapping[str, float], shown: Iterable[Mapping[str, float]]) -> dict[str, float]:
    """Chance of every answer given the causes present (each given as answer -> chance alone).

    Above its base a chance adds by noisy-OR with link (chance - base)/(1 - base); below it the cause
    multiplies what the links give by chance/base. Answers of a choice are then divided by their sum.

    Raises:
        ValueError: a base of 0, for which no inhibitor can be expressed.
    """
    yes_no = len(bases) == 1 and "yes" in bases
    shown = list(shown)
    made: dict[str, float] = {}
    for answer, base in bases.items():
        if base <= 0:
            raise ValueError(f"the base rate of {answer!r} must be above 0")
        absent, hold = 1.0 - base, 1.0
        for chances in shown:
            chance = chances.get(answer)
            if chance is None or chance == base:
                continue
            if chance > base:
                absent *= (1.0 - chance) / (1.0 - base)
            else:
                hold *= chance / base
        made[answer] = (1.0 - absent) * hold
    if yes_no:
        return made
    total = sum(made.values())
    return {answer: chance / total for answer, chance in made.items()}


def likelihood(node: Node, shown: Iterable[Mapping[str, float]]) -> float:
    """Chance of what was seen at `node`, slip included."""
    chances = answer_chances(node.bases, shown)
    if "yes" in node.bases and len(node.bases) == 1:
        wrong = node.slip if node.false_yes is None else node.false_yes
        yes = chances["yes"] * (1 - node.slip) + (1 - chances["yes"]) * wrong
        return yes if node.weights["yes"] else 1 - yes
    others = max(1, len(chances) - 1)
    total = 0.0
    for answer, weight in node.weights.items():
        if weight:
            chance = chances.get(answer, 0.0)
            total += weight * (chance * (1 - node.slip) + (1 - chance) * node.slip / others)
    return total


def judge(net: Network, *, cap: int | None = 2, grow: int = 40, keep: int = 20) -> Belief:
    """Belief in every cause of `net` given its observed nodes.

    Args:
        net: priors in (0, 1), leads without circles, nodes with bases above 0.
        cap: how many starting causes a hypothesis may have; None enumerates every subset exactly
            (for small networks).
        grow: hypotheses kept for one start with its consequences.
        keep: best hypotheses that a further start is added to.
    """
    relevant = _relevant(net)
    small = Network({c: net.priors[c] for c in relevant}, net.leads, net.nodes)
    judge_ = Weights(small)
    masks = range(1 << len(relevant)) if cap is None else _search(judge_, cap, grow, keep)
    weighed = [(judge_.weight(mask), mask) for mask in masks]
    least = max(weighed)[0] * DROP if cap is not None else 0.0
    kept = [pair for pair in weighed if pair[0] >= least]
    total = sum(weight for weight, _ in kept)
    told = _in_order([(weight / total, mask) for weight, mask in kept], judge_)
    marginals = dict.fromkeys(relevant, 0.0)
    for p, mask in told:
        for cause in judge_.half(mask & HALF, 0):
            marginals[cause] += p
        for cause in judge_.half(mask >> BITS, BITS):
            marginals[cause] += p
    _barren(net, judge_, told, marginals)
    judge_.forget()
    return Belief(told, judge_, marginals)


def _in_order(told: list[tuple[float, int]], judge_: Weights) -> list[tuple[float, int]]:
    """Hypotheses by share, the largest first; among equals by the names of their causes."""
    told.sort(key=itemgetter(0), reverse=True)
    start = 0
    for end in range(1, len(told) + 1):
        if end < len(told) and told[end][0] == told[start][0]:
            continue
        if end - start > 1:
            told[start:end] = sorted(told[start:end], key=lambda item: judge_.members(item[1]))
        start = end
    return told


def _relevant(net: Network) -> list[str]:
    """Causes that touch an observed node, and whatever leads to them; the rest cannot be moved."""
    wanted = {cause for node in net.nodes for cause in node.chances if cause in net.priors}
    while True:
        more = {c for c, leads in net.leads.items() if c in net.priors and wanted & leads.keys()} - wanted
        if not more:
            return sorted(wanted)
        wanted |= more


def _barren(
    net: Network, judge_: Weights, shares: Sequence[tuple[float, int]], marginals: dict[str, float]
) -> None:
    """Add the causes nothing observed can move: their prior, raised by what is believed to lead to them.

    Worked from the start of each chain to its end, so that a cause's own parents are known before it.
    """
    weighed = frozenset(marginals)
    waiting = sorted(net.priors.keys() - weighed)
    parents: dict[str, dict[str, float]] = {cause: {} for cause in waiting}
    for parent in net.priors:
        for child, w in net.leads.get(parent, {}).items():
            if child in parents:
                parents[child][parent] = w
    while waiting:
        cause = next(c for c in waiting if not any(p in waiting for p in parents[c]))
        waiting.remove(cause)
        outside = 1 - net.priors[cause]
        for parent, w in parents[cause].items():
            outside *= 1.0 if parent in weighed else 1 - w * marginals[parent]
        inside = [(parent, w) for parent, w in parents[cause].items() if parent in weighed]
        bits = [(judge_.bit[parent], w) for parent, w in inside]
        spared = 1 - inside[0][1] * marginals[inside[0][0]] if len(inside) == 1 else _spared(bits, shares)
        marginals[cause] = 1 - outside * spared


def _spared(inside: list[tuple[int, float]], shares: Sequence[tuple[float, int]]) -> float:
    """Chance that none of these parents, as (bit, how often it leads there), has brought a cause about."""
    if not inside:
        return 1.0
    scope = sum(bit for bit, _ in inside)
    by_parents: dict[int, float] = {}
    for p, mask in shares:
        key = mask & scope
        by_parents[key] = by_parents.get(key, 0.0) + p
    return sum(p * prod(1 - w for bit, w in inside if key & bit) for key, p in by_parents.items())


def _search(judge_: Weights, cap: int, grow: int, keep: int) -> list[int]:
    """Hypotheses worth keeping: chains from every single start, then a second start on the best, and a
    third while the best leaves a node unexplained."""
    chains = {cause: _chains(judge_, judge_.bit[cause], grow) for cause in judge_.order}
    found: set[int] = {0}
    for masks in chains.values():
        found.update(masks)
    weight = judge_.weights.__getitem__
    tops = [(judge_.bit[cause], masks[:2]) for cause, masks in chains.items()]
    for extra in range(1, cap + 1):
        if extra == cap and not _unexplained(judge_, max(found, key=weight)):
            break
        best = heapq.nlargest(keep if extra < cap else keep // 4, found, key=weight)
        for mask in best:
            more = [top for start, two in tops if not mask & start for top in two]
            found.update(judge_.grow_by_many(mask, more))
    return list(found)


def _chains(judge_: Weights, start: int, grow: int) -> list[int]:
    """`start` with subsets of what it leads to, best first; half-built chains are grown, not dropped."""
    found, queue = set(judge_.grow(0, [start])), [start]
    while queue and len(found) < grow:
        mask = queue.pop(0)
        led = dict.fromkeys([*judge_.led_to(mask & HALF), *judge_.led_to(mask & ~HALF)])
        fresh = [child for child in led if not mask & child and mask | child not in found]
        if fresh:
            grown = judge_.grow(mask, fresh)
            found.update(grown)
            queue += grown
    return sorted(found, key=judge_.weights.__getitem__, reverse=True)


def _unexplained(judge_: Weights, mask: int) -> bool:
    """True when some node is still at least three times likelier under a single cause than under `mask`."""
    for node, who in judge_.heard:
        if node.slip >= LOOSE_SLIP:
            continue
        shown = [chances for bit, chances in who if mask & bit]
        now = likelihood(node, shown)
        if any(likelihood(node, [chances]) > 3 * now for bit, chances in who if not mask & bit):
            return True
    return False
