"""The rule base that ships passes every check, and both engines read every rule of it alike."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.dialogue.given import given_facts
from advisor.inference import engine
from advisor.inference.conditions import Condition, Literal, Not, evaluate, read
from advisor.inference.derive import derive
from advisor.inference.knowns import Knowns
from advisor.inference.program import ACTIONS, CAUTIONS, FINDINGS, SIGNS, Program, Pull, program
from advisor.inference.staged import Rule, rules_for
from advisor.knowledge.checks import check
from advisor.knowledge.coverage import coverage, table_lines
from advisor.knowledge.facts import Fact
from advisor.knowledge.rule_files import RuleFiles
from advisor.knowledge.rulebase import RuleBase, load
from advisor.knowledge.version_lock import changes, read_lock
from advisor.reports.rule_proofs import cases, questions, winners
from tests.engine.random_rules import kleene

Given = tuple[dict[str, bool], frozenset[str]]


def test_the_base_passes_its_checks(files: RuleFiles) -> None:
    """No error that reading finds; what is only advice may stand."""
    errors = [one for one in check(files) if one.level == "error" and one.check != "version"]
    assert [one.line(files.folder.parent) for one in errors] == []


def test_what_changed_has_a_new_version(files: RuleFiles) -> None:
    """Every cause, caution and action is locked as it stands, or has a higher version than was locked."""
    assert [one.line(files.folder.parent) for one in changes(files) if one.level == "error"] == []
    assert len(read_lock(files.folder)) > 200


def test_every_cause_can_win_and_every_question_matters(rules: RuleBase, files: RuleFiles) -> None:
    """Some set of facts makes each cause lead; some answer to each question changes what is done first."""
    places = {(entry.kind, entry.id): entry for entry in files.entries}
    found = [*winners(rules, files, places), *questions(rules, places)]
    assert [one.line(files.folder.parent) for one in found] == []


@pytest.mark.parametrize("under", ["causes", "cautions"])
def test_cases_come_out_as_they_say(rules: RuleBase, files: RuleFiles, under: str) -> None:
    """What each case beside a rule asks for: who leads, who is silent, what is asked, shown and hidden."""
    some = {key: document for key, document in files.cases.items() if key[0] == under}
    found = list(cases(rules, RuleFiles(files.folder, files.entries, some)))
    assert [one.line(files.folder.parent) for one in found] == []


def test_the_coverage_table_counts_every_sign(rules: RuleBase, files: RuleFiles) -> None:
    """Each sign of each cause stands in one column of its row."""
    table = coverage(rules, files)
    kinds = ("look", "read", "trend", "jar", "comb", "against")
    counted = {cause: sum(row[kind] for kind in kinds) for cause, row in table.items()}
    assert counted == {entry.id: len(entry.data["signs"]) for entry in files.of("causes")}
    assert max(map(len, table_lines(table))) <= 120


# --- two readings ------------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def conditions_of(rules: RuleBase) -> dict[str, dict[str, Condition]]:
    """What each stage's firings stand for, by the name a firing is known by."""
    findings = {f"{key} is so": read(item["when"]) for key, item in rules.findings.items()}
    findings |= {f"{key} is not so": Not(read(item["when"])) for key, item in rules.findings.items()}
    signs: dict[str, Condition] = {}
    for cause in rules.causes.values():
        for sign in cause.signs:
            item = rules.observables.get(sign.node)
            if item is not None and item.kind == "one_of":
                signs |= {f"{sign.id} {answer}": read(f"{sign.node}: {answer}") for answer in sign.chances}
            else:
                signs |= {f"{sign.id} seen": read(sign.node), f"{sign.id} not seen": read({"not": sign.node})}
    cautions = {f"caution {key}": read(item["when"]) for key, item in rules.cautions.items()}
    actions = {f"action {key}": read(item["when"]) for key, item in rules.actions.items() if "when" in item}
    actions |= {
        f"action {key} forbidden": read(item["forbidden_when"])
        for key, item in rules.actions.items()
        if "forbidden_when" in item
    }
    return {FINDINGS: findings, SIGNS: signs, CAUTIONS: cautions, ACTIONS: actions}


def oracle(rules: RuleBase, statuses: dict[str, bool]) -> tuple[dict[str, bool], dict[str, set[str]]]:
    """Statuses by the three-valued evaluator, firings by arithmetic that shares no code with it."""
    known = dict(statuses)
    made = {name.removesuffix(" is so"): when for name, when in conditions_of(rules)[FINDINGS].items()}
    for _ in rules.findings:  # a finding may build on one that comes later in the files
        before = len(known)
        for key in rules.findings:
            value = evaluate(made[key], known.get).value
            if value is not None:
                known[key] = value
        if len(known) == before:
            break
    fired = {
        stage: {name for name, when in held.items() if kleene(when, known) is True}
        for stage, held in conditions_of(rules).items()
    }
    return known, fired


def agree(rules: RuleBase, programs: list[Program], given_: Given) -> None:
    """Every engine gives the statuses and firings of the evaluator, firm and loose alike."""
    statuses, loose = given_
    known, fired = oracle(rules, statuses)
    outcomes = [prog.staged.run(statuses, loose) for prog in programs]
    for outcome in outcomes:
        assert outcome == outcomes[0]
        assert outcome.statuses == known
        for stage, names in fired.items():
            assert {f.rule.split("|")[0] for f in outcome.firings if f.stage == stage} == names
        assert all(isinstance(f.payload, Pull) for f in outcome.firings if f.stage == SIGNS)


@pytest.fixture(scope="session")
def programs(rules: RuleBase) -> list[Program]:
    """The base on each engine that is there."""
    return [program(rules, name) for name in (["durable"] if engine.available() else []) + ["plain"]]


@pytest.mark.parametrize("under", ["causes", "cautions"])
def test_readings_agree_on_the_cases(
    rules: RuleBase, files: RuleFiles, programs: list[Program], under: str
) -> None:
    """The facts of every case beside a rule, numbers and bands worked out."""
    documents = [document for (part, _), document in files.cases.items() if part == under]
    told = [case for document in documents for case in document.data["cases"]]
    assert len(told) > 100
    for case in told:
        data = {key: case[key] for key in ("facts", "ruled_out", "loose") if key in case}
        known, _, _ = derive(Knowns(rules, given_facts(data, rules)), programs[0])
        agree(rules, programs, programs[0].statuses(known))


def some_facts(rules: RuleBase) -> st.SearchStrategy[list[Fact]]:
    """Random facts over the whole vocabulary: said or ruled out, firm or loose, numbers in their limits."""
    choices = [(key, a) for key, item in rules.observables.items() for a in item.answers]
    numbers = [(k, i) for k, i in rules.observables.items() if i.kind == "quantity" and i.limits]
    chosen = st.builds(
        lambda key, firm, said: Fact(*key, status="present" if said else "ruled_out", firm=firm),
        st.sampled_from(choices),
        st.booleans(),
        st.booleans(),
    )
    whole = st.builds(
        lambda key, firm: Fact(key, None, status="ruled_out", firm=firm),
        st.sampled_from(sorted({key for key, _ in choices})),
        st.booleans(),
    )
    measured = st.builds(
        lambda row, share, firm: Fact(
            row[0], row[1].limits[0] + share * (row[1].limits[1] - row[1].limits[0]), row[1].unit, firm=firm
        ),
        st.sampled_from(numbers),
        st.floats(0, 1) | st.floats(0, 0.02),
        st.booleans(),
    )
    return st.lists(st.one_of(chosen, chosen, whole, measured), max_size=25)


@settings(
    derandomize=True,
    deadline=None,
    database=None,
    max_examples=120,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.data())
def test_readings_agree_on_random_facts(
    rules: RuleBase, programs: list[Program], data: st.DataObject
) -> None:
    """Whatever is said, ruled out or unknown, firm or loose."""
    known, _, _ = derive(Knowns(rules, data.draw(some_facts(rules))), programs[0])
    agree(rules, programs, programs[0].statuses(known))


@settings(
    derandomize=True,
    deadline=None,
    database=None,
    max_examples=120,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(st.integers(0, 10**6), st.sampled_from([0.1, 0.4, 0.9]))
def test_readings_agree_on_random_statuses(
    rules: RuleBase, programs: list[Program], seed: int, share: float
) -> None:
    """Any statuses of any leaves, causes of a verdict included, whether facts could bring them or not."""
    draw = Random(seed).random
    keys = [key for key in programs[0].leaf_keys if key not in rules.findings]
    statuses = {key: draw() < 0.6 for key in keys if draw() < share}
    agree(rules, programs, (statuses, frozenset(key for key in statuses if draw() < 0.3)))


def test_the_oracle_can_disagree() -> None:
    """A rule read otherwise is noticed: the comparison is not of a thing with itself."""
    rules = load()
    prog = program(rules, "plain")
    key = next(iter(rules.findings))
    leaves = sorted({leaf for rule in prog.staged.stages[FINDINGS] if rule.id.startswith(f"{key} is so")
                     for leaf, _ in rule.when})  # fmt: skip
    known, _ = oracle(rules, dict.fromkeys(leaves, True))
    assert known[key] is True
    assert oracle(rules, dict.fromkeys(leaves, False))[0][key] is False


@pytest.mark.parametrize("name", (["durable"] if engine.available() else []) + ["plain"])
@pytest.mark.parametrize("stage", [SIGNS, CAUTIONS])
def test_a_rule_read_otherwise_is_noticed(
    rules: RuleBase, monkeypatch: pytest.MonkeyPatch, name: str, stage: str
) -> None:
    """With the first literal of a stage's rules turned round, engine and evaluator disagree."""

    def turned(rule_id: str, of: str, condition: Condition, **more: Any) -> tuple[Rule, ...]:
        made = rules_for(rule_id, of, condition, **more)
        return tuple(turn(rule) for rule in made) if of == stage else made

    monkeypatch.setattr("advisor.inference.program.rules_for", turned)
    wrong = Program(rules, name)
    draw = Random(1).random
    statuses = {key: draw() < 0.6 for key in wrong.leaf_keys if key not in rules.findings and draw() < 0.5}
    with pytest.raises(AssertionError):
        agree(rules, [wrong], (statuses, frozenset()))


def turn(rule: Rule) -> Rule:
    """The same rule, its first literal wanted the other way."""
    first, *rest = rule.when
    return replace(rule, when=(Literal(first.key, not first.wanted), *rest))
