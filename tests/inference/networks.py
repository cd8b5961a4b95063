"""Random small networks, and the same network in a reference library."""

from __future__ import annotations

import itertools
import random
from math import prod

import pyagrum as gum

from advisor.inference.belief import Network, Node

WORDS = (0.98, 0.9, 0.75, 0.55, 0.3, 0.15, 0.05, 0.015, 0.003)
BASES = (0.2, 0.1, 0.05, 0.025, 0.01)


def random_network(seed: int, causes: int = 6, nodes: int = 4) -> Network:
    """A network with chains, inhibitors, exclusive answers and slip."""
    dice = random.Random(seed)
    names = [f"c{i}" for i in range(causes)]
    priors = {c: dice.choice((0.12, 0.06, 0.03, 0.015)) for c in names}
    leads: dict[str, dict[str, float]] = {}
    for i, cause in enumerate(names):
        later = names[i + 1 :]
        for child in dice.sample(later, min(len(later), dice.choice((0, 0, 1, 2)))):
            leads.setdefault(cause, {})[child] = dice.choice((0.9, 0.55, 0.3))
    made = [_node(dice, i, names) for i in range(nodes)]
    return Network(priors, leads, made)


def _node(dice: random.Random, i: int, names: list[str]) -> Node:
    heard = dice.sample(names, dice.randint(1, min(4, len(names))))
    if dice.random() < 0.5:
        shown = {c: {"yes": dice.choice(WORDS)} for c in heard}
        return Node(f"n{i}", {"yes": dice.choice(BASES)}, shown, {"yes": float(dice.random() < 0.6)}, 0.05)
    bases = {"a": 0.05, "b": 0.1, "": 0.85}
    shown = {c: {dice.choice("ab"): dice.choice(WORDS)} for c in heard}
    return Node(f"n{i}", bases, shown, {dice.choice(["a", "b", ""]): 1.0}, 0.05)


def chance_by_hand(node: Node, answer: str, present: list[str]) -> float:
    """Chance of an answer, written out from the definition: links by noisy-OR, inhibitors by their ratio."""

    def raw(a: str) -> float:
        base = node.bases[a]
        words = [node.chances[c][a] for c in present if a in node.chances[c]]
        links = [(w - base) / (1 - base) for w in words if w > base]
        return (1 - (1 - base) * prod(1 - link for link in links)) * prod(w / base for w in words if w < base)

    return raw(answer) if set(node.bases) == {"yes"} else raw(answer) / sum(raw(a) for a in node.bases)


def weight_by_hand(net: Network, members: frozenset[str]) -> float:
    """Unnormalised probability of exactly these causes and of what was seen, written out from the start.

    Causes that nothing seen depends on are summed out: they count for 1.
    """
    total = 1.0
    wanted = {c for node in net.nodes for c in node.chances}
    for _ in net.priors:
        wanted |= {c for c, leads in net.leads.items() if wanted & leads.keys()}
    for cause, prior in [item for item in net.priors.items() if item[0] in wanted]:
        absent = (1 - prior) * prod(1 - net.leads.get(c, {}).get(cause, 0.0) for c in members)
        total *= 1 - absent if cause in members else absent
    for node in net.nodes:
        (seen,) = [a for a, weight in node.weights.items() if weight] or ["yes"]
        others = max(1, len(node.bases) - 1)
        present = [c for c in node.chances if c in members]
        chance = chance_by_hand(node, seen, present)
        chance = chance * (1 - node.slip) + (1 - chance) * node.slip / others
        total *= chance if node.weights.get(seen) else 1 - chance
    return total


def reference(net: Network) -> dict[str, float]:
    """Each cause's probability given the evidence, by exact inference of the reference library."""
    bn = gum.BayesNet()
    for cause in net.priors:
        bn.add(gum.LabelizedVariable(cause, cause, 2))
    parents = {c: [p for p in net.priors if c in net.leads.get(p, {})] for c in net.priors}
    for cause, above in parents.items():
        for parent in above:
            bn.addArc(parent, cause)
    for cause, above in parents.items():
        for state in itertools.product((0, 1), repeat=len(above)):
            absent = (1 - net.priors[cause]) * prod(
                1 - net.leads[p][cause] for p, s in zip(above, state, strict=True) if s
            )
            where = dict(zip(above, state, strict=True))
            if where:
                bn.cpt(cause)[where] = [absent, 1 - absent]
            else:
                bn.cpt(cause)[:] = [absent, 1 - absent]
    evidence = {}
    for node in net.nodes:
        _add_node(bn, node, evidence)
    engine = gum.LazyPropagation(bn)
    engine.setEvidence(evidence)
    engine.makeInference()
    return {c: float(engine.posterior(c)[1]) for c in net.priors}


def _add_node(bn: gum.BayesNet, node: Node, evidence: dict[str, list[float]]) -> None:
    answers = ["yes", "no"] if set(node.bases) == {"yes"} else list(node.bases)
    bn.add(gum.LabelizedVariable(node.id, node.id, len(answers)))
    heard = list(node.chances)
    for cause in heard:
        bn.addArc(cause, node.id)
    for state in itertools.product((0, 1), repeat=len(heard)):
        present = [c for c, s in zip(heard, state, strict=True) if s]
        chances = [chance_by_hand(node, a, present) for a in answers if a != "no"]
        if answers[-1] == "no":
            chances.append(1 - chances[0])
        bn.cpt(node.id)[dict(zip(heard, state, strict=True))] = chances
    if answers[-1] == "no":
        seen = [node.weights["yes"], 1 - node.weights["yes"]]
    else:
        seen = [node.weights.get(a, 0.0) for a in answers]
    spread = node.slip / (len(answers) - 1)
    at = seen.index(1.0)
    evidence[node.id] = [1 - node.slip if i == at else spread for i in range(len(answers))]
