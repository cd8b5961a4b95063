"""Saved cases made to measure, in a temporary logbook."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest

from advisor.dialogue.answer import verdict_json
from advisor.dialogue.case import fact_data, fold
from advisor.dialogue.given import given_facts
from advisor.dialogue.understanding import Lexicon
from advisor.inference.assess import assess
from advisor.knowledge.rulebase import RuleBase, load
from advisor.logbook.store import SqliteStore, open_store

sys.path.insert(0, str(Path(__file__).resolve().parent))

NOON = "2025-03-04T12:00:00Z"
#: The answers of an evaporated sump, in the order in which they were given.
EVAPORATED = (
    ("hot week, reads strong", {"season": "hot", "trend_concentration": "rising"}),
    ("11.5 percent, level is low", {"concentration": "11.5 %", "target": "8 %", "sump_level": "low"}),
    ("only water went in", {"topup": "water_only"}),
)
Answers = tuple[tuple[str, Mapping[str, Any]], ...]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqliteStore]:
    """An empty logbook."""
    with open_store(tmp_path / "home") as opened:
        yield opened


@pytest.fixture(scope="session")
def rules() -> RuleBase:
    """The rule base that ships."""
    return load()


@pytest.fixture(scope="session")
def lexicon(rules: RuleBase) -> Lexicon:
    """The phrases that ship."""
    return Lexicon.from_data(rules.data["phrases"], rules.data["observables"])


@pytest.fixture
def save(store: SqliteStore, rules: RuleBase) -> Callable[..., int]:
    """Saves a case with these answers, a verdict and its cautions, and returns its number."""

    def work(answers: Answers = EVAPORATED, *, sump: str = "Mill 9", verdict: bool = True) -> int:
        case = store.start_case("op", NOON, {"program": "0", "sump": {"name": sump}, "units": "metric"})
        for words, given in answers:
            facts = [fact_data(f, words) for f in given_facts({"facts": given}, rules)]
            store.append(case, "said", {"facts": facts, "answered": True}, words, time=NOON, who="op")
        if verdict:
            state = fold(store.events(case), store.words(case))
            whole = verdict_json(assess(state.facts, rules))
            whole.pop("unused")
            data = {"verdict": whole, "rules": rules.hash, "program": "0"}
            store.append(case, "shown", {"cautions": whole["cautions"]}, time=NOON, who="op")
            store.append(case, "verdict", data, time=NOON, who="op")
        return case

    return work
