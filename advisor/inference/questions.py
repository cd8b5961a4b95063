"""What to ask next: expected information about what to do first, per minute of effort.

The rule engine does not run here; everything comes from the hypotheses already weighed.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from math import log2, sqrt

from advisor.inference.belief import Belief, Node
from advisor.inference.evidence import NOTHING_WRONG, sign_index
from advisor.inference.knowns import Knowns
from advisor.inference.outcomes import Outcomes, Weighed
from advisor.knowledge.rulebase import Observable, RuleBase

#: Hypotheses considered when a question is chosen; the rest carry too little to change the choice.
MOST = 90
#: A question with a smaller chance than this of changing what is done first is not worth asking (design).
WORTH = 0.05
#: Once a cause is named, what is done first must be expected to become likelier right by so much (judgement,
#: common practice, no source).
BETTER = 0.03
#: While no cause is named, a question that tells at least so many bits about it is worth asking too.
TELLS = 0.01
#: A look or measurement that takes longer, in minutes or in hours of waiting, is proposed, not waited for.
LONGEST_MINUTES, LONGEST_WAIT = 15.0, 1.0
#: Minutes to get to another place, and the least that any question costs (common practice, no source).
WALK, LEAST = 1.0, 0.5
#: Minutes that an hour of waiting counts for (judgement, common practice, no source).
WAITING = 30.0 / 60.0
#: Questions for which it is worked out which two causes they part: more are never told.
TOLD = 12
#: Roles that a question may have: signs and readings are weighed, settings shift what is likely to start.
ASKED = {"sign", "reading", "context"}
#: What the person tells without going anywhere.
NO_WALK = "person"


@dataclass(frozen=True, slots=True)
class Question:
    """One candidate question and what it is worth.

    Attributes:
        id: the observable to ask about.
        gain: bits about the first action.
        changes: chance that the answer changes the first action.
        better: how much likelier the first action is expected to be the right one after the answer; an
            answer after which the machine must stop counts with its whole chance.
        effort: minutes there, waiting included at half a minute an hour.
        walk: minutes to get there from another place.
        between: the two causes whose answers differ most, likeliest first.
    """

    id: str
    gain: float
    changes: float
    better: float
    effort: float
    walk: float
    between: tuple[str, str] | None

    @property
    def worth(self) -> float:
        """Bits per root of minutes, the way included: the order in which a list of checks is told."""
        return self.gain / sqrt(max(LEAST, self.effort + self.walk))

    def pays(self, *, there: bool) -> float:
        """Bits per minute, the way included unless the person is `there` already: what to ask next."""
        return self.gain / max(LEAST, self.effort + (0.0 if there else self.walk))


def effort(item: Observable) -> float:
    """Minutes at the place, waiting included at half a minute an hour."""
    return item.effort + WAITING * item.wait_h


def walk(item: Observable) -> float:
    """Minutes to get to where an answer is found from another place."""
    return 0.0 if item.place == NO_WALK else WALK


def worth_asking(
    questions: Sequence[Question], rules: RuleBase, *, named: bool, at: str | None = None
) -> list[Question]:
    """The questions that may still change what is done first, best first; none when it is time to decide.

    While no cause is named, whatever tells something about it is asked too. Once one is, an answer must be
    expected to better what is done first: two actions that come out as likely as each other change places
    easily, and nothing is gained by it.

    Args:
        questions: as ranked.
        rules: the rule base they belong to.
        named: whether a cause is named already.
        at: the place the person stands at, None when not known.
    """
    found = []
    for question in questions:
        item = rules.observables[question.id]
        if item.wait_h > LONGEST_WAIT or item.effort > LONGEST_MINUTES:
            continue
        tells = question.changes >= WORTH or question.gain >= TELLS
        if question.better >= BETTER if named else tells:
            found.append((-question.pays(there=item.place == at), question.id, question))
    return [question for _, _, question in sorted(found)]


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
        if not item.question or item.role not in ASKED:
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


def filled_node(known: Knowns, item: Observable) -> str | None:
    """The node an answer would fill: the observable itself, or the band of a quantity."""
    if item.kind != "quantity":
        return item.id
    bands = [b["fills"] for b in known.rules.bands if b["of"] == item.id]
    settings = [b for b in bands if known.rules.observables[b].role == "context"]
    shown = [b for b in bands if b in sign_index(known.rules).shown]
    return next((b for b in (*shown, *settings) if known.status(b) is None), None)


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


def considered(rules: RuleBase, belief: Belief, nodes: Sequence[Node], lead: str | None = None) -> Weighed:
    """The hypotheses a question is chosen by; arguments as for `rank`."""
    wanted = explaining(rules, nodes)
    wanted |= {c for c in rules.causes if any(child in wanted for child in rules.causes[c].leads_to)}
    offered = [(t & wanted, p) for t, p in belief.hypotheses if t & wanted] if wanted else []
    top = (offered or list(belief.hypotheses))[:MOST]
    total = sum(p for _, p in top)
    held = [(members, p / total, first_action(rules, members, lead)) for members, p in top]
    return Weighed(held, frozenset(c for members, _, _ in held for c in members))


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
    weighed = considered(rules, belief, nodes, lead)
    now = _by_label([(label, p) for _, p, label in weighed.hypotheses])
    stops = {first_action(rules, frozenset([c])) for c in rules.causes if rules.causes[c].run == "stop"}
    made: list[tuple[Question, Outcomes]] = []
    for item in candidates(known):
        node = filled_node(known, item)
        if node is None or item.id in skip:
            continue
        outcomes = Outcomes(known, item, node, weighed)
        if not outcomes.causes:
            continue
        gain, changes, better = worth_of(outcomes.splits(), now, stops)
        if gain > 1e-4:
            made.append((Question(item.id, gain, changes, better, effort(item), walk(item), None), outcomes))
    made.sort(key=lambda pair: (-pair[0].worth, pair[0].id))
    told = [replace(q, between=_between(o, belief, rules)) for q, o in made[:TOLD]]
    return [*told, *(q for q, _ in made[TOLD:])]


def worth_of(
    after: Sequence[Mapping[str, float]], now: Mapping[str, float], stops: Collection[str]
) -> tuple[float, float, float]:
    """What an answer is expected to bring, by the shares of each first action now and after every answer.

    Args:
        after: for each answer, what it leaves of each first action; all of them sum to 1.
        now: the share of each first action before it.
        stops: first actions of what stops the machine; a change to one counts with its whole chance.

    Returns:
        Bits about the first action, the chance that it changes, and how much likelier right it gets.
    """
    best_now = max(now, key=lambda k: now[k])
    left, changes, better = 0.0, 0.0, 0.0
    for split in after:
        share = sum(split.values())
        if share > 0:
            left += share * _entropy(split)
            best = max(split, key=lambda k: split[k])
            if best != best_now:
                changes += share
                better += share if best in stops else split[best] - split.get(best_now, 0.0)
    return _entropy(now) - left, changes, better


def _by_label(pairs: Sequence[tuple[str, float]]) -> dict[str, float]:
    made: dict[str, float] = {}
    for label, p in pairs:
        made[label] = made.get(label, 0.0) + p
    return made


def _entropy(split: Mapping[str, float]) -> float:
    total = sum(split.values())
    return -sum(v / total * log2(v / total) for v in split.values() if v > 0)


def _between(outcomes: Outcomes, belief: Belief, rules: RuleBase) -> tuple[str, str] | None:
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
