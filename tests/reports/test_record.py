"""The competence record: whose, what counts as shown, pairs of readings, on screen and paper."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from advisor.cli import main
from advisor.drills import board
from advisor.errors import BadInput
from advisor.reports.record import record_sheet, shown
from advisor.reports.sheet import sheet_blocks

DRILL = {"nickname": "Bo", "drill": "easy, seed 4", "points": 90, "cause": 1.0, "safety": 1.0, "effort": 0.5,
         "fault": "tramp_oil", "dangerous": 0, "time": "2026-03-04T08:00:00Z"}  # fmt: skip
PAIRS = {"nickname": "Al", "with": "Bo", "drill": "exercise repeat", "points": 67,
         "pairs": [[6.2, 6.4], [5.0, 5.0], [7.0, 7.4]], "time": "2026-03-05T08:00:00Z"}  # fmt: skip


def words(name: str, *rows: dict[str, object]) -> str:
    """The record as text."""
    return " ".join(f"{b.label} {b.text}" for b in sheet_blocks(record_sheet(rows, name)))


def test_both_readers_have_the_pair_each_from_their_side() -> None:
    """Al reads 0.2 lower on the mean of three samples than Bo, and Bo 0.2 higher than Al."""
    assert "with Bo" in words("Al", PAIRS)
    assert "-0.2, at most 0.4" in words("Al", PAIRS)
    assert "+0.2, at most 0.4" in words("Bo", PAIRS)


@pytest.mark.parametrize(("points", "dangerous", "counts"), [(80, 0, True), (79, 0, False), (100, 1, False)])
def test_what_counts_as_shown(points: int, dangerous: int, counts: bool) -> None:
    """Eighty points and nothing dangerous; one dangerous act undoes it."""
    assert shown({**DRILL, "points": points, "dangerous": dangerous}) is counts


def test_drills_of_one_level_are_one_line() -> None:
    """Two easy drills: their mean, the best, how many were shown; what was missed is to be practised."""
    missed = {**DRILL, "drill": "easy, seed 5", "points": 40, "cause": 0.0, "fault": "lean_mix"}
    told = words("Bo", DRILL, missed)
    assert "easy   2     65    90    1" in told
    assert "Named right: tramp oil." in told
    assert "Still to practise: lean mix." in told


def test_a_name_nobody_has_is_told() -> None:
    """The sentence says where the names stand."""
    with pytest.raises(BadInput, match="drill --board"):
        record_sheet([DRILL], "Cy")


def test_from_exercise_to_paper(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two people's readings typed in become a record on one page with lines to sign."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    (tmp_path / "lines.txt").write_text("6.2 6.4\n5 5\n7 7.1\n", encoding="utf-8")
    call = ["drill", "--exercise", "repeat", "--nickname", "Al", "--with", "Bo", "--play"]
    assert main([*call, str(tmp_path / "lines.txt")]) == 0
    assert board.results(tmp_path)[0]["pairs"] == [[6.2, 6.4], [5.0, 5.0], [7.0, 7.1]]
    assert main(["drill", "--record", "Bo", "--out", str(tmp_path / "bo.pdf")]) == 0
    (page,) = PdfReader(tmp_path / "bo.pdf").pages
    assert "Trainer:" in page.extract_text()
    assert main(["drill", "--record", "Bo"]) == 0
    assert "COMPETENCE RECORD: BO" in capsys.readouterr().out
