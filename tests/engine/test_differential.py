"""Both matchers against the three-valued reading of the same rules, on random bases."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.errors import EngineLimit
from advisor.inference.conditions import All, Any_, Condition, Leaf, Literal, Not, evaluate
from advisor.inference.matcher import PlainStagedRules
from advisor.inference.staged import Rule, Staged
from tests.engine.conftest import Build
from tests.engine.random_rules import Base, base, kleene, shuffled, statuses


def check(rules: Staged, made: Base, random: Random) -> None:
    """Firings and statuses are what the three-valued reading says, in whatever order facts come."""
    known = statuses(random, made)
    loose = {key for key in known if random.random() < 0.2}
    outcome = rules.run(known, loose)
    expected, signs = made.expected(known)

    assert outcome.statuses == expected
    assert {firing.rule.split("|")[0] for firing in outcome.firings if firing.stage == "signs"} == signs
    assert all(outcome.statuses[key] is wanted for f in outcome.firings for key, wanted in f.facts)
    assert rules.run(shuffled(random, known), loose) == outcome


@pytest.mark.parametrize("block", range(8))
def test_random_bases(build: Build, block: int) -> None:
    """300 small bases for each block, each asked three times: every firing as the oracle says."""
    checked = 0
    for seed in range(block * 300, block * 300 + 300):
        random = Random(seed)
        made = base(random, findings=8, signs=20, observables=random.randint(1, 6))
        try:
            rules = build(made.stages())
        except EngineLimit:
            continue
        for _ in range(3):
            check(rules, made, random)
            checked += 1
    assert checked > 850


@pytest.mark.parametrize("seed", range(4))
def test_large_bases(build: Build, seed: int) -> None:
    """Up to a thousand rules over sixty known facts: every firing as the oracle says."""
    random = Random(1000 + seed)
    made = Base([f"seen {i}: {j}" for i in range(25) for j in range(4)])
    while len(made.findings) < 120:
        made.findings[f"finding {len(made.findings)}"] = _simple(random, [*made.facts, *made.findings])
    while len(made.signs) < 600:
        made.signs[f"sign {len(made.signs)}"] = _simple(random, [*made.facts, *made.findings])
    rules = build(made.stages())
    assert 800 < sum(map(len, rules.stages.values())) < 1600
    for _ in range(10):
        check(rules, made, random)


def _simple(random: Random, keys: list[str]) -> Condition:
    parts = [Leaf(key) for key in random.sample(keys, random.randint(1, 4))]
    literals: tuple[Condition, ...] = tuple(Not(part) if random.random() < 0.3 else part for part in parts)
    return All(literals) if random.random() < 0.7 else Any_(literals)


KEYS = st.sampled_from(["a", "b", "o: x", "o: y", "o"])
CONDITIONS: st.SearchStrategy[Condition] = st.recursive(
    KEYS.map(Leaf),
    lambda inner: st.one_of(
        inner.map(Not),
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: All(tuple(parts))),
        st.lists(inner, min_size=1, max_size=3).map(lambda parts: Any_(tuple(parts))),
    ),
    max_leaves=8,
)
STATUSES = st.dictionaries(KEYS, st.booleans())


@settings(derandomize=True, deadline=None, database=None, max_examples=400,
          suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(CONDITIONS, CONDITIONS, STATUSES)
def test_findings_take_the_truth_of_their_condition(
    build: Build, first: Condition, second: Condition, known: dict[str, bool]
) -> None:
    """A finding, and one built on it, are so, not so or unknown as their conditions are."""
    built_on = All((Leaf("first"), second))
    made = Base([], {"first": first, "second": built_on})

    statuses_found = build(made.stages()).run(known).statuses

    assert statuses_found == made.expected(known)[0]
    assert evaluate(first, known.get).value is kleene(first, known)


LITERALS = st.builds(Literal, st.sampled_from("abcdefgh"), st.booleans())
RULES = st.lists(st.tuples(st.lists(LITERALS, min_size=1, max_size=4, unique_by=lambda one: one.key),
                           st.none() | st.sampled_from(["g", "h", "i"])), min_size=1, max_size=12)


@pytest.mark.durable
@settings(derandomize=True, deadline=None, database=None, max_examples=400,
          suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
@given(RULES, st.dictionaries(st.sampled_from("abcdef"), st.booleans()))
def test_chains_and_rings_fire_alike(
    rows: list[tuple[list[Literal], str | None]], known: dict[str, bool]
) -> None:
    """Any chains and rings of given statuses fire the same rules on both matchers."""
    from advisor.inference.engine import StagedRules

    rules = [Rule(str(i), "f", tuple(when), Literal(gives, True) if gives else None)
             for i, (when, gives) in enumerate(rows)]
    assert StagedRules([rules]).run(known) == PlainStagedRules([rules]).run(known)
