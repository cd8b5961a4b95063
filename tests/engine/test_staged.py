"""What staged rules do, on both matchers."""

from __future__ import annotations

import pytest

from advisor.errors import BadRules
from advisor.inference.conditions import Literal, read
from advisor.inference.staged import Rule, finding_rules, rules_for
from tests.engine.conftest import Build

IS, IS_NOT = True, False


def rule(name: str, stage: str, *when: str, gives: str = "", payload: object = None) -> Rule:
    """A rule on literals written ``key`` or ``!key``."""
    literals = tuple(Literal(key.lstrip("!"), not key.startswith("!")) for key in when)
    given = Literal(gives.lstrip("!"), not gives.startswith("!")) if gives else None
    return Rule(name, stage, literals, given, payload)


def test_fires_when_all_literals_hold(build: Build) -> None:
    """A rule fires on present and ruled-out statuses together, and on nothing less."""
    rules = build([[rule("stale", "signs", "smell: sour", "!foam")]])

    assert [f.rule for f in rules.fire({"smell: sour": True, "foam": False})] == ["stale"]
    assert rules.fire({"smell: sour": True, "foam": True}) == ()
    assert rules.fire({"smell: sour": True}) == ()
    assert rules.fire({}) == ()


def test_firing_names_its_facts_and_carries_the_payload(build: Build) -> None:
    """A firing says rule, stage and matched statuses, and brings the rule's payload back."""
    told = {"cause": "crust", "direction": "for"}
    (firing,) = build([[rule("r", "signs", "a", "!b", payload=told)]]).fire({"a": True, "b": False})

    assert (firing.rule, firing.stage) == ("r", "signs")
    assert firing.facts == (Literal("a", True), Literal("b", False))
    assert firing.payload is told


def test_findings_chain_inside_a_stage_and_into_the_next(build: Build) -> None:
    """A finding may rest on another, given in any order, and later stages see both."""
    findings = [rule("2", "f", "first", "y", gives="second"), rule("1", "f", "x", gives="first")]
    outcome = build([findings, [rule("3", "signs", "second")]]).run({"x": True, "y": True})

    assert [firing.rule for firing in outcome.firings] == ["2", "1", "3"]
    assert outcome.statuses == {"x": True, "y": True, "first": True, "second": True}


@pytest.mark.parametrize(("known", "expected"), [
    ({"x": True, "y": False}, {"oily": True}),
    ({"x": False}, {"oily": False}),
    ({"y": True}, {"oily": False}),
    ({"x": True}, {}),
    ({}, {}),
], ids=str)
def test_a_finding_is_so_not_so_or_unknown(
    build: Build, known: dict[str, bool], expected: dict[str, bool]
) -> None:
    """A finding takes the three-valued truth of its condition; unknown leaves no status."""
    rules = build([list(finding_rules("oily", "findings", read({"all": ["x", {"not": "y"}]})))])
    assert rules.run(known).statuses == known | expected


def test_each_way_of_an_or_fires_by_itself(build: Build) -> None:
    """A condition with alternatives becomes rules with numbered ids; each that holds fires once."""
    rules = build([list(rules_for("c", "cautions", read({"any": ["a", "b", "c"]})))])
    assert [firing.rule for firing in rules.fire({"a": True, "c": True})] == ["c|1", "c|3"]


def test_loose_facts_make_loose_findings(build: Build) -> None:
    """What rests on a loose fact is loose, until one firm way to it fires as well."""
    two_ways = [rule("1", "f", "a", gives="g"), rule("2", "f", "b", gives="g")]
    rules = build([[*two_ways, rule("3", "f", "g", gives="h")]])

    assert rules.run({"a": True}, {"a"}).loose == {"a", "g", "h"}
    assert rules.run({"a": True, "b": True}, {"a"}).loose == {"a"}
    assert [firing.firm for firing in rules.fire({"a": True, "b": True}, {"a"})] == [False, True, True]


def test_one_loose_fact_among_firm_ones_makes_loose(build: Build) -> None:
    """A finding from a firm and a loose fact is loose, whichever of the two is loose."""
    rules = build([[rule("1", "f", "a", "b", gives="g")]])

    for loose in ("a", "b"):
        outcome = rules.run({"a": True, "b": True}, {loose})
        assert outcome.loose == {loose, "g"}
        assert not outcome.firings[0].firm


def test_stages_can_be_run_by_name(build: Build) -> None:
    """Only the named stages run, in the order named; a stage without rules is no error."""
    rules = build([[rule("1", "findings", "a", gives="g")], [rule("2", "actions", "a")], []])

    assert [firing.rule for firing in rules.fire({"a": True}, stages=["actions", "cautions"])] == ["2"]
    assert [firing.rule for firing in rules.fire({"a": True}, stages=["actions", "findings"])] == ["2", "1"]


def test_nothing_is_kept_between_calls(build: Build) -> None:
    """The same statuses give the same outcome whatever was asked before."""
    rules = build([[rule("1", "f", "a", gives="g"), rule("2", "f", "g", "b")]])
    first = rules.run({"a": True})

    rules.run({"a": True, "b": True})
    rules.run({"b": False})
    assert rules.run({"a": True}) == first


def test_rings_of_findings_come_to_an_end(build: Build) -> None:
    """Findings that give each other fire once each, and never out of nothing."""
    ring = [rule("1", "f", "g", gives="h"), rule("2", "f", "h", gives="g"), rule("3", "f", "a", gives="g")]

    assert build([ring]).fire({}) == ()
    assert [firing.rule for firing in build([ring]).fire({"a": True})] == ["1", "2", "3"]


@pytest.mark.parametrize("known", [{"a": True, "b": True}, {"a": True, "g": False}], ids=str)
def test_opposite_statuses_are_an_error(build: Build, known: dict[str, bool]) -> None:
    """Two rules, or a rule and a fact, that say the opposite are named, not silently ordered."""
    rules = build([[rule("one", "f", "a", gives="g"), rule("two", "f", "b", gives="!g")]])
    with pytest.raises(BadRules, match='says that "g" is'):
        rules.run(known)


@pytest.mark.parametrize(("stages", "what"), [
    ([[rule("r", "f", "a"), rule("r", "f", "b")]], "two rules have this id"),
    ([[rule("r", "f", "a"), rule("s", "g", "b")]], "stands among the rules of"),
    ([[rule("r", "f", "a")], [rule("s", "f", "b")]], "comes twice"),
    ([[rule("r", "f")]], "would always fire"),
    ([[rule("r", "f", "a", "!a")]], "asks the same key twice"),
], ids=lambda value: value if isinstance(value, str) else "")
def test_wrong_rules_are_refused_at_load(build: Build, stages: list[list[Rule]], what: str) -> None:
    """Mistakes that would only show as silence are refused when rules are loaded."""
    with pytest.raises(BadRules, match=what):
        build(stages)


@pytest.mark.parametrize(
    "text", ["🛢 déjà", 'quote " and \\ back', "a" * 70_000, "\x00", "$s", "sid", "5", ""], ids=range(8)
)
def test_any_text_can_be_a_key(build: Build, text: str) -> None:
    """Keys are never read as anything but keys: unicode, quotes, engine words, great length."""
    rules = build([[rule("r", "f", f"k: {text}"), rule("s", "f", f"k: {text}x"), rule("t", "f", text, "k")]])

    assert [firing.rule for firing in rules.fire({f"k: {text}": True})] == ["r"]
    assert [firing.rule for firing in rules.fire({text: True, "k": True, "other": True})] == ["t"]
