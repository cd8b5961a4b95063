"""A logbook in a temporary folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from advisor.logbook.store import SqliteStore, open_store

NOON = "2025-03-04T12:00:00Z"
OPENED = {"program": "0.1.0", "sump": {"id": "mill"}, "units": "metric", "region": "eu"}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[SqliteStore]:
    """An empty logbook."""
    with open_store(tmp_path / "home") as opened:
        yield opened


def said(ph: float) -> dict[str, object]:
    """Data of a ``said`` event with one reading."""
    return {"facts": [{"id": "ph", "value": ph, "unit": "pH"}]}


def judged(verdict: str = "named", lead: str = "low_ph", level: str = "warn") -> dict[str, object]:
    """Data of a ``verdict`` event."""
    found = {"verdict": verdict, "run": "limits", "causes": [{"id": lead}], "cautions": [{"level": level}]}
    return {"verdict": found, "rules": "abc", "program": "0.1.0"}
