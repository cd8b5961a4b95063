"""Beyond the rule engine's limits: worked around, or refused by name before the engine sees it."""

from __future__ import annotations

import pytest

from advisor.errors import EngineLimit
from advisor.inference import engine
from advisor.inference.conditions import Literal
from advisor.inference.staged import Rule
from tests.engine.conftest import Build


def literals(prefix: str, count: int) -> tuple[Literal, ...]:
    """So many different literals."""
    return tuple(Literal(f"{prefix} {i}", True) for i in range(count))


@pytest.mark.parametrize("count", [1, 15, 16, 17, 31, 32, 60])
def test_rules_of_any_length(build: Build, count: int) -> None:
    """A rule longer than the engine's 16 facts fires when all hold, and not when any one lacks."""
    when = literals("fact", count)
    rules = build([[Rule("long", "f", when, Literal("g", True)), Rule("after", "f", (Literal("g", True),))]])
    known = dict(when)

    assert [firing.rule for firing in rules.fire(known)] == ["long", "after"]
    assert all(rules.fire({k: v for k, v in known.items() if k != key}) == () for key in known)


@pytest.mark.parametrize("count", [249, 250, 251, 255, 256, 257, 500, 501, 1000])
def test_many_rules_on_one_fact(build: Build, count: int) -> None:
    """More rules than the engine lets share a condition all fire, none twice."""
    rules = build([[Rule(f"r{i}", "f", (Literal("a", True), Literal(f"b{i}", True))) for i in range(count)]])
    known = {"a": True} | {f"b{i}": True for i in range(count)}

    assert [firing.rule for firing in rules.fire(known)] == [f"r{i}" for i in range(count)]


@pytest.mark.parametrize("count", [510, 513, 1100, 3900])
def test_many_different_facts(build: Build, count: int) -> None:
    """More different facts than the engine lets stand side by side, one observable or many."""
    whens = [Literal(f"one: v{i}" if i % 2 else f"o{i}: v", i % 3 > 0) for i in range(count)]
    rules = build([[Rule(f"r{i}", "f", (when,)) for i, when in enumerate(whens)]])

    assert [firing.rule for firing in rules.fire(dict(whens[::7]))] == [f"r{i}" for i in range(0, count, 7)]


@pytest.mark.durable
def test_a_stage_too_large_names_the_rule() -> None:
    """One rule too many for a stage is refused by its id, with the way out."""
    rules = [Rule(f"r{i}", "f", (Literal(f"a{i}", True),)) for i in range(engine.MOST_RULES_PER_STAGE + 1)]
    with pytest.raises(EngineLimit, match="another stage") as caught:
        engine.StagedRules([rules])
    assert caught.value.place == "r4000"


@pytest.mark.durable
def test_as_large_as_allowed_still_runs() -> None:
    """A stage filled to the limit loads and fires."""
    count = engine.MOST_RULES_PER_STAGE
    rules = engine.StagedRules([[Rule(f"r{i}", "f", literals(f"a{i % 40}", 2)) for i in range(count)]])
    assert len(rules.fire(dict(literals("a7", 2)))) == count / 40
