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
from collections.abc import Callable, Iterable, Mapping, Sequence
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

    def masses(self, without: str) -> dict[str, float]:
        """The mass of every cause without another one, in one pass; a cause in none of them is left out."""
        found: dict[str, float] = {}
        for members, p in self.hypotheses:
            if without not in members:
                for cause in members:
                    found[cause] = found.get(cause, 0.0) + p
        return found


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


_BITS = 30
_HALF = (1 << _BITS) - 1


class _Factor(dict[int, float]):
    """One factor of a hypothesis's weight by which of the causes it depends on are present; remembered."""

    def __init__(self, scope: int, work: Callable[[int], float]) -> None:
        super().__init__()
        self.scope, self.work = scope, work

    def __missing__(self, key: int) -> float:
        found = self[key] = self.work(key)
        return found


class _Judge:
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
        self.factors = [_Factor(sum(b for b, _ in who), _seen(node, who)) for node, who in self.heard]
        self.factors += [
            _Factor(self.bit[c] | sum(b for b, _ in self.parents[c]), self._coming(c)) for c in self.order
        ]
        self.weights: dict[int, float] = {0: self._whole(0)}
        self._touched: dict[int, list[tuple[int, int, _Factor]]] = {}
        self._named: dict[tuple[int, int], list[str]] = {}

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
        weights, total = self.weights, self.weight(mask)
        before: dict[int, float] = {}
        made = []
        for more in additions:
            grown = mask | more
            made.append(grown)
            if grown in weights:
                continue
            weight = total
            for i, scope, factor in self._touching(more):
                held = before.get(i)
                if held is None:
                    held = before[i] = factor[mask & scope]
                if not held:
                    weight = self._whole(grown)
                    break
                weight *= factor[grown & scope] / held
            weights[grown] = weight
        return made

    def _touching(self, more: int) -> list[tuple[int, int, _Factor]]:
        found = self._touched.get(more)
        if found is None:
            found = [(i, f.scope, f) for i, f in enumerate(self.factors) if f.scope & more]
            self._touched[more] = found
        return found

    def members(self, mask: int) -> list[str]:
        """The causes of `mask`, in order of their names."""
        if mask <= _HALF:
            return self._half(mask, 0)
        return self._half(mask & _HALF, 0) + self._half(mask >> _BITS, _BITS)

    def _half(self, mask: int, first: int) -> list[str]:
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


def _seen(node: Node, who: list[tuple[int, Mapping[str, float]]]) -> Callable[[int], float]:
    """Chance of what was seen at a node, by which of the causes it hears are present."""
    return lambda mask: likelihood(node, [chances for bit, chances in who if mask & bit])


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
    least = max(weight for _, weight in weighed) * DROP if cap is not None else 0.0
    kept = [(mask, weight) for mask, weight in weighed if weight >= least]
    total = sum(weight for _, weight in kept)
    told = sorted(
        ((weight / total, judge_.members(mask), mask) for mask, weight in kept),
        key=lambda item: (-item[0], item[1]),
    )
    marginals = dict.fromkeys(relevant, 0.0)
    for p, members, _ in told:
        for cause in members:
            marginals[cause] += p
    _barren(net, judge_, [(mask, p) for p, _, mask in told], marginals)
    return Belief(tuple((frozenset(members), p) for p, members, _ in told), marginals)


def _relevant(net: Network) -> list[str]:
    """Causes that touch an observed node, and whatever leads to them; the rest cannot be moved."""
    wanted = {cause for node in net.nodes for cause in node.chances if cause in net.priors}
    while True:
        more = {c for c, leads in net.leads.items() if c in net.priors and wanted & leads.keys()} - wanted
        if not more:
            return sorted(wanted)
        wanted |= more


def _barren(
    net: Network, judge_: _Judge, held: Iterable[tuple[int, float]], marginals: dict[str, float]
) -> None:
    """Add the causes nothing observed can move: their prior, raised by what is believed to lead to them.

    Worked from the start of each chain to its end, so that a cause's own parents are known before it.
    """
    shares, weighed = list(held), frozenset(marginals)
    parents = {c: {p: w[c] for p, w in net.leads.items() if c in w and p in net.priors} for c in net.priors}
    waiting = sorted(net.priors.keys() - weighed)
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


def _spared(inside: list[tuple[int, float]], shares: list[tuple[int, float]]) -> float:
    """Chance that none of these parents, as (bit, how often it leads there), has brought a cause about."""
    if not inside:
        return 1.0
    scope = sum(bit for bit, _ in inside)
    by_parents: dict[int, float] = {}
    for mask, p in shares:
        key = mask & scope
        by_parents[key] = by_parents.get(key, 0.0) + p
    return sum(p * prod(1 - w for bit, w in inside if key & bit) for key, p in by_parents.items())


def _search(judge_: _Judge, cap: int, grow: int, keep: int) -> list[int]:
    """Hypotheses worth keeping: chains from every single start, then a second start on the best, and a
    third while the best leaves a node unexplained."""
    chains = {cause: _chains(judge_, judge_.bit[cause], grow) for cause in judge_.order}
    found: set[int] = {0}
    for masks in chains.values():
        found.update(masks)
    weight = judge_.weights.__getitem__
    for extra in range(1, cap + 1):
        if extra == cap and not _unexplained(judge_, max(found, key=weight)):
            break
        best = heapq.nlargest(keep if extra < cap else keep // 4, found, key=weight)
        for mask in best:
            free = (masks for cause, masks in chains.items() if not mask & judge_.bit[cause])
            found.update(judge_.grow(mask, (more for masks in free for more in masks[:2])))
    return list(found)


def _chains(judge_: _Judge, start: int, grow: int) -> list[int]:
    """`start` with subsets of what it leads to, best first; half-built chains are grown, not dropped."""
    found, queue = set(judge_.grow(0, [start])), [start]
    while queue and len(found) < grow:
        mask = queue.pop(0)
        children = dict.fromkeys(c for cause in judge_.members(mask) for c, _ in judge_.children[cause])
        fresh = [child for child in children if not mask & child and mask | child not in found]
        for grown in judge_.grow(mask, fresh):
            found.add(grown)
            queue.append(grown)
    return sorted(found, key=judge_.weights.__getitem__, reverse=True)


def _unexplained(judge_: _Judge, mask: int) -> bool:
    """True when some node is still at least three times likelier under a single cause than under `mask`."""
    for node, who in judge_.heard:
        if node.slip >= LOOSE_SLIP:
            continue
        shown = [chances for bit, chances in who if mask & bit]
        now = likelihood(node, shown)
        if any(likelihood(node, [chances]) > 3 * now for bit, chances in who if not mask & bit):
            return True
    return False
