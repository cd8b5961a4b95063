"""The top-up strength that keeps a sump on target, worked out from its log.

Evaporation takes water, parts and chips take mix. What is topped up must replace both, so its strength is
the target times the share that leaves as mix. Source: mass balance.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from advisor.errors import BadInput
from advisor.mixing.display import METRIC, Display
from advisor.mixing.spread import Estimate, estimate

READ_SD = 0.003
"""Standard uncertainty of one strength in the log, a fraction; common practice, no source."""

TOPPED_SD = 0.05
"""Relative standard uncertainty of what was topped up; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Log:
    """What happened to one sump between two readings.

    Attributes:
        volume_l: working volume when full, litres.
        strength_before, strength_after: fractions.
        topped_l: litres topped up in between.
        topped_strength: strength of that, a fraction (0 for plain water).
        days: days in between.
        fill_before, fill_after: levels as shares of full.
    """

    volume_l: float
    strength_before: float
    strength_after: float
    topped_l: float
    topped_strength: float = 0.0
    days: float = 7.0
    fill_before: float = 1.0
    fill_after: float = 1.0


@dataclass(frozen=True, slots=True)
class Holding:
    """How to hold a sump.

    Attributes:
        top_up: strength of the coming top-ups, a fraction, with its uncertainty.
        evaporated_share: evaporated part of the loss, with its uncertainty.
        loss_per_day_l: litres lost in a day.
        warnings: sentences.
    """

    top_up: Estimate
    evaporated_share: Estimate
    loss_per_day_l: float
    warnings: tuple[str, ...]


def keep_strength(target: float, evaporated_share: float) -> float:
    """Top-up strength that keeps the target: T*(1 - phi). 6 % with 24 of 40 L evaporated: 2.4 %."""
    return target * (1.0 - evaporated_share)


def hold(target: float, entry: Log, show: Display = METRIC) -> Holding:
    """The top-up strength that keeps `target`, from a log entry.

    Concentrate carried off = what was in + what was topped up - what is left; over the mean strength (the
    logarithmic mean, exact for a sump held level) that is the mix carried off; the rest evaporated.

    Raises:
        BadInput: volumes, levels, days or strengths that cannot be, or nothing lost in between.
    """
    _check(target, entry)

    def evaporated(before: float, after: float, topped: float) -> float:
        start_l, end_l = entry.volume_l * entry.fill_before, entry.volume_l * entry.fill_after
        lost = topped + start_l - end_l
        carried = start_l * before + topped * entry.topped_strength - end_l * after
        return 1.0 - carried / _mean(before, after) / lost

    read_b, read_a = Estimate(entry.strength_before, READ_SD), Estimate(entry.strength_after, READ_SD)
    topped = Estimate(entry.topped_l, entry.topped_l * TOPPED_SD)
    share = estimate(evaporated, read_b, read_a, topped)
    top_up = Estimate(keep_strength(target, share.value), target * share.sd)
    lost = entry.topped_l + entry.volume_l * (entry.fill_before - entry.fill_after)
    return Holding(top_up, share, lost / entry.days, _warnings(target, top_up, share, show))


def _warnings(target: float, top_up: Estimate, share: Estimate, show: Display) -> tuple[str, ...]:
    out: list[str] = []
    if top_up.high - top_up.low > target:
        out.append(
            "The readings are too close in time, or too little was topped up between them. Take a longer "
            "stretch of the log."
        )
    if top_up.value > target:
        out.append(
            f"That is richer than the target of {show.strength(target)}: strength leaves faster than volume "
            "does. Look for water getting in, concentrate taken off with the skimmed oil, or a reading that "
            "is off."
        )
    elif top_up.value < 0.005:
        out.append(
            "That is plain water: all of the loss seems to evaporate. Minerals then pile up; use "
            "low-mineral water, and read weekly."
        )
    if share.value > 1.0 + share.sd or share.value < -share.sd:
        out.append("The log does not add up: check the readings, the levels and what was topped up.")
    return tuple(out)


def _mean(first: float, second: float) -> float:
    """Logarithmic mean of two strengths."""
    if first <= 0.0 or second <= 0.0 or abs(first - second) < 1e-9:
        return (first + second) / 2.0
    return (first - second) / log(first / second)


def _check(target: float, entry: Log) -> None:
    for name in ("volume_l", "days", "topped_l"):
        if not 0.0 < getattr(entry, name) < 1e9:
            value = getattr(entry, name)
            raise BadInput(
                f"{value:g} is not possible", place=name, value=value, right="give a number above 0"
            )
    for name in ("strength_before", "strength_after"):
        if not 0.0 < getattr(entry, name) < 1.0:
            value = getattr(entry, name)
            raise BadInput(
                f"a strength of {value:.1%} tells nothing about losses",
                place=name,
                value=value,
                right="give a strength above 0 % and below 100 %",
            )
    for name in ("fill_before", "fill_after"):
        if not 0.0 < getattr(entry, name) <= 1.0:
            value = getattr(entry, name)
            raise BadInput(
                f"a fill of {value:.0%} is not possible", place=name, value=value, right="give 1 to 100 %"
            )
    if not 0.0 < target < 1.0:
        raise BadInput(
            f"a target of {target:.1%} is not possible",
            place="target",
            value=target,
            right="give the strength from the data sheet",
        )
    if entry.topped_l + entry.volume_l * (entry.fill_before - entry.fill_after) <= 1e-9:
        raise BadInput(
            "nothing was lost between the two readings",
            place="fill_after",
            value=entry.fill_after,
            right="a log needs a loss: levels that fell, or something topped up",
        )
