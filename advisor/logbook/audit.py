"""Everything on record about one sump in a stretch of time, for an auditor: as data, then as lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from advisor.dialogue.events import Event, verify
from advisor.logbook.case_readings import take_over
from advisor.logbook.fixes import Fix, fixes
from advisor.logbook.intervals import intervals, of_shop
from advisor.logbook.moments import moment, stamp
from advisor.logbook.open_work import case_sump
from advisor.logbook.port import CaseRow
from advisor.logbook.readings import Entry, Reading, Record
from advisor.logbook.shop_changes import Change, begun, changes
from advisor.showing import local_time

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without a check that was due more often.

    Attributes:
        check: id of the check; `begin`, `end`: the stretch.
        allowed: the days that the list in force allows.
        reasons: why it was missed, as written down in that stretch.
        stood: days of the stretch in which the sump stood still, when no check is due.
    """

    check: str
    begin: str
    end: str
    allowed: float
    reasons: tuple[str, ...] = ()
    stood: float = 0.0


@dataclass(frozen=True, slots=True)
class Audit:
    """What is on record, corrected and struck out readings and records included.

    Attributes:
        shop: records that belong to no sump and bear on this one: drums and deliveries of its product,
            prices, instruments set to zero.
        fixes: what each recipe of the sump promised and what was read after it.
        changes: entries of the sump and its product in the shop that were changed.
        entries: the acts of writing that readings and records belong to, by number.
        problems: what checking the chains found, empty when every record is as it was written.
        head: hash of the last entry of readings.
    """

    sump: str
    since: str
    until: str
    readings: tuple[Reading, ...]
    records: tuple[Record, ...]
    shop: tuple[Record, ...]
    entries: dict[int, Entry]
    cases: tuple[tuple[CaseRow, tuple[Event, ...]], ...]
    gaps: tuple[Gap, ...]
    fixes: tuple[Fix, ...]
    problems: tuple[str, ...]
    head: str
    changes: tuple[Change, ...] = ()


def audit(desk: Desk, sump: str, since: str, until: str) -> Audit:
    """Gather what is on record about a sump from one time up to another."""
    take_over(desk)
    readings = desk.book.of(sump, since=since, until=until, all_versions=True)
    records = desk.book.records(sump=sump, since=since, until=until, all_versions=True)
    general = desk.book.records(sump="", since=since, until=until, all_versions=True)
    entries = {entry.id: entry for entry in desk.book.entries()}
    cases = []
    problems = desk.book.check()
    for row in desk.store.cases(until=until):
        if row.touched >= since and case_sump(desk, row) == sump:
            events = tuple(desk.store.events(row.id))
            problems += [str(problem) for problem in verify(events)]
            cases.append((row, events))
    head = entries[max(entries)].hash if entries else ""
    gaps = () if not sump else tuple(_gaps(desk, sump, readings, records, since, min(until, desk.time)))
    made = tuple(fixes(desk, sump)) if sump else ()
    return Audit(
        sump, since, until, tuple(readings), tuple(records), tuple(_bearing(desk, sump, general, readings)),
        entries, tuple(reversed(cases)), gaps, made, tuple(problems), head,
        tuple(changes(desk, sump, since, until)) if sump else (),
    )  # fmt: skip


def _bearing(
    desk: Desk, sump: str, general: Sequence[Record], readings: Sequence[Reading]
) -> Iterable[Record]:
    """The records of the shop that bear on a sump; all of them where no sump is named."""
    product = desk.shop.sumps.get(sump, {}).get("product")
    instruments = {r.context.instrument for r in readings if r.context.instrument}
    for row in general:
        mine = row.data.get("product") == product and product is not None
        if not sump or mine or row.data.get("instrument") in instruments:
            yield row


def _gaps(
    desk: Desk, sump: str, readings: Sequence[Reading], records: Sequence[Record], since: str, until: str
) -> Iterable[Gap]:
    """Where a check that is due weekly or less often was late; daily looks are too many to list.

    Counted from the last one before the stretch, or from when the shop first held the sump; days in which
    it stood still do not count.
    """
    replaced = {r.corrects for r in readings}
    missed = [r for r in records if r.kind == "missed"]
    start = max(since, begun(desk, sump))
    still = list(_still(desk, sump))
    for check, interval in of_shop(desk.shop, desk.region).items():
        if interval.days < 2 or start >= until:
            continue
        met = intervals()["checks"][check]["met_by"]
        times = [r.time for r in readings if r.observable in met and r.measured and r.id not in replaced]
        if "look" in met:
            times += [r.time for r in records if r.kind == "look"]
        points = [_last_before(desk, sump, met, start), *sorted(times), until]
        for begin, end in pairwise(points):
            stood = sum(_overlap((begin, end), one) for one in still)
            days = (moment(end).date() - moment(begin).date()).days - stood
            if days > interval.days:
                about = (check, "round", "all")
                said = [r for r in missed if begin <= r.time < end and r.data["check"] in about]
                reasons = tuple(f"{local_time(r.time)[:10]} {r.data['reason']}" for r in said)
                yield Gap(check, begin, end, interval.days, reasons, stood)


def _last_before(desk: Desk, sump: str, met: Sequence[str], start: str) -> str:
    """When a check was last met before a time; that time itself where it never was."""
    found = [r.time for o in met if o != "look" for r in desk.book.of(sump, o, until=start, limit=1)]
    if "look" in met:
        found += [r.time for r in desk.book.records("look", sump, until=start)[-1:]]
    return max(found, default=start)


def _still(desk: Desk, sump: str) -> Iterable[tuple[str, str]]:
    """The stretches in which a sump stood still, by its records; one not ended lasts until now."""
    stops = [r for r in desk.book.records(sump=sump) if r.kind in ("idle", "restart")]
    since = ""
    for row in stops:
        if row.kind == "idle":
            since = since or row.time
        elif since:
            yield since, row.time
            since = ""
    if since:
        yield since, desk.time


def _overlap(one: tuple[str, str], other: tuple[str, str]) -> float:
    """Whole days that two stretches share."""
    begin, end = max(one[0], other[0]), min(one[1], other[1])
    return max(0.0, float((moment(end).date() - moment(begin).date()).days)) if begin < end else 0.0


def period(desk: Desk, since: str | None, until: str | None) -> tuple[str, str]:
    """A stretch of days as times: whole days, the last one included; 90 days up to now when left out.

    Raises:
        BadInput: a day that cannot be read, or the last before the first.
    """
    from advisor.errors import BadInput
    from advisor.logbook.moments import read_time

    end = stamp(desk.now + timedelta(seconds=1))  # what was written this very second belongs to it
    if until:
        day = moment(read_time(f"{until} 00:00", desk.now)).astimezone(desk.now.tzinfo)
        end = stamp(day + timedelta(days=1))  # a day of the shop's clock, which may have 23 or 25 hours
    begin = read_time(f"{since} 00:00", desk.now) if since else stamp(moment(end) - timedelta(days=90))
    if begin >= end:
        raise BadInput(f"{since} is not before {until or 'now'}", right="Give the earlier day with --from.")
    return begin, end
