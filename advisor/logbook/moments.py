"""Times as people write and read them; inside they are ISO-8601 UTC text."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from advisor.errors import BadInput

_DATE = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})|(\d{1,2})[./](\d{1,2})[./](\d{4}|\d{2})(?!\d)")
_CLOCK = re.compile(r"(\d{1,2})[:.h](\d{2})(?::(\d{2}))?")
RIGHT = "Write it like 2025-03-04 06:10, 06:10 for today, or yesterday."


def stamp(moment: datetime) -> str:
    """A moment as the logbook keeps it."""
    return f"{moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec='seconds')}Z"


def moment(time: str) -> datetime:
    """The logbook's time as a moment in UTC."""
    return datetime.fromisoformat(time)


def read_time(text: str, now: datetime, *, day_first: bool = True) -> str:
    """A time as written, in the shop's local time, as the logbook keeps it.

    Args:
        text: ``2025-03-04``, ``04.03.2025 06:10``, ``06:10``, ``yesterday 14:00``, or ISO-8601.
        now: the present, with its time zone; a clock alone is today's, a date alone is noon.
        day_first: whether 04/03/2025 is the fourth of March.

    Raises:
        BadInput: it is no time, or lies in the future.
    """
    said = text.strip()
    try:
        if "T" in said and len(said) >= 16:
            full = datetime.fromisoformat(said)
            made = full if full.tzinfo else full.replace(tzinfo=now.tzinfo)
        else:
            made = _local(said, now, day_first)
    except ValueError:
        raise BadInput(f"{text!r} is not a time", value=text, right=RIGHT) from None
    if made > now + timedelta(minutes=5):
        raise BadInput(f"{text} has not come yet", value=text, right="Give the time it was measured.")
    return stamp(made)


def _local(said: str, now: datetime, day_first: bool) -> datetime:
    day = now
    rest = said.casefold()
    clock = (12, 0, 0)
    found = _DATE.search(rest)
    for word, back in (("yesterday", 1), ("gestern", 1), ("today", 0), ("heute", 0)):
        if rest.startswith(word):
            day, rest = now - timedelta(days=back), rest.removeprefix(word)
            break
    else:
        if found:
            if found[1]:
                year, month, date = int(found[1]), int(found[2]), int(found[3])
            else:
                first, second, year = int(found[4]), int(found[5]), int(found[6])
                year += 2000 if year < 100 else 0
                month, date = (second, first) if day_first else (first, second)
            day, rest = now.replace(year=year, month=month, day=date), rest.replace(found[0], " ", 1)
    told = _CLOCK.search(rest)
    if told:
        clock = (int(told[1]), int(told[2]), int(told[3] or 0))
        rest = rest.replace(told[0], " ", 1)
    elif day.date() == now.date():
        if rest.strip() or not said:
            raise ValueError(said)
        return now
    if rest.strip(" ,.at"):
        raise ValueError(said)
    return day.replace(hour=clock[0], minute=clock[1], second=clock[2], microsecond=0)


def show_day(time: str, now: datetime) -> str:
    """A time as a person reads it, in the shop's local time: 06:10, yesterday 06:10, or the date."""
    local = moment(time).astimezone(now.tzinfo)
    days = (now.date() - local.date()).days
    if days == 0:
        return f"{local:%H:%M}"
    return f"yesterday {local:%H:%M}" if days == 1 else f"{local:%Y-%m-%d}"


def days_between(earlier: str, later: str) -> float:
    """Days from one time of the logbook to another."""
    return (moment(later) - moment(earlier)).total_seconds() / 86_400
