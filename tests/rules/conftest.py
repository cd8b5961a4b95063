"""The real rule base, read once for a whole run of these tests."""

from __future__ import annotations

import pytest

from advisor.knowledge.loader import rules_folder
from advisor.knowledge.rule_files import RuleFiles, read_all
from advisor.knowledge.rulebase import RuleBase, load


@pytest.fixture(scope="session")
def rules() -> RuleBase:
    """The rule base that ships."""
    return load()


@pytest.fixture(scope="session")
def files(rules: RuleBase) -> RuleFiles:
    """Its files."""
    found, troubles = read_all(rules_folder())
    assert troubles == []
    return found
