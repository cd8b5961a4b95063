"""A sump over time: plot, picture, and what lies ahead."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from advisor.errors import BadInput
from advisor.logbook.desk import Desk
from advisor.logbook.outlook import hardness_limit, lines, outlook
from advisor.logbook.readings import NOT_MEASURED
from advisor.logbook.records import record
from advisor.logbook.series import Series, series
from advisor.logbook.trend_svg import picture
from advisor.logbook.trend_text import plot, sentences
from advisor.reports.trend_png import Panel, draw
from tests.logbook.readings_desk import NOW, day, desk_at, keep, reading

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """A sump that climbs from 7 to 11 % in 41 days, topped up with water."""
    made = desk_at(tmp_path)
    keep(made, *(reading("concentration", 0.07 + 0.001 * n, 41 - n) for n in range(41)))
    added = [record("addition", "m1", day(41 - n), {"litres": 8.0, "strength": 0.0}) for n in range(40)]
    made.book.enter((), added, time=made.time, who="op", how="line")
    return made


def strength(desk: Desk) -> Series:
    """The strengths of the first sump."""
    made = series(desk, "m1", "concentration", 90)
    assert made is not None
    return made


def test_a_plot_fits_and_marks_what_is_outside(desk: Desk) -> None:
    """80 columns of plain characters; ten readings lie over 10 % and are crosses."""
    shown = plot(desk, strength(desk))
    assert max(map(len, shown)) < 80
    assert all(line.isascii() for line in shown)
    rows = [line.partition("|")[2] for line in shown[1:13]]
    assert sum(row.count("X") for row in rows) == 10
    assert sum(row.count("o") + row.count("X") for row in rows) == 41
    assert sum(set(row) <= {"-", "o", "X"} and row.count("-") > 20 for row in rows) == 2


def test_the_sentences_say_last_limit_and_movement(desk: Desk) -> None:
    """0.1 points a day is 0.7 points a week; the limit names its source; no jump in a steady climb."""
    told = " ".join(sentences(desk, strength(desk)))
    assert "Last: 11 %" in told
    assert "6 to 10 % (data sheet of Demo)" in told
    assert "rising, about 0.7 points a week" in told
    assert "another level" not in told


def test_what_was_not_measured_is_left_out_and_said(desk: Desk) -> None:
    """A figure put down for all sumps is counted in words only."""
    keep(desk, reading("concentration", 0.05, 0, mark=NOT_MEASURED))
    seen = strength(desk)
    assert len(seen.readings) == 41
    assert "1 figures put down without measuring are left out." in sentences(desk, seen)


def test_a_picture_is_whole_xml_with_every_reading(desk: Desk) -> None:
    """41 points, of which ten are squares outside the limit; both limits dashed; additions marked."""
    root = ElementTree.fromstring(picture(desk, [strength(desk)]))
    assert len(root.findall(f"{SVG}circle")) == 31
    assert len(root.findall(f"{SVG}rect")) == 10
    assert len([e for e in root.iter(f"{SVG}line") if e.get("class") == "lim"]) == 2
    assert len([e for e in root.iter(f"{SVG}line") if e.get("class") == "ev"]) == 40


def test_a_name_cannot_write_into_the_picture(desk: Desk) -> None:
    """Brackets, quotes and control characters of a name come out as text."""
    desk.shop.sumps["m1"]["name"] = "<script>\"'&\x1b[2J"
    root = ElementTree.fromstring(picture(desk, [strength(desk)]))
    assert not list(root.iter(f"{SVG}script"))
    assert root.get("aria-label", "").startswith("Readings of <script>\"'&")
    assert "\x1b" not in "\n".join(plot(desk, strength(desk)))


def test_a_png_is_drawn(tmp_path: Path) -> None:
    """Where matplotlib is there, a PNG file comes out; an unwritable place gets a sentence."""
    pytest.importorskip("matplotlib")
    panel = Panel("a $ sign", [NOW, NOW.replace(day=5)], [1.0, 2.0], [None, 1.5], [(NOW, "F")])
    draw([panel], tmp_path / "a.png")
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")
    with pytest.raises(BadInput, match="cannot be written"):
        draw([panel], tmp_path / "nowhere" / "a.png")


def test_hours_of_a_png_are_those_of_the_shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half past ten in Greenwich in winter is half past four in the afternoon at UTC+6."""
    dates, figure = pytest.importorskip("matplotlib.dates"), pytest.importorskip("matplotlib.figure")
    drawn: list[Any] = []
    monkeypatch.setattr(figure.Figure, "savefig", lambda self, *_, **__: drawn.append(self))
    with monkeypatch.context() as put:
        put.setenv("TZ", "XXX-6")
        time.tzset()
        at = datetime(2025, 1, 2, 10, 30, tzinfo=UTC)
        draw([Panel("a", [at, at + timedelta(hours=3)], [1.0, 2.0], [None, None], [])], tmp_path / "a.png")
        axes = drawn[0].axes[0]
        marks = dict(zip(axes.get_xticks(), (t.get_text() for t in axes.get_xticklabels()), strict=True))
    time.tzset()
    assert marks[dates.date2num(at)].endswith("16:30")


def test_losses_come_from_readings_and_additions(desk: Desk) -> None:
    """8 L of water a day into 200 L held full: 320 L lost in 40 days while concentrate grew by 8 L.

    Mass balance by hand: more concentrate than before cannot have evaporated or been carried off, so all of
    the loss is water and the book does not add up; both are said.
    """
    seen = outlook(desk, "m1")
    assert seen.holding is not None
    assert seen.holding.loss_per_day_l == pytest.approx(8.0)
    assert "plain water" in " ".join(lines(desk, seen))


def test_what_the_sheet_allows_in_the_sump_goes_before_its_mixing_water(tmp_path: Path) -> None:
    """A product for water up to 350 ppm that stands 900 ppm in use is not over its limit at 500."""
    desk = desk_at(tmp_path)
    desk.shop.products["p"]["limits"] = {"water_hardness": [50.0, 350.0], "sump_hardness": 900.0}
    assert hardness_limit(desk, "m1") == 900.0
    del desk.shop.products["p"]["limits"]["sump_hardness"]
    assert hardness_limit(desk, "m1") == 350.0


def test_a_hardness_limit_is_crossed_when_the_balance_says(tmp_path: Path) -> None:
    """200 L, 10 L of water of 200 mg/L a day, all evaporating: 10 mg/L a day; from 250 to 350 in 10 days."""
    desk = desk_at(tmp_path)
    desk.shop.products["p"]["limits"] = {"water_hardness": [50.0, 350.0]}
    desk.shop.sumps["m1"]["figures"]["water_hardness"] = 200.0
    keep(desk, *(reading("concentration", 0.08, 10 - n) for n in range(10)))
    keep(desk, reading("sump_hardness", 250.0, 0))
    added = [record("addition", "m1", day(9.5 - n), {"litres": 10.0, "strength": 0.0}) for n in range(9)]
    desk.book.enter((), added, time=desk.time, who="op", how="line")
    seen = outlook(desk, "m1")
    assert (seen.hardness_limit, seen.hardness_day) == (350.0, pytest.approx(10.0, abs=0.05))


def test_a_steady_fall_of_ph_dates_the_change(tmp_path: Path) -> None:
    """0.02 a day from 9.2 (sheet); at 8.8 now, 8.2 (1.0 below) is 30 days off."""
    desk = desk_at(tmp_path)
    keep(desk, *(reading("ph", 9.2 - 0.02 * n, 20 - n) for n in range(21)))
    assert outlook(desk, "m1").dump_days == pytest.approx(30, abs=0.5)


def test_what_cannot_be_told_says_why(tmp_path: Path) -> None:
    """Without additions or a volume there are reasons, not figures."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.0, 1))
    assert any("no two strengths" in line for line in lines(desk, outlook(desk, "m1")))
    desk.shop.sumps["m1"]["figures"].pop("sump_volume")
    assert any("volume is not entered" in line for line in lines(desk, outlook(desk, "m1")))
