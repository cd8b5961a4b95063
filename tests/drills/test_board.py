"""Results kept and told: torn lines, formulas, nicknames."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from advisor.drills import board
from advisor.errors import BadInput

ROW = {"nickname": "Bo", "points": 60, "drill": "easy, seed 1", "dangerous": 0}


def test_a_torn_line_loses_only_itself(tmp_path: Path) -> None:
    """What a power cut left of the last line is passed over."""
    board.keep(tmp_path, ROW)
    with (tmp_path / board.FILE).open("a", encoding="utf-8") as file:
        file.write('{"nickname": "Al", "poi')
    assert board.results(tmp_path) == [ROW]


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1+cmd|x", "@SUM(A1)", "\t=1", "\r=1"])
def test_no_cell_is_a_formula(cell: str) -> None:
    """A nickname that begins like a formula is text to a spreadsheet."""
    rows = list(csv.reader(io.StringIO(board.table([{**ROW, "nickname": cell}]), newline="")))
    assert rows[0][:2] == ["time", "nickname"]
    assert rows[1][1] == f"'{cell}"


def test_numbers_stay_numbers() -> None:
    """A figure below zero is not text."""
    assert board.harmless(-3) == -3


def test_the_board_ranks_by_mean(tmp_path: Path) -> None:
    """Two middling drills rank below one good one; one nickname's results can be taken out."""
    for name, points in (("Bo", 40), ("Bo", 60), ("Al", 70)):
        board.keep(tmp_path, {**ROW, "nickname": name, "points": points})
    told = [block.text for block in board.board_blocks(board.results(tmp_path))][1:]
    assert [text.partition(":")[0] for text in told] == ["Al", "Bo"]
    assert board.forget(tmp_path, "Bo") == 2
    assert [row["nickname"] for row in board.results(tmp_path)] == ["Al"]


@pytest.mark.parametrize("name", ["", "  ", "x" * 25, "a\x07b"])
def test_a_nickname_is_short_and_printable(name: str) -> None:
    """Anything else is refused with what would be right."""
    with pytest.raises(BadInput, match="1 to 24 printable"):
        board.nickname(name)


def test_piped_from_end_to_end(tmp_path: Path) -> None:
    """Lines in, score out as JSON, result kept, debrief page written."""
    env = {**os.environ, "SUMPSIDE_HOME": str(tmp_path)}
    call = [
        sys.executable,
        "-m",
        "advisor",
        "drill",
        "--seed",
        "3",
        "--level",
        "easy",
        "--play",
        "-",
        "--json",
    ]
    more = ["--nickname", "Bo", "--html", str(tmp_path / "debrief.html")]
    done = subprocess.run(
        [*call, *more], input="people\nsmell\n", capture_output=True, text=True, env=env, check=True
    )
    result = json.loads(done.stdout.splitlines()[-1])
    assert result["looks"] == 2
    assert board.results(tmp_path)[0]["points"] == result["points"]
    assert "<svg" in (tmp_path / "debrief.html").read_text(encoding="utf-8")
