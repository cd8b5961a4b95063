"""Tables in and out: meanings of columns, bad rows, nothing twice, no formula for a spreadsheet."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.cli import main
from advisor.errors import BadInput, StoreTrouble
from advisor.logbook.desk import Desk, open_desk
from advisor.logbook.readings import NOT_MEASURED
from advisor.logbook.table_columns import columns, guess
from advisor.logbook.table_export import COMPUTED, safe_cell, write_csv, write_json, write_parquet
from advisor.logbook.table_import import Taken, Taking, read_table, without_known
from tests.logbook.readings_desk import desk_at, keep, reading


def taken(desk: Desk, folder: Path, text: str | bytes, **said: str) -> Taken:
    """What a table comes to."""
    file = folder / "table.csv"
    file.write_bytes(text.encode() if isinstance(text, str) else text)
    table = read_table(file)
    return without_known(desk, Taking(desk, columns(desk, table.headings, said), who="op").take(table))


@pytest.mark.parametrize(
    ("heading", "meaning"),
    [("Machine", "sump"), ("Datum", "date"), ("Date/Time", "time"), ("Conc. (%)", "concentration:%"),
     ("pH", "ph"), ("pH-Wert", "ph"), ("Brix", "refractometer_reading"), ("Nitrit [mg/L]", "nitrite:mg/L"),
     ("Strength %", "concentration:%"), ("Shoe size", "")],
)  # fmt: skip
def test_a_heading_is_guessed(heading: str, meaning: str) -> None:
    """Words of the trade in two languages, with the unit in brackets; anything else is not guessed."""
    assert guess(heading) == meaning


@pytest.mark.parametrize(
    "text",
    ["Machine,Date,Brix,pH\nM1,2025-03-01,6.5,9.1\n",
     "Maschine;Datum;Brix;pH-Wert\r\nM1;01.03.2025;6,5;9,1\r\n",
     "\ufeffmachine\ttime\tstrength [%]\tph\nm1\t2025-03-01 12:00\t6.5\t9.1\n",
     "sump,time,figure,value,unit\nm1,2025-03-01,concentration,6.5,%\nm1,2025-03-01,ph,9.1,\n"],
    ids=["comma", "semicolon", "tab", "long"],
)  # fmt: skip
def test_a_table_is_read(text: str, tmp_path: Path) -> None:
    """Separators, decimal commas, dates of two habits, and one figure to a row."""
    got = taken(desk_at(tmp_path), tmp_path, text)
    found = {(r.sump, r.observable, r.time[:10]): r.result for r in got.readings}
    assert got.bad == []
    assert found == pytest.approx({("m1", "concentration", "2025-03-01"): 0.065,
                                   ("m1", "ph", "2025-03-01"): 9.1})  # fmt: skip


def test_how_a_figure_was_got_comes_along(tmp_path: Path) -> None:
    """What an auditor asks of a reading is taken from the columns that say so, row by row."""
    head = "sump,date,pH,who,instrument,method,zeroed,lot,sample point\n"
    rows = "M1,2025-03-01,9.1,AB,R2,meter,2025-02-28,X9,nozzle\nM1,2025-03-02,9.0,CD,,strip,,X10,\n"
    first, second = (r.context for r in taken(desk_at(tmp_path), tmp_path, head + rows).readings)
    assert (first.who, first.instrument, first.method, first.zeroed, first.lot, first.sample_point) == (
        "AB", "R2", "meter", "2025-02-28", "X9", "nozzle")  # fmt: skip
    assert (second.who, second.instrument, second.method, second.lot) == ("CD", "", "strip", "X10")


@pytest.mark.parametrize(
    ("row", "why"),
    [("M9,2025-03-01,9.1", "no sump 'M9'"), ("M1,soon,9.1", "not a time"),
     ("M1,2999-01-01,9.1", "not come yet"), ("M1,2025-03-01,27", "not possible"),
     ("M1,2025-03-01,high", "cannot be read"),
     (",2025-03-01,9", "no sump"), ("M1,2025-03-01,nan", "not possible"),
     ("M1,2025-03-01,9.1,x", "4 cells"), ("M1,,9.1", "no time")],
)  # fmt: skip
def test_a_bad_row_is_left_out_whole_with_its_reason(row: str, why: str, tmp_path: Path) -> None:
    """Line 3 is bad; the rows around it are taken."""
    text = f"sump,date,ph\nM1,2025-03-01,9.0\n{row}\nM2,2025-03-01,9.2\n"
    got = taken(desk_at(tmp_path), tmp_path, text)
    assert [(bad.line, why in bad.why) for bad in got.bad] == [(3, True)]
    assert [r.result for r in got.readings] == [9.0, 9.2]


def test_one_bad_cell_leaves_the_whole_row_out(tmp_path: Path) -> None:
    """A good pH beside an impossible strength is not half imported."""
    got = taken(desk_at(tmp_path), tmp_path, "sump,date,ph,brix\nM1,2025-03-01,9.0,99\n")
    assert (got.readings, len(got.bad)) == ([], 1)


def test_what_is_in_the_book_is_not_taken_twice(tmp_path: Path) -> None:
    """The same table again brings nothing, and neither does a row given twice."""
    desk = desk_at(tmp_path)
    text = "sump,date,ph\nM1,2025-03-01,9.0\nM1,2025-03-01,9.0\nM2,2025-03-01,9.0\n"
    first = taken(desk, tmp_path, text)
    keep(desk, *first.readings)
    assert (len(first.readings), first.known) == (2, 1)
    assert (taken(desk, tmp_path, text).readings, taken(desk, tmp_path, text).known) == ([], 3)


@pytest.mark.parametrize(
    ("text", "said", "told"),
    [("Unit 7,x\n1,2\n", {}, "which column is the sump"),
     ("sump,date,conc\nm1,2025-03-01,7\n", {}, "unit of column"),
     ("sump,date,ph\n", {"size": "ph"}, "no column 'size'"),
     ("sump,date,ph\n", {"ph": "colour"}, "no meaning"),
     ("sump,date,ph,ph\n", {}, "there twice"), ("", {}, "no table"),
     ("sump,date,ph\n", {"ph": "ph:gallons"}, "no unit of ph")],
)  # fmt: skip
def test_a_table_without_meaning_is_refused(
    text: str, said: dict[str, str], told: str, tmp_path: Path
) -> None:
    """Nothing is read before every needed column is known, its unit included."""
    with pytest.raises(BadInput) as raised:
        taken(desk_at(tmp_path), tmp_path, text, **said)
    assert told in raised.value.sentence()


@given(st.text())
def test_no_cell_is_computed(text: str) -> None:
    """Whatever a name holds, a spreadsheet sees no formula and a screen no control character."""
    cell = safe_cell(text)
    assert not cell.lstrip().startswith(COMPUTED)
    assert cell.isprintable() or cell == ""


@pytest.mark.parametrize("name", ["=HYPERLINK(1)", "-1+1", "@x", "+x"])
def test_an_exported_table_comes_back(name: str, tmp_path: Path) -> None:
    """Out to CSV and into another book: the same figures, marks included, even with a hostile name."""
    desk = desk_at(tmp_path / "a")
    desk.shop.sumps["m1"]["name"] = name
    keep(desk, reading("ph", 9.1, 3), reading("concentration", 0.0725, 3))
    keep(desk, reading("ph", 7.0, 2, mark=NOT_MEASURED))
    out = io.StringIO()
    assert write_csv(desk, desk.book.every(), out) == 3
    assert next(csv.DictReader(io.StringIO(out.getvalue())))["name"] == f"'{name}"
    got = taken(desk_at(tmp_path / "b"), tmp_path, out.getvalue())
    assert got.bad == []
    key = [(r.observable, r.time, r.result, r.mark) for r in desk.book.every()]
    assert sorted((r.observable, r.time, r.result, r.mark) for r in got.readings) == sorted(key)


def test_json_holds_every_reading(tmp_path: Path) -> None:
    """One object to a reading, figures as numbers, unit beside them."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.1, 3), reading("nitrite", 5.0, 2))
    out = io.StringIO()
    assert write_json(desk, desk.book.every(), out) == 2
    held = json.loads(out.getvalue())
    assert {(row["observable"], row["result"], row["unit"]) for row in held} == {
        ("ph", 9.1, "pH"), ("nitrite", 5.0, "mg/L")}  # fmt: skip


def test_a_mapping_is_asked_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Said with the first table, it is kept for the next one with the same headings."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    file = tmp_path / "t.csv"
    file.write_text("Unit 7,Day of reading,Acid\nM1,2025-03-01,9.1\n")
    said = ["--map", "Unit 7=sump", "--map", "Day of reading=date", "--map", "Acid=ph"]
    assert main(["import", str(file)]) == 2
    assert main(["import", str(file), "--new", *said]) == 0
    file.write_text("Unit 7,Day of reading,Acid\nM1,2025-03-02,9.0\nM2,2025-03-02,9.0\n")
    assert main(["import", str(file), "--left-out", str(tmp_path / "bad.csv")]) == 0
    assert "Now in the book: 1 reading of 1 row." in capsys.readouterr().out
    assert "no sump 'M2'" in (tmp_path / "bad.csv").read_text()
    with open_desk().store as store:
        assert store.row("shop", "shop") is None


def test_parquet_says_what_it_needs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without pyarrow there is a sentence; an unknown ending gets one too."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    assert main(["export", str(tmp_path / "a.parquet")]) == 2
    assert main(["export", str(tmp_path / "a.xls")]) == 2
    assert main(["export", "-"]) == 0


def test_how_far_an_import_is_is_told(tmp_path: Path) -> None:
    """Shares of the table read, then of the readings written, each rising from the start to the end."""
    desk, read, written = desk_at(tmp_path), [], []
    rows = "".join(f"M1,2024-01-{1 + n % 28:02},{7 + n / 1e5},9.1\n" for n in range(15_000))
    (tmp_path / "long.csv").write_text(f"sump,date,strength %,ph\n{rows}")
    table = read_table(tmp_path / "long.csv")
    got = Taking(desk, columns(desk, table.headings, {}), who="op").take(table, read.append)
    desk.book.enter(got.readings, time=desk.time, who="op", how="import", progress=written.append)
    assert read == pytest.approx([1 / 3, 2 / 3, 1.0], abs=1e-3)
    assert written == pytest.approx([0, 1 / 3, 2 / 3])


def test_an_overlapping_table_is_taken_once(tmp_path: Path) -> None:
    """Of a table that overlaps the book, and repeats itself, each figure is taken once."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.1, 3), reading("ph", 9.2, 2))
    times = [time_of(desk, n) for n in (0, 1)]
    text = "sump,time,ph\n" + "".join(f"m1,{t},{v}\n" for t, v in zip(times, (9.1, 9.3), strict=True))
    got = taken(desk, tmp_path, f"{text}m1,2025-01-01,8.8\nm1,2025-01-01,8.8\n")
    assert ([r.result for r in got.readings], got.known) == ([8.8, 9.3], 2)


def time_of(desk: Desk, place: int) -> str:
    """When the reading at this place was measured."""
    return desk.book.of("m1")[place].time


def test_parquet_holds_the_same_rows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Read back by the library itself: figures as numbers, in groups when there are many."""
    parquet = pytest.importorskip("pyarrow.parquet")
    monkeypatch.setattr("advisor.logbook.table_export.ROWS_AT_ONCE", 3)
    desk = desk_at(tmp_path)
    keep(desk, *(reading("ph", 9.0 + n / 10, n) for n in range(8)))
    file = tmp_path / "a.parquet"
    assert write_parquet(desk, desk.book.every(), file) == 8
    table = parquet.read_table(file)
    assert sorted(table["result"].to_pylist()) == pytest.approx([9.0 + n / 10 for n in range(8)])
    assert table.schema.field("factor").type == "double"
    assert parquet.ParquetFile(file).num_row_groups == 3


def test_looking_at_a_table_begins_no_sump(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With --check nothing is kept; a name whose every row is bad is no sump either."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    file = tmp_path / "t.csv"
    file.write_text("Machine,Date,pH\n14,2025-03-02,9.0\n15,2025-13-02,9.0\n")
    assert main(["import", str(file), "--new", "--check"]) == 0
    assert open_desk().shop.sumps == {}
    assert main(["import", str(file), "--new"]) == 0
    assert list(open_desk().shop.sumps) == ["sump_14"]


def test_sumps_begin_with_their_readings_or_not_at_all(tmp_path: Path) -> None:
    """An import that breaks off while it is written leaves neither readings nor the sumps it began."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.0, 2, sump="press_7"))
    begun = {"press_7": {"id": "press_7", "name": "Press 7"}}
    twice = [reading("ph", value, 1, sump="press_7", corrects=1) for value in (9.1, 9.2)]
    how = {"time": desk.time, "who": "op", "how": "import", "begun": begun}
    with pytest.raises(StoreTrouble):
        desk.book.enter(twice, **how)
    assert (desk.store.rows("sump"), len(desk.book.of("press_7"))) == ([], 1)
    desk.book.enter(twice[:1], **how)
    assert desk.store.rows("sump")[0].data["name"] == "Press 7"
