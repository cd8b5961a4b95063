"""Lines in which somebody is hurt or in danger now are heard; lines that only sound like it are not."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.dialogue.understanding import understand
from tests.understanding.measure import lexicon

LINES = [
    tuple(line.split("|"))
    for line in Path(__file__).with_name("emergencies.txt").read_text(encoding="utf-8").splitlines()
]
DANGERS = {"injury", "danger_now"}


@pytest.mark.parametrize(("kind", "line"), LINES)
def test_an_emergency_is_heard_and_nothing_else_is_taken_for_one(kind: str, line: str) -> None:
    """The kind of emergency is among the facts; "none" lines hold no emergency at all."""
    facts = understand(line, lexicon=lexicon()).facts
    heard = {str(f.value) for f in facts if f.id in DANGERS and f.status == "present"}
    assert kind in heard if kind != "none" else not heard
