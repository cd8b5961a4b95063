"""Readings as lines for a person, and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from advisor.logbook.limits import Limit
from advisor.logbook.moments import moment, show_day
from advisor.logbook.readings import FIRST_FILL, NOT_MEASURED, Reading
from advisor.logbook.record_words import record_text
from advisor.showing import show

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.line import Drafted

_MARKS = {FIRST_FILL: "first fill", NOT_MEASURED: "not a measurement"}


def printable(text: str) -> str:
    """Text without control characters, so that nothing stored can steer the screen."""
    return "".join(c if c.isprintable() else " " for c in text)


def figure(desk: Desk, reading: Reading) -> str:
    """A reading in words: ``strength 6.5 % (6.5 Brix x 1)``, ``pH 9.1``."""
    item = desk.rules.observables[reading.observable]
    if reading.result is None:
        return f"{item.name} struck out"
    unit = item.unit or ""
    text = show(reading.result, unit)
    text = text if unit == "pH" else f"{item.name} {text}"
    if reading.context.factor is not None and reading.raw is not None:
        text += f" ({show(reading.raw, '°Bx')} x {reading.context.factor:g})"
    return text


def judged(reading: Reading, unit: str) -> str:
    """How a reading stands to the limit that was in force, or ""."""
    context = reading.context
    limit = Limit(context.low, context.high, context.source)
    if reading.result is None or (limit.low is None and limit.high is None):
        return ""
    breach = limit.breach(reading.result)
    span = limit_text(limit, unit)
    return {"low": f"UNDER {span}", "high": f"OVER {span}"}.get(breach, f"within {span}")


def limit_text(limit: Limit, unit: str) -> str:
    """A limit in words: ``6 to 10 %``, ``8.5 to 9.5``, ``20 mg/L at most``."""
    if limit.low is None and limit.high is None:
        return "no limit"
    if limit.high is None:
        return f"{show(limit.low or 0.0, unit)} at least"
    if limit.low is None:
        return f"{show(limit.high, unit)} at most"
    if unit == "fraction":
        return f"{100 * limit.low:g} to {100 * limit.high:g} %"
    return f"{limit.low:g} to {show(limit.high, unit).removeprefix('pH ')}"


def entry_line(desk: Desk, sump: str, drafted: Drafted, numbers: Sequence[int | None]) -> str:
    """What was understood and kept, in one line."""
    parts = []
    for reading in drafted.readings:
        how = judged(reading, desk.rules.observables[reading.observable].unit or "")
        mark = f", {_MARKS[reading.mark]}" if reading.mark else ""
        parts.append(figure(desk, reading) + (f", {how}" if how else "") + mark)
    parts += [record_text(desk, record) for record in drafted.records]
    kept = f" [{', '.join(str(n) for n in numbers)}]" if numbers else ""
    return printable(f"{desk.name(sump)}: {'; '.join(parts)}.{kept}")


def list_lines(
    desk: Desk, sump: str, readings: Sequence[Reading], *, all_versions: bool = False
) -> list[str]:
    """The readings of a sump, one to a line, oldest first."""
    if not readings:
        return [f"{desk.name(sump)}: nothing is in the book yet."]
    replaced = {r.corrects for r in readings if r.corrects} if all_versions else set()
    lines = [f"{printable(desk.name(sump))}, the last {len(readings)} readings:"]
    for r in readings:
        more = [judged(r, desk.rules.observables[r.observable].unit or "")]
        more += [_MARKS.get(r.mark, ""), f"corrects {r.corrects}" if r.corrects else ""]
        more += [f"reason: {r.reason}" if r.reason else "", "corrected since" if r.id in replaced else ""]
        tail = "; ".join(text for text in more if text)
        who = f"  {r.context.who}" if r.context.who else ""
        when = moment(r.time).astimezone(desk.now.tzinfo)
        lines.append(printable(f"{r.id:>6}  {when:%Y-%m-%d %H:%M}  {figure(desk, r)}  {tail}{who}".rstrip()))
    return lines


def reading_json(reading: Reading) -> dict[str, Any]:
    """A reading as a JSON object; result in the canonical unit of its observable."""
    held = asdict(reading)
    return {**{k: v for k, v in held.items() if k != "context"}, **held["context"]}


def when(desk: Desk, time: str) -> str:
    """A time as a person of this shop reads it."""
    return show_day(time, desk.now)
