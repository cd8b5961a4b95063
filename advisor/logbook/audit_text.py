"""The record of a sump as lines to print, for an auditor."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from datetime import timedelta
from typing import TYPE_CHECKING, Any

from advisor import __version__
from advisor.dialogue.events import Event
from advisor.logbook.audit import Audit
from advisor.logbook.intervals import intervals, kept_for
from advisor.logbook.limits import Limit
from advisor.logbook.moments import moment
from advisor.logbook.port import CaseRow
from advisor.logbook.reading_lines import figure, judged, limit_text, printable
from advisor.logbook.readings import Entry, Reading, Record
from advisor.logbook.record_words import record_text
from advisor.showing import show, volume

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.fixes import Fix

#: Levels of cautions that ask for an acknowledgement.
_ACKNOWLEDGED = ("emergency", "stop")


def lines(desk: Desk, seen: Audit) -> list[str]:
    """The audit as lines to print."""
    made = _head(desk, seen)
    sources: dict[str, int] = {}
    made += ["", f"READINGS ({len(seen.readings)}; corrections are added, never replace)"]
    replaced: dict[int | None, int | None] = {r.corrects: r.id for r in seen.readings if r.corrects}
    for reading in seen.readings:
        made += _reading(desk, reading, seen.entries, replaced, sources)
    made += [f"  [{number}] {source}" for source, number in sources.items()]
    made += ["", f"DONE AT THE SUMP ({len(seen.records)}; corrections are added, never replace)"]
    made += _records(desk, seen.records, seen.entries)
    made += ["", f"DONE IN THE SHOP FOR IT ({len(seen.shop)}: drums, deliveries, instruments)"]
    made += _records(desk, seen.shop, seen.entries)
    made += ["", f"CHECKS LATE OR MISSED ({len(seen.gaps)}; by the list in force, daily looks left out)"]
    for gap in seen.gaps:
        name = intervals()["checks"][gap.check]["name"]
        begin, end = _when(desk, gap.begin)[:10], _when(desk, gap.end)[:10]
        stood = f"; stood still {gap.stood:g} days of it" if gap.stood else ""
        made.append(f"  {name}: none from {begin} to {end} (every {gap.allowed:g} days{stood})")
        made.append("      reason on record: " + ("; ".join(gap.reasons) or "none"))
    made += ["", f"SHOP ENTRIES CHANGED ({len(seen.changes)}; those of the sump and its product)"]
    for one in seen.changes:
        what = f"{one.key.replace('_', ' ')} of {one.name}: {one.old or 'not entered'}"
        made.append(f"  {_when(desk, one.time)}  {what}, now {one.new or 'not entered'}  by {one.who}")
    made += ["", f"CASES ({len(seen.cases)})"]
    for row, events in seen.cases:
        poured = [r for r in seen.records if r.kind == "addition" and r.data.get("case") == row.id]
        made += _case(desk, row, events, poured, [fix for fix in seen.fixes if fix.case == row.id])
    return [row for line in made + _seal(desk, seen) for row in _folded(printable(line))]


def _records(desk: Desk, records: Sequence[Record], entries: dict[int, Entry]) -> list[str]:
    """Records with their numbers, corrections beside what they correct."""
    replaced = {r.corrects: r.id for r in records if r.corrects}
    made = []
    for row in records:
        entry = entries[row.entry or 0]
        made.append(f"  {f'r{row.id}':>6}  {_when(desk, row.time)}  {record_text(desk, row)}  by {entry.who}")
        more = []
        if row.corrects:
            reason = f": {row.data['reason']}" if row.data.get("reason") else ""
            more.append(f"corrects r{row.corrects}{reason}, written {_when(desk, entry.time)}")
        if row.id in replaced:
            more.append(f"corrected by r{replaced[row.id]}")
        made += ["          " + "; ".join(more)] if more else []
    return made


def _folded(line: str) -> list[str]:
    """A line folded at 79 columns, what follows a little further in."""
    margin = " " * (len(line) - len(line.lstrip()))
    return textwrap.wrap(
        line.strip(), 79, initial_indent=margin, subsequent_indent=f"{margin}    ", break_on_hyphens=False
    ) or [""]


def _when(desk: Desk, time: str) -> str:
    return f"{moment(time).astimezone(desk.now.tzinfo):%Y-%m-%d %H:%M}"


def _head(desk: Desk, seen: Audit) -> list[str]:
    last = moment(seen.until) - timedelta(seconds=1)
    span = f"{_when(desk, seen.since)[:10]} to {last.astimezone(desk.now.tzinfo):%Y-%m-%d}"
    printed = f"printed {_when(desk, desk.time)}, program {__version__}, rule base {desk.rules.hash}"
    if not seen.sump:
        return [f"RECORD OF THE SHOP, what belongs to no sump, {span}", printed]
    row = desk.shop.sumps.get(seen.sump, {})
    product = desk.shop.products.get(row.get("product") or "", {})
    size = desk.limits.volume(seen.sump)
    limit = desk.limits.of(seen.sump, "concentration")
    held = volume(size, desk.system) if size else "not entered"
    product_name, sheet = product.get("name", "not entered"), product.get("sds", "not entered")
    window = limit_text(limit, "fraction")
    return [
        f"RECORD OF {desk.name(seen.sump)}, {span}",
        printed,
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


def _case(
    desk: Desk, row: CaseRow, events: Sequence[Event], poured: Sequence[Record], came_to: Sequence[Fix]
) -> list[str]:
    made = [f"  case {row.id}, {row.state}, {row.verdict or 'no verdict'}, run: {row.run or 'not said'}"]
    for event in events:
        text = _event(event, desk)
        if text:
            made.append(f"    {_when(desk, event.time)}  {text}  ({event.who})")
    if poured:
        litres = volume(sum(r.data["litres"] for r in poured), desk.system)
        lots = ", ".join(sorted({str(r.data["lot"]) for r in poured if r.data.get("lot")}))
        made.append(f"    really poured, by record: {litres}" + (f", lot {lots}" if lots else ""))
    made += [f"    {fix_text(fix)}" for fix in came_to]
    made += [f"    {line}" for line in _lacking(events, poured)]
    return [*made, f"    seal {row.head}"]


def fix_text(fix: Fix) -> str:
    """What a recipe promised and what was read after it, in a line."""
    promised = f"{100 * fix.predicted:.1f} % ({100 * fix.low:.1f} to {100 * fix.high:.1f})"
    if fix.measured is None:
        return f"recheck: promised {promised}, not read again"
    how = f" with {fix.instrument}" if fix.instrument else ""
    when = fix.measured_at[:10]
    return f"recheck: promised {promised}, read {100 * fix.measured:.1f} % on {when}{how}: {fix.verdict}"


def _lacking(events: Sequence[Event], poured: Sequence[Record]) -> list[str]:
    """What an auditor misses in a case: acknowledgements and approvals that are not on record."""
    made = []
    shown = {c["id"] for e in events if e.kind == "shown" for c in e.data["cautions"]
             if c.get("level") in _ACKNOWLEDGED}  # fmt: skip
    read = {c for e in events if e.kind == "acknowledged" for c in e.data["cautions"]}
    if shown - read:
        made.append("shown, no acknowledgement on record: " + ", ".join(sorted(shown - read)))
    signed = [e.who for e in events if e.kind == "review" and e.data["agrees"]]
    signed += [str(r.data["approved"]) for r in poured if r.data.get("approved")]
    if any(e.kind == "recipe" for e in events):
        made.append("approved by " + (", ".join(dict.fromkeys(signed)) or "nobody on record"))
    return made


def _event(event: Event, desk: Desk) -> str:
    """What an auditor wants of one event: advice, cautions, what was done, signatures; "" for talk."""
    data = event.data
    if event.kind == "shown":
        return "cautions shown: " + ", ".join(f"{c['id']} ({c['level']})" for c in data["cautions"])
    if event.kind == "carried":
        return f"still standing from case {data['case']}: " + ", ".join(c["id"] for c in data["cautions"])
    if event.kind == "acknowledged":
        word = "put right" if data.get("carried") or data.get("put_right") else "acknowledged"
        word = "found put right in another case" if data.get("elsewhere") else word
        return f"{word}: " + ", ".join(data["cautions"])
    if event.kind == "verdict":
        return _verdict(data)
    if event.kind == "recipe":
        return _recipe(data["recipe"], desk)
    if event.kind == "action_done":
        return f"{'passed over' if data.get('skipped') else 'done'}: {data['action']}"
    if event.kind == "step_done" and data.get("skipped"):
        return f"step {int(data['step']) + 1} passed over"
    if event.kind == "step_done":
        litres = f", really {volume(data['litres'], desk.system)}" if data.get("litres") is not None else ""
        return f"step {int(data['step']) + 1} done{litres}"
    if event.kind == "recheck":
        return f"read again (visit {event.visit})"
    if event.kind == "review":
        agrees = "agrees" if data["agrees"] else f"overruled: {data.get('cause', 'cause not said')}"
        right = f", put right: {', '.join(data['put_right'])}" if data.get("put_right") else ""
        return f"signed, {agrees}{right}" + (f", reason: {data['reason']}" if data.get("reason") else "")
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
    made += ["", "HOW LONG TO KEEP IT (what law, customer or insurer asks goes first)"]
    kept = kept_for(desk.region)
    for row in kept:
        made.append(f"  {row['what']}: {row['years']} years [{desk.cite(row['sources'])}]")
    if not kept:
        made.append("  no period of this region is known to the program; ask your safety officer")
    return made
