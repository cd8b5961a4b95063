"""Facts in, judgement out: derived facts, findings, belief, chains, verdict, cautions, actions.

A pure function of the facts and the rule base, run again from scratch each turn.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from advisor.inference.belief import Belief, Network, Node, judge, likelihood
from advisor.inference.chains import IN_CHAIN, NAMED_AT, NAMED_OVER, beside, led_by
from advisor.inference.derive import Strength, Window, derive, window
from advisor.inference.evidence import NOTHING_WRONG, network, observed
from advisor.inference.holding import LEVELS, closed, holding
from advisor.inference.knowns import Knowns
from advisor.inference.program import ACTIONS, CAUTIONS, SIGNS, Program, Pull, program
from advisor.inference.questions import Question, explaining, first_action, rank
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase

#: An unsettled cause at this probability has a say in whether the machine may run.
SUSPECTED = 0.3
#: Causes less likely than this are not listed.
LISTED = 0.02
#: What is not judged here: oil without water, and what is no coolant sump.
OUTSIDE = ("fluid_type: straight_oil", "system: not_a_sump")
_RUN = {"run": 0, "limits": 1, "stop": 2}


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for or against a cause: the rule, the node and answer it saw, and its weight."""

    sign: str
    node: str
    answer: str
    seen: bool
    because: str
    sources: tuple[str, ...]
    weight: float


@dataclass(frozen=True, slots=True)
class Judged:
    """One cause of the verdict, with its reasons, strongest first."""

    id: str
    probability: float
    because_of: str | None
    speaks_for: tuple[Reason, ...]
    against: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Assessment:
    """Everything that follows from the facts. `dialogue` puts it into words and JSON."""

    known: Knowns
    strength: Strength
    window: Window
    verdict: str
    run: str
    run_because: tuple[str, ...]
    causes: tuple[Judged, ...]
    chain: tuple[str, ...]
    cautions: tuple[str, ...]
    actions: tuple[str, ...]
    forbidden: tuple[str, ...]
    hold: str | None
    questions: tuple[Question, ...]
    belief: Belief = field(repr=False)
    nodes: tuple[Node, ...] = field(repr=False)
    carried: frozenset[str] = frozenset()

    @property
    def lead(self) -> str | None:
        """The leading cause of a named verdict, or the one that leads an unsettled one."""
        return self.causes[0].id if self.causes else None


def assess(
    facts: Iterable[Fact], rules: RuleBase, *, skip: tuple[str, ...] = (), questions: bool = True,
    prog: Program | None = None, carried: Iterable[str] = (), held: Iterable[str] = (),
) -> Assessment:  # fmt: skip
    """Judge the facts.

    Args:
        facts: in the order they were learned; a later fact wins.
        rules: the rule base.
        skip: observables not to ask about (refused, or already asked in vain).
        questions: False leaves out the choice of the next question.
        prog: the compiled program, None for the cached one.
        carried: cautions that stand from a case before, whatever these facts say.
        held: cautions of this case that stand although what brought them on is said to have passed.
    """
    prog = prog or program(rules)
    known, weights, found = derive(Knowns(rules, facts), prog)
    statuses, loose = prog.find(known)
    nodes = observed(known, weights)
    belief = judge(net := network(known, nodes, prog, statuses.get))
    causes = _judged(rules, belief, net, _pulls(prog, statuses, loose), known)
    verdict, chain = _verdict(rules, belief, causes, known, found)
    present = {f"cause: {c}": True for c in (*chain, *(j.id for j in causes if j.probability >= IN_CHAIN))}
    brought = frozenset(c for c in carried if c in rules.cautions)
    cautions = _cautions(prog, statuses, loose, present, brought.union(held))
    if verdict == "named" and chain[0] == NOTHING_WRONG and _danger(rules, cautions):
        verdict = "unsettled"
    present |= {f"caution: {c}": True for c in cautions}
    called, forbidden = _fired_actions(prog, {**statuses, **present}, loose)
    run, because = _run(rules, verdict, chain, causes, cautions)
    forbidden |= closed(rules, cautions, brought)
    hold, first = holding(rules, () if brought else chain, cautions, forbidden)
    return Assessment(
        known=known,
        strength=found,
        window=window(known, prog),
        verdict=verdict,
        run=run,
        run_because=because,
        causes=causes,
        chain=chain,
        cautions=cautions,
        actions=_ordered_actions(rules, verdict, chain, called, forbidden, known, hold, first),
        forbidden=tuple(sorted(forbidden)),
        hold=hold,
        questions=_next(known, belief, nodes, skip, _named(verdict, chain)) if questions else (),
        belief=belief,
        nodes=tuple(nodes),
        carried=brought,
    )


def _next(
    known: Knowns, belief: Belief, nodes: list[Node], skip: tuple[str, ...], lead: str | None
) -> tuple[Question, ...]:
    return tuple(rank(known, belief, nodes, skip=skip, lead=lead))


def _named(verdict: str, chain: tuple[str, ...]) -> str | None:
    """The leading cause of a named verdict."""
    return chain[0] if verdict == "named" else None


def _pulls(prog: Program, statuses: dict[str, bool], loose: frozenset[str]) -> list[Pull]:
    """The signs that fire: which rule saw which answer of which cause."""
    fired = prog.staged.run(statuses, loose, [SIGNS]).firings
    return [f.payload for f in fired if isinstance(f.payload, Pull)]


def _fired_actions(
    prog: Program, statuses: dict[str, bool], loose: frozenset[str]
) -> tuple[set[str], set[str]]:
    """Actions that facts, causes or cautions call for, and those they forbid."""
    done = prog.staged.run(statuses, loose, [ACTIONS]).firings
    told = [f.payload for f in done if isinstance(f.payload, tuple)]
    return {a for kind, a in told if kind == "called_for"}, {a for kind, a in told if kind == "forbidden"}


def _judged(
    rules: RuleBase,
    belief: Belief,
    net: Network,
    pulls: list[Pull],
    known: Knowns,
) -> tuple[Judged, ...]:
    """Causes in order: the leading chain with its consequences, the next chain, then single causes."""
    marginals = dict(belief.marginals)
    nodes, leads = list(net.nodes), led_by(rules, net, belief)
    speaking = explaining(rules, nodes)
    nothing = _nothing(belief, speaking)
    order: list[str] = []
    starts = [c for c, by in leads.items() if by is None]
    for start in sorted(starts, key=lambda c: (-marginals[c], c)):
        order += [c for c in _follow(start, leads, marginals) if c not in order]
    rest = [c for c, p in marginals.items() if c not in order and p >= LISTED]
    order += sorted(rest, key=lambda c: (c not in speaking, -marginals[c], c))
    if NOTHING_WRONG in rules.causes and nothing >= LISTED and nodes:
        marginals[NOTHING_WRONG] = nothing
        at = next((i for i, c in enumerate(order) if marginals[c] < nothing and c not in leads), len(order))
        order.insert(len(order) if complaints(known) else at, NOTHING_WRONG)  # a complaint is never nothing
    by_cause: dict[str, list[Pull]] = {}
    for pull in pulls:
        by_cause.setdefault(pull.sign.cause, []).append(pull)
    made = []
    for cause in order:
        speaks, against = _reasons(cause, nodes, by_cause.get(cause, []))
        made.append(Judged(cause, marginals[cause], leads.get(cause), speaks, against))
    return tuple(made)


def judged_alone(view: Assessment, cause: str) -> Judged:
    """One cause with its reasons, however unlikely it is."""
    listed = next((j for j in view.causes if j.id == cause), None)
    if listed is not None:
        return listed
    prog = program(view.known.rules)
    statuses, loose = prog.statuses(view.known)
    pulls = [p for p in _pulls(prog, {**statuses, **view.known.findings}, loose) if p.sign.cause == cause]
    speaks, against = _reasons(cause, list(view.nodes), pulls)
    return Judged(cause, view.belief.marginals.get(cause, 0.0), None, speaks, against)


def _nothing(belief: Belief, speaking: frozenset[str]) -> float:
    """Probability that nothing is wrong of all that something seen calls for; what nothing points to is
    not counted against it."""
    return belief.none_of(speaking)


def _follow(start: str, leads: dict[str, str | None], marginals: dict[str, float]) -> list[str]:
    found = [start]
    for cause in found:
        more = [c for c, by in leads.items() if by == cause and c not in found]
        found += sorted(more, key=lambda c: (-marginals[c], c))
    return found


def _reasons(
    cause: str, nodes: list[Node], pulls: list[Pull]
) -> tuple[tuple[Reason, ...], tuple[Reason, ...]]:
    """What fired for this cause, weighed by how much likelier the observation is with it than without."""
    speaks: list[Reason] = []
    against: list[Reason] = []
    used = set()
    for node in nodes:
        if cause not in node.chances:
            continue
        weight = likelihood(node, [node.chances[cause]]) / max(1e-9, likelihood(node, []))
        for pull in pulls:
            if pull.sign.node != node.id and node.id.partition(":")[0] != pull.sign.node.partition(":")[0]:
                continue
            if pull.sign.id in used or (pull.answer in node.weights and not _fits(node, pull)):
                continue
            used.add(pull.sign.id)
            reason = Reason(
                pull.sign.id, node.id, pull.answer, pull.seen, pull.sign.because, pull.sign.sources, weight
            )
            (speaks if weight > 1 else against).append(reason)
            break
    speaks = [r for r in speaks if r.weight > 1.1]
    against = [r for r in against if r.weight < 0.9]
    return (tuple(sorted(speaks, key=lambda r: -r.weight)), tuple(sorted(against, key=lambda r: r.weight)))


def _fits(node: Node, pull: Pull) -> bool:
    if pull.answer == "yes":
        return True
    return node.weights.get(pull.answer, 0.0) >= 0.5


def _verdict(
    rules: RuleBase, belief: Belief, causes: tuple[Judged, ...], known: Knowns, found: Strength
) -> tuple[str, tuple[str, ...]]:
    """The kind of verdict and the leading chain, lead first."""
    if any(known.status(key) is True and known.firm(key) for key in OUTSIDE):
        return "outside", ()
    nothing = next((j.probability for j in causes if j.id == NOTHING_WRONG), 0.0)
    if NOTHING_WRONG in rules.causes and nothing >= NAMED_AT and _clean(known, found):
        return "named", (NOTHING_WRONG,)
    chain = [j.id for j in causes if j.id != NOTHING_WRONG][:1]
    if not chain:
        return "unsettled", ()
    lead = chain[0]
    mass = belief.mass(lead)
    members = [lead]
    for judged in causes:
        if judged.because_of in members and judged.id not in members:
            members.append(judged.id)
    if mass < IN_CHAIN:
        return "unsettled", ()
    label = first_action(rules, frozenset([lead]))
    rivals = [
        rival
        for c, rival in belief.masses(without=lead).items()
        if c not in members and first_action(rules, frozenset([c])) != label
    ]
    if mass >= NAMED_AT and mass >= NAMED_OVER * max(rivals, default=0.0):
        return "named", tuple(members)
    return "unsettled", tuple(members)


def _clean(known: Knowns, found: Strength) -> bool:
    """Strength known through its factor and in the window, and no complaint left standing."""
    if found.value is None or found.ask or known.choice("concentration_band") != "ok":
        return False
    if known.choice("circulated") == "no" or known.status("event: unmixed_concentrate") is True:
        return False  # one sample says nothing of a charge that is not mixed through
    return not complaints(known)


def complaints(known: Knowns) -> list[Fact]:
    """Present signs that are not the normal answer of their observable, and follow-ups of a sign."""
    found = []
    for fact in known.present.values():
        item = known.rules.observables[fact.id]
        parent = known.rules.observables.get(item.belongs_to or "")
        if parent is not None and parent.role == "sign" and item.place != "bench":
            found.append(fact)  # "only with high pressure on" tells that it foams
            continue
        if item.role not in {"sign", "reading"} or item.kind == "quantity" or not isinstance(fact.value, str):
            continue
        normal = "base" not in item.answers[fact.value] and item.kind == "one_of"
        if not normal and item.answers[fact.value].get("trouble", True):
            found.append(fact)
    return found


def _cautions(
    prog: Program,
    statuses: dict[str, bool],
    loose: frozenset[str],
    present: dict[str, bool],
    brought: frozenset[str],
) -> tuple[str, ...]:
    """Cautions that stand, worst first, `brought` among them. A loose fact counts as true; only a firm
    ruling-out lifts one."""
    gate = {key: truth for key, truth in statuses.items() if truth or key not in loose}
    firings = prog.staged.run({**gate, **present}, loose, [CAUTIONS]).firings
    standing = {str(f.payload) for f in firings} | brought
    standing -= {c for s in standing for c in prog.rules.cautions[s].get("covers", [])}
    order = {key: i for i, key in enumerate(prog.rules.cautions)}
    level = {c: LEVELS.index(prog.rules.cautions[c]["level"]) for c in standing}
    return tuple(sorted(standing, key=lambda c: (level[c], order[c])))


def _danger(rules: RuleBase, cautions: tuple[str, ...]) -> bool:
    """True when a caution says that something is not right; one about a mere proposal does not."""
    told = [rules.cautions[c] for c in cautions if "refuses" not in rules.cautions[c]]
    return any(item["level"] in LEVELS[:3] for item in told)


def _ordered_actions(
    rules: RuleBase,
    verdict: str,
    chain: tuple[str, ...],
    called: set[str],
    forbidden: set[str],
    known: Knowns,
    hold: str | None,
    first: str | None,
) -> tuple[str, ...]:
    """What to do, in order: of the chain as its files say; unsettled, only what every likely cause shares."""
    if verdict == "outside":
        return ()
    wanted: list[str] = [first] if first else []
    if verdict == "named":
        for cause in chain:
            wanted += [a for a in rules.causes[cause].do if a not in wanted]
    elif hold:
        wanted.append(hold)
    wanted += [a for a in sorted(called) if a not in wanted]
    listed = [a for a in wanted if a not in forbidden and not _measured(rules, a, known)]
    done = {included for a in listed for included in rules.actions[a].get("includes", [])}
    listed = [a for a in listed if a not in done]
    return tuple(sorted(listed, key=lambda a: not rules.actions[a].get("first", False)))


def _measured(rules: RuleBase, action: str, known: Knowns) -> bool:
    """True for a measurement whose result is already firmly known."""
    return any(known.values(m) and known.firm(m) for m in rules.actions[action].get("measures", []))


def second_sure(rules: RuleBase, causes: tuple[Judged, ...], chain: tuple[str, ...]) -> str | None:
    """A second trouble that is sure as well, beside a named chain; none beside "nothing wrong"."""
    if not chain or chain[0] == NOTHING_WRONG:
        return None
    return beside(rules, {j.id: j.probability for j in causes if j.id != NOTHING_WRONG}, chain)


def _run(
    rules: RuleBase,
    verdict: str,
    chain: tuple[str, ...],
    causes: tuple[Judged, ...],
    cautions: tuple[str, ...],
) -> tuple[str, tuple[str, ...]]:
    """Whether the machine may run, and what says so: the strictest of cautions and likely causes."""
    found: list[tuple[str, str]] = []
    second = second_sure(rules, causes, chain)
    for caution in cautions:
        item = rules.cautions[caution]
        says = item.get("run") or ("stop" if item["level"] in LEVELS[:2] else None)
        if says:
            found.append((says, item["text"]))
    for judged in causes:
        says = rules.causes[judged.id].run
        told = judged.id in (*chain, second) if verdict == "named" else judged.id != NOTHING_WRONG
        if not told or judged.probability < SUSPECTED:
            continue
        if says == "stop" and judged.probability < IN_CHAIN:
            says = (
                "limits"  # suspected, not likely: care until it is settled, the cautions stop what must stop
            )
        found.append((says, rules.causes[judged.id].text["run_because"]))
    if not found:
        return ("run" if verdict != "outside" else "limits"), ()
    worst = max(found, key=lambda item: _RUN[item[0]])[0]
    return worst, tuple(dict.fromkeys(text for says, text in found if says == worst))
