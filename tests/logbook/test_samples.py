"""Samples for a laboratory with their label, instruments set to zero, checks that were missed."""

from __future__ import annotations

from datetime import timedelta
from itertools import chain
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.errors import BadInput
from advisor.knowledge.loader import rules_folder
from advisor.knowledge.yaml_source import read
from advisor.logbook import worklists
from advisor.logbook.desk import Desk, open_desk
from advisor.logbook.intervals import intervals
from advisor.logbook.missed import missed
from advisor.logbook.moments import moment
from advisor.logbook.readings import Record
from advisor.logbook.records import corrected, record
from advisor.logbook.samples import asked_of, label, named_tests, waiting
from advisor.reports.label import label_page
from tests.logbook.readings_desk import day, desk_at
from tests.reports.browser import CHROMIUM, pdf_pages


def taken(desk: Desk, *tests: str, ago: float = 0) -> Record:
    """A sample in the book."""
    data = {"tests": list(tests), "point": "nozzle", "taken_by": "AB"}
    desk.book.enter((), [record("sample", "m1", day(ago), data)], time=desk.time, who="AB", how="sample")
    return desk.book.records("sample")[-1]


@pytest.mark.parametrize(
    ("test", "hours"),
    [("ph", 0.25), ("bacteria", 8), ("nitrite", 48), ("alkalinity", 14 * 24), ("chloride", 28 * 24),
     ("sulfate", 28 * 24), ("conductivity", 28 * 24), ("tramp_oil_share", None)],
)  # fmt: skip
def test_a_test_says_until_when(test: str, hours: float | None, tmp_path: Path) -> None:
    """Holding times of 40 CFR 136.3, Table II; none is made up where none is known."""
    desk = desk_at(tmp_path)
    row = taken(desk, test)
    (asked,) = asked_of(desk, row)
    wanted = None if hours is None else moment(row.time) + timedelta(hours=hours)
    assert asked.until == wanted


def test_the_most_urgent_test_comes_first(tmp_path: Path) -> None:
    """Whatever the order they were asked in."""
    desk = desk_at(tmp_path)
    row = taken(desk, "tramp_oil_share", "chloride", "bacteria", "ph")
    assert [asked.id for asked in asked_of(desk, row)] == ["ph", "bacteria", "chloride", "tramp_oil_share"]


@pytest.mark.parametrize(
    ("said", "ids"),
    [("pH, germs", ["ph", "bacteria"]), ("Nitrite;nitrite", ["nitrite"]), ("germ count", ["bacteria"]),
     ("cobalt, copper", ["metals"]), ("sump hardness", ["sump_hardness"]), ("oil", ["tramp_oil_share"])],
)  # fmt: skip
def test_tests_are_named_as_people_say_them(said: str, ids: list[str]) -> None:
    """Each once, in the order said."""
    assert named_tests(said) == ids


@pytest.mark.parametrize("said", ["", " , ", "luck", "ph, luck"])
def test_what_is_no_test_is_refused(said: str) -> None:
    """With the tests there are."""
    with pytest.raises(BadInput) as caught:
        named_tests(said)
    assert "nitrite" in caught.value.right


def test_a_correction_keeps_the_number_on_the_bottle(tmp_path: Path) -> None:
    """The label that was printed stays true."""
    desk = desk_at(tmp_path)
    row = taken(desk, "ph")
    for point in ("return", "surface"):
        row = corrected(desk.book.records("sample")[-1], "sample", "m1", {"point": point}, "slip")
        desk.book.enter((), [row], time=desk.time, who="AB", how="sample")
    now = dict(label(desk, desk.book.records("sample")[-1]))
    assert (now["sample"], now["from"]) == ("r1", "surface")


def test_the_label_says_what_it_must(tmp_path: Path) -> None:
    """Sump, product, date and time, sample point, who, what to test, how to keep it."""
    desk = desk_at(tmp_path)
    held = dict(label(desk, taken(desk, "nitrite")))
    assert held["sump"] == "M1"
    assert held["product"] == "Demo"
    assert held["taken"] == "2025-03-04 12:00 by AB"
    assert held["from"] == "nozzle"
    assert held["test"] == "nitrite (by 2025-03-06 12:00)"
    assert "6 °C" in held["keep"]


@pytest.mark.skipif(CHROMIUM is None, reason="no browser")
def test_the_label_prints_on_one_page(tmp_path: Path) -> None:
    """With every test asked for and a long name."""
    rows = [("sample", "r12345"), ("sump", "Machining centre beside the gate " * 2), ("product", "P" * 40),
            ("test", "; ".join(f"{name} (by 2025-03-06 12:00)" for name in "abcdefghij")),
            ("keep", worklists.worklists()["samples"]["keep"]), ("mind", "Used coolant. " * 5)]  # fmt: skip
    assert pdf_pages(tmp_path, label_page("Sample", rows, "note " * 80)) == 1


def test_a_label_runs_nothing(tmp_path: Path) -> None:
    """What was typed stands there as text."""
    assert "<script>" not in label_page("<script>", [("sump", "<script>alert(1)</script>")], "<script>")


def test_a_sample_waits_for_its_result(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its result is booked at the time and place it was taken, and ends the waiting."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    sample = ["sample", "mill", "1", "--test", "nitrite", "--point", "return", "--demo", "--at"]
    main([*sample, "yesterday 08:00"])
    assert len(waiting(open_desk(demo=True))) == 1
    main(["today", "--demo"])
    assert "no result yet" in " ".join(capsys.readouterr().out.split())
    assert main(["log", "mill", "1", "nitrite", "12", "--sample", "r1", "--demo"]) == 0
    desk = open_desk(demo=True)
    (row,) = desk.book.of("mill_1")
    assert (row.time, row.context.sample_point) == (desk.book.record(1).time, "return")
    assert row.context.method == "laboratory, sample r1"
    assert waiting(desk) == []
    assert main(["log", "mill", "2", "nitrite", "12", "--sample", "r1", "--demo"]) == 2


def test_a_zero_goes_with_the_readings_after_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An instrument's sign brings the time of its last zero."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    main(["log", "mill", "1", "6.4", "--instrument", "R2", "--demo"])
    main(["zero", "R2", "--water", "0.3", "--demo"])
    main(["log", "mill", "1", "6.5", "--instrument", "R2", "--demo"])
    main(["log", "mill", "1", "6.6", "--instrument", "R3", "--demo"])
    zeroed = [row.context.zeroed for row in open_desk(demo=True).book.of("mill_1")]
    assert [bool(time) for time in zeroed] == [False, True, False]


@pytest.mark.parametrize(
    ("line", "check", "reason"),
    [("missed nitrite: no strips", "nitrite", "no strips"), ("missed: locked out", "all", "locked out"),
     ("missed nitrite no strips", "nitrite", "no strips"), ("Missed locked out", "all", "locked out"),
     ("missed dip slide: none left", "bacteria", "none left")],
)  # fmt: skip
def test_a_missed_check_has_its_reason(line: str, check: str, reason: str) -> None:
    """Which check, and why."""
    row = missed(line, "m1", day(0))
    assert row is not None
    assert (row.data["check"], row.data["reason"]) == (check, reason)


@pytest.mark.parametrize("line", ["missed", "missed nitrite:", "missed luck: none"])
def test_a_missed_check_without_reason_is_refused(line: str) -> None:
    """An empty excuse is none."""
    with pytest.raises(BadInput):
        missed(line, "m1", day(0))


def test_the_compiled_worklists_are_their_yaml() -> None:
    """The form read at the start says what the YAML says."""
    data = read(Path(worklists.__file__).with_name("worklists.yaml")).data
    assert data == worklists.worklists()


def test_every_step_and_time_has_a_listed_source() -> None:
    """Each cites the rules' list, the logbook's own, or says that it is common practice."""
    held = worklists.worklists()
    rows = [*held["samples"]["steps"], *held["samples"]["tests"].values(), *held["drum"]["steps"],
            *held["changeover"]["steps"], *chain(*intervals()["retention"].values())]  # fmt: skip
    listed = {*read(rules_folder() / "sources.yaml").data["sources"], *held["sources"], "practice", "memory"}
    assert all(row["sources"] for row in rows)
    assert {ref.partition(",")[0] for row in rows for ref in row["sources"]} <= listed


@pytest.mark.parametrize(
    ("line", "code", "says"),
    [("sample --demo", 0, "sterile bottle"), ("sample mill 1 --demo", 2, "tested for"),
     ("sample mill 1 --test ph --point top --demo", 2, "no sample point"),
     ("sample mill 9 --test ph --demo", 2, "no sump"), ("zero --demo", 2, "which instrument"),
     ("zero R1 --water wet --demo", 2, "cannot be read"),
     ("log mill 1 9 --sample r7 --demo", 2, "no record r7")],
)  # fmt: skip
def test_as_a_person_types_it(
    line: str, code: int, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Each says what it did, or what would be right."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    assert main(line.split()) == code
    screen = capsys.readouterr()
    assert says in " ".join((screen.out + screen.err).split())
