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


@dataclass(frozen=True, slots=True)
class Belief:
    """The outcome: hypotheses with their probability, and each cause's marginal probability."""

    hypotheses: tuple[tuple[frozenset[str], float], ...]
    marginals: dict[str, float]

    def mass(self, cause: str, without: str | None = None) -> float:
        """Probability that `cause` is present, counting only hypotheses without another cause."""
        return sum(p for t, p in self.hypotheses if cause in t and (without is None or without not in t))


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


class _Judge:
    """Weights of hypotheses over a network, remembering what each node gave for the causes it hears."""

    def __init__(self, net: Network) -> None:
        self.net = net
        self.order = sorted(net.priors)
        self.bit = {cause: 1 << i for i, cause in enumerate(self.order)}
        self.children = {
            cause: [(self.bit[c], w) for c, w in net.leads.get(cause, {}).items() if c in self.bit]
            for cause in self.order
        }
        self.parents: dict[str, list[tuple[int, float]]] = {cause: [] for cause in self.order}
        for cause in self.order:
            for child, w in net.leads.get(cause, {}).items():
                if child in self.parents:
                    self.parents[child].append((self.bit[cause], w))
        self.heard: list[tuple[int, dict[int, float], Node, list[tuple[int, Mapping[str, float]]]]] = []
        for node in net.nodes:
            who = [(self.bit[c], chances) for c, chances in node.chances.items() if c in self.bit]
            self.heard.append((sum(b for b, _ in who), {}, node, who))
        self.weights: dict[int, float] = {}
        self.odds = {c: net.priors[c] / (1 - net.priors[c]) for c in self.order}

    def weight(self, mask: int) -> float:
        """Unnormalised probability of exactly the causes in `mask`, relative to the empty prior."""
        known = self.weights.get(mask)
        if known is None:
            known = self.weights[mask] = self._prior(mask) * self.evidence(mask)
        return known

    def evidence(self, mask: int) -> float:
        total = 1.0
        for hears, memo, node, who in self.heard:
            key = mask & hears
            part = memo.get(key)
            if part is None:
                part = memo[key] = likelihood(node, [chances for bit, chances in who if key & bit])
            total *= part
        return total

    def _prior(self, mask: int) -> float:
        total = 1.0
        seen = 0
        for cause in self.members(mask):
            absent = 1 - self.net.priors[cause]
            brought = absent
            for parent, w in self.parents[cause]:
                if mask & parent:
                    brought *= 1 - w
            total *= (1 - brought) / absent
            for child, _w in self.children[cause]:
                if not mask & child and not seen & child:
                    seen |= child
                    for parent, w in self.parents[self.order[child.bit_length() - 1]]:
                        if mask & parent:
                            total *= 1 - w
        return total

    def members(self, mask: int) -> list[str]:
        found = []
        while mask:
            low = mask & -mask
            found.append(self.order[low.bit_length() - 1])
            mask ^= low
        return found

    def starts(self, mask: int) -> int:
        """How many causes of `mask` no other member leads to."""
        return sum(1 for c in self.members(mask) if not any(mask & parent for parent, _ in self.parents[c]))


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
    judge_ = _Judge(small)
    masks = range(1 << len(relevant)) if cap is None else _search(judge_, cap, grow, keep)
    weighed = [(mask, judge_.weight(mask)) for mask in masks]
    best = max(weight for _, weight in weighed)
    kept = [(mask, weight) for mask, weight in weighed if cap is None or weight >= best * DROP]
    total = sum(weight for _, weight in kept)
    hypotheses = sorted(
        ((frozenset(judge_.members(mask)), weight / total) for mask, weight in kept),
        key=lambda item: (-item[1], sorted(item[0])),
    )
    marginals = dict.fromkeys(relevant, 0.0)
    for members, p in hypotheses:
        for cause in members:
            marginals[cause] += p
    return Belief(tuple(hypotheses), _barren(net, hypotheses, marginals))


def _relevant(net: Network) -> list[str]:
    """Causes that touch an observed node, and whatever leads to them; the rest cannot be moved."""
    wanted = {cause for node in net.nodes for cause in node.chances if cause in net.priors}
    while True:
        more = {c for c, leads in net.leads.items() if c in net.priors and wanted & leads.keys()} - wanted
        if not more:
            return sorted(wanted)
        wanted |= more


def _barren(
    net: Network, hypotheses: Iterable[tuple[frozenset[str], float]], marginals: dict[str, float]
) -> dict[str, float]:
    """Add the causes nothing observed can move: their prior, raised by what is believed to lead to them.

    Worked from the start of each chain to its end, so that a cause's own parents are known before it.
    """
    held, weighed = list(hypotheses), frozenset(marginals)
    parents = {c: {p: w[c] for p, w in net.leads.items() if c in w and p in net.priors} for c in net.priors}
    waiting = sorted(net.priors.keys() - weighed)
    while waiting:
        cause = next(c for c in waiting if not any(p in waiting for p in parents[c]))
        waiting.remove(cause)
        outside = 1 - net.priors[cause]
        for parent, w in parents[cause].items():
            outside *= 1.0 if parent in weighed else 1 - w * marginals[parent]
        absent = 0.0
        for members, p in held:
            absent += p * prod(1 - w for parent, w in parents[cause].items() if parent in members)
        marginals[cause] = 1 - outside * absent
    return marginals


def _search(judge_: _Judge, cap: int, grow: int, keep: int) -> list[int]:
    """Hypotheses worth keeping: chains from every single start, then a second start on the best, and a
    third while the best leaves a node unexplained."""
    chains = {cause: _chains(judge_, judge_.bit[cause], grow) for cause in judge_.order}
    found: set[int] = {0}
    for masks in chains.values():
        found.update(masks)
    weight = judge_.weight
    for extra in range(1, cap + 1):
        if extra == cap and not _unexplained(judge_, max(found, key=weight)):
            break
        best = heapq.nlargest(keep if extra < cap else keep // 4, found, key=weight)
        for mask in best:
            for cause, masks in chains.items():
                if not mask & judge_.bit[cause]:
                    found.update(mask | more for more in masks[:2])
    return list(found)


def _chains(judge_: _Judge, start: int, grow: int) -> list[int]:
    """`start` with subsets of what it leads to, best first; half-built chains are grown, not dropped."""
    found, queue = {start}, [start]
    while queue and len(found) < grow:
        mask = queue.pop(0)
        for cause in judge_.members(mask):
            for child, _ in judge_.children[cause]:
                grown = mask | child
                if not mask & child and grown not in found:
                    found.add(grown)
                    queue.append(grown)
    return sorted(found, key=judge_.weight, reverse=True)


def _unexplained(judge_: _Judge, mask: int) -> bool:
    """True when some node is still at least three times likelier under a single cause than under `mask`."""
    for hears, _memo, node, who in judge_.heard:
        if node.slip >= LOOSE_SLIP:
            continue
        shown = [chances for bit, chances in who if mask & hears & bit]
        now = likelihood(node, shown)
        if any(likelihood(node, [chances]) > 3 * now for bit, chances in who if not mask & bit):
            return True
    return False
