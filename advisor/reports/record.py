"""The competence record of one person: what was drilled, how well, and when, with lines to sign.

A nickname is enough; the record holds nothing about the person but that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from advisor.errors import BadInput
from advisor.reports.sheet import Part, Sheet

#: From here on an exercise or drill counts as shown (judgement, common practice, no source).
PASSED = 80
_PARTS = ("cause", "safety", "effort", "recipe")


def record_sheet(rows: Iterable[Mapping[str, Any]], name: str) -> Sheet:
    """The record of `name` from all results.

    Raises:
        BadInput: nothing was kept under this nickname.
    """
    mine = [row for row in rows if name in (row.get("nickname"), row.get("with"))]
    if not mine:
        raise BadInput(
            f'nothing is kept under "{name}"', value=name, right="see the names with: sumpside drill --board"
        )
    drills = [row for row in mine if not str(row.get("drill", "")).startswith("exercise")]
    exercises = [row for row in mine if row not in drills]
    first, last = _day(mine[0]), _day(mine[-1])
    when = first if first == last else f"{first} to {last}"
    title = f"Competence record: {name}"
    parts = [
        Part("title", title),
        Part("text", f"{_count(drills, 'drill')}, {_count(exercises, 'exercise')}, {when}."),
        *_drills(drills),
        *_exercises(exercises),
        *_repeats(exercises, name),
        Part("text", f"Shown means {PASSED} points or more and no dangerous act."),
        Part("line", "Trainee: ____________  Trainer: ____________  Date: ________"),
    ]
    return Sheet(title, tuple(parts))


def _count(rows: Sequence[Mapping[str, Any]], what: str) -> str:
    return f"{len(rows)} {what}{'s' * (len(rows) != 1)}"


def _day(row: Mapping[str, Any]) -> str:
    return str(row.get("time", ""))[:10] or "no date"


def shown(row: Mapping[str, Any]) -> bool:
    """Whether a result counts: enough points and nothing dangerous."""
    return int(row.get("points", 0)) >= PASSED and not int(row.get("dangerous") or 0)


def _drills(rows: Sequence[Mapping[str, Any]]) -> Iterable[Part]:
    """One line a level or trainer's drill, then what was named right and wrong."""
    if not rows:
        return
    by_level: dict[str, list[Mapping[str, Any]]] = {}
    for row in rows:
        by_level.setdefault(str(row["drill"]).partition(", seed")[0], []).append(row)
    told: list[tuple[str, ...]] = [("Drill", "Done", "Mean", "Best", "Shown", "Last")]
    for level, held in by_level.items():
        points = [int(row["points"]) for row in held]
        mean, passed = sum(points) / len(points), sum(map(shown, held))
        told.append((level, f"{len(held)}", f"{mean:.0f}", f"{max(points)}", f"{passed}", _day(held[-1])))
    yield Part("table", "Drills", rows=tuple(told))
    means = []
    for part in _PARTS:
        values = [float(row[part]) for row in rows if isinstance(row.get(part), int | float)]
        if values:
            means.append((part, f"{100 * sum(values) / len(values):.0f} %"))
    yield Part("pairs", "Mean of each part", rows=tuple(means))
    named = sorted({str(row["fault"]) for row in rows if row.get("fault") and row.get("cause") == 1.0})
    missed = sorted({str(row["fault"]) for row in rows if row.get("fault") and row.get("cause") != 1.0})
    for label, causes in (("Named right", named), ("Still to practise", missed)):
        if causes:
            yield Part("text", f"{label}: {', '.join(c.replace('_', ' ') for c in causes)}.")
    dangerous = sum(int(row.get("dangerous") or 0) for row in rows)
    yield Part("text", f"Dangerous acts: {dangerous or 'none'}.")


def _exercises(rows: Sequence[Mapping[str, Any]]) -> Iterable[Part]:
    if not rows:
        return
    told: list[tuple[str, ...]] = [("Exercise", "Points", "Shown", "Date")]
    for row in rows:
        name = str(row["drill"]).removeprefix("exercise ")
        told.append((name, f"{row['points']}", "yes" if shown(row) else "not yet", _day(row)))
    yield Part("table", "Exercises", rows=tuple(told))


def _repeats(rows: Sequence[Mapping[str, Any]], name: str) -> Iterable[Part]:
    """The pairs of readings with each partner: how far apart on the whole, and at most."""
    for row in rows:
        pairs = [(float(a), float(b)) for a, b in row.get("pairs") or []]
        if not pairs:
            continue
        first = row.get("nickname") == name
        other = str((row.get("with") if first else row.get("nickname")) or "a second person")
        apart = [(a - b) if first else (b - a) for a, b in pairs]
        mean, most = sum(apart) / len(apart), max(map(abs, apart))
        read = "; ".join(f"{a:g} and {b:g}" for a, b in pairs)
        told = f"On the whole {mean:+.1f}, at most {most:.1f} apart."
        yield Part("text", f"Read twice with {other}, {_day(row)}: {read}. {told}")
