"""``sumpside log`` as a person types it, and figures of a conversation among the readings."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.cli import main
from advisor.logbook.case_readings import take_over
from advisor.logbook.store import open_store
from tests.logbook.readings_desk import desk_at, made_shop


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user without a logbook yet."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def typed(capsys: pytest.CaptureFixture[str], line: str) -> tuple[int, str]:
    """Exit code and what is on the screen after a command line."""
    code = main(line.split())
    told = capsys.readouterr()
    return code, told.out + told.err


def test_the_first_line_begins_shop_and_book(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is required to start: sump 14 is begun, both figures are kept and listed."""
    code, told = typed(capsys, "log 14 6.5 9.1")
    assert (code, "14 is new in the shop" in told, "pH 9.1" in told) == (0, True, True)
    _, told = typed(capsys, "log 14")
    assert [line.split()[0] for line in told.splitlines()[1:]] == ["1", "2"]
    assert typed(capsys, "log verify")[1].startswith("0 cases and 1 entry of readings checked")


def test_a_slip_of_the_sumps_name_writes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """Once a shop is there, an unknown sump is refused and what would be right is said."""
    typed(capsys, "log 14 6.5 9.1")
    code, told = typed(capsys, "log 41 6.5 9.1")
    assert (code, "add --new" in told) == (2, True)
    assert typed(capsys, "log 41 6.5 9.1 --new")[0] == 0


@pytest.mark.parametrize("line", ["log 14 abc", "log 14 6.5 4.9", "log 14 done"])
def test_a_refused_line_leaves_no_sump_behind(capsys: pytest.CaptureFixture[str], line: str) -> None:
    """A new sump is kept together with its first reading or not at all."""
    assert typed(capsys, line)[0] == 2
    assert "No shop is set up" in typed(capsys, "shop")[1]
    assert typed(capsys, "log 14 --new")[0] == 0
    assert "14: volume not entered" in typed(capsys, "shop")[1]


def test_an_unusual_figure_needs_a_word(capsys: pytest.CaptureFixture[str]) -> None:
    """Without a person to ask, it is refused; --sure keeps it."""
    code, told = typed(capsys, "log 14 6.5 4.9")
    assert (code, "Nothing was written" in told) == (2, True)
    assert typed(capsys, "log 14 6.5 4.9 --sure")[0] == 0


def test_one_figure_for_all_is_no_measurement(capsys: pytest.CaptureFixture[str], home: Path) -> None:
    """It is kept and marked, and no sump counts as read by it."""
    for sump in ("14", "15"):
        typed(capsys, f"log {sump} 6.5 9.1 --new --at 2025-03-01")
    _, told = typed(capsys, "log 7 for all")
    assert "is not a measurement" in told
    _, told = typed(capsys, "log 15")
    assert "not a measurement" in told.splitlines()[-1]
    with open_store(home) as store:
        assert {r["mark"] for r in _states(store)} == {"measured"}


def _states(store: object) -> list[dict[str, str]]:
    from advisor.logbook.book import ReadingBook

    states = ReadingBook(store).states()  # type: ignore[arg-type]
    return [{"mark": "measured" if s.time.startswith("2025-03-01") else "other"} for s in states.values()]


def test_corrected_and_struck_out(capsys: pytest.CaptureFixture[str]) -> None:
    """A bare number corrects whatever it is said to; a struck reading is gone from the list only."""
    typed(capsys, "log 14 6.5 9.1")
    assert typed(capsys, "log 14 8.9 --correct 2 --reason misread")[0] == 0
    typed(capsys, "log 14 --strike 1")
    _, told = typed(capsys, "log 14")
    assert len(told.splitlines()) == 2
    assert "pH 8.9" in told
    _, told = typed(capsys, "log 14 --all")
    assert len(told.splitlines()) == 5


@pytest.mark.parametrize(("line", "said"), [("log", "which sump?"), ("log 14 6.5 --at soon", "is not a time"),
                                            ("log 14 6.5 --at 2999-01-01", "has not come yet"),
                                            ("log 14 8.9 --correct 77", "no reading 77")])  # fmt: skip
def test_bad_input_gets_a_sentence(line: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2 and what would be right."""
    typed(capsys, "log 14 6.5 9.1")
    code, told = typed(capsys, line)
    assert (code, said in told) == (2, True)


def test_figures_of_a_conversation_become_readings_once(tmp_path: Path) -> None:
    """With case and visit; a figure corrected in words is corrected among the readings."""
    desk = desk_at(tmp_path, made_shop())
    case = desk.store.start_case("op", desk.time, {"program": "0", "sump": None})
    fact = {"id": "ph", "unit": "pH", "status": "present", "firm": True, "said": None}
    for value in (8.1, 9.1):
        data = {"facts": [{**fact, "value": value}], "sump": "M1"}
        desk.store.append(case, "said", data, time=desk.time, who="op")
        assert take_over(desk) == 1
    assert take_over(desk) == 0
    assert [r.result for r in desk.book.of("m1")] == [9.1]
    assert [r.corrects for r in desk.book.of("m1", all_versions=True)] == [None, 1]
    assert {(entry.case, entry.visit) for entry in desk.book.entries()} == {(case, 1)}
