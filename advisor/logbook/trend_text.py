"""A series as a plot of plain characters, 79 columns wide, and what it says in a sentence or two."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.logbook.moments import days_between, moment
from advisor.logbook.reading_lines import judged, limit_text, printable
from advisor.logbook.series import LETTERS, Series
from advisor.showing import show

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

LEFT, WIDTH, ROWS = 9, 69, 12


def plot(desk: Desk, seen: Series) -> list[str]:
    """The plot: ``o`` within limits, ``X`` outside, dashes for limits, letters for events below."""
    low, high = seen.span
    grid = [[" "] * WIDTH for _ in range(ROWS)]

    def row(value: float) -> int:
        return min(ROWS - 1, max(0, round((high - value) / (high - low) * (ROWS - 1))))

    begin, end = seen.readings[0].time, max(desk.time, seen.readings[-1].time)
    length = days_between(begin, end) or 1.0

    def column(time: str) -> int:
        return min(WIDTH - 1, max(0, round(days_between(begin, time) / length * (WIDTH - 1))))

    labels = {0: _axis(high, seen.unit), ROWS - 1: _axis(low, seen.unit)}
    for limit in (seen.limit.low, seen.limit.high):
        if limit is not None:
            labels[row(limit)] = _axis(limit, seen.unit)
            grid[row(limit)] = ["-"] * WIDTH
    for reading in seen.readings:
        if reading.result is not None:
            breach = seen.limit.breach(reading.result)
            place = grid[row(reading.result)]
            if place[column(reading.time)] != "X":
                place[column(reading.time)] = "X" if breach else "o"
    marks = [" "] * WIDTH
    for event in seen.events:
        marks[column(event.time)] = event.letter
    made = [printable(f"{seen.name}: {seen.title}, {len(seen.readings)} readings")]
    made += [f"{labels.get(n, ''):>{LEFT - 1}} |{''.join(line)}".rstrip() for n, line in enumerate(grid)]
    if seen.events:
        made.append(" " * LEFT + "|" + "".join(marks).rstrip())
    first, last = (f"{moment(t).astimezone(desk.now.tzinfo):%Y-%m-%d}" for t in (begin, end))
    made.append(" " * (LEFT + 1) + first + last.rjust(WIDTH - len(first)))
    letters = dict.fromkeys(event.letter for event in seen.events)
    legend = ["o reading", "X outside the limit", "- limit", *(f"{x} {LETTERS[x]}" for x in letters)]
    made.append(" " * (LEFT + 1) + ", ".join(legend))
    return made


def _axis(value: float, unit: str) -> str:
    text = show(value, unit, digits=1 if unit == "fraction" else None).removeprefix("pH ")
    return text[: LEFT - 1]


def sentences(desk: Desk, seen: Series) -> list[str]:
    """What the series says: the last reading, its limit and source, and how it moves."""
    last = seen.readings[-1]
    how = judged(last, seen.unit)
    figure = show(last.result or 0.0, seen.unit)
    made = [f"Last: {figure}" + (f", {how} when it was read" if how else "") + "."]
    if seen.limit.source:
        made.append(f"Limit now: {limit_text(seen.limit, seen.unit)} ({seen.limit.source}).")
    moves = seen.moves
    if moves is None:
        made.append("Too few readings of this charge to tell a trend.")
    else:
        made.append(_movement(seen, moves.slope, moves.sure, moves.count))
        low, high = (show(v, seen.unit).removeprefix("pH ") for v in (moves.low, moves.high))
        made.append(f"By its own scatter the next reading should lie between {low} and {high}.")
        if moves.jump is not None:
            readings = seen.readings[-moves.count :]
            when = moment(readings[moves.jump].time).astimezone(desk.now.tzinfo)
            made.append(f"At another level since {when:%Y-%m-%d}.")
    if seen.others:
        made.append(f"{len(seen.others)} figures put down without measuring are left out.")
    return made


def _movement(seen: Series, slope: float, sure: bool, count: int) -> str:
    if not sure:
        return f"No trend beyond chance in the last {count} readings."
    way = "rising" if slope > 0 else "falling"
    week = show(abs(slope) * 7, seen.unit, digits=2).removeprefix("pH ")
    week = week.replace(" %", " points") if seen.unit == "fraction" else week
    return f"It is {way}, about {week} a week (last {count} readings, more than chance)."
