"""What to ask next: expected information about what to do first, per root of effort.

The rule engine does not run here; everything comes from the hypotheses already weighed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log2, sqrt

from advisor.inference.belief import Belief, Node, answer_chances
from advisor.inference.evidence import NOTHING_WRONG, make_node, sign_index
from advisor.inference.knowns import Knowns
from advisor.knowledge.rulebase import Observable, RuleBase

#: Hypotheses considered when a question is chosen; the rest carry too little to change the choice.
MOST = 90
#: A question with a smaller chance than this of changing what is done first is not worth asking.
WORTH = 0.05


@dataclass(frozen=True, slots=True)
class Question:
    """One candidate question and what it is worth.

    Attributes:
        id: the observable to ask about.
        gain: bits about the first action.
        changes: chance that the answer changes the first action.
        effort: minutes, waiting included at half a minute an hour.
        between: the two causes whose answers differ most, likeliest first.
    """

    id: str
    gain: float
    changes: float
    effort: float
    between: tuple[str, str] | None

    @property
    def worth(self) -> float:
        """Gain per root of effort (measured: halves total effort for about one more question)."""
        return self.gain / sqrt(self.effort)


def effort(item: Observable) -> float:
    """Minutes at the sump, waiting included at half a minute an hour."""
    return max(0.5, item.effort) + 0.5 * item.wait_h


def first_action(rules: RuleBase, members: frozenset[str], lead: str | None = None) -> str:
    """What a hypothesis would have done first: the first action of `lead` when it is among the members,
    else of its likeliest start."""
    if lead in members:
        return rules.causes[str(lead)].do[0]
    if not members:
        return NOTHING_WRONG
    starts = [c for c in members if not any(c in rules.causes[o].leads_to for o in members)]
    lead = max(starts or members, key=lambda c: (rules.causes[c].prior, c))
    return rules.causes[lead].do[0]


def candidates(known: Knowns) -> list[Observable]:
    """Observables that may be asked now: askable, still open, follow-ups only under their parent."""
    found = []
    for item in known.rules.observables.values():
        if not item.question or item.role not in {"sign", "reading"}:
            continue
        if item.belongs_to and known.status(item.belongs_to) is not True:
            continue
        if _told_by_number(known.rules, item):
            continue
        held = [str(f.value) for f in known.values(item.id)]
        vague = (
            held
            and item.kind == "any_of"
            and not any(
                f"{item.id}: {v}" in sign_index(known.rules).shown and v not in {"bad", "unspecified"}
                for v in held
            )
        )
        if known.status(item.id) is None or vague:
            found.append(item)
    return found


def _told_by_number(rules: RuleBase, item: Observable) -> bool:
    """True for one of two ways to ask the same thing: a number is asked unless a look is less work."""
    if item.kind == "quantity":
        bands = [rules.observables[b["fills"]] for b in rules.bands if b["of"] == item.id]
        return any(b.question and b.effort + 1 < item.effort for b in bands) or item.id == "sump_fill"
    fillers = [rules.observables[q] for q in rules.filled_by.get(item.id, [])]
    return any(q.question and not item.effort + 1 < q.effort and q.id != "sump_fill" for q in fillers)


def _node_of(known: Knowns, item: Observable) -> str | None:
    """The node an answer would fill: the observable itself, or the band of a quantity."""
    if item.kind != "quantity":
        return item.id
    bands = [b["fills"] for b in known.rules.bands if b["of"] == item.id]
    return next((b for b in bands if b in sign_index(known.rules).shown and known.status(b) is None), None)


class _Outcomes:
    """Chance of each answer to one question under each hypothesis, remembered by the causes that matter."""

    def __init__(self, rules: RuleBase, item: Observable, node: str) -> None:
        self.memo: dict[frozenset[str], list[float]] = {}
        index = sign_index(rules).shown
        if item.kind == "any_of":
            parts = [f"{item.id}: {v}" for v in item.answers if f"{item.id}: {v}" in index]
            self.nodes = [make_node(rules, part, {"yes": 1.0}, item.slip) for part in parts]
        else:
            self.nodes = [make_node(rules, node, {}, item.slip)]
        self.single = item.kind != "any_of"
        self.causes = frozenset(c for n in self.nodes for c in n.chances)
        self.slip = item.slip

    def chances(self, members: frozenset[str]) -> list[float]:
        key = members & self.causes
        made = self.memo.get(key)
        if made is None:
            made = self.memo[key] = self._work(key)
        return made

    def _work(self, key: frozenset[str]) -> list[float]:
        if self.single:
            node = self.nodes[0]
            chances = list(answer_chances(node.bases, [node.chances[c] for c in key]).values())
            if len(chances) == 1:
                chances = [chances[0], 1 - chances[0]]
        else:
            yes = [
                answer_chances(n.bases, [n.chances[c] for c in key if c in n.chances])["yes"]
                for n in self.nodes
            ]
            none = 1.0
            for chance in yes:
                none *= 1 - chance
            chances = [*yes, none]
            total = sum(chances)
            chances = [c / total for c in chances]
        spread = self.slip / max(1, len(chances) - 1)
        return [c * (1 - self.slip) + (1 - c) * spread for c in chances]


def explaining(rules: RuleBase, nodes: Sequence[Node]) -> frozenset[str]:
    """Causes that make something that was seen, and is nothing normal, likelier than no cause at all does."""
    found = set()
    for node in nodes:
        if "yes" in node.bases and not node.weights["yes"]:
            continue
        seen = max(node.weights, key=lambda a: node.weights[a])
        if seen not in node.bases or node.bases[seen] >= 0.4:
            continue  # the normal state of an observable is nothing to be explained
        key, _, value = (part.strip() for part in node.id.partition(":"))
        item = rules.observables.get(key)
        answer = item.answers.get(value or seen) if item is not None else None
        if answer is not None and not answer.get("trouble", True):
            continue
        found |= {c for c, chances in node.chances.items() if chances.get(seen, 0.0) > node.bases[seen]}
    return frozenset(found)


def rank(
    known: Knowns,
    belief: Belief,
    nodes: Sequence[Node] = (),
    *,
    skip: Sequence[str] = (),
    lead: str | None = None,
) -> list[Question]:
    """Every question that could change what is done first, best first.

    Where something seen calls for a cause, only hypotheses that offer one are asked about, each by the
    causes that do: a fault nobody has noticed is not what the person came with. `lead` is the cause a
    verdict names: a second fault beside it does not change what is done first.
    """
    rules = known.rules
    wanted = explaining(rules, nodes)
    wanted |= {c for c in rules.causes if any(child in wanted for child in rules.causes[c].leads_to)}
    offered = [(t & wanted, p) for t, p in belief.hypotheses if t & wanted] if wanted else []
    top = (offered or list(belief.hypotheses))[:MOST]
    total = sum(p for _, p in top)
    labels = [first_action(rules, members, lead) for members, _ in top]
    weighed = [(members, p / total, label) for (members, p), label in zip(top, labels, strict=True)]
    now = _by_label([(label, p) for _, p, label in weighed])
    best_now = max(now, key=lambda k: now[k])
    before = _entropy(now)
    found = []
    for item in candidates(known):
        node = _node_of(known, item)
        if node is None or item.id in skip:
            continue
        outcomes = _Outcomes(rules, item, node)
        if not outcomes.nodes or not outcomes.causes:
            continue
        gain, changes = _worth(outcomes, weighed, before, best_now)
        if gain > 1e-4:
            found.append(Question(item.id, gain, changes, effort(item), _between(outcomes, belief, rules)))
    return sorted(found, key=lambda q: (-q.worth, q.id))


def _worth(
    outcomes: _Outcomes, weighed: Sequence[tuple[frozenset[str], float, str]], before: float, best_now: str
) -> tuple[float, float]:
    after: list[dict[str, float]] = []
    for members, p, label in weighed:
        for i, chance in enumerate(outcomes.chances(members)):
            if i == len(after):
                after.append({})
            after[i][label] = after[i].get(label, 0.0) + p * chance
    left, changes = 0.0, 0.0
    for split in after:
        share = sum(split.values())
        if share > 0:
            left += share * _entropy(split)
            if max(split, key=lambda k: split[k]) != best_now:
                changes += share
    return before - left, changes


def _by_label(pairs: Sequence[tuple[str, float]]) -> dict[str, float]:
    made: dict[str, float] = {}
    for label, p in pairs:
        made[label] = made.get(label, 0.0) + p
    return made


def _entropy(split: Mapping[str, float]) -> float:
    total = sum(split.values())
    return -sum(v / total * log2(v / total) for v in split.values() if v > 0)


def _between(outcomes: _Outcomes, belief: Belief, rules: RuleBase) -> tuple[str, str] | None:
    likely = sorted(belief.marginals, key=lambda c: -belief.marginals[c])
    likely = [c for c in likely if not rules.causes[c].referral][:8]
    best, pair = 0.0, None
    for i, one in enumerate(likely):
        for other in likely[i + 1 :]:
            a, b = outcomes.chances(frozenset([one])), outcomes.chances(frozenset([other]))
            apart = sum(abs(x - y) for x, y in zip(a, b, strict=True)) * belief.marginals[other]
            if apart > best:
                best, pair = apart, (one, other)
    return pair
