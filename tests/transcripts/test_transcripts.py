"""Whole conversations, replayed turn by turn: facts and moves by name, wording separately."""

from __future__ import annotations

from pathlib import Path

import pytest
from replay import differences, files, replay, screens

from advisor.knowledge.yaml_source import read


def test_there_are_transcripts() -> None:
    """A folder without transcripts would pass every replay."""
    assert len(files()) >= 5


@pytest.mark.parametrize("file", files(), ids=lambda f: f.stem)
def test_facts_and_moves(file: Path) -> None:
    """Each turn is understood and answered as the story says."""
    document = read(file).data

    wrong = differences(document, replay(document))

    assert not wrong, "\n".join(["", *wrong])


@pytest.mark.parametrize("file", files(), ids=lambda f: f.stem)
def test_wording(file: Path) -> None:
    """The screens read as they were last reviewed (refresh: replay.py --update, then read them)."""
    document = read(file).data

    assert screens(replay(document)) == file.with_suffix(".screen.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("file", files(), ids=lambda f: f.stem)
def test_screens_fit_eighty_columns(file: Path) -> None:
    """No line of any screen is wider than a narrow terminal."""
    document = read(file).data

    assert max(len(line) for turn in replay(document) for line in turn.screen.splitlines()) <= 80
