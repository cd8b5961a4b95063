"""The morning screen: due by region and risk, out of limits, falling, moving, left open."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from advisor.knowledge.loader import rules_folder
from advisor.knowledge.yaml_source import read
from advisor.logbook import intervals
from advisor.logbook.desk import Desk
from advisor.logbook.morning import Morning, lines, morning, morning_json
from advisor.logbook.readings import FIRST_FILL, NOT_MEASURED
from advisor.logbook.records import record
from advisor.logbook.stops import stops
from advisor.logbook.watch import Watched
from tests.logbook.readings_desk import day, desk_at, keep, made_shop, reading


def first(desk: Desk) -> Watched:
    """The first sump as the morning sees it."""
    return morning(desk).sumps[0]


def due(desk: Desk) -> dict[str, float]:
    """The checks due at the first sump, with their interval."""
    return {d.check: d.interval.days for d in first(desk).due}


def looked(desk: Desk, ago: float) -> None:
    """The first sump was looked at, so many days ago."""
    desk.book.enter((), [record("look", "m1", day(ago), {"facts": []})], time=desk.time, who="op", how="line")


def test_the_compiled_intervals_are_their_yaml() -> None:
    """The form the program reads says what the YAML says, and every source is listed in the rules."""
    data = read(Path(intervals.__file__).with_name("intervals.yaml")).data
    assert json.loads(json.dumps(data)) == intervals.intervals()
    listed = read(rules_folder() / "sources.yaml").data["sources"]
    rows = [row for region in data["regions"].values() for row in region.values() if isinstance(row, dict)]
    cited = {ref.partition(",")[0] for row in [*rows, *data["risks"].values()] for ref in row["sources"]}
    assert cited - {"practice", "memory"} <= set(listed)


@pytest.mark.parametrize(
    ("region", "checks"),
    [("de", {"look", "strength", "ph", "nitrite", "tramp_oil"}), ("us", {"look", "strength", "ph"}),
     ("gb", {"look", "strength", "ph", "bacteria", "tramp_oil"})],
)  # fmt: skip
def test_a_new_sump_owes_what_its_region_asks(region: str, checks: set[str], tmp_path: Path) -> None:
    """German rule: nitrite weekly (TRGS 611, 5.3); British: dip slides weekly (HSE); elsewhere neither."""
    assert set(due(desk_at(tmp_path, made_shop(region=region)))) == checks


@pytest.mark.parametrize(("ago", "is_due"), [(6, False), (7, True), (30, True)])
def test_weekly_means_seven_days(ago: float, is_due: bool, tmp_path: Path) -> None:
    """Strength and pH are due on the seventh day (DGUV Regel 109-003, Annex 3)."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.1, ago))
    assert ("ph" in due(desk)) is is_due


def test_a_look_holds_for_its_day(tmp_path: Path) -> None:
    """This morning's look counts; yesterday's does not."""
    desk = desk_at(tmp_path)
    looked(desk, 1)
    assert "look" in due(desk)
    looked(desk, 0.2)
    assert "look" not in due(desk)


@pytest.mark.parametrize(("results", "is_due"), [([8, 5, 3], False), ([8, 5], True), ([8, 11, 3], True),
                                                 ([3, 5, 12], True)])  # fmt: skip
def test_three_low_nitrites_stretch_the_interval(results: list[int], is_due: bool, tmp_path: Path) -> None:
    """After three results under 10 mg/L four weeks are enough; over 10 it is weekly again (TRGS 611, 5.3)."""
    desk = desk_at(tmp_path)
    for place, result in enumerate(results):
        keep(desk, reading("nitrite", result, 10 + 7 * (len(results) - place - 1)))
    assert ("nitrite" in due(desk)) is is_due


def test_what_was_out_is_due_the_next_day(tmp_path: Path) -> None:
    """A strength over its window is named with the limit, and read again tomorrow, not next week."""
    desk = desk_at(tmp_path)
    keep(desk, reading("concentration", 0.13, 1), reading("ph", 9.1, 1))
    seen = first(desk)
    assert [(o.observable, o.side, o.limit.high) for o in seen.out] == [("concentration", "high", 0.10)]
    assert due(desk)["strength"] == 1
    assert "ph" not in due(desk)


def test_a_figure_for_all_meets_no_check(tmp_path: Path) -> None:
    """What was not measured leaves the check due."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.0, 0, mark=NOT_MEASURED))
    assert "ph" in due(desk)


@pytest.mark.parametrize(("now", "answer"), [(8.7, None), (8.6, "alarm"), (8.2, "alarm"), (8.1, "dump")])
def test_a_fall_since_the_first_fill(now: float, answer: str | None, tmp_path: Path) -> None:
    """More than 0.5 and more than 1.0 below 9.2 (DGUV Regel 109-003, Annex 3, row 2); 0.5 itself is not."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 9.2, 30, mark=FIRST_FILL), reading("ph", now, 1))
    found = first(desk).fall
    assert (found.answer if found else None) == answer


def test_the_data_sheet_stands_in_for_a_first_fill(tmp_path: Path) -> None:
    """Without a reading of the new charge, the lower end of the sheet's range is the reference, and said."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 8.6, 1))
    screen = "\n".join(lines(desk, morning(desk)))
    assert "M1: pH 8.6, down 0.6 from 9.2 (data sheet)" in screen


def test_a_drifting_sump_is_named(tmp_path: Path) -> None:
    """A steady climb shows as moving, with how much and since when."""
    desk = desk_at(tmp_path)
    keep(desk, *(reading("concentration", 0.07 + 0.001 * n, 20 - n) for n in range(15)))
    screen = "\n".join(lines(desk, morning(desk)))
    assert "M1: strength rising, by 1.4 points since 2025-02-12 (15 readings)" in screen


def opened_case(desk: Desk, *events: tuple[str, dict[str, Any]]) -> int:
    """An open case about M1 with these events."""
    case = desk.store.start_case("AB", day(0.5), {"program": "0", "sump": {"id": "m1", "name": "M1"}})
    for kind, data in events:
        desk.store.append(case, kind, data, time=day(0.25), who="AB")
    return case


RECIPE = {"recipe": {"steps": ["a", "b", "c"], "refused": None, "strength_after": 0.07, "add_l": 50.0,
                     "mix_strength": 0.0, "remove_l": 0.0, "strength_low": 0.068, "strength_high": 0.072,
                     "pails": [{"count": 5, "water_l": 10.0, "concentrate_l": 0.0}]}}  # fmt: skip


def test_the_next_shift_sees_how_far_a_recipe_is(tmp_path: Path) -> None:
    """Three of five pails of 10 L are in when 30 L were recorded; the time is that of the last."""
    desk = desk_at(tmp_path)
    opened_case(desk, ("recipe", RECIPE))
    added = record("addition", "m1", "2025-03-04T06:10:00Z", {"litres": 30.0, "strength": 0.0})
    desk.book.enter((), [added], time=desk.time, who="AB", how="line")
    assert "M1: 3 of 5 pails in, 06:10 (case 1, AB)" in "\n".join(lines(desk, morning(desk)))


def test_ticked_steps_are_counted_where_no_pail_was_recorded(tmp_path: Path) -> None:
    """A recipe with one of three steps done is under way; a case without a recipe is left open."""
    desk = desk_at(tmp_path)
    opened_case(desk, ("recipe", RECIPE), ("step_done", {"step": 0}))
    opened_case(desk)
    screen = "\n".join(lines(desk, morning(desk)))
    assert "M1: 1 of 3 steps done, 06:00 (case 1, AB)" in screen
    assert "M1: case 2, no verdict yet" in screen


def test_a_sump_that_stands_owes_nothing(tmp_path: Path) -> None:
    """From its shutdown until its restart no check is due; it is listed as standing."""
    desk = desk_at(tmp_path)
    desk.book.enter((), [record("idle", "m1", day(3), {"days": 5})], time=desk.time, who="op", how="line")
    assert (first(desk).due, first(desk).idle_since) == ((), day(3))
    desk.book.enter((), [record("restart", "m1", day(1), {})], time=desk.time, who="op", how="line")
    assert first(desk).due != ()


def test_the_screen_fits_and_the_json_agrees(tmp_path: Path) -> None:
    """80 columns, long parts cut with a count, everything in the JSON."""
    desk = desk_at(tmp_path, made_shop(40))
    keep(desk, *(reading("concentration", 0.02, 1, sump=f"m{n}") for n in range(1, 41)))
    seen: Morning = morning(desk)
    screen = lines(desk, seen, why=True)
    assert max(map(len, screen)) < 80
    assert any("and 28 more" in line for line in screen)
    made = morning_json(desk, seen)
    assert len([s for s in made["sumps"] if s["out"]]) == 40


def stopped(desk: Desk, sump: str, caution: str, level: str) -> int:
    """A case that ended with a caution."""
    opened = {"program": "0", "sump": {"name": sump}}
    case = desk.store.start_case("op", day(1), opened)
    told = {"cautions": [{"id": caution, "level": level, "text": "Keep away. Now."}]}
    desk.store.append(case, "shown", told, time=day(1), who="op")
    desk.store.append(case, "closed", {"how": "stopped"}, time=day(1), who="op")
    return case


def test_what_stands_comes_first_and_emergencies_above_all(tmp_path: Path) -> None:
    """A closed case stops its sump yet; what the reading says comes after it."""
    desk = desk_at(tmp_path)
    keep(desk, reading("concentration", 0.03, 1))
    stopped(desk, "M1", "fire", "emergency")
    later = stopped(desk, "M2", "acid_in_the_sump", "stop")

    made = lines(desk, morning(desk))

    assert made[2:5] == ["STOP: NOT PUT RIGHT YET", "  M1: EMERGENCY. Keep away. (case 1, yesterday 12:00)",
                         f"  M2: STOP. Keep away. (case {later}, yesterday 12:00)"]  # fmt: skip


def test_what_is_put_right_in_a_later_case_is_listed_no_more(tmp_path: Path) -> None:
    """Only the one that was said to be dealt with goes."""
    desk = desk_at(tmp_path)
    first, other = (stopped(desk, "M1", "acid_in_the_sump", "stop") for _ in range(2))
    later = stopped(desk, "M1", "bad_smell", "stop")
    lifted = {"cautions": ["acid_in_the_sump"], "carried": [{"case": first, "caution": "acid_in_the_sump"}]}
    desk.store.append(later, "acknowledged", lifted, time=day(0.5), who="op")

    assert [(s["sump"], s["case"]) for s in morning_json(desk, morning(desk))["stops"]] == [
        ("m1", later), ("m1", other)]  # fmt: skip


def test_stops_are_read_in_one_query(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However many cases there are, none is opened one by one."""
    desk = desk_at(tmp_path)
    cases = [stopped(desk, f"M{n}", "acid_in_the_sump", "stop") for n in (1, 2, 1)]
    monkeypatch.setattr(type(desk.store), "events", lambda *_: pytest.fail("a case was opened"))

    assert [one.stop.case for one in stops(desk)] == sorted(cases, reverse=True)
