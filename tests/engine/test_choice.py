"""Which matcher runs, and what is said about it."""

from __future__ import annotations

import pytest

from advisor.errors import BadInput
from advisor.inference import engine
from advisor.inference.conditions import Literal
from advisor.inference.matcher import PlainStagedRules
from advisor.inference.staged import Rule

RULES = [[Rule("r", "f", (Literal("a", True),))]]


@pytest.mark.durable
def test_durable_rules_is_the_first_choice(monkeypatch: pytest.MonkeyPatch) -> None:
    """With nothing chosen the rules run on durable-rules, and nothing is said."""
    monkeypatch.delenv("SUMPSIDE_ENGINE", raising=False)
    assert isinstance(engine.make(RULES), engine.StagedRules)
    assert engine.notice() == ""


def test_the_environment_chooses(monkeypatch: pytest.MonkeyPatch) -> None:
    """SUMPSIDE_ENGINE=plain chooses our own matcher, without a notice."""
    monkeypatch.setenv("SUMPSIDE_ENGINE", "plain")
    assert isinstance(engine.make(RULES), PlainStagedRules)
    assert engine.notice() == ""


def test_an_unknown_engine_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wrong choice says what can be chosen."""
    monkeypatch.setenv("SUMPSIDE_ENGINE", "durabel")
    with pytest.raises(BadInput, match=r'no rule engine "durabel".*"durable" or "plain"'):
        engine.make(RULES)


def test_where_durable_rules_is_missing_one_sentence_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without durable-rules the same rules run, and one sentence says so."""
    monkeypatch.delenv("SUMPSIDE_ENGINE", raising=False)
    monkeypatch.setattr(engine, "_engine", lambda: None)
    rules = engine.make(RULES)

    assert [firing.rule for firing in rules.fire({"a": True})] == ["r"]
    assert engine.notice().count(".") == 1
    assert "durable-rules cannot be loaded" in engine.notice()
