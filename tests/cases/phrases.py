"""Read the reviewed phrase table: which phrases of a case an answer shows, and which it must not say."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

#: Causes that count as told, beside the lead.
FIRST = 3


def ids_shown(answer: Mapping[str, Any]) -> set[str]:
    """The ids an answer of the ``assess`` contract shows, written as the table writes them."""
    found = {f"caution: {c['id']}" for c in answer["cautions"]}
    found |= {f"action: {a['id']}" for a in answer["actions"]}
    found |= {f"check: {c['id']}" for c in answer["next_checks"]}
    return found | {f"verdict: {answer['verdict']}", f"run: {answer['run']}"}


def not_shown(rows: list[dict[str, Any]], answer: Mapping[str, Any]) -> list[str]:
    """Safety phrases of which at least one half is missing."""
    have = ids_shown(answer) | {f"cause: {c['id']}" for c in answer["causes"][:FIRST]}
    return [row["phrase"] for row in rows if not all(have & set(half) for half in row["needs"])]


def wrongly_said(rows: list[dict[str, Any]], answer: Mapping[str, Any]) -> list[str]:
    """Phrases that must not be said and are."""
    named = answer["verdict"] == "named" and answer["causes"]
    have = ids_shown(answer) | ({f"cause: {answer['causes'][0]['id']}"} if named else set())
    order = [f"action: {a['id']}" for a in answer["actions"]]
    return [row["phrase"] for row in rows if _said(row, have, order)]


def _said(row: Mapping[str, Any], have: set[str], order: list[str]) -> bool:
    hits = have & set(row["said_by"])
    if not hits or have & set(row.get("unless_listed", [])):
        return False
    first = min((order.index(hit) for hit in hits if hit in order), default=len(order))
    return not set(order[:first]) & set(row.get("unless_before", []))
