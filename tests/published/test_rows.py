"""Published trouble tables against the rule base."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path
from types import ModuleType

import pytest

from advisor.knowledge.rulebase import load

HERE = Path(__file__).resolve().parent


@pytest.fixture(scope="module")
def rows() -> ModuleType:
    spec = importlib.util.spec_from_file_location("run_rows", HERE / "run_rows.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_row_is_mapped_or_left_out_with_a_reason(rows: ModuleType) -> None:
    """The reviewed table holds each published row once, and leaves out at most one in ten."""
    published = [
        json.loads(line)["id"] for line in (HERE / "rows.jsonl").read_text(encoding="utf-8").splitlines()
    ]
    table = rows.mapping()
    left_out = [row for row in table.values() if "left_out" in row]
    assert sorted(table) == sorted(published)
    assert all(("causes" in row and row["facts"]) or row.get("left_out") for row in table.values())
    assert len(left_out) <= 0.1 * len(published)


def test_at_least_nine_in_ten_published_rows_are_answered(rows: ModuleType) -> None:
    """The causes a publication names stand among our first three."""
    asked = [key for key, row in rows.mapping().items() if "causes" in row]
    missed = dict(rows.unanswered(load(), []))
    assert len(missed) <= 0.1 * len(asked), missed


def test_a_row_is_not_answered_by_other_causes(rows: ModuleType) -> None:
    """The measure fails where none of a row's causes stands first."""
    row = {"causes": [["lean_mix"], ["tramp_oil", "carried_in_on_parts"]]}
    assert rows.answered(row, ["lean_mix", "carried_in_on_parts", "low_ph"])
    assert not rows.answered(row, ["lean_mix", "low_ph", "rich_mix"])
