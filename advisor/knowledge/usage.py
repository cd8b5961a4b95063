"""Checks on what is named and never used, said twice, or measured without unit or source."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from advisor.knowledge.advice import Advice
from advisor.knowledge.assemble import UNLISTED
from advisor.knowledge.condition_shape import leaves
from advisor.knowledge.rule_files import Entry, RuleFiles, conditions, signs
from advisor.knowledge.yaml_source import condition

_PACKAGE = Path(__file__).resolve().parent.parent
#: Parts of the program that read facts by name (derived quantities, recipes, the course of a talk).
_READERS = ("inference", "mixing", "dialogue")
_QUOTED = re.compile(r'"([a-z][a-z0-9_]*(?:: [a-z0-9_]+)?)"')
_LIMITS = ("below", "up_to", "above", "from", "to")


def cited(value: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str, tuple[str | int, ...]]]:
    """Every source cited anywhere inside `value`, by id, with its path."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if key == "sources" and isinstance(inner, list):
                yield from ((str(ref).split(",")[0].strip(), (*path, key)) for ref in inner)
            else:
                yield from cited(inner, (*path, key))
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from cited(inner, (*path, i))


def sources(files: RuleFiles) -> Iterator[Advice]:
    """A publication nobody cites; an entry that cites nothing."""
    used = {name for entry in files.entries for name, _ in cited(entry.data)}
    used |= {name for name, _ in cited(files.words.data)}
    listed = (files.sources.data or {}).get("sources", {})
    for name in listed:
        if name not in used:
            yield Advice(
                files.sources.place(("sources", name)),
                f'no rule cites the source "{name}"',
                "cite it where it is leaned on, or take it out",
                check="unused source",
            )
    for entry in files.entries:
        observable = entry.kind == "observables"
        if observable and not ("look" in entry.data or "limits" in entry.data):
            continue  # a question in words states no fact about coolant
        if not any(name in listed or name in UNLISTED for name, _ in cited(entry.data)):
            yield Advice(
                entry.place(),
                f'"{entry.id}" cites no source',
                'add "sources: […]", with "practice" where there is none',
                check="no source",
            )


def named_leaves(files: RuleFiles) -> set[str]:
    """Every leaf that a sign or condition names."""
    found = {leaf for held in conditions(files) for leaf in leaves(held.when)}
    return found | {leaf for _, held in signs(files) for leaf in held}


def read_by_program() -> set[str]:
    """Ids and ``"id: value"`` leaves that the program's own text names."""
    found: set[str] = set()
    for part in _READERS:
        for file in sorted((_PACKAGE / part).rglob("*.py")):
            found |= set(_QUOTED.findall(file.read_text(encoding="utf-8")))
    return found


def answers(files: RuleFiles, program: set[str]) -> Iterator[Advice]:
    """An answer that nothing uses. The normal answer of a choice (no ``base``) needs no use."""
    named = named_leaves(files)
    for entry in files.of("observables"):
        if entry.id in named:
            continue  # "smell" alone uses every smell
        written = entry.data.get("answers", {})
        for key, answer in written.items():
            used = f"{entry.id}: {key}" in named or f"{entry.id}: {key}" in program
            read = entry.id in program and key in program
            normal = entry.data["kind"] == "one_of" and "base" not in answer
            if not used and not read and not normal:
                yield Advice(
                    entry.place("answers", key),
                    f'nothing uses the answer "{entry.id}: {key}"',
                    "name it in a sign, favour, finding, caution or action, or take it out",
                    check="unused answer",
                )


def questions(files: RuleFiles, program: set[str]) -> Iterator[Advice]:
    """A question about something that no rule, band or part of the program uses."""
    used = {leaf.partition(":")[0] for leaf in named_leaves(files)} | program
    used |= {band.data["of"] for band in files.of("bands")}
    used |= {key for band in files.of("bands") for key in band.data.get("by_sheet", {}).get("facts", [])}
    for entry in files.of("causes", "actions"):
        used |= {
            *entry.data.get("measures", []),
            *([entry.data["prove_by"]] if entry.kind == "causes" else []),
        }
    for entry in files.of("observables"):
        if entry.data.get("question") and entry.id not in used:
            yield Advice(
                entry.place("question"),
                f'asking about "{entry.id}" changes nothing: nothing uses its answers',
                "use it in a sign, band, finding, favour or caution, or take the question out",
                check="idle question",
            )


def deaf_signs(files: RuleFiles) -> Iterator[Advice]:
    """A sign that never counts: on a choice without its answer, a number, or what is not evidence."""
    known = {entry.id: entry.data for entry in files.of("observables")}
    for held, named in signs(files):
        for leaf in named:
            key, _, value = (part.strip() for part in leaf.partition(":"))
            data = known.get(key)
            if data is None:
                continue
            what, right = "", ""
            if data["kind"] == "one_of" and not value:
                what = "is a choice of one answer and the sign names none"
                right = f'write "{{observable: {key}, answers: {{…: often}}}}"'
            elif data["kind"] == "quantity":
                what, right = "is a number", "name an answer of the band it fills, or a finding"
            elif data["role"] not in ("sign", "reading"):
                what = f'has the role "{data["role"]}" and is no evidence'
                right = "put it under favoured_by, or name it in a finding"
            if what:
                yield Advice(held.place, f'this sign never counts: "{key}" {what}', right, check="deaf sign")


def thresholds(files: RuleFiles) -> Iterator[Advice]:
    """A limit without unit or source, outside what is plausible, or out of order."""
    known = {entry.id: entry for entry in files.of("observables")}
    for band in files.of("bands"):
        for i, scale in enumerate(band.data["scales"]):
            yield from _steps(band, i, scale, known)
    for held in conditions(files):
        for leaf in _comparisons(held.when):
            yield from _limit(held.place, leaf["quantity"], leaf, known)
    for window in files.of("windows"):
        low, high = window.data["low"], window.data["high"]
        if not 0 <= low < high <= 1:
            yield Advice(
                window.place("low"),
                f'the window "{window.id}" runs from {low:g} to {high:g}',
                "give shares of the whole between 0 and 1, the lower one first",
                check="threshold",
            )


def _steps(band: Entry, i: int, scale: dict[str, Any], known: dict[str, Entry]) -> Iterator[Advice]:
    last: float | None = None
    for j, step in enumerate(scale["steps"]):
        place = band.place("scales", i, "steps", j)
        yield from _limit(place, band.data["of"], step, known)
        limit = step.get("below", step.get("up_to"))
        if isinstance(limit, int | float):
            if last is not None and limit <= last:
                yield Advice(
                    place,
                    f"the limit {limit:g} does not lie above the one before it ({last:g})",
                    "order the steps from low to high",
                    check="threshold",
                )
            last = limit


def _limit(place: str, quantity: str, leaf: dict[str, Any], known: dict[str, Entry]) -> Iterator[Advice]:
    limits = [leaf[key] for key in _LIMITS if key in leaf]
    entry = known.get(quantity)
    if not limits or entry is None:
        return
    data = entry.data
    if data["kind"] != "quantity" or not data.get("unit"):
        yield Advice(
            place,
            f'the limit {limits[0]} stands on "{quantity}", which has no unit',
            f'give "{quantity}" kind: quantity and its unit in the vocabulary',
            check="threshold",
        )
    low, high = data.get("limits") or (float("-inf"), float("inf"))
    for limit in limits:
        if isinstance(limit, int | float) and not low <= limit <= high:
            yield Advice(
                place,
                f'the limit {limit:g} lies outside what is possible for "{quantity}"',
                f"give a limit from {low:g} to {high:g} {data.get('unit', '')}",
                check="threshold",
            )
    bottom = [leaf[key] for key in ("above", "from") if isinstance(leaf.get(key), int | float)]
    top = [leaf[key] for key in ("below", "to") if isinstance(leaf.get(key), int | float)]
    if bottom and top and (bottom[0] > top[0] or (bottom[0] == top[0] and not {"from", "to"} <= {*leaf})):
        yield Advice(
            place,
            f'no "{quantity}" lies from {bottom[0]:g} up to {top[0]:g}, so this never holds',
            "put the lower limit first",
            check="threshold",
        )


def _comparisons(when: Any) -> Iterator[dict[str, Any]]:
    if not isinstance(when, dict):
        return
    if "quantity" in when:
        yield when
    for part in [*when.get("all", []), *when.get("any", []), *([when["not"]] if "not" in when else [])]:
        yield from _comparisons(part)


def alike(when: Any) -> Any:
    """A condition in one fixed form: nested lists flattened and sorted, double negation gone."""
    when = condition(when)
    if not isinstance(when, dict) or "quantity" in when:
        return tuple(sorted(when.items())) if isinstance(when, dict) else when
    if "not" in when:
        inner = condition(when["not"])
        return alike(inner["not"]) if isinstance(inner, dict) and "not" in inner else ("not", alike(inner))
    (key, parts), *_ = when.items()
    flat: set[Any] = set()
    for part in map(alike, parts):
        flat |= set(part[1]) if isinstance(part, tuple) and part[0] == key else {part}
    return next(iter(flat)) if len(flat) == 1 else (key, tuple(sorted(flat, key=repr)))


def twins(files: RuleFiles) -> Iterator[Advice]:
    """Two findings, two cautions, or two favours or signs of one cause, with the same condition."""
    for kind in ("findings", "cautions"):
        yield from _twins([(alike(e.data["when"]), e.id, e.place("when")) for e in files.of(kind)])
    for cause in files.of("causes"):
        for key, inner in (("favoured_by", "fact"), ("signs", "finding")):
            rows = enumerate(cause.data.get(key, []))
            held = [
                (alike(row[inner]), f"{key} {i + 1}", cause.place(key, i)) for i, row in rows if inner in row
            ]
            yield from _twins(held)
        seen = [
            (f"{row['observable']}: {a}", f"signs {i + 1}", cause.place("signs", i))
            for i, row in enumerate(cause.data["signs"])
            for a in row.get("answers", {})
        ]
        yield from _twins(seen)
    shown = {
        entry.id: sorted(
            (str(n), str(s.when.get("how_often") or s.when.get("answers")))
            for s, n in signs(files)
            if s.entry is entry
        )
        for entry in files.of("causes")
    }
    yield from _twins([(tuple(shown[e.id]), e.id, e.place("signs")) for e in files.of("causes")])


def _twins(rows: list[tuple[Any, str, str]]) -> Iterator[Advice]:
    first: dict[str, str] = {}
    for when, name, place in rows:
        other = first.setdefault(repr(when), name)
        if other != name:
            yield Advice(
                place,
                f'"{name}" has the same condition as "{other}"',
                "make one of the two, or say what tells them apart",
                check="equal conditions",
            )
