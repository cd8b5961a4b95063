"""Daily work: pails, hand-over, standing still, spill, waste, stock."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.errors import BadInput
from advisor.knowledge.loader import rules_folder
from advisor.knowledge.yaml_source import read
from advisor.logbook import stock
from advisor.logbook.desk import Desk, open_desk
from advisor.logbook.intervals import intervals
from advisor.logbook.records import REQUIRED, record
from advisor.logbook.shift import hand_over, last_handover, made_by, pour
from advisor.logbook.standstill import after, before, restarted, stopped
from tests.logbook.readings_desk import NOW, day, desk_at, keep, reading
from tests.logbook.test_morning import RECIPE, opened_case
from tests.logbook.test_morning import stopped as stopped_case


def write(desk: Desk, *rows: object, how: str = "line", words: str | None = None) -> None:
    """Keep records as one entry."""
    desk.book.enter((), rows, time=desk.time, who="AB", how=how, words=words)  # type: ignore[arg-type]


def test_pails_go_in_one_after_the_other(tmp_path: Path) -> None:
    """Three, then two of five pails of 10 L; a sixth is refused with what is left."""
    desk = desk_at(tmp_path)
    opened_case(desk, ("recipe", RECIPE))
    for count, litres in ((3, 30.0), (2, 50.0)):
        rows, _ = pour(desk, "m1", count)
        write(desk, *rows)
        assert sum(r.data["litres"] for r in desk.book.records("addition", "m1")) == litres
    with pytest.raises(BadInput, match="0 of 5 pails left"):
        pour(desk, "m1", 1)


def test_pails_that_went_in_say_what_strength_they_make(tmp_path: Path) -> None:
    """By hand: 65 L at 4 % and 30 L at 10 % are 5.6 L in 95, 5.9 %; with factor 2 that reads 2.9."""
    desk = desk_at(tmp_path)
    made = {**RECIPE["recipe"], "remove_l": 10.0, "mix_strength": 0.1, "fill_before": 0.75}
    told = {"strength_before": 0.04, "basis": {"sump_volume": 100.0}, "glass": {"factor": 2.0}}
    opened_case(desk, ("recipe", {"recipe": {**made, **told}}))
    rows, case = pour(desk, "m1", 3)
    assert sum(r.data["litres"] for r in rows) == 30.0
    assert made_by(desk, case, 3) == "5.9 % (2.9 on the glass)"


def test_pails_need_an_open_recipe(tmp_path: Path) -> None:
    """Without one, what would be right is said."""
    with pytest.raises(BadInput, match=r"added 20 L at 2 %"):
        pour(desk_at(tmp_path), "m1", 1)


def test_the_next_shift_reads_what_was_open(tmp_path: Path) -> None:
    """Recipe under way and sump out of limits are kept as they were; the note stands outside the hash."""
    desk = desk_at(tmp_path)
    opened_case(desk, ("recipe", RECIPE))
    write(desk, *pour(desk, "m1", 3)[0])
    keep(desk, reading("ph", 7.9, 0.1, sump="m2"))
    told, row = hand_over(desk)
    write(desk, row, how="handover", words="pump noisy")
    screen = "\n".join(last_handover(desk))
    assert "M1: 3 of 5 pails in" in screen
    assert "M2: pH 7.9, UNDER 8 to 9.5" in screen
    assert screen.endswith("Note: pump noisy")
    assert told == row.data["open"]
    desk.book.erase_words(row.entry or desk.book.entries()[-1].id)
    assert desk.book.check() == []


def test_stops_are_handed_over_before_all_else(tmp_path: Path) -> None:
    """What keeps a machine still is the first line, above readings out of limits."""
    desk = desk_at(tmp_path)
    keep(desk, reading("concentration", 0.03, 1))
    stopped_case(desk, "M2", "acid_in_the_sump", "stop")
    told, _ = hand_over(desk)
    assert told[0].startswith("M2: STOP. Keep away.")
    assert told[1].startswith("M1: strength 3 %, UNDER")


def test_what_nobody_handed_over_is_told_all_the_same(tmp_path: Path) -> None:
    """The first shift forgot; then it gave, and only what came up since is told besides it."""
    desk = desk_at(tmp_path)
    opened_case(desk, ("recipe", RECIPE))
    write(desk, *pour(desk, "m1", 3)[0])
    assert "M1: 3 of 5 pails in" in "\n".join(last_handover(desk))
    write(desk, hand_over(desk)[1], how="handover")
    later = Desk(desk.store, desk.shop, NOW + timedelta(hours=18))  # what was 12:00 is "yesterday 12:00"
    assert "besides" not in "\n".join(last_handover(later))
    write(later, *pour(later, "m1", 1)[0])
    assert "Open now besides:\n  M1: 4 of 5 pails in" in "\n".join(last_handover(later))


@pytest.mark.parametrize(("days", "steps"), [(0.5, 0), (1, 2), (2, 3), (8, 5), (30, 6)])
def test_the_plan_grows_with_the_days(days: float, steps: int) -> None:
    """The steps before standing still: a longer stand keeps every step of a shorter one."""
    assert len(before(days)) == steps
    assert before(days) == before(30)[:steps]


@pytest.mark.parametrize("days", [1, 3, 10, 60])
def test_the_gas_comes_first_at_a_restart(days: float) -> None:
    """Before anything is stirred or run: ventilate, stand back, no head over the tank."""
    assert "no head over the tank" in after(days)[0]["text"]


def test_every_step_has_a_listed_source() -> None:
    """Each cites the rules' list of sources, or says that it is common practice."""
    rows = intervals()["standing"]
    steps = [s for row in rows for part in ("before", "after") for s in row[part]] + intervals()["smells"]
    listed = {*read(rules_folder() / "sources.yaml").data["sources"], "practice", "memory"}
    assert all(step["sources"] for step in steps)
    assert {ref.partition(",")[0] for step in steps for ref in step["sources"]} <= listed


def test_a_restart_knows_how_long_it_stood(tmp_path: Path) -> None:
    """From its shutdown ten days ago; a restart without one says so by 0 days."""
    desk = desk_at(tmp_path, now=NOW - timedelta(days=10))
    write(desk, stopped(desk, "m1", 9)[1])
    desk = Desk(desk.store, desk.shop, NOW)
    days, steps, row = restarted(desk, "m1")
    assert (days, row.kind, steps) == (pytest.approx(10), "restart", after(10))
    assert restarted(desk, "m2")[0] == 0.0


def test_stock_is_what_came_less_what_went(tmp_path: Path) -> None:
    """200 L came; 20 L at 5 % and 2 L neat are 3 L of concentrate and 19 L of water, by month and sump."""
    desk = desk_at(tmp_path)
    came = record("delivery", "", day(60), {"litres": 200.0, "product": "p"})
    rows = [record("addition", "m1", day(n), {"litres": litres, "strength": share, "product": "p"})
            for n, litres, share in ((1, 20.0, 0.05), (2, 2.0, 1.0), (1, 7.0, None))]  # fmt: skip
    write(desk, came, *rows)
    assert stock.left(desk) == {"p": pytest.approx(197.0)}
    (march,) = stock.use(desk)
    assert (march.month, march.concentrate, march.water, march.unknown) == ("2025-03", 3.0, 19.0, 7.0)


@pytest.mark.parametrize("kind", [*REQUIRED, "holiday"])
def test_a_record_without_what_it_needs_is_refused(kind: str) -> None:
    """Each kind names what is missing; a restart needs nothing."""
    if REQUIRED.get(kind) == ():
        assert record(kind, "m1", day(0), {}).data == {}
        return
    with pytest.raises(BadInput, match=r"lacks|no record"):
        record(kind, "m1", day(0), {})


@pytest.mark.parametrize(
    ("line", "code", "told"),
    [("spill mill 1 --what oil --where floor --to-drain yes --demo", 0, "call your environment"),
     ("spill mill 1 --what oil --where floor --to-drain no --demo", 0, "keep it out of every drain"),
     ("waste mill 1 --litres 200L --demo", 0, "Not given, and asked for by most auditors: code"),
     ("waste mill 1 --litres=-3L --demo", 2, "below zero"), ("idle all --days 0 --demo", 2, "above 0"),
     ("idle mill 7 --days 2 --demo", 2, "no sump"),
     ("stock --delivery 9L --product x --demo", 2, "no product"),
     ("pails mill 1 two --demo", 2, "no number of pails"),
     ("restart all --demo", 0, "no head over the tank")],
)  # fmt: skip
def test_as_a_person_types_it(
    line: str, code: int, told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Each says what it did, or what would be right; what was refused is not on record."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    assert main(line.split()) == code
    screen = capsys.readouterr()
    assert told in " ".join((screen.out + screen.err).split())
    with open_desk(demo=True).store as store:
        count = store._db.execute("SELECT COUNT(*) FROM records").fetchone()[0]
    assert (count > 0) is (code == 0)


@pytest.mark.parametrize(
    "command",
    ["pails", "handover", "idle", "restart", "spill", "waste", "stock", "cost", "drum", "sample", "zero",
     "changeover", "audit", "log", "round", "today", "trend", "fixes", "import", "export", "shop"],
)  # fmt: skip
def test_every_command_explains_itself(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In plain words first, then its options, in 80 columns."""
    monkeypatch.setenv("COLUMNS", "80")
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    screen = capsys.readouterr().out
    assert left.value.code == 0
    words = screen.split("\n\n")[1]
    assert words.endswith(".")
    assert len(words.split()) >= 3
    assert max(map(len, screen.splitlines())) < 80
