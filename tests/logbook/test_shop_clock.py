"""Times are told by the clock that hung on the wall at that moment, in summer and in winter."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from advisor.logbook.moments import read_time, show_day
from advisor.showing import HERE, local_time

ZONE = "Europe/Berlin"


@pytest.fixture(autouse=True)
def berlin(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine whose clock changes twice a year."""
    with monkeypatch.context() as put:
        put.setenv("TZ", ZONE)
        time.tzset()
        yield
    time.tzset()


def test_a_reading_of_july_is_told_at_its_own_hour_in_november() -> None:
    """06:10 on a summer morning is 04:10 UTC and stays 06:10; so is what is entered late."""
    winter = datetime(2026, 11, 28, 21, 0, tzinfo=HERE)
    assert local_time("2026-07-15T04:10:00Z") == "2026-07-15 06:10"
    assert read_time("15.07.2026 06:10", winter) == "2026-07-15T04:10:00Z"
    assert read_time("yesterday 06:10", winter) == "2026-11-27T05:10:00Z"
    assert show_day("2026-11-28T05:10:00Z", winter) == "06:10"


def test_every_hour_of_two_years_agrees_with_the_zones_own_table() -> None:
    """The tables of zoneinfo say the same wall time, also in the nights the clock is changed."""
    begin, table = datetime(2025, 1, 1, tzinfo=UTC), ZoneInfo(ZONE)
    for hour in range(2 * 365 * 24):
        moment = begin + timedelta(hours=hour)
        here, there = moment.astimezone(HERE), moment.astimezone(table)
        assert (here.replace(tzinfo=None), here.fold) == (there.replace(tzinfo=None), there.fold)
        assert here.astimezone(UTC) == moment
