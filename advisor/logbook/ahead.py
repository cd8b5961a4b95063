"""What is coming in the next weeks, for the morning screen: charges that run out, hardness too high."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from advisor.logbook.outlook import dump_days, hardness_days, hardness_limit

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.watch import Watched

#: How far ahead the morning looks, days; common practice, no source.
LOOK_AHEAD_DAYS = 60
#: Hardness below this share of its limit is not reckoned out every morning; common practice, no source.
NEAR = 0.6
#: At most so many sumps are reckoned out, the nearest to their limit first.
MOST = 20


@dataclass(frozen=True, slots=True)
class Ahead:
    """What comes: ``change`` of the charge, or ``hardness`` over its limit; in how many days."""

    sump: str
    what: str
    days: float


def ahead(desk: Desk, watched: Iterable[Watched]) -> list[Ahead]:
    """What comes within `LOOK_AHEAD_DAYS`, the soonest first."""
    sumps = list(watched)
    found = [*_changes(desk, sumps), *_hardness(desk, [w for w in sumps if not w.idle_since])]
    return sorted((one for one in found if one.days <= LOOK_AHEAD_DAYS), key=lambda one: one.days)


def _changes(desk: Desk, watched: Iterable[Watched]) -> Iterator[Ahead]:
    for one in watched:
        state = dict(one.drifting).get("ph")
        days = dump_days(desk, one.sump, state) if state is not None else None
        if days is not None and not (one.fall and one.fall.answer == "dump"):
            yield Ahead(one.sump, "change", days)


def _hardness(desk: Desk, watched: Iterable[Watched]) -> Iterator[Ahead]:
    near = []
    for one in watched:
        limit = hardness_limit(desk, one.sump) if one.hardness is not None else None
        if one.hardness is not None and limit and NEAR * limit <= one.hardness.result <= limit:
            near.append((one.hardness.result / limit, one.sump))
    for _, sump in sorted(near, reverse=True)[:MOST]:
        days = hardness_days(desk, sump)
        if days is not None:
            yield Ahead(sump, "hardness", days)
