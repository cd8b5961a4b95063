"""Checks on what an entry must hold to be of use: a cause told whole, a question that can be answered."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from advisor.knowledge.advice import Advice
from advisor.knowledge.prose import PROSE
from advisor.knowledge.rule_files import Entry, RuleFiles
from advisor.knowledge.usage import named_leaves

#: What every cause says, and how to say it where there is little to say.
OF_A_CAUSE = {
    "look_alikes": 'name at least one: "- {cause: …, tell_apart: …}"',
    "proves_not": "say which clean result, seen alone, proves nothing",
    "hold": "name the action that is good until slow tests or the supervisor arrive",
    "never": "say what is often done here and makes it worse",
    "dump_when": 'say when fixing ends and the charge is changed, or "Never for this; …" and why',
    "prevent": "say what keeps it from coming back",
}
#: What every question says.
OF_A_QUESTION = {
    "look": "say in short numbered steps how to look or measure",
    "costly": "say what a wrong answer costs",
    "sources": 'add "sources: […]", with "practice" where there is none',
}
#: Longest text of a caution and longest step, in characters, that are read whole at a machine.
LONGEST = {"text": 190, "do_now": 120}


def check(files: RuleFiles) -> Iterator[Advice]:
    """Everything of this module."""
    yield from _parts(files, "causes", OF_A_CAUSE, lambda entry: True, ("signs",))
    yield from _parts(files, "observables", OF_A_QUESTION, lambda entry: bool(entry.data.get("question")),
                      ("question",))  # fmt: skip
    yield from long_cautions(files)
    yield from unanswered(files)
    yield from ids_in_prose(files)
    yield from sheet_units(files)


def _parts(
    files: RuleFiles, kind: str, wanted: dict[str, str], holds: Any, at: tuple[str, ...]
) -> Iterator[Advice]:
    for entry in files.of(kind):
        for key, right in wanted.items() if holds(entry) else ():
            if not entry.data.get(key):
                yield Advice(entry.place(*at), f'"{entry.id}" has no "{key}"', right, check="not whole")


def long_cautions(files: RuleFiles) -> Iterator[Advice]:
    """A caution that nobody reads to its end at a machine."""
    for entry in files.of("cautions"):
        held: list[tuple[tuple[str | int, ...], str]] = [(("text",), entry.data["text"])]
        held += [(("do_now", i), step) for i, step in enumerate(entry.data.get("do_now", []))]
        for path, text in held:
            most = LONGEST[str(path[0])]
            if len(text) > most:
                yield Advice(
                    entry.place(*path),
                    f'a text of "{entry.id}" has {len(text)} characters',
                    f"say it in {most}, and put what is to be done into do_now",
                    check="too long",
                )


def unanswered(files: RuleFiles) -> Iterator[Advice]:
    """A danger, injury or proposal that can be said and that no caution answers."""
    named = _named_by_cautions(files)
    for entry in files.of("observables"):
        written = entry.data.get("answers", {}) if entry.data["role"] == "safety" else {}
        for key, answer in written.items():
            told = f"{entry.id}: {key}" in named or entry.id in named
            if not told and (answer or {}).get("trouble", True):
                yield Advice(
                    entry.place("answers", key),
                    f'no caution answers "{entry.id}: {key}"',
                    'name it under "when" of a caution, or mark it "trouble: false" if it is no danger',
                    check="unanswered",
                )


def _named_by_cautions(files: RuleFiles) -> set[str]:
    alone = RuleFiles(files.folder, files.of("cautions"))
    named = named_leaves(alone)
    reached = {entry.id: entry for entry in files.of("findings")}
    while found := named & reached.keys():
        for key in found:
            named |= named_leaves(RuleFiles(files.folder, [reached.pop(key)]))
    return named


def ids_in_prose(files: RuleFiles) -> Iterator[Advice]:
    """The id of a source in a text for people: they cannot look it up there."""
    listed = (files.sources.data or {}).get("sources", {})
    marks = [re.escape(name) for name in listed if "-" in name]
    if not marks:
        return
    pattern = re.compile(r"(?<![\w-])(" + "|".join(marks) + r")(?![\w-])")
    for entry in files.entries:
        for path, text in _prose(entry):
            found = pattern.search(text)
            if found:
                yield Advice(
                    entry.place(*path),
                    f'a text for people names the source "{found[1]}"',
                    'write it under "sources", where its full title is shown',
                    check="id in a text",
                )


def _prose(entry: Entry) -> Iterator[tuple[tuple[str | int, ...], str]]:
    stack: list[tuple[tuple[str | int, ...], Any]] = [((), entry.data)]
    while stack:
        path, value = stack.pop()
        if isinstance(value, dict):
            stack += [((*path, key), inner) for key, inner in value.items() if key != "sources"]
        elif isinstance(value, list):
            stack += [((*path, i), inner) for i, inner in enumerate(value)]
        elif isinstance(value, str) and any(step in PROSE | {"says"} for step in path[-2:]):
            yield path, value


def sheet_units(files: RuleFiles) -> Iterator[Advice]:
    """A figure of a data sheet in another unit than the number it limits."""
    known = {entry.id: entry.data for entry in files.of("observables")}
    for band in files.of("bands"):
        own = known.get(band.data["of"], {}).get("unit")
        for key in band.data.get("by_sheet", {}).get("facts", []):
            unit = known.get(key, {}).get("unit")
            if unit != own:
                yield Advice(
                    band.place("by_sheet"),
                    f'"{key}" is in {unit or "no unit"}, the number it limits in {own or "no unit"}',
                    f'give "{key}" the unit {own} in the vocabulary',
                    check="threshold",
                )
