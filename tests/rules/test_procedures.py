"""A procedure names only what exists, and says what is right where it does not."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.errors import BadRules
from advisor.knowledge.assemble import assemble
from advisor.knowledge.rulebase import load
from tests.rules.small_base import write

LOOK = """\
id: look_again
version: 1
title: Look again
kind: instrument
called: [look again]
steps:
  - id: stop
    do: Stop the pump.
    makes: ["surface: oil_lid"]
    sources: [practice]
  - id: measure
    do: What is the pH?
    asks: [acidity]
    after: [stop]
    sources: [practice]
sources: [practice]
"""


def made(folder: Path, old: str = "", new: str = "") -> dict[str, object]:
    """The small rule base with this procedure, one piece of it replaced."""
    base = write(folder)
    (base / "procedures").mkdir()
    (base / "procedures" / "look_again.yaml").write_text(LOOK.replace(old, new) if old else LOOK)
    return assemble(base)


def test_a_sound_procedure_is_taken(tmp_path: Path) -> None:
    """It stands in the compiled base under its id."""
    assert "look_again" in made(tmp_path)["procedures"]  # type: ignore[operator]


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("asks: [acidity]", "asks: [acidty]", "acidity"),
        ("after: [stop]", "after: [stpo]", "stop"),
        ('"surface: oil_lid"', '"surface: oil_lit"', "oil_lid"),
        ("makes:", 'unless: "surface: mats"\n    makes:', "instead"),
        ('["surface: oil_lid"]', '["acidity: low"]', "acidity: 0"),
    ],
)
def test_a_wrong_name_is_told_with_the_right_one(tmp_path: Path, old: str, new: str, told: str) -> None:
    """With the file, and what would be right."""
    with pytest.raises(BadRules) as wrong:
        made(tmp_path, old, new)

    assert told in wrong.value.sentence()
    assert "look_again.yaml" in str(wrong.value.place)


def test_every_barred_step_circulates_and_says_what_to_do_instead() -> None:
    """A stinking or split sump is not circulated just for a reading, in any procedure."""
    steps = [
        s for p in load().procedures.values() for s in p["steps"] if "circulated: yes" in s.get("makes", ())
    ]

    assert len(steps) >= 3
    assert all("rotten_egg" in str(s["unless"]) and "separated" in str(s["unless"]) for s in steps)
