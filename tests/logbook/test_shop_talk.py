"""The shop set up by answering questions, and who may change its limits."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.logbook.shop import Shop, stored_shop
from advisor.logbook.shop_talk import talk
from advisor.logbook.store import open_store

ANSWERS = ("Demo works", "us", "us", "Demo Oil", "1.5", "6-9 %", "9.0-9.4", "", "", "Mill 1", "50 gal", "",
           "14", "minus three", "-3 gal", "40 gal", "4-5 %", "", "5 gal")  # fmt: skip


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user without a shop."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    return tmp_path


def told(monkeypatch: pytest.MonkeyPatch, *answers: str, who: str = "supervisor") -> int:
    """Exit code of a talk with these answers."""
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(answers) + "\n"))
    return main(["shop", "--talk", "--who", who])


def shop(home: Path) -> Shop:
    """The shop as it is kept."""
    with open_store(home) as store:
        return stored_shop(store)


def test_answers_become_the_shop(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A bare gallon is the one of the shop's habit; 50 US gal are 189.27 L (NIST HB 44, App. C)."""
    assert told(monkeypatch, *ANSWERS) == 0
    kept = shop(home)
    assert (kept.shop["name"], kept.shop["region"], kept.shop["units"]) == ("Demo works", "us", "us")
    assert kept.products["demo_oil"]["figures"]["target"] == [0.06, 0.09]
    assert kept.sumps["mill_1"]["figures"]["sump_volume"] == pytest.approx(189.27, abs=0.01)
    assert kept.sumps["sump_14"]["figures"]["target"] == [0.04, 0.05]
    assert kept.containers["pail"]["litres"] == pytest.approx(18.927, abs=0.001)


def test_a_wrong_figure_is_explained_and_asked_again(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words and a negative volume each get a sentence; the next answer is taken."""
    told(monkeypatch, *ANSWERS)
    screen = capsys.readouterr().out
    assert "'minus three' cannot be read" in screen
    assert "below zero" in screen


@pytest.mark.parametrize("count", range(len(ANSWERS)))
def test_a_talk_may_stop_anywhere(count: int) -> None:
    """Whatever was answered is kept, and never a half row without its name."""
    answers = iter(ANSWERS[:count])

    def ask(question: str) -> str:
        try:
            return next(answers)
        except StopIteration:
            raise EOFError from None

    held = talk(ask, lambda sentence: None)
    rows = [*held.get("products", []), *held.get("sumps", [])]
    assert all(row["id"] and row["name"] for row in rows)
    assert len(rows) == (count > 3) + (count > 9) + (count > 12)


def test_an_operator_may_not_change_a_limit(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A window stays as it is, and a supervisor can change it."""
    told(monkeypatch, *ANSWERS)
    wider = [answer.replace("6-9 %", "6-12 %") for answer in ANSWERS]
    assert told(monkeypatch, *wider, who="operator") == 2
    assert "may not change the target of Demo Oil" in capsys.readouterr().err
    assert shop(home).products["demo_oil"]["figures"]["target"] == [0.06, 0.09]
    assert told(monkeypatch, *wider) == 0
    assert shop(home).products["demo_oil"]["figures"]["target"] == [0.06, 0.12]


def test_nothing_said_changes_nothing(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A talk without a sump or product leaves no shop."""
    assert told(monkeypatch, "x", "", "", "", "", "") == 2
    assert shop(home).shop == {}
