"""A round of all sumps: order, sheet, entry afterwards, pails."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.errors import BadInput, Refused
from advisor.logbook.desk import Desk
from advisor.logbook.fixes import fixes
from advisor.logbook.morning import lines as screen
from advisor.logbook.morning import morning
from advisor.logbook.open_work import open_advice
from advisor.logbook.readings import NOT_MEASURED, Context
from advisor.logbook.rounds import (
    Entered,
    advice_records,
    advise,
    keep_order,
    read_round,
    sheet,
    sheet_html,
    sheet_text,
    walking_order,
)
from advisor.logbook.shift import pour
from tests.logbook.readings_desk import desk_at, keep, made_shop, reading


def entered(desk: Desk, *lines: str) -> Entered:
    """A round as these lines tell it."""
    return read_round(desk, lines, time=desk.time, context=Context(who="op"))


def lines(desk: Desk, made: Entered) -> list[str]:
    """What to pour after a round, as lines."""
    return [one.line for one in advise(desk, made)]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """Five sumps of 200 L and a pail of 10 L."""
    shop = made_shop(5) | {"containers": [{"id": "pail", "name": "pail", "kind": "pail", "litres": 10.0}]}
    return desk_at(tmp_path, shop)


def test_the_walking_order_is_kept(desk: Desk) -> None:
    """Sumps the order does not name come after it, none is lost."""
    assert keep_order(desk, ["M3", "m1"], "sup") == ["m3", "m1", "m2", "m4", "m5"]
    assert walking_order(desk) == ["m3", "m1", "m2", "m4", "m5"]


def test_the_sheet_fits_and_names_every_sump(desk: Desk) -> None:
    """Text of 80 columns with last readings; HTML with one row for each sump, names escaped."""
    desk.shop.sumps["m2"]["name"] = "<b>Mill & Co</b>"
    keep(desk, reading("ph", 9.1, 0.2))
    rows = sheet(desk)
    text = sheet_text(desk, rows)
    assert max(map(len, text)) < 80
    assert "pH 9.1 (07:12)" in "\n".join(text)
    page = sheet_html(desk, rows)
    assert "&lt;b&gt;Mill &amp; Co&lt;/b&gt;" in page
    assert page.count("<tr>") == 6
    HTMLParser().feed(page)


def test_the_paper_is_entered_as_one_round(desk: Desk) -> None:
    """One line for each sump, a missed one with its reason; comments and empty lines pass."""
    got = entered(desk, "m1 6.5 9.1", "", "m2 missed: locked out  # again", "m3 - 9.0 bit of foam")
    assert (got.sumps, got.bad) == (("m1", "m2", "m3"), ())
    read = [(r.sump, r.observable) for r in got.readings]
    assert read == [("m1", "concentration"), ("m1", "ph"), ("m3", "ph")]
    assert [(r.kind, r.data.get("reason")) for r in got.records] == [("missed", "locked out"), ("look", None)]


@pytest.mark.parametrize(("line", "why"), [("m9 6.5", "no sump 'm9'"), ("m1 6.5", "there twice"),
                                           ("m2 missed", "why was it missed"), ("m2", "no reading"),
                                           ("m2 6.5 27", "not possible")])  # fmt: skip
def test_a_line_that_cannot_be_read_is_named(line: str, why: str, desk: Desk) -> None:
    """Its number and what would be right; the rest is read on."""
    got = entered(desk, "m1 6.5 9.1", line, "m3 6.5 9.1")
    assert len(got.bad) == 1
    assert got.bad[0].startswith("line 2: ")
    assert why in got.bad[0]


def test_seven_for_all_is_no_measurement(desk: Desk) -> None:
    """One reading in four sumps is marked; their differing pH stays. In three sumps it may be true."""
    got = entered(desk, "m1 7 9.1", "m2 7 9.0", "m3 7 9.2", "m4 7 9.1")
    marks = {(r.observable, r.mark) for r in got.readings}
    assert marks == {("concentration", NOT_MEASURED), ("ph", "")}
    assert "7 in all 4 sumps is not a measurement" in got.flags[0]
    assert entered(desk, "m1 7 9.1", "m2 7 9.0", "m3 7 9.2").flags == ()


def test_a_rich_sump_gets_water_to_the_mark(desk: Desk) -> None:
    """11 % at three quarters of 200 L: 50 L of room at the most; what is poured is told in pails."""
    (line,) = lines(desk, entered(desk, "m1 11 9.1 level 75%"))
    poured = sum(int(n) * float(size) for n, size in re.findall(r"(\d+) pails? of ([\d.]+) L water", line))
    assert line.startswith("M1: ")
    assert 20 < poured <= 50.5


def test_a_lean_sump_is_not_filled_over_its_mark(desk: Desk) -> None:
    """4.5 % at 80 %: no more than the 40 L of room, with concentrate in each pail."""
    (line,) = lines(desk, entered(desk, "m1 4.5 9.1 level 80%"))
    rows = re.findall(r"(\d+) pails? of ([\d.]+) L water \+ ([\d.]+) (L|mL) concentrate", line)
    litres = sum(int(n) * (float(w) + float(c) / (1 if u == "L" else 1000)) for n, w, c, u in rows)
    assert 0 < litres <= 40.5


@pytest.mark.parametrize(("line", "told"), [("m1 11 9.1", "read the level too"),
                                            ("m1 11 9.1 level 75% stinks", "talk it through")])  # fmt: skip
def test_no_pails_without_level_or_with_something_seen(line: str, told: str, desk: Desk) -> None:
    """A recipe needs the level, and a complaint is talked through before anything is poured."""
    assert told in lines(desk, entered(desk, line))[0]


def test_a_round_in_its_window_needs_nothing(desk: Desk) -> None:
    """Within the window and nearly full: no line."""
    assert lines(desk, entered(desk, "m1 8 9.1 level 95%", "m2 8.5 9.0")) == []


def test_nothing_is_written_while_a_line_is_wrong(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The command takes a round whole or not at all."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    monkeypatch.setattr("sys.stdin", io.StringIO("mill 1 7 9.1\nmill 9 7 9.1\n"))
    assert main(["round", "--demo", "--enter"]) == 2
    assert "line 2: There is no sump 'mill'" in capsys.readouterr().err
    assert main(["log", "mill", "1", "--demo"]) == 0
    assert "nothing is in the book yet" in capsys.readouterr().out


def advised(desk: Desk, line: str) -> None:
    """A round entered, with its advice in the book, half a day ago."""
    now, desk.now = desk.now, desk.now - timedelta(hours=12)
    made = entered(desk, line)
    desk.book.enter(made.readings, made.records, time=desk.time, who="op", how="round")
    desk.book.enter((), advice_records(advise(desk, made), desk.time), time=desk.time, who="op", how="round")
    desk.now = now


def test_pails_of_a_round_are_counted(desk: Desk) -> None:
    """The next shift sees how many are in; a reading after it ends the advice."""
    advised(desk, "m1 4.5 9.1 level 80%")
    (open_now,) = open_advice(desk)
    assert (open_now.pails_in, open_now.sump) == (0, "m1")
    rows, _ = pour(desk, "m1", 1)
    desk.book.enter((), rows, time=desk.time, who="op", how="pails")
    told = " ".join(" ".join(screen(desk, morning(desk))).split())
    assert f"M1: 1 of {open_now.pails} pails in, 12:00" in told
    desk.now += timedelta(hours=1)
    keep(desk, reading("concentration", 0.06, -1 / 24))
    assert open_advice(desk) == []


def test_a_round_advice_is_judged_by_the_next_reading(desk: Desk) -> None:
    """What it promised beside what was read, and what really went in."""
    advised(desk, "m1 4.5 9.1 level 80%")
    (open_now,) = open_advice(desk)
    assert fixes(desk) == []
    rows, _ = pour(desk, "m1", open_now.pails)
    desk.book.enter((), rows, time=desk.time, who="op", how="pails")
    desk.now += timedelta(hours=1)
    keep(desk, reading("concentration", open_now.made["strength_after"], -1 / 24))
    (fix,) = fixes(desk)
    assert (fix.verdict, fix.advice, fix.before) == ("as predicted", open_now.id, pytest.approx(0.045))
    assert fix.added_l == pytest.approx(open_now.made["add_l"], rel=0.02)


def test_old_advice_is_past(desk: Desk) -> None:
    """Nobody pours by a reading of last week."""
    advised(desk, "m1 4.5 9.1 level 80%")
    desk.now += timedelta(days=4)
    assert open_advice(desk) == []
    with pytest.raises(BadInput, match="no open recipe"):
        pour(desk, "m1", 1)


@pytest.mark.parametrize(("who", "may"), [("supervisor", True), ("operator", False), ("AB", False)])
def test_only_who_may_approves(who: str, may: bool, desk: Desk) -> None:
    """The sign goes into what was poured."""
    advised(desk, "m1 4.5 9.1 level 80%")
    if not may:
        with pytest.raises(Refused, match="may not approve"):
            pour(desk, "m1", 1, who)
        return
    assert pour(desk, "m1", 1, who)[0][0].data["approved"] == who
