"""Trends that one wrong reading cannot turn, and jumps."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from scipy import stats

from advisor.logbook import states
from advisor.logbook.drift import FEWEST, change_point, drift
from advisor.logbook.readings import FIRST_FILL, NOT_MEASURED
from tests.logbook.readings_desk import desk_at, keep, reading


@pytest.mark.parametrize("seed", range(5))
def test_the_slope_is_that_of_a_reference(seed: int) -> None:
    """Theil-Sen as SciPy has it."""
    rng = random.Random(seed)
    days = sorted(rng.uniform(0, 60) for _ in range(20))
    values = [9.0 - 0.01 * day + rng.gauss(0, 0.1) for day in days]
    found = drift(days, values)
    assert found is not None
    assert found.slope == pytest.approx(stats.theilslopes(values, days)[0])


def test_the_direction_is_tested_as_a_reference_does() -> None:
    """The sign test agrees with Kendall's tau (SciPy, asymptotic) away from the limit of 5 %."""
    rng = random.Random(1)
    agree = 0
    for _ in range(200):
        slope = rng.choice((0.0, 0.01, 0.03))
        values = [slope * n + rng.gauss(0, 0.2) for n in range(15)]
        found = drift(list(range(15)), values)
        p = stats.kendalltau(range(15), values, method="asymptotic").pvalue
        assert found is not None
        agree += found.sure == (p < 0.05) or 0.03 < p < 0.07
    assert agree == 200


def test_a_few_wrong_readings_do_not_turn_it() -> None:
    """Three wild readings among twenty leave the slope near what it was."""
    values = [9.2 - 0.02 * n for n in range(20)]
    for place in (3, 9, 15):
        values[place] += 2.0
    found = drift(list(range(20)), values)
    assert found is not None
    assert found.slope == pytest.approx(-0.02, abs=0.01)
    assert found.sure


def test_still_series_seldom_drift() -> None:
    """Of 400 series of pure noise, no more than about one in twenty is called a drift."""
    rng = random.Random(2)
    series = [[rng.gauss(9, 0.1) for _ in range(15)] for _ in range(400)]
    called = [drift(list(range(15)), values) for values in series]
    assert sum(found.sure for found in called if found) <= 28


@pytest.mark.parametrize("step", [0.6, -0.6])
def test_a_jump_is_found_where_it_was(step: float) -> None:
    """A lasting change of level is dated to its first reading, give or take one."""
    rng = random.Random(3)
    values = [9.0 + rng.gauss(0, 0.05) + (step if n >= 12 else 0) for n in range(20)]
    found = change_point(values, 0.05)
    assert found is not None
    assert abs(found - 12) <= 1


def test_noise_alone_seldom_jumps() -> None:
    """Of 300 still series, at most one in ten is said to have jumped."""
    rng = random.Random(4)
    series = [[rng.gauss(9, 0.1) for _ in range(20)] for _ in range(300)]
    assert sum(change_point(values, 0.1) is not None for values in series) <= 30


@pytest.mark.parametrize("count", [0, 1, FEWEST - 1])
def test_too_few_readings_tell_nothing(count: int) -> None:
    """And neither do readings all taken at one time."""
    assert drift(list(range(count)), [9.0] * count) is None
    assert drift([0.0] * 8, [9.0] * 8) is None


def test_a_state_follows_measured_readings_of_this_charge(tmp_path: Path) -> None:
    """A first fill begins anew; what was not measured counts for nothing."""
    desk = desk_at(tmp_path)
    keep(desk, *(reading("ph", 9.5 - 0.1 * n, 40 - n) for n in range(12)))
    assert desk.book.states()["m1", "ph"].drifting == "falling"
    keep(desk, reading("ph", 9.3, 5, mark=FIRST_FILL), reading("ph", 9.2, 3))
    keep(desk, reading("ph", 5.0, 1, mark=NOT_MEASURED))
    state = desk.book.states()["m1", "ph"]
    assert (state.result, state.first, state.recent, state.drifting) == (9.2, 9.3, [9.3, 9.2], "")


def test_a_state_is_what_the_readings_say(tmp_path: Path) -> None:
    """Made anew from nothing, every state is the same, also after corrections out of order."""
    desk = desk_at(tmp_path)
    rng = random.Random(5)
    for _ in range(30):
        keep(desk, reading("ph", round(rng.gauss(9, 0.2), 1), rng.uniform(0, 60)))
    keep(desk, reading("ph", 9.9, 70, corrects=4))
    before = desk.book.states()
    with desk.store.writing() as db:
        db.execute("DELETE FROM sump_states")
        states.refresh(db, {("m1", "ph")})
    assert desk.book.states() == before
