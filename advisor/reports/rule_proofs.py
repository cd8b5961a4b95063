"""Rule checks that need a judgement: causes that can win, questions that matter, cases that come out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from advisor.dialogue.answer import next_checks
from advisor.dialogue.given import given_facts
from advisor.errors import SumpsideError
from advisor.inference.assess import Assessment, assess
from advisor.inference.belief import likelihood
from advisor.inference.conditions import Literal, normal_form, read
from advisor.inference.evidence import NOTHING_WRONG, make_node, sign_index
from advisor.knowledge.advice import Advice
from advisor.knowledge.coverage import cases_of
from advisor.knowledge.facts import Fact
from advisor.knowledge.rule_files import Entry, RuleFiles
from advisor.knowledge.rulebase import Cause, RuleBase
from advisor.knowledge.usage import alike
from advisor.knowledge.yaml_source import condition
from advisor.reports.limit_proofs import silent_at_limits

#: An answer this much likelier with one cause than with another tells the two apart.
APART = 1.1


def prove(rules: RuleBase, files: RuleFiles) -> list[Advice]:
    """All remarks of this module."""
    places = {(entry.kind, entry.id): entry for entry in files.entries}
    found = [*twins(files), *winners(rules, files, places), *questions(rules, places)]
    return [*found, *silent_at_limits(rules, files), *cases(rules, files)]


# --- conditions that come to the same ----------------------------------------------------------------


def twins(files: RuleFiles) -> Iterator[Advice]:
    """Two findings or two cautions written differently that are true under the same facts."""
    for kind in ("findings", "cautions"):
        first: dict[frozenset[frozenset[Literal]], Entry] = {}
        for entry in files.of(kind):
            ways = frozenset(map(frozenset, normal_form(read(condition(entry.data["when"])))))
            other = first.setdefault(ways, entry)
            if other is not entry and alike(other.data["when"]) != alike(entry.data["when"]):
                yield Advice(
                    entry.place("when"),
                    f'"{entry.id}" comes to the same condition as "{other.id}"',
                    "make one of the two, or say what tells them apart",
                    check="equal conditions",
                )


# --- a cause that cannot win -------------------------------------------------------------------------


def winners(rules: RuleBase, files: RuleFiles, places: dict[tuple[str, str], Entry]) -> Iterator[Advice]:
    """A cause that leads from no set of facts that was tried: its signs, its context, its cases."""
    for key, cause in rules.causes.items():
        if not any(_leads(key, facts, rules) for facts in attempts(rules, files, cause)):
            yield Advice(
                places["causes", key].place("signs"),
                f'"{key}" cannot win: it does not lead even with all its own signs present',
                "give it a sign that others do not show, or make it more common or better favoured",
                check="cannot win",
            )


def attempts(rules: RuleBase, files: RuleFiles, cause: Cause) -> Iterator[list[Fact]]:
    """Sets of facts under which `cause` should lead, the plainest first."""
    evidence = list(_own_signs(rules, cause))
    context = [
        fact for favour in cause.favours if favour.factor > 1 for fact in facts_for(rules, favour.fact)
    ]
    whole = [fact for facts in evidence for fact in facts]
    yield whole
    yield [*context, *whole]
    for count in range(1, len(evidence) + 1):
        yield evidence[count - 1]
        yield [*context, *evidence[count - 1]]
        yield [fact for facts in evidence[:count] for fact in facts]
    for case in cases_of(files, "causes", cause.id):
        if case.get("lead") == cause.id:
            yield _facts_of(case, rules)


def _own_signs(rules: RuleBase, cause: Cause) -> Iterator[list[Fact]]:
    """For each sign that speaks for the cause, the facts that show it, most telling first."""
    told = []
    for sign in cause.signs:
        bases = make_node(rules, sign.node, {}, 0.0).bases
        answer = max(sign.chances, key=lambda a, s=sign: s.chances[a] / bases.get(a, 0.5))  # type: ignore[misc]
        weight = sign.chances[answer] / bases.get(answer, 0.5)
        if weight > 1:
            leaf = sign.node if answer == "yes" else f"{sign.node}: {answer}"
            told.append((weight, facts_for(rules, leaf)))
    return (facts for _, facts in sorted(told, key=lambda item: -item[0]))


def facts_for(rules: RuleBase, when: Any) -> list[Fact]:
    """Facts that make a condition true, by the first of its ways; comparisons get a number inside."""
    made: list[Fact] = []
    compared = {leaf.key: leaf.comparison for leaf in _leaves(when)}
    for key, wanted in normal_form(read(when))[0]:
        comparison = compared.get(key)
        if comparison is not None:
            low, high = comparison.low, comparison.high
            inside = low * 1.1 + 1e-6 if low is not None else (high or 0.0) * 0.9
            middle = (low + high) / 2 if low is not None and high is not None else inside
            made.append(Fact(comparison.quantity, middle, rules.observables[comparison.quantity].unit))
        elif key in rules.findings:
            made += facts_for(
                rules, rules.findings[key]["when"] if wanted else {"not": rules.findings[key]["when"]}
            )
        else:
            made.append(_fact(rules, key, wanted))
    return made


def _leaves(when: Any) -> Iterable[Any]:
    from advisor.inference.conditions import leaves

    return leaves(read(when))


def _fact(rules: RuleBase, key: str, wanted: bool) -> Fact:
    name, _, value = (part.strip() for part in key.partition(":"))
    if not wanted:
        return Fact(name, value or None, status="ruled_out")
    return Fact(name, value or next(iter(rules.observables[name].answers)))


def _leads(key: str, facts: list[Fact], rules: RuleBase) -> bool:
    view = assess(facts, rules, questions=False)
    return bool(facts) and key == (view.chain[0] if view.verdict == "named" else view.lead)


# --- a question that changes nothing -----------------------------------------------------------------


def questions(rules: RuleBase, places: dict[tuple[str, str], Entry]) -> Iterator[Advice]:
    """A question whose every answer speaks for the same first action, were all causes equally likely."""
    for key, item in rules.observables.items():
        if not item.question or item.role not in {"sign", "reading"}:
            continue
        nodes = [node for node in _asked_nodes(rules, key) if node in sign_index(rules).shown]
        if nodes and _same_first_action(rules, nodes):
            yield Advice(
                places["observables", key].place("question"),
                f'asking about "{key}" changes nothing: every answer leads to the same first action',
                "let its answers speak for causes that are treated differently, or take the question out",
                check="idle question",
            )


def _asked_nodes(rules: RuleBase, key: str) -> list[str]:
    item = rules.observables[key]
    if item.kind == "quantity":
        return [band["fills"] for band in rules.bands if band["of"] == key]
    return [key] if item.kind == "one_of" else [key, *(f"{key}: {value}" for value in item.answers)]


def _same_first_action(rules: RuleBase, nodes: list[str]) -> bool:
    """True when no two causes with different first actions are parted by the answers.

    Two causes are parted when one answer is clearly likelier with the first and another with the second:
    where those two are rivals, the answer decides what is done first.
    """
    return not any(_parts(rules, name) for name in nodes)


def _parts(rules: RuleBase, name: str) -> bool:
    bases = make_node(rules, name, {}, 0.0).bases
    answers = [{a: 1.0} for a in bases] if "yes" not in bases else [{"yes": 1.0}, {"yes": 0.0}]
    asked = [make_node(rules, name, weights, 0.0) for weights in answers]
    causes = [c for c in rules.causes if c != NOTHING_WRONG]
    fits = {c: [likelihood(n, [n.chances[c]] if c in n.chances else []) for n in asked] for c in causes}
    heard = [c for c in causes if c in asked[0].chances]
    return any(
        any(x > APART * y for x, y in zip(fits[one], fits[other], strict=True))
        and any(y > APART * x for x, y in zip(fits[one], fits[other], strict=True))
        for one in heard
        for other in causes
        if rules.causes[one].do[0] != rules.causes[other].do[0]
    )


# --- cases beside the rules --------------------------------------------------------------------------


def _facts_of(case: dict[str, Any], rules: RuleBase) -> list[Fact]:
    return given_facts({k: case[k] for k in ("facts", "ruled_out", "loose") if k in case}, rules)


def cases(rules: RuleBase, files: RuleFiles) -> Iterator[Advice]:
    """A case beside a rule that names nothing known, or does not come out as it says."""
    for document in files.cases.values():
        for i, case in enumerate(document.data["cases"]):
            place = document.place(("cases", i))
            try:
                view = assess(_facts_of(case, rules), rules, questions=bool(case.get("asks")))
            except SumpsideError as trouble:
                place = document.place(("cases", i, *_at_fault(case, trouble.value)))
                yield Advice(place, f'case "{case["name"]}": {trouble.what}', trouble.right, check="case")
                continue
            for what in unmet(case, view):
                yield Advice(
                    place,
                    f'case "{case["name"]}": {what}',
                    "mend the rule, or the case if it asks for the wrong thing",
                    check="case",
                )


def _at_fault(case: dict[str, Any], value: object) -> tuple[str, ...]:
    """Where in a case the id or value at fault stands."""
    for key, held in case.get("facts", {}).items():
        if value in (key, held) or (isinstance(held, list) and value in held):
            return ("facts", key)
    return next(((part,) for part in ("ruled_out", "loose") if str(value) in str(case.get(part, ""))), ())


def unmet(case: dict[str, Any], view: Assessment) -> Iterator[str]:
    """What of a case does not come out."""
    ids = [judged.id for judged in view.causes]
    told = set(view.chain) if view.verdict == "named" else set()
    if case.get("lead") and ids[:1] != [case["lead"]]:
        yield f"{case['lead']} should lead, not {', '.join(ids[:1]) or 'nothing'}"
    yield from (f"{c} should be in the first three" for c in case.get("top", []) if c not in ids[:3])
    yield from (f"{c} should not be said" for c in case.get("silent", []) if c in told)
    yield from (f"caution {c} should be shown" for c in case.get("shows", []) if c not in view.cautions)
    yield from (f"caution {c} should not be shown" for c in case.get("hides", []) if c in view.cautions)
    asked = _asked(view) if case.get("asks") else set()
    yield from (f"{c} should be asked" for c in case.get("asks", []) if c not in asked)
    if case.get("verdict") and view.verdict != case["verdict"]:
        yield f"the verdict should be {case['verdict']}, not {view.verdict}"


def _asked(view: Assessment) -> set[str]:
    """What is asked next, a number standing for its band and a band for its number."""
    rules = view.known.rules
    asked = {str(check["id"]) for check in next_checks(view)}
    asked |= {band["fills"] for band in rules.bands if band["of"] in asked}
    return asked | {quantity for key in asked for quantity in rules.filled_by.get(key, [])}
