"""Whole narratives judged from their facts and their text: verdict, lead, dangers told, traps avoided."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.cli import shared_lexicon
from advisor.dialogue.answer import verdict_json
from advisor.knowledge.rulebase import load
from tests.cases.phrases import not_shown, wrongly_said
from tests.cases.report import cases, misses, view_of
from tests.cases.test_phrases import TABLE

HERE = Path(__file__).parent
SHARED = cases(HERE / "cases.jsonl")


@pytest.mark.parametrize("words", [False, True], ids=["facts", "text"])
@pytest.mark.parametrize("case", SHARED, ids=lambda c: c["id"])
def test_dangers_are_told_and_traps_avoided(case: dict, words: bool) -> None:  # type: ignore[type-arg]
    """Every safety phrase of the reviewed table is shown, and nothing that must not be said is said."""
    answer = verdict_json(view_of(case, load(), shared_lexicon() if words else None))
    rows = TABLE[case["id"]]

    assert not_shown(rows["safety"], answer) == []
    assert wrongly_said(rows["must_not"], answer) == []


@pytest.mark.parametrize(
    ("file", "words", "least"),
    [
        ("cases.jsonl", False, 18),
        ("cases.jsonl", True, 17),
        ("fresh_cases.jsonl", False, 56),
        ("fresh_cases.jsonl", True, 51),
        ("own_cases.jsonl", False, 66),
        ("own_cases.jsonl", True, 59),
        ("blind_cases.jsonl", False, 51),
        ("blind_cases.jsonl", True, 52),
        ("blind_cases_b.jsonl", False, 52),
        ("blind_cases_b.jsonl", True, 50),
        ("blind_cases_c.jsonl", False, 61),
        ("blind_cases_c.jsonl", True, 64),
        ("blind_cases_d.jsonl", False, 53),
        ("blind_cases_d.jsonl", True, 47),
        ("blind_cases_e.jsonl", False, 38),
        ("blind_cases_e.jsonl", True, 40),
        ("blind_cases_f.jsonl", False, 34),
        ("blind_cases_f.jsonl", True, 30),
    ],
)
def test_verdict_and_lead(file: str, words: bool, least: int) -> None:
    """A floor under how many narratives come to an accepted verdict with an accepted lead.

    Who wrote each file, who judged it, and what its first run gave stands in README.md beside them.
    """
    lexicon = shared_lexicon() if words else None
    held = cases(HERE / file)

    wrong = [c["id"] for c in held if misses(c, view_of(c, load(), lexicon))]

    assert len(held) - len(wrong) >= least, wrong


@pytest.mark.parametrize("file", [f.name for f in sorted(HERE.glob("*_cases*.jsonl"))])
def test_no_forbidden_cause_leads(file: str) -> None:
    """At most one narrative of a file is named for a cause its author rules out."""
    wrong = []
    for case in cases(HERE / file):
        view = view_of(case, load())
        if view.verdict == "named" and view.lead in case["must_not"]:
            wrong.append(case["id"])

    assert len(wrong) <= 1, wrong
