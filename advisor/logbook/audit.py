"""Everything on record about one sump in a stretch of time, for an auditor: as data, then as lines."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from advisor import __version__
from advisor.dialogue.events import Event, verify
from advisor.logbook.case_readings import take_over
from advisor.logbook.intervals import intervals, plain
from advisor.logbook.limits import Limit
from advisor.logbook.moments import moment, stamp
from advisor.logbook.open_work import case_sump
from advisor.logbook.port import CaseRow
from advisor.logbook.reading_lines import figure, judged, limit_text, printable, record_text
from advisor.logbook.readings import Entry, Reading, Record
from advisor.showing import show, volume

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without a check that was due more often: from, to, and the days the region's list allows."""

    check: str
    begin: str
    end: str
    allowed: float


@dataclass(frozen=True, slots=True)
class Audit:
    """What is on record, corrected and struck out readings included.

    Attributes:
        entries: the acts of writing that readings and records belong to, by number.
        problems: what checking the chains found, empty when every record is as it was written.
        head: hash of the last entry of readings.
    """

    sump: str
    since: str
    until: str
    readings: tuple[Reading, ...]
    records: tuple[Record, ...]
    entries: dict[int, Entry]
    cases: tuple[tuple[CaseRow, tuple[Event, ...]], ...]
    gaps: tuple[Gap, ...]
    problems: tuple[str, ...]
    head: str


def audit(desk: Desk, sump: str, since: str, until: str) -> Audit:
    """Gather what is on record about a sump from one time up to another."""
    take_over(desk)
    readings = desk.book.of(sump, since=since, until=until, all_versions=True)
    records = desk.book.records(sump=sump, since=since, until=until)
    entries = {entry.id: entry for entry in desk.book.entries()}
    cases = []
    problems = desk.book.check()
    for row in desk.store.cases(until=until):
        if row.touched >= since and case_sump(desk, row) == sump:
            events = tuple(desk.store.events(row.id))
            problems += [str(problem) for problem in verify(events)]
            cases.append((row, events))
    head = entries[max(entries)].hash if entries else ""
    gaps = tuple(_gaps(desk, readings, records, since, min(until, desk.time)))
    made = (tuple(readings), tuple(records), entries, tuple(reversed(cases)), gaps, tuple(problems), head)
    return Audit(sump, since, until, *made)


def _gaps(
    desk: Desk, readings: Sequence[Reading], records: Sequence[Record], since: str, until: str
) -> Iterable[Gap]:
    """Where a check that is due weekly or less often was late; daily looks are too many to list."""
    replaced = {r.corrects for r in readings}
    for check, interval in plain(desk.region).items():
        if interval.days < 2:
            continue
        met = intervals()["checks"][check]["met_by"]
        times = [r.time for r in readings if r.observable in met and r.measured and r.id not in replaced]
        if "look" in met:
            times += [r.time for r in records if r.kind == "look"]
        points = [since, *sorted(times), until]
        for begin, end in pairwise(points):
            days = (moment(end).date() - moment(begin).date()).days
            if days > interval.days:
                yield Gap(check, begin, end, interval.days)


def lines(desk: Desk, seen: Audit) -> list[str]:
    """The audit as lines to print."""
    made = _head(desk, seen)
    sources: dict[str, int] = {}
    made += ["", f"READINGS ({len(seen.readings)}; corrections are added, never replace)"]
    replaced: dict[int | None, int | None] = {r.corrects: r.id for r in seen.readings if r.corrects}
    for reading in seen.readings:
        made += _reading(desk, reading, seen.entries, replaced, sources)
    made += [f"  [{number}] {source}" for source, number in sources.items()]
    made += ["", f"DONE AT THE SUMP ({len(seen.records)})"]
    for record in seen.records:
        who = seen.entries[record.entry or 0].who
        made.append(f"  {_when(desk, record.time)}  {record_text(desk, record)}  by {who}")
    made += ["", f"CHECKS LATE OR MISSED ({len(seen.gaps)}; by the list of the region, daily looks left out)"]
    for gap in seen.gaps:
        name = intervals()["checks"][gap.check]["name"]
        made.append(f"  {name}: none from {gap.begin[:10]} to {gap.end[:10]} (every {gap.allowed:g} days)")
    made += ["", f"CASES ({len(seen.cases)})"]
    for row, events in seen.cases:
        made += _case(desk, row, events)
    return [row for line in made + _seal(desk, seen) for row in _folded(printable(line))]


def _folded(line: str) -> list[str]:
    """A line folded at 79 columns, what follows a little further in."""
    margin = " " * (len(line) - len(line.lstrip()))
    return textwrap.wrap(
        line.strip(), 79, initial_indent=margin, subsequent_indent=f"{margin}    ", break_on_hyphens=False
    ) or [""]


def _when(desk: Desk, time: str) -> str:
    return f"{moment(time).astimezone(desk.now.tzinfo):%Y-%m-%d %H:%M}"


def _head(desk: Desk, seen: Audit) -> list[str]:
    row = desk.shop.sumps.get(seen.sump, {})
    product = desk.shop.products.get(row.get("product") or "", {})
    size = desk.limits.volume(seen.sump)
    limit = desk.limits.of(seen.sump, "concentration")
    last = moment(seen.until) - timedelta(seconds=1)
    span = f"{_when(desk, seen.since)[:10]} to {last.astimezone(desk.now.tzinfo):%Y-%m-%d}"
    held = volume(size, desk.system) if size else "not entered"
    product_name, sheet = product.get("name", "not entered"), product.get("sds", "not entered")
    window = limit_text(limit, "fraction")
    return [
        f"RECORD OF {desk.name(seen.sump)}, {span}",
        f"printed {_when(desk, desk.time)}, program {__version__}, rule base {desk.rules.hash}",
        f"holds {held}; product {product_name}; safety data sheet {sheet}",
        f"window now {window} ({limit.source})",
    ]


def _reading(
    desk: Desk,
    reading: Reading,
    entries: dict[int, Entry],
    replaced: dict[int | None, int | None],
    sources: dict[str, int],
) -> list[str]:
    context = reading.context
    entry = entries[reading.entry or 0]
    unit = desk.rules.observables[reading.observable].unit or ""
    note = ""
    if context.source and Limit(context.low, context.high, "") != Limit(None, None, ""):
        number = sources.setdefault(context.source, len(sources) + 1)
        note = f", {judged(reading, unit)} [{number}]" if reading.result is not None else ""
    how = [context.method or "method not said"]
    how += [f"instrument {context.instrument}"] if context.instrument else []
    how += [f"zeroed {context.zeroed}"] if context.zeroed else []
    how += [f"lot {context.lot}"] if context.lot else []
    how += [f"sample from {context.sample_point}"] if context.sample_point else []
    how += [f"measured by {context.who or 'not said'}", f"written {_when(desk, entry.time)} by {entry.who}"]
    how += [f"case {entry.case}, visit {entry.visit}"] if entry.case else []
    made = [f"  {reading.id:>6}  {_when(desk, reading.time)}  {figure(desk, reading)}{note}"]
    made.append("          " + "; ".join(how))
    more = [reading.mark.replace("_", " ")] if reading.mark else []
    more += [f"corrects {reading.corrects}" + (f": {reading.reason}" if reading.reason else "")] if (
        reading.corrects) else []  # fmt: skip
    more += [f"corrected by {replaced[reading.id]}"] if reading.id in replaced else []
    return made + (["          " + "; ".join(more)] if more else [])


def _case(desk: Desk, row: CaseRow, events: Sequence[Event]) -> list[str]:
    made = [f"  case {row.id}, {row.state}, {row.verdict or 'no verdict'}, run: {row.run or 'not said'}"]
    for event in events:
        text = _event(event, desk)
        if text:
            made.append(f"    {_when(desk, event.time)}  {text}  ({event.who})")
    return [*made, f"    seal {row.head}"]


def _event(event: Event, desk: Desk) -> str:
    """What an auditor wants of one event: advice, cautions, what was done, signatures; "" for talk."""
    data = event.data
    if event.kind == "shown":
        return "cautions shown: " + ", ".join(f"{c['id']} ({c['level']})" for c in data["cautions"])
    if event.kind == "acknowledged":
        return "acknowledged: " + ", ".join(data["cautions"])
    if event.kind == "verdict":
        return _verdict(data)
    if event.kind == "recipe":
        return _recipe(data["recipe"], desk)
    if event.kind == "step_done":
        litres = f", really {volume(data['litres'], desk.system)}" if data.get("litres") is not None else ""
        return f"step {int(data['step']) + 1} done{litres}"
    if event.kind == "recheck":
        return f"read again (visit {event.visit})"
    if event.kind == "review":
        agrees = "agrees" if data["agrees"] else f"overruled: {data.get('cause', 'cause not said')}"
        return f"signed, {agrees}" + (", with a reason on record" if data.get("reason") else "")
    if event.kind == "closed":
        return f"closed: {data['how']}"
    return "answers taken back" if event.kind in ("back", "retracted") else ""


def _verdict(data: dict[str, Any]) -> str:
    verdict = data["verdict"]
    causes = verdict.get("causes") or [{}]
    lead = str(causes[0].get("id", "none")).replace("_", " ")
    actions = ", ".join(str(a.get("id")) for a in verdict.get("actions", []) if isinstance(a, dict))
    return f"verdict {verdict.get('verdict')}: {lead}; advised: {actions or 'nothing'}; rules {data['rules']}"


def _recipe(made: dict[str, Any], desk: Desk) -> str:
    if made.get("refused"):
        return f"recipe refused: {made['refused'].get('why', '')}"
    out, into = (volume(made.get(key) or 0.0, desk.system) for key in ("remove_l", "add_l"))
    mix, after = (show(made.get(key) or 0.0, "fraction") for key in ("mix_strength", "strength_after"))
    return f"recipe: take out {out}, put in {into} at {mix}, promised {after}"


def _seal(desk: Desk, seen: Audit) -> list[str]:
    made = ["", "KEPT AS WRITTEN"]
    if seen.problems:
        made += [f"  {problem}" for problem in seen.problems]
    else:
        made.append("  every entry and every case checked: all as it was written")
    made.append(f"  seal of the readings {seen.head or '(none yet)'}")
    kept = intervals()["retention"].get(desk.region or "", [])
    made += ["", "HOW LONG TO KEEP IT"]
    for row in kept:
        made.append(f"  {row['what']}: {row['years']} years [{desk.rules.cite(row['sources'])}]")
    if not kept:
        made.append("  no period of this region is known to the program; ask your safety officer")
    return made


def period(desk: Desk, since: str | None, until: str | None) -> tuple[str, str]:
    """A stretch of days as times: whole days, the last one included; 90 days up to now when left out.

    Raises:
        BadInput: a day that cannot be read, or the last before the first.
    """
    from advisor.errors import BadInput
    from advisor.logbook.moments import read_time

    end = stamp(desk.now + timedelta(seconds=1))  # what was written this very second belongs to it
    if until:
        end = stamp(moment(read_time(f"{until} 00:00", desk.now)) + timedelta(days=1))
    begin = read_time(f"{since} 00:00", desk.now) if since else stamp(moment(end) - timedelta(days=90))
    if begin >= end:
        raise BadInput(f"{since} is not before {until or 'now'}", right="Give the earlier day with --from.")
    return begin, end
