"""Is a series drifting, has it jumped, and between which limits does it move: robust, standard library only.

Slope: median of the slopes of all pairs (Theil 1950, Sen 1968); whether it is more than chance: the sign
test on pairs (Mann 1945, Kendall 1975); spread: median absolute deviation times 1.4826, which equals
the standard deviation for normal noise; a jump: cumulative sums (Page 1954) with allowance 0.5 and
decision limit 5 standard deviations. All from memory, unverified.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from math import sqrt
from statistics import median

#: Readings that a trend looks at: the last ones of this charge.
LOOK_BACK = 30
#: Fewest readings a trend is told from; common practice, no source.
FEWEST = 5
#: Two-sided 95 % point of the normal distribution.
SURE = 1.96
SD_OF_MAD = 1.4826
ALLOWANCE, DECISION = 0.5, 5.0


@dataclass(frozen=True, slots=True)
class Drift:
    """What a series does.

    Attributes:
        slope: per day.
        change: slope times the days looked at.
        sure: whether the direction is more than chance (95 %).
        middle: median; `low`, `high`: the line the series follows now, give or take three of its
            standard deviations.
        jump: index of the first reading after a lasting change of level, None when there is none.
        count: how many readings it stands on.
    """

    slope: float
    change: float
    sure: bool
    middle: float
    low: float
    high: float
    jump: int | None
    count: int


def drift(days: Sequence[float], values: Sequence[float], least: float = 0.0) -> Drift | None:
    """The drift of a series, or None when there are fewer than `FEWEST` readings or no time passed.

    Args:
        days: times in days, rising.
        values: the readings.
        least: smallest standard deviation to reckon with, in the unit of the values: what the
            instrument itself wanders, so that equal readings do not make the limits close up.
    """
    count = len(values)
    if count < FEWEST or days[-1] <= days[0]:
        return None
    slope, ups, ties = _slope(days, values)
    rest = [value - slope * (day - days[-1]) for day, value in zip(days, values, strict=True)]
    now = median(rest)
    spread = max(SD_OF_MAD * median(abs(value - now) for value in rest), least)
    sd_of_sum = sqrt((count * (count - 1) * (2 * count + 5) - ties) / 18.0) or 1.0
    sure = abs(ups) - 1 > SURE * sd_of_sum
    return Drift(
        slope=slope,
        change=slope * (days[-1] - days[0]),
        sure=sure,
        middle=median(values),
        low=now - 3 * spread,
        high=now + 3 * spread,
        jump=_jump(values, least, sum(abs(value - now) for value in rest)),
        count=count,
    )


def _jump(values: Sequence[float], least: float, beside_line: float) -> int | None:
    """A change point that tells the series better than the line does: a steady drift is no jump."""
    at = change_point(values, least)
    if at is None or at < 1:
        return None
    parts = (values[:at], values[at:])
    beside_steps = sum(abs(value - median(part)) for part in parts for value in part)
    return at if beside_steps < beside_line else None


def _slope(days: Sequence[float], values: Sequence[float]) -> tuple[float, int, float]:
    """Median slope of all pairs; how many more rise than fall; the tie term of the test's variance."""
    pairs = list(combinations(zip(days, values, strict=True), 2))
    slopes = [(after - value) / (later - day) for (day, value), (later, after) in pairs if later > day]
    ups = sum([(after > value) - (after < value) for (_, value), (_, after) in pairs])
    groups: dict[float, int] = {}
    for value in values:
        groups[value] = groups.get(value, 0) + 1
    ties = sum(t * (t - 1) * (2 * t + 5) for t in groups.values() if t > 1)
    return (median(slopes) if slopes else 0.0), ups, float(ties)


def change_point(values: Sequence[float], least: float = 0.0) -> int | None:
    """Index of the first reading at a new level, or None.

    The level to compare with is the median of the first half (five at least); the spread is that of
    the steps from reading to reading, which a jump hardly touches.
    """
    if len(values) < 2 * FEWEST:
        return None
    start = values[: max(FEWEST, len(values) // 2)]
    level = median(start)
    steps = [abs(b - a) for a, b in pairwise(values)]
    sd = max(SD_OF_MAD * median(steps) / sqrt(2.0), least)
    if sd <= 0.0:
        return next((i for i, value in enumerate(values) if i >= FEWEST and value != level), None)
    up = down = 0.0
    up_from = down_from = 0
    for i, value in enumerate(values):
        scaled = (value - level) / sd
        up, up_from = _next_sum(up, scaled, up_from, i)
        down, down_from = _next_sum(down, -scaled, down_from, i)
        if up > DECISION and i - up_from >= 2:
            return up_from
        if down > DECISION and i - down_from >= 2:
            return down_from
    return None


def _next_sum(total: float, scaled: float, began: int, here: int) -> tuple[float, int]:
    """The cumulative sum after one more reading, and where its present run began."""
    after = max(0.0, total + scaled - ALLOWANCE)
    return after, (here if total == 0.0 else began)
