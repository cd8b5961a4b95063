"""What the book says about the weeks to come: top-up strength, hardness, the end of the charge."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput
from advisor.logbook.moments import days_between
from advisor.logbook.readings import FIRST_FILL, Reading
from advisor.logbook.states import State
from advisor.logbook.watch import fall_steps
from advisor.mixing.holding import Holding, Log, hold
from advisor.mixing.water import build_up
from advisor.showing import show, volume

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: A stretch of the book shorter than this tells little about losses; common practice, no source.
SHORTEST_DAYS = 5.0
LONGEST_DAYS = 60.0
#: A date further off than this is not told.
FAR_DAYS = 730


@dataclass(frozen=True, slots=True)
class Outlook:
    """What can be told from the book; None where it holds too little, with the reason in `missing`."""

    holding: Holding | None
    hardness_day: float | None
    hardness_limit: float | None
    dump_days: float | None
    missing: tuple[str, ...]


def outlook(desk: Desk, sump: str) -> Outlook:
    """Look ahead for one sump."""
    missing: list[str] = []
    held = _holding(desk, sump, missing)
    day, limit = _hardness(desk, sump, held, missing) if held else (None, None)
    ph = desk.book.states(sump).get((sump, "ph"))
    return Outlook(held, day, limit, dump_days(desk, sump, ph), tuple(missing))


def holding(desk: Desk, sump: str) -> Holding | None:
    """What the log tells of a sump's losses and the top-up that would hold it; None where it tells none."""
    return _holding(desk, sump, [])


def lines(desk: Desk, seen: Outlook) -> list[str]:
    """The outlook as sentences."""
    made = []
    if seen.holding:
        evaporated = min(1.0, max(0.0, seen.holding.evaporated_share.value))
        lost = volume(seen.holding.loss_per_day_l, desk.system)
        made.append(
            f"Loses {lost} a day, about {100 * evaporated:.0f} % of it by evaporation (from readings and "
            "what was added)."
        )
        aim = max(0.0, seen.holding.top_up.value)
        low, high = max(0.0, seen.holding.top_up.low), max(0.0, seen.holding.top_up.high)
        span = f"{100 * low:.1f} to {100 * high:.1f} %"
        made.append(f"Topping up at {show(aim, 'fraction')} ({span}) would hold its strength.")
        made += list(seen.holding.warnings)
    if seen.hardness_limit is not None:
        limit = show(seen.hardness_limit, "mg/L CaCO3")
        if seen.hardness_day is None:
            made.append(f"Hardness stays under the product's {limit} with this water.")
        elif seen.hardness_day <= 0:
            made.append(f"Hardness is over the product's {limit} already.")
        else:
            when = desk.now + timedelta(days=seen.hardness_day)
            made.append(f"Hardness crosses the product's {limit} about {when:%Y-%m-%d}.")
    if seen.dump_days is not None:
        when = desk.now + timedelta(days=seen.dump_days)
        made.append(f"If pH goes on falling like this, the charge is due for a change about {when:%Y-%m-%d}.")
    return made + [f"Not told: {reason}." for reason in seen.missing]


def _holding(desk: Desk, sump: str, missing: list[str]) -> Holding | None:
    size = desk.limits.volume(sump)
    if size is None:
        missing.append("losses and top-up strength (the sump's volume is not entered)")
        return None
    stretch = _stretch(desk, sump)
    if stretch is None:
        missing.append(f"losses and top-up strength (no two strengths {SHORTEST_DAYS:g} days apart)")
        return None
    first, last = stretch
    added = desk.book.records("addition", sump, since=first.time, until=last.time)
    known = [r.data for r in added if r.data.get("strength") is not None]
    if len(known) < len(added) or not known:
        missing.append("losses and top-up strength (what was added in between is not all recorded)")
        return None
    litres = sum(data["litres"] for data in known)
    carried = sum(data["litres"] * data["strength"] for data in known)
    limit = desk.limits.of(sump, "concentration")
    aim = desk.shop.sumps[sump].get("aim") or ((limit.low or 0.0) + (limit.high or 0.0)) / 2
    before, after = (_fill_at(desk, sump, r.time) for r in (first, last))
    entry = Log(
        volume_l=size,
        strength_before=first.result or 0.0,
        strength_after=last.result or 0.0,
        topped_l=litres,
        topped_strength=carried / litres if litres else 0.0,
        days=days_between(first.time, last.time),
        fill_before=before,
        fill_after=after,
    )
    try:
        return hold(aim, entry)
    except BadInput as trouble:
        missing.append(f"losses and top-up strength ({trouble.what})")
        return None


def _stretch(desk: Desk, sump: str) -> tuple[Reading, Reading] | None:
    """The longest stretch of this charge, at most `LONGEST_DAYS`, that ends with the last strength."""
    held = [r for r in desk.book.of(sump, "concentration", limit=90) if r.measured]
    begin = max((i for i, r in enumerate(held) if r.mark == FIRST_FILL), default=0)
    held = held[begin:]
    for first in held[:-1]:
        if SHORTEST_DAYS <= days_between(first.time, held[-1].time) <= LONGEST_DAYS:
            return first, held[-1]
    return None


def _fill_at(desk: Desk, sump: str, time: str) -> float:
    """Level at a time: the reading of the same day, else full."""
    near = [r for r in desk.book.of(sump, "sump_fill") if abs(days_between(r.time, time)) < 0.5]
    return min(1.0, near[-1].result or 1.0) if near else 1.0


def _hardness(
    desk: Desk, sump: str, held: Holding, missing: list[str]
) -> tuple[float | None, float | None]:
    row = desk.shop.sumps[sump]
    limit = hardness_limit(desk, sump)
    general = desk.shop.shop.get("figures", {}).get("water_hardness")
    water = row.get("figures", {}).get("water_hardness", general)
    last = desk.book.of(sump, "sump_hardness", limit=1)
    size = desk.limits.volume(sump)
    if limit is None or water is None or not last or size is None:
        missing.append("hardness (it needs the product's limit, that of the water, and one of the sump)")
        return None, None
    share = min(1.0, max(0.0, held.evaporated_share.value))
    lost = held.loss_per_day_l
    made = build_up(size, last[0].result or 0.0, float(water), lost * share, lost * (1 - share), 0.0, limit)
    passed = days_between(last[0].time, desk.time)
    day = None if made.day_over is None or made.day_over > FAR_DAYS else max(0.0, made.day_over - passed)
    return day, limit


def hardness_days(desk: Desk, sump: str) -> float | None:
    """Days until the sump's hardness crosses its product's limit; None where that is not told or far off."""
    held = _holding(desk, sump, [])
    return _hardness(desk, sump, held, [])[0] if held else None


def hardness_limit(desk: Desk, sump: str) -> float | None:
    """The hardness that the sump's product stands, mg/L as CaCO3; None where it is not entered.

    What its data sheet allows in the sump goes first; where it says only which mixing water the product
    stands, that is the limit.
    """
    row = desk.shop.sumps.get(sump, {})
    product: dict[str, Any] = desk.shop.products.get(row.get("product") or "", {})
    limits = product.get("limits", {})
    ends = limits.get("sump_hardness", limits.get("water_hardness"))
    return None if ends is None else float(ends[1] if isinstance(ends, list) else ends)


def dump_days(desk: Desk, sump: str, state: State | None) -> float | None:
    """Days until pH has fallen by what calls for a change, if it goes on as it does."""
    if state is None or state.drifting != "falling":
        return None
    first = state.first if state.first is not None else desk.limits.first_fill_ph(sump)
    ends = [above for above, answer in fall_steps(desk)[0] if answer == "dump"]
    if first is None or not ends:
        return None
    days = (state.result - (first - ends[0])) / -state.slope - days_between(state.time, desk.time)
    return max(0.0, days) if days <= FAR_DAYS else None
