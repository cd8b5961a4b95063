"""Before a sump stands still and before it runs again: the steps of the list, by days."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from advisor.logbook.intervals import intervals
from advisor.logbook.moments import days_between
from advisor.logbook.readings import Record
from advisor.logbook.records import record

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

Step = dict[str, Any]


def before(days: float) -> list[Step]:
    """Steps before a sump stands still for so many days."""
    return [step for row in intervals()["standing"] if row["days"] <= days for step in row["before"]]


def after(days: float) -> list[Step]:
    """Steps before a sump runs again after so many days; what may hurt comes first."""
    steps = [step for row in intervals()["standing"] if row["days"] <= days for step in row["after"]]
    return [*intervals()["smells"], *steps] if days >= 1 else steps


def stopped(desk: Desk, sump: str, days: float) -> tuple[list[Step], Record]:
    """The plan before standing, and the record of it."""
    return before(days), record("idle", sump, desk.time, {"days": days})


def restarted(desk: Desk, sump: str) -> tuple[float, list[Step], Record]:
    """Days it stood (0 when no shutdown is recorded), the plan, and the record of its restart."""
    held = [r for kind in ("idle", "restart") for r in desk.book.records(kind, sump)]
    last = max(held, key=lambda r: (r.time, r.id or 0), default=None)
    days = days_between(last.time, desk.time) if last is not None and last.kind == "idle" else 0.0
    return days, after(days), record("restart", sump, desk.time, {})
