"""Every file under ``rules/`` read whole, each entry with its place: what the rule checks walk over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from advisor.errors import BadRules
from advisor.knowledge import procedures, schema
from advisor.knowledge.loader import checked
from advisor.knowledge.yaml_source import Document, condition, read

#: Folders with one entry to a file, and its model.
ONE_EACH: dict[str, Any] = {
    "causes": schema.Cause,
    "cautions": schema.Caution,
    "actions": schema.Action,
    "procedures": procedures.Procedure,
}
#: Folders whose files list entries: model of the file, and the lists in it.
LISTS: dict[str, tuple[Any, tuple[str, ...]]] = {
    "vocabulary": (schema.VocabularyFile, ("observables",)),
    "bands": (schema.BandsFile, ("bands", "observables", "windows")),
    "findings": (schema.FindingsFile, ("findings",)),
}


@dataclass(frozen=True)
class Entry:
    """One entry as written, and where it stands.

    Attributes:
        kind: causes, cautions, actions, observables, bands, windows or findings.
        id: its id; for a band the observable it fills, for a window its name.
        data: as parsed from YAML.
        document: the file.
        path: where in the file it stands.
    """

    kind: str
    id: str
    data: dict[str, Any]
    document: Document
    path: tuple[str | int, ...] = ()

    def place(self, *path: str | int) -> str:
        """``file:line`` of a value inside the entry."""
        return self.document.place((*self.path, *path))


@dataclass(frozen=True)
class RuleFiles:
    """All entries, the case files, and the two lists that stand alone."""

    folder: Path
    entries: list[Entry] = field(default_factory=list)
    cases: dict[tuple[str, str], Document] = field(default_factory=dict)
    sources: Document = field(default_factory=lambda: Document(Path(), {}, {}))
    words: Document = field(default_factory=lambda: Document(Path(), {}, {}))

    def of(self, *kinds: str) -> list[Entry]:
        """The entries of these kinds, in file order."""
        return [entry for entry in self.entries if entry.kind in kinds]


@dataclass(frozen=True)
class Named:
    """One condition or sign that names facts: the entry it stands in, where, and the condition."""

    entry: Entry
    path: tuple[str | int, ...]
    when: Any

    @property
    def place(self) -> str:
        """``file:line``."""
        return self.entry.place(*self.path)


def read_all(folder: Path) -> tuple[RuleFiles, list[BadRules]]:
    """Every file under `folder`, and what is wrong with the shape of any of them.

    A file that is wrong is left out; the others go on, so that one look finds a mistake in each.
    """
    files, troubles = RuleFiles(folder), []
    for name in ("words", "sources"):
        try:
            document = read(folder / f"{name}.yaml")
            if name == "words":
                checked(document, schema.Words)
            object.__setattr__(files, name, document)
        except BadRules as trouble:
            troubles.append(trouble)
    for under in [*LISTS, *ONE_EACH]:
        for file in sorted((folder / under).glob("*.yaml")):
            try:
                _take(files, under, file)
            except BadRules as trouble:
                troubles.append(trouble)
    return files, troubles


def _take(files: RuleFiles, under: str, file: Path) -> None:
    document = read(file)
    if file.name.endswith(".cases.yaml"):
        checked(document, schema.CasesFile)
        files.cases[under, file.name.removesuffix(".cases.yaml")] = document
    elif under in ONE_EACH:
        checked(document, ONE_EACH[under])
        files.entries.append(Entry(under, document.data["id"], document.data, document))
    else:
        model, lists = LISTS[under]
        checked(document, model)
        for name in lists:
            for i, data in enumerate(document.data.get(name, [])):
                key = data.get("id") or data.get("fills") or data["name"]
                files.entries.append(Entry(name, str(key), data, document, (name, i)))


def conditions(files: RuleFiles) -> Iterator[Named]:
    """Every condition of the rule base with its place; signs are left to `signs`."""
    for entry in files.entries:
        if entry.kind == "procedures":
            yield from (Named(entry, path, when) for path, when in procedures.conditions(entry.data))
            continue
        for key in ("when", "forbidden_when"):
            if key in entry.data:
                yield Named(entry, (key,), condition(entry.data[key]))
        for i, favour in enumerate(entry.data.get("favoured_by", [])):
            yield Named(entry, ("favoured_by", i), condition(favour["fact"]))
        for part in ("scales", "published", "leads_to"):
            for i, row in enumerate(entry.data.get(part, [])):
                if "when" in row:
                    yield Named(entry, (part, i, "when"), condition(row["when"]))


def signs(files: RuleFiles) -> Iterator[tuple[Named, list[str]]]:
    """Every sign of every cause, with the leaves it names: ``["ph_band: low", "ph_band: high"]``."""
    for entry in files.of("causes"):
        for i, sign in enumerate(entry.data["signs"]):
            if "observable" in sign:
                named = [f"{sign['observable']}: {answer}" for answer in sign.get("answers", {})]
            else:
                named = [str(condition(sign["finding"]))]
            yield Named(entry, ("signs", i), sign), named
