"""What a shop keeps beside its rows, in and out of the shop file: walking order, and columns of tables."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

ORDER = "walking order"


def table_id(headings: Sequence[str]) -> str:
    """The row under which the meanings of a table with these headings are kept."""
    return "table " + hashlib.sha256("\x1f".join(headings).encode()).hexdigest()[:16]


def beside_of(order: Sequence[str], tables: Sequence[Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
    """The rows of a shop file's walking order and tables."""
    rows: dict[str, dict[str, Any]] = {ORDER: {"order": list(order)}} if order else {}
    for table in tables:
        headings = list(table["headings"])
        rows[table_id(headings)] = {"columns": dict(table["columns"]), "headings": headings}
    return rows


def order_of(beside: Mapping[str, Mapping[str, Any]]) -> list[str]:
    """Ids of the sumps in walking order; empty when none was kept."""
    return list(beside.get(ORDER, {}).get("order", []))


def tables_of(beside: Mapping[str, Mapping[str, Any]]) -> list[dict[str, Any]]:
    """The kept tables as a shop file holds them; those kept without their headings cannot be told."""
    rows = [row for row_id, row in sorted(beside.items()) if row_id.startswith("table ")]
    return [{"headings": row["headings"], "columns": row["columns"]} for row in rows if row.get("headings")]
