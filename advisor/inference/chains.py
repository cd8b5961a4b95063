"""Which cause of a chain is told first: the origin, where something said speaks for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from advisor.inference.belief import Belief, Network, likelihood
from advisor.knowledge.rulebase import RuleBase

#: Leading chain's mass at which a verdict is named, and how far it must lead a rival with another
#: first action. Set by judgement and checked against cases (common practice, no source).
NAMED_AT, NAMED_OVER = 0.6, 3.0
#: A cause at this probability counts as part of a chain.
IN_CHAIN = 0.5
#: Times by which what was said must make an origin likelier by itself before it leads what it brought about.
SHOWN = 3.0


def led_by(rules: RuleBase, net: Network, belief: Belief) -> dict[str, str | None]:
    """Causes at half or more, each with the cause of the chain that brought it about (None: it leads).

    An origin that is not yet likely enough to be named, or for which nothing said speaks by itself, does
    not lead a consequence that is sure: what is certain is told first, what may have brought it about
    after it.
    """
    likely = [c for c, p in belief.marginals.items() if p >= IN_CHAIN]
    shown = {c for c in likely if belief.marginals[c] >= NAMED_AT and _own_evidence(rules, net, c) >= SHOWN}
    found: dict[str, str | None] = {}
    for cause in likely:
        sure = belief.marginals[cause] >= NAMED_AT
        parents = [p for p in likely if cause in net.leads.get(p, {}) and (p in shown or not sure)]
        found[cause] = max(parents, key=lambda p: belief.marginals[p]) if parents else None
    return found


def _own_evidence(rules: RuleBase, net: Network, cause: str) -> float:
    """How many times likelier what was said makes this cause, taken alone: its context and its own signs."""
    before, now = rules.causes[cause].prior, net.priors[cause]
    weight = now / (1 - now) * (1 - before) / before
    for node in net.nodes:
        if cause in node.chances:
            weight *= likelihood(node, [node.chances[cause]]) / max(1e-9, likelihood(node, []))
    return weight


def beside(rules: RuleBase, chances: Mapping[str, float], chain: Sequence[str]) -> str | None:
    """The likeliest cause that is sure as well and has nothing to do with the chain told, or None.

    What brought the chain about, or what it brings about, is no trouble of its own; a referral is not named.
    """
    linked = {c for c in rules.causes if not set(chain).isdisjoint(rules.causes[c].leads_to)}
    linked |= {c for member in chain for c in rules.causes[member].leads_to}
    free = [
        c
        for c, chance in chances.items()
        if chance >= NAMED_AT and c not in chain and c not in linked and not rules.causes[c].referral
    ]
    return max(free, key=lambda c: chances[c], default=None)
