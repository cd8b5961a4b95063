"""The reviewed phrase table covers its cases, names only what exists, and can tell good from bad."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from advisor.knowledge.loader import rules_folder
from advisor.knowledge.rulebase import load
from advisor.knowledge.yaml_source import read
from tests.cases.phrases import not_shown, wrongly_said

HERE = Path(__file__).parent
TABLE: dict[str, Any] = read(HERE / "phrase_table.yaml").data
ROWS = [row for case in TABLE.values() for rows in case.values() for row in rows]


def _answer(**parts: Any) -> dict[str, Any]:
    empty: dict[str, Any] = {"cautions": [], "actions": [], "next_checks": [], "causes": []}
    return {**empty, "verdict": "unsettled", "run": "run", **parts}


def test_every_phrase_has_a_row() -> None:
    """The table holds the phrases of the case file, each in its place."""
    for line in (HERE / "cases.jsonl").read_text(encoding="utf-8").splitlines():
        case = json.loads(line)
        rows = TABLE[case["id"]]
        assert [row["phrase"] for row in rows["safety"]] == case["safety"] + case["safety_second"]
        assert [row["phrase"] for row in rows["must_not"]] == case["must_not"]


def test_only_known_ids() -> None:
    """A renamed action, caution or cause does not leave the table pointing at nothing."""
    rules = load(rules_folder())
    known = {
        "caution": rules.cautions,
        "action": rules.actions,
        "cause": rules.causes,
        "check": rules.observables,
        "verdict": {"named", "unsettled", "outside"},
        "run": {"run", "limits", "stop"},
    }
    named = [i for row in ROWS for half in [*row.get("needs", []), row.get("said_by", [])] for i in half]
    named += [i for row in ROWS for key in ("unless_listed", "unless_before") for i in row.get(key, [])]
    for kind, _, name in (i.partition(": ") for i in named):
        assert name in known[kind], f"{kind}: {name}"


def test_nothing_is_excused_silently() -> None:
    """A phrase that nothing of ours can say carries the reason."""
    assert [row["phrase"] for row in ROWS if row.get("said_by") == [] and not row.get("why")] == []


def test_a_half_that_is_missing_is_found() -> None:
    """A phrase with two halves is not shown by one of them."""
    rows = [{"phrase": "air it, then skim", "needs": [["action: ventilate_first"], ["action: skim_oil"]]}]
    assert not_shown(rows, _answer(actions=[{"id": "ventilate_first"}])) == ["air it, then skim"]
    assert not_shown(rows, _answer(actions=[{"id": "ventilate_first"}, {"id": "skim_oil"}])) == []


def test_a_cause_is_said_only_when_it_leads_a_named_verdict() -> None:
    """An unsettled answer that ranks a cause first has not said it."""
    rows = [{"phrase": "lean mix", "said_by": ["cause: lean_mix"]}]
    causes = [{"id": "lean_mix"}]
    assert wrongly_said(rows, _answer(causes=causes)) == []
    assert wrongly_said(rows, _answer(causes=causes, verdict="named")) == ["lean mix"]


def test_order_can_excuse() -> None:
    """Strengthening after zeroing is not dosing before zeroing; the other way round it is."""
    rows = [
        {
            "phrase": "dose first",
            "said_by": ["action: strengthen_sump"],
            "unless_before": ["action: zero_refractometer"],
        }
    ]
    zeroed = [{"id": "zero_refractometer"}, {"id": "strengthen_sump"}]
    assert wrongly_said(rows, _answer(actions=zeroed)) == []
    assert wrongly_said(rows, _answer(actions=zeroed[::-1])) == ["dose first"]
