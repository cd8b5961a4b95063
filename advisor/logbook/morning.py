"""The morning screen: what was left open, what is out of limits, what moves, what is due."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from advisor.logbook.ahead import Ahead, ahead
from advisor.logbook.case_readings import take_over
from advisor.logbook.changeover import Plan, all_under_way, headline
from advisor.logbook.intervals import intervals, of_shop, region_list
from advisor.logbook.moments import show_day
from advisor.logbook.open_work import OpenAdvice, OpenCase, open_advice, open_cases
from advisor.logbook.reading_lines import limit_text, printable
from advisor.logbook.readings import Record
from advisor.logbook.samples import waiting, waiting_lines
from advisor.logbook.stops import SumpStop, stop_line, stops
from advisor.logbook.watch import Due, Fall, Watch, Watched
from advisor.showing import show

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: Lines of one part of the screen before the rest is only counted.
SHOWN = 12
#: The part that comes before all others and is never cut short.
STOPPED = "STOP: NOT PUT RIGHT YET"


@dataclass(frozen=True, slots=True)
class Morning:
    """Everything the morning screen says."""

    open: tuple[OpenCase, ...]
    open_count: int
    sumps: tuple[Watched, ...]
    samples: tuple[Record, ...] = ()
    changes: tuple[Plan, ...] = ()
    advice: tuple[OpenAdvice, ...] = ()
    ahead: tuple[Ahead, ...] = ()
    stops: tuple[SumpStop, ...] = ()


def morning(desk: Desk) -> Morning:
    """Look over the shop."""
    take_over(desk)
    cases = open_cases(desk)
    with desk.store.reading() as db:
        (count,) = db.execute("SELECT COUNT(*) FROM cases WHERE state = 'open'").fetchone()
    watched = Watch(desk).all({case.sump for case in cases if case.sump})
    return Morning(
        tuple(cases),
        int(count),
        tuple(watched),
        tuple(waiting(desk)),
        tuple(all_under_way(desk)),
        tuple(open_advice(desk)),
        tuple(ahead(desk, watched)),
        tuple(stops(desk)),
    )


def lines(desk: Desk, seen: Morning, *, why: bool = False, everything: bool = False) -> list[str]:
    """The screen as lines, most pressing first.

    Args:
        why: also the source of each interval and limit.
        everything: no part is cut short.
    """
    recipes = [_recipe(desk, case) for case in seen.open if case.under_way]
    parts = [
        (STOPPED, [stop_line(desk, one) for one in seen.stops]),
        ("UNDER WAY", [*recipes, *_advice(desk, seen), *_changes(desk, seen)]),
        ("OUT OF LIMITS", [line for w in seen.sumps for line in _out(desk, w, why)]),
        ("pH FALLEN SINCE FIRST FILL", [_fall(desk, w.sump, w.fall, why) for w in seen.sumps if w.fall]),
        ("MOVING", [line for w in seen.sumps for line in _moving(desk, w)]),
        ("LOOKING AHEAD", [_ahead(desk, one) for one in seen.ahead]),
        ("DUE", _due(desk, seen.sumps)),
        ("SAMPLES OUT", waiting_lines(desk, seen.samples)),
        ("STANDING STILL", [_idle(desk, w) for w in seen.sumps if w.idle_since]),
        ("CASES LEFT OPEN", _cases(desk, seen)),
    ]
    date = f"{desk.now:%A %Y-%m-%d %H:%M}"
    made = [f"{date}, {len(seen.sumps)} sump{'s' if len(seen.sumps) != 1 else ''}"]
    for title, listed in parts:
        if listed:
            made += ["", title]
            shown = listed if everything or title == STOPPED else listed[:SHOWN]
            made += [row for line in shown for row in wrapped(printable(line))]
            if len(listed) > len(shown):
                made.append(f'  and {len(listed) - SHOWN} more ("sumpside today --all")')
    if not seen.sumps:
        return [made[0], "", 'No sumps yet. Write down a reading: "sumpside log 14 6.5 9.1".']
    if len(made) == 1:
        made += ["", "Nothing is due, nothing is out of limits, nothing was left open."]
    return made + (_intervals(desk, seen) if why else [])


def _intervals(desk: Desk, seen: Morning) -> list[str]:
    """The intervals in use, each with its source, once."""
    key = region_list(desk.region)
    own = of_shop(desk.shop, desk.region).values()
    used = dict.fromkeys([*own, *(d.interval for w in seen.sumps for d in w.due)])
    note = intervals()["regions"][key]["note"]
    made = ["", "INTERVALS"]
    made += wrapped(f'List "{key}". {note} What your safety officer or insurer asks goes first.')
    for interval in used:
        name = intervals()["checks"][interval.check]["name"]
        says = f", where {interval.says}" if interval.says else ""
        often = "every day" if interval.days == 1 else f"every {interval.days:g} days"
        made += wrapped(f"{name}: {often}{says} [{desk.cite(interval.sources)}]")
    return made


def wrapped(line: str) -> list[str]:
    """A line indented by two, folded at 79 columns."""
    return textwrap.wrap(line, 79, initial_indent="  ", subsequent_indent="      ", break_on_hyphens=False)


def _recipe(desk: Desk, case: OpenCase) -> str:
    name = desk.name(case.sump) if case.sump else case.row.sump or "no sump named"
    when = show_day(case.last, desk.now)
    if case.pails_in:
        how = f"{case.pails_in} of {case.pails} pails in"
    else:
        how = f"{case.done} of {case.steps} steps done"
    return f"{name}: {how}, {when} (case {case.row.id}, {case.row.who}). Finish this one before another."


def _advice(desk: Desk, seen: Morning) -> list[str]:
    """Pails that a round advised and that are not all in."""
    made = []
    for one in seen.advice:
        when = show_day(one.last, desk.now)
        made.append(
            f"{desk.name(one.sump)}: {one.pails_in} of {one.pails} pails in, {when} (advised by a round, "
            f"r{one.id}, {one.who})"
        )
    return made


def _ahead(desk: Desk, one: Ahead) -> str:
    when = desk.now + timedelta(days=one.days)
    if one.what == "change":
        return f"{desk.name(one.sump)}: a change is due about {when:%Y-%m-%d} if pH goes on falling like this"
    return f"{desk.name(one.sump)}: hardness crosses its product's limit about {when:%Y-%m-%d}"


def _changes(desk: Desk, seen: Morning) -> list[str]:
    """Changeovers under way, with the next step."""
    made = []
    for change in seen.changes:
        upto = f"{len(change.done)} of {len(change.steps)} steps done"
        following = change.left[0]["text"].split(".")[0].split(":")[0] if change.left else "to be closed"
        made.append(f"{headline(desk, change)}: {upto}; next: {following}")
    return made


def _out(desk: Desk, watched: Watched, why: bool) -> Iterable[str]:
    for out in watched.out:
        item = desk.rules.observables[out.observable]
        unit = item.unit or ""
        span = limit_text(out.limit, unit)
        figure = show(out.state.result, unit)
        figure = figure if unit == "pH" else f"{item.name} {figure}"
        side = {"low": "UNDER", "high": "OVER"}[out.side]
        tail = f" [{out.limit.source}]" if why else ""
        when = show_day(out.state.time, desk.now)
        yield f"{desk.name(watched.sump)}: {figure}, {side} {span}, {when}{tail}"


def _fall(desk: Desk, sump: str, fall: Fall, why: bool) -> str:
    ask = {
        "alarm": "act as the fluid's maker says",
        "dump": "change the charge and clean the circuit",
    }.get(fall.answer, fall.answer)
    origin = "data sheet" if fall.from_sheet else "first fill"
    tail = f" [{fall.source}]" if why else ""
    return (
        f"{desk.name(sump)}: {show(fall.state.result, 'pH')}, down {fall.fall:.1f} from {fall.first:g} "
        f"({origin}): {ask}{tail}"
    )


def _moving(desk: Desk, watched: Watched) -> Iterable[str]:
    for observable, state in watched.drifting:
        item = desk.rules.observables[observable]
        unit = item.unit or ""
        change = show(abs(state.change), unit).removeprefix("pH ")
        points = change.replace(" %", " points") if unit == "fraction" else change
        since = show_day(state.since, desk.now)
        yield (
            f"{desk.name(watched.sump)}: {item.name} {state.drifting}, by {points} since {since} "
            f"({state.count} readings)"
        )
    for observable, state in watched.jumped:
        item = desk.rules.observables[observable]
        when = show_day(state.jumped, desk.now)
        yield f"{desk.name(watched.sump)}: {item.name} at another level since {when}"


def _due(desk: Desk, sumps: Sequence[Watched]) -> list[str]:
    """Due checks, the longest overdue first; sumps with the same checks due share a line."""
    checks = intervals()["checks"]
    rows: dict[str, tuple[float, list[str]]] = {}
    for watched in sumps:
        if not watched.due:
            continue
        text = ", ".join(_due_text(due, checks[due.check]["name"]) for due in watched.due)
        worst = max(1e6 if d.days is None else d.days - d.interval.days for d in watched.due)
        rows.setdefault(text, (-worst, []))[1].append(desk.name(watched.sump))
    ordered = sorted(rows.items(), key=lambda row: row[1][0])
    return [f"{', '.join(names)}: {text}" for text, (_, names) in ordered]


def _due_text(due: Due, name: str) -> str:
    if due.days is None:
        last = "never yet"
    elif due.days == 0:
        last = "today"
    else:
        last = "yesterday" if due.days == 1 else f"{due.days} days ago"
    reason = f"; {due.interval.says}" if due.interval.says else ""
    return f"{name} ({last}{reason})"


def _idle(desk: Desk, watched: Watched) -> str:
    since = show_day(watched.idle_since, desk.now)
    return f'{desk.name(watched.sump)}: since {since} ("sumpside restart {watched.sump}" before it runs)'


def _cases(desk: Desk, seen: Morning) -> list[str]:
    made = []
    for case in seen.open:
        if case.under_way:
            continue
        row = case.row
        name = desk.name(case.sump) if case.sump else row.sump or "no sump named"
        lead = row.lead.replace("_", " ") or row.verdict or "no verdict yet"
        made.append(f"{name}: case {row.id}, {lead}, {show_day(row.touched, desk.now)}, {row.who}")
    if seen.open_count > len(seen.open):
        made.append(f'and {seen.open_count - len(seen.open)} older ones ("sumpside review")')
    return made


def morning_json(desk: Desk, seen: Morning) -> dict[str, Any]:
    """The morning as one JSON object."""
    return {
        "time": desk.time,
        "region": region_list(desk.region),
        "open": [
            {"case": c.row.id, "sump": c.sump, "steps": c.steps, "done": c.done, "pails": c.pails,
             "pails_in": c.pails_in, "last": c.last}
            for c in seen.open
        ],
        "stops": [
            {"sump": s.sump or s.name, "case": s.stop.case, "caution": s.stop.caution, "level": s.stop.level,
             "time": s.stop.time}
            for s in seen.stops
        ],
        "advice": [
            {"record": a.id, "sump": a.sump, "pails": a.pails, "pails_in": a.pails_in, "last": a.last}
            for a in seen.advice
        ],
        "ahead": [asdict(one) for one in seen.ahead],
        "samples": [{"record": s.id, "sump": s.sump, "taken": s.time} for s in seen.samples],
        "changeovers": [
            {"sump": c.sump, "to": c.to, "metals": list(c.metals), "steps": len(c.steps), "done": len(c.done)}
            for c in seen.changes
        ],
        "sumps": [_watched_json(desk, watched) for watched in seen.sumps],
    }  # fmt: skip


def _watched_json(desk: Desk, watched: Watched) -> dict[str, Any]:
    return {
        "sump": watched.sump,
        "due": [
            {"check": d.check, "last": d.last or None, "days": d.interval.days, "says": d.interval.says,
             "source": desk.cite(d.interval.sources)}
            for d in watched.due
        ],
        "out": [
            {"observable": o.observable, "result": o.state.result, "side": o.side, "limit": asdict(o.limit)}
            for o in watched.out
        ],
        "ph_fall": None if watched.fall is None else {
            "fall": round(watched.fall.fall, 3), "first": watched.fall.first, "answer": watched.fall.answer},
        "drifting": [
            {"observable": o, "slope_per_day": s.slope, "way": s.drifting} for o, s in watched.drifting
        ],
        "jumped": [{"observable": o, "since": s.jumped} for o, s in watched.jumped],
        "idle_since": watched.idle_since or None,
    }  # fmt: skip
