"""What the morning says about the weeks to come."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.logbook.ahead import ahead
from advisor.logbook.desk import Desk
from advisor.logbook.morning import lines, morning
from advisor.logbook.readings import FIRST_FILL
from advisor.logbook.records import record
from advisor.logbook.watch import Watch
from tests.logbook.readings_desk import day, desk_at, keep, made_shop, reading


def seen(desk: Desk) -> list[tuple[str, str, int]]:
    """What comes, in whole days."""
    return [(one.sump, one.what, round(one.days)) for one in ahead(desk, Watch(desk).all())]


@pytest.mark.parametrize(("a_day", "days"), [(0.02, 20), (0.01, None), (0.0, None)])
def test_a_falling_ph_tells_when_the_charge_ends(a_day: float, days: int | None, tmp_path: Path) -> None:
    """From 9.4 down: the change is due 1.0 below the first fill (DGUV Regel 109-003, Annex 3, row 2)."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.4, 30, mark=FIRST_FILL))
    keep(desk, *(reading("ph", round(9.4 - a_day * (30 - n), 3), n) for n in range(28, -1, -2)))
    assert seen(desk) == ([("m1", "change", days)] if days else [])


def hard_shop(limit: float) -> dict[str, object]:
    """A shop whose product stands this much hardness, on water of 200 ppm."""
    shop = made_shop()
    shop["products"][0]["limits"] = {"water_hardness": [0.0, limit]}
    for sump in shop["sumps"]:
        sump["figures"]["water_hardness"] = 200.0
    return shop


@pytest.mark.parametrize(("limit", "comes"), [(450.0, True), (5000.0, False), (100.0, False)])
def test_hardness_near_its_limit_is_told(limit: float, comes: bool, tmp_path: Path) -> None:
    """Only from six tenths of the limit on; what is over it already is out of limits, not ahead."""
    desk = desk_at(tmp_path, hard_shop(limit))
    keep(desk, reading("concentration", 0.07, 20), reading("concentration", 0.075, 1))
    keep(desk, reading("sump_hardness", 400.0, 1))
    added = {"litres": 100.0, "strength": 0.01, "product": "p"}
    desk.book.enter((), [record("addition", "m1", day(10), added)], time=desk.time, who="x", how="line")
    assert [what for _, what, _ in seen(desk)] == (["hardness"] if comes else [])


def test_the_morning_screen_says_so(tmp_path: Path) -> None:
    """With the day, in the screen's own part."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.4, 30, mark=FIRST_FILL))
    keep(desk, *(reading("ph", round(9.4 - 0.02 * (30 - n), 3), n) for n in range(28, -1, -2)))
    told = " ".join(" ".join(lines(desk, morning(desk))).split())
    assert "LOOKING AHEAD M1: a change is due about 2025-03-24" in told
