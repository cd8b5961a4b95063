"""From what is known to the nodes of the belief network: which observation counts, once, and how far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

from advisor.inference.belief import LOOSE_SLIP, Network, Node
from advisor.inference.conditions import Status, value_of
from advisor.inference.knowns import Knowns
from advisor.inference.program import Program
from advisor.knowledge.rulebase import Cause, Observable, RuleBase

Shown = dict[str, dict[str, float]]
#: No cause shows one answer more surely than this when its chance is only inferred from the whole.
INFERRED_TOP = 0.95
#: A combination of facts is wrong about this often (judgement, common practice, no source).
FINDING_SLIP = 0.02
#: The verdict that nothing is wrong is the empty hypothesis, not a cause in the network.
NOTHING_WRONG = "in_range"


class SignIndex:
    """For every node, what each cause makes of it: explicit signs, and what follows for whole and part."""

    def __init__(self, rules: RuleBase) -> None:
        self.rules = rules
        self.shown: dict[str, Shown] = {}
        for cause in rules.causes.values():
            if cause.id == NOTHING_WRONG:
                continue
            for sign in cause.signs:
                self.shown.setdefault(sign.node, {}).setdefault(cause.id, {}).update(sign.chances)
        for item in rules.observables.values():
            if item.kind == "any_of":
                self._whole_and_parts(item)

    def _whole_and_parts(self, item: Observable) -> None:
        whole_base = self.rules.base(item.id)
        explicit = self.shown.get(item.id, {})
        parts = {v: self.shown.get(f"{item.id}: {v}", {}) for v in item.answers}
        causes = set(explicit).union(*parts.values()) if parts else set(explicit)
        for cause in sorted(causes):  # in one order in every process, or sums differ in the last digit
            if cause in explicit:
                share = explicit[cause]["yes"] / whole_base
                for value, base in item.bases.items():
                    chance = min(INFERRED_TOP, base * share)
                    node = self.shown.setdefault(f"{item.id}: {value}", {})
                    node.setdefault(cause, {"yes": chance})
                continue
            most = max((shown[cause]["yes"] for shown in parts.values() if cause in shown), default=0.0)
            if most > whole_base:
                self.shown.setdefault(item.id, {})[cause] = {"yes": most}


@lru_cache(maxsize=8)
def sign_index(rules: RuleBase) -> SignIndex:
    """The index of one rule base, made once."""
    return SignIndex(rules)


def node_bases(rules: RuleBase, node: str) -> dict[str, float]:
    """Chance of each answer of a node with no cause present; ``""`` is none of the answers.

    A one_of observable with one answer that has no base of its own (``ok``) gives that answer the rest.
    """
    item = rules.observables.get(node)
    if item is None or item.kind != "one_of":
        return {"yes": rules.base(node)}
    resting = [a for a, answer in item.answers.items() if "base" not in answer]
    named = {a: item.bases[a] for a in item.answers if len(resting) != 1 or a != resting[0]}
    rest = max(0.02, 1.0 - sum(named.values()))
    return {**named, (resting[0] if len(resting) == 1 else ""): rest}


def make_node(rules: RuleBase, node: str, weights: Mapping[str, float], slip: float) -> Node:
    """A network node with the chances every cause gives it."""
    item = rules.observables.get(node.partition(":")[0].strip())
    many = len(item.answers) if item is not None and item.kind == "any_of" and ":" in node else 0
    false_yes = slip / many if many else None
    return Node(
        node, node_bases(rules, node), sign_index(rules).shown.get(node, {}), weights, slip, false_yes
    )


def observed(known: Knowns, weights: Mapping[str, Mapping[str, float]]) -> list[Node]:
    """Every node that counts as evidence, in a fixed order."""
    rules, index = known.rules, sign_index(known.rules)
    doubted = _doubted(known)
    absorbed = {
        leaf
        for name, truth in known.findings.items()
        if truth is not None and name in index.shown
        for leaf in rules.findings[name].get("absorbs", [])
    }
    nodes: list[Node] = []
    for item in rules.observables.values():
        if item.kind == "quantity" or item.role not in {"sign", "reading"} or item.id in absorbed:
            continue
        if item.belongs_to and known.status(item.belongs_to) is False:
            continue
        nodes += _one_of(known, item, weights) if item.kind == "one_of" else _any_of(known, item)
    for name, truth in known.findings.items():
        if truth is not None and name in index.shown:
            nodes.append(make_node(rules, name, {"yes": float(truth)}, FINDING_SLIP))
    return [_doubt(n, doubted) for n in nodes if n.chances and n.id not in absorbed]


def _doubted(known: Knowns) -> set[str]:
    """Bands whose number stands on an instrument known to be wrong."""
    bad = ("not_zeroed", "fuzzy_line", "dirty_lens", "no_factor", "scale_unknown", "cold_sample")
    found: set[str] = set()
    if any(f"instrument: {b}" in known.present for b in bad):
        found |= {"concentration_band", "trend_concentration"}
    if "instrument: old_strips" in known.present or known.values("ph_test"):
        found |= {"ph_band", "ph_fall_band", "trend_ph"}
    return found


def _doubt(node: Node, doubted: set[str]) -> Node:
    if node.id not in doubted:
        return node
    return replace(node, slip=max(node.slip, LOOSE_SLIP))


def _slip(known: Knowns, item: Observable, leaf: str) -> float:
    return item.slip if known.firm(leaf) else max(item.slip, LOOSE_SLIP)


def _one_of(known: Knowns, item: Observable, weights: Mapping[str, Mapping[str, float]]) -> list[Node]:
    rules = known.rules
    value = known.choice(item.id)
    bases = node_bases(rules, item.id)
    if value is not None:
        share = dict(weights.get(item.id, {}))
        fits = share if share.get(value) else {value: 1.0}
        return [make_node(rules, item.id, fits, _slip(known, item, item.id))]
    if item.id in known.ruled_out and "" in bases:
        return [make_node(rules, item.id, {"": 1.0}, _slip(known, item, item.id))]
    out = [a for a in item.answers if f"{item.id}: {a}" in known.ruled_out]
    if out:
        fits = {a: float(a not in out) for a in bases}
        return [make_node(rules, item.id, fits, item.slip)]
    return []


def _any_of(known: Knowns, item: Observable) -> list[Node]:
    rules, index = known.rules, sign_index(known.rules)
    held = [str(f.value) for f in known.values(item.id) if isinstance(f.value, str)]
    if item.id in known.ruled_out:
        return [make_node(rules, item.id, {"yes": 0.0}, _slip(known, item, item.id))]
    telling = [v for v in held if f"{item.id}: {v}" in index.shown]
    nodes = []
    if held and (item.count == "once" or not telling):
        nodes.append(make_node(rules, item.id, {"yes": 1.0}, _slip(known, item, f"{item.id}: {held[0]}")))
    else:
        nodes += [
            make_node(rules, f"{item.id}: {v}", {"yes": 1.0}, _slip(known, item, f"{item.id}: {v}"))
            for v in telling
        ]
    nodes += [
        make_node(rules, f"{item.id}: {v}", {"yes": 0.0}, item.slip)
        for v in item.answers
        if f"{item.id}: {v}" in known.ruled_out
    ]
    return nodes


def network(known: Knowns, nodes: list[Node], prog: Program, status: Status | None = None) -> Network:
    """The network for this sump: priors moved by context, chains, and the observed nodes.

    Args:
        status: of every leaf, where it is worked out already (`Program.find`).
    """
    told = status or (lambda key: prog.status(key, known))
    priors, leads = {}, {}
    for cause in known.rules.causes.values():
        if cause.id == NOTHING_WRONG:
            continue
        odds = cause.prior / (1 - cause.prior)
        for condition, favour in prog.favours[cause.id]:
            if value_of(condition, told) is True:
                odds *= favour.factor
        priors[cause.id] = min(0.9, odds / (1 + odds))
        leads[cause.id] = _leads(cause, known, prog)
    return Network(priors, leads, nodes)


def _leads(cause: Cause, known: Knowns, prog: Program) -> dict[str, float]:
    """What the cause brings about on this sump: of several rows for one cause the first that holds."""
    rows = cause.text.get("leads_to", [])
    if not any("when" in row for row in rows):
        return cause.leads_to
    often = known.rules.words["how_often"]
    found: dict[str, float] = {}
    for row in rows:
        if row["cause"] not in found and prog.holds(row.get("when"), known):
            found[row["cause"]] = often[row["how_often"]]
    return found
