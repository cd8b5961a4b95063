"""Put the files of ``rules/`` together and check every name one file uses of another."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from advisor.errors import BadRules
from advisor.knowledge import procedures, schema
from advisor.knowledge.condition_shape import leaves, well_formed
from advisor.knowledge.loader import checked, documents, nearest
from advisor.knowledge.yaml_source import Document, condition, read

#: Words that stand for a source without an entry in sources.yaml.
UNLISTED = {"practice": "common practice, no source", "memory": "from memory, unverified"}


class Names:
    """What may be named in a rule, and who named it."""

    def __init__(self) -> None:
        self.observables: dict[str, dict[str, Any]] = {}
        self.findings: dict[str, Any] = {}
        self.causes: dict[str, Any] = {}
        self.cautions: dict[str, Any] = {}
        self.actions: dict[str, Any] = {}
        self.procedures: dict[str, Any] = {}
        self.sources: dict[str, Any] = {}
        self.words: dict[str, Any] = {}
        #: where each observable stands
        self.places: dict[str, Document] = {}

    def condition(self, raw: Any, place: str, *, stage: Iterable[str] = ()) -> None:
        """Refuse a condition that cannot be read or names nothing known."""
        when = condition(raw)
        well_formed(when, place, self.observables)
        for leaf in leaves(when):
            self.leaf(leaf, place, stage=stage)

    def leaf(self, text: str, place: str, *, stage: Iterable[str] = ()) -> None:
        """Refuse a condition leaf that names nothing known."""
        key, _, value = (part.strip() for part in text.partition(":"))
        if key in {"cause", "caution", "action"}:
            if key not in stage:
                raise BadRules(
                    f'"{text}" cannot be used here', place=place, right="use facts and findings only"
                )
            self.one_of(
                value,
                {"cause": self.causes, "caution": self.cautions, "action": self.actions}[key],
                key,
                place,
            )
            return
        if not value and key in self.findings:
            return
        self.one_of(key, [*self.observables, *self.findings], "observable or finding", place)
        if value:
            self.one_of(value, self.observables[key]["answers"], f'answer of "{key}"', place)

    def one_of(self, name: str, known: Any, what: str, place: str) -> None:
        """Refuse `name` unless it is known."""
        if name in known:
            return
        near = nearest(name, known)
        right = f'write "{near}"' if near else f"known: {', '.join(list(map(str, known))[:12])}"
        raise BadRules(f'no {what} is called "{name}"', value=name, place=place, right=right)

    def word(self, kind: str, name: str, place: str) -> None:
        """Refuse a word that has no number in words.yaml."""
        self.one_of(name, self.words[kind], f"word for {kind}", place)

    def source(self, refs: Iterable[str], place: str) -> None:
        """Refuse a source that sources.yaml does not list."""
        for ref in refs:
            name = ref.split(",")[0].strip()
            self.one_of(name, [*self.sources, *UNLISTED], "source", place)


def assemble(folder: Path) -> dict[str, Any]:
    """Everything under `folder` as one plain dict, every reference checked.

    Raises:
        BadRules: with file, line and what would be right.
    """
    names = Names()
    names.words = checked(read(folder / "words.yaml"), schema.Words).model_dump()
    sources = read(folder / "sources.yaml")
    for key in (sources.data or {}).get("sources", {}):
        entry = sources.inside(("sources", key))
        names.sources[key] = checked(entry, schema.SourceEntry).model_dump(exclude_defaults=True)
    files = list(documents(folder, "vocabulary"))
    for document in files:
        for i, item in enumerate(checked(document, schema.VocabularyFile).observables):
            _add_observable(names, item, document, i)
    bands, windows = _bands(folder, names)
    for document in documents(folder, "findings"):
        for i, finding in enumerate(checked(document, schema.FindingsFile).findings):
            _add(names.findings, finding.id, _plain(finding), document.place(("findings", i)))
    parts: list[tuple[str, Any, dict[str, Any]]] = [
        ("causes", schema.Cause, names.causes),
        ("cautions", schema.Caution, names.cautions),
        ("actions", schema.Action, names.actions),
        ("procedures", procedures.Procedure, names.procedures),
    ]
    held = {name: _one_per_file(folder, name, model, into) for name, model, into in parts}
    for document in documents(folder, "findings"):
        _check_findings(document, names)
    _check_bands(bands, windows, names)
    for document in held["causes"]:
        _check_cause(document, names)
    for document in [*held["cautions"], *held["actions"]]:
        _check_when(document, names)
    procedures.check_all(held["procedures"], names)
    _no_circles(names.causes, {d.data["id"]: d for d in held["causes"]})
    for item in names.observables.values():
        item.pop("id")
    return {
        "words": names.words,
        "sources": names.sources,
        "observables": names.observables,
        "bands": [b for b, _ in bands],
        "windows": [w for w, _ in windows],
        "findings": names.findings,
        "causes": names.causes,
        "cautions": names.cautions,
        "actions": names.actions,
        "procedures": names.procedures,
        "phrases": _phrases(folder),
    }


def _phrases(folder: Path) -> dict[str, Any]:
    """The phrase lists of every language, compiled for looking up."""
    from advisor.phrasing import compile_phrases

    raw: dict[str, dict[str, Any]] = {}
    for file in sorted((folder / "phrases").glob("*/*.yaml")):
        raw.setdefault(file.parent.name, {})[file.stem] = read(file).data
    return compile_phrases(raw) if raw else {}


def _add(into: dict[str, Any], key: str, value: Any, place: str) -> None:
    if key in into:
        raise BadRules(
            f'"{key}" is defined twice', value=key, place=place, right="give one of them another id"
        )
    into[key] = value


def _add_observable(names: Names, item: Any, document: Document, i: int) -> None:
    names.places.setdefault(item.id, document.inside(("observables", i)))
    _add(names.observables, item.id, _plain(item), document.place(("observables", i, "id")))


def _plain(model: Any) -> dict[str, Any]:
    data: dict[str, Any] = model.model_dump(exclude_defaults=True, mode="json")
    for key in ("when", "forbidden_when", "fact"):
        if key in data:
            data[key] = condition(data[key])
    if "answers" in data and hasattr(model, "kind"):
        data["answers"] = dict(data["answers"])
    elif hasattr(model, "kind"):
        data["answers"] = {}
    return data


def _bands(folder: Path, names: Names) -> tuple[list[Any], list[Any]]:
    bands, windows = [], []
    for document in documents(folder, "bands"):
        file = checked(document, schema.BandsFile)
        for i, item in enumerate(file.observables):
            _add_observable(names, item, document, i)
        for i, band in enumerate(file.bands):
            data = _plain(band)
            for row in [*data["scales"], *data.get("published", [])]:
                if "when" in row:
                    row["when"] = condition(row["when"])
            bands.append((data, document.inside(("bands", i))))
        for i, window in enumerate(file.windows):
            windows.append((_plain(window), document.inside(("windows", i))))
    return bands, windows


def _one_per_file(folder: Path, under: str, model: Any, into: dict[str, Any]) -> list[Document]:
    held = []
    for document in documents(folder, under):
        item = checked(document, model)
        if item.id != document.file.stem:
            raise BadRules(
                f'the id "{item.id}" is not the file name "{document.file.stem}"',
                place=document.place(("id",)),
                right=f'write "id: {document.file.stem}", or rename the file',
            )
        data = _plain(item)
        for favour in data.get("favoured_by", []):
            favour["fact"] = condition(favour["fact"])
        for lead in data.get("leads_to", []):
            if "when" in lead:
                lead["when"] = condition(lead["when"])
        into[item.id] = data
        held.append(document)
    return held


def _check_findings(document: Document, names: Names) -> None:
    for i, raw in enumerate(document.data["findings"]):
        finding, entry = names.findings[raw["id"]], document.inside(("findings", i))
        names.condition(finding["when"], entry.place(("when",)))
        for leaf in finding.get("absorbs", []):
            names.leaf(leaf, entry.place(("absorbs",)))
        names.source(finding["sources"], entry.place(("sources",)))
        if "base" in finding:
            names.word("base", finding["base"], entry.place(("base",)))


def _check_bands(bands: list[Any], windows: list[Any], names: Names) -> None:
    for band, entry in bands:
        _check_band(band, entry, names)
    for window, entry in windows:
        names.source(window["sources"], entry.place(("sources",)))
        if "when" in window:
            names.condition(window["when"], entry.place(("when",)))
    for key, item in names.observables.items():
        for name, answer in item["answers"].items():
            if "base" in answer:
                names.word("base", answer["base"], names.places[key].place(("answers", name)))
        names.source(item.get("sources", []), names.places[key].place(("sources",)))


def _check_band(band: dict[str, Any], entry: Document, names: Names) -> None:
    names.one_of(band["fills"], names.observables, "observable", entry.place(("fills",)))
    names.one_of(band["of"], names.observables, "quantity", entry.place(("of",)))
    answers = names.observables[band["fills"]]["answers"]
    names.source(band["sources"], entry.place(("sources",)))
    for i, row in enumerate(band.get("published", [])):
        names.source(row["sources"], entry.place(("published", i, "sources")))
        if "when" in row:
            names.condition(row["when"], entry.place(("published", i, "when")))
    sheet = band.get("by_sheet", {})
    for name in sheet.get("facts", []):
        names.one_of(name, names.observables, "quantity", entry.place(("by_sheet", "facts")))
    for key in [key for key in ("below", "inside", "above") if key in sheet]:
        place = entry.place(("by_sheet", key))
        names.one_of(sheet[key], answers, f'answer of "{band["fills"]}"', place)
    for i, scale in enumerate(band["scales"]):
        names.source(scale.get("sources", []), entry.place(("scales", i, "sources")))
        if "when" in scale:
            names.condition(scale["when"], entry.place(("scales", i, "when")))
        last = len(scale["steps"]) - 1
        for j, step in enumerate(scale["steps"]):
            place = entry.place(("scales", i, "steps", j))
            names.one_of(step["answer"], answers, f'answer of "{band["fills"]}"', place)
            names.source(step.get("sources", []), place)
            if ("below" in step) + ("up_to" in step) != int(j < last):
                raise BadRules(
                    f'the steps of "{band["fills"]}" do not cover every value',
                    place=place,
                    right='give every step but the last a "below:" or an "up_to:"',
                )


def _check_cause(document: Document, names: Names) -> None:
    data = document.data
    names.word("common", data["common"], document.place(("common",)))
    names.source(data["sources"], document.place(("sources",)))
    for i, favour in enumerate(data.get("favoured_by", [])):
        entry = document.inside(("favoured_by", i))
        names.condition(favour["fact"], entry.place(("fact",)))
        names.word("how_much", favour["how_much"], entry.place(("how_much",)))
        names.source(favour["sources"], entry.place(("sources",)))
    for i, lead in enumerate(data.get("leads_to", [])):
        entry = document.inside(("leads_to", i))
        names.one_of(lead["cause"], names.causes, "cause", entry.place(("cause",)))
        names.word("how_often", lead["how_often"], entry.place(("how_often",)))
        names.source(lead["sources"], entry.place(("sources",)))
        if "when" in lead:
            names.condition(lead["when"], entry.place(("when",)))
    _check_lead_order(document)
    for i, sign in enumerate(data["signs"]):
        _check_sign(sign, document.inside(("signs", i)), names)
    for i, other in enumerate(data.get("look_alikes", [])):
        names.one_of(other["cause"], names.causes, "cause", document.place(("look_alikes", i, "cause")))
    names.one_of(
        data["prove_by"], names.observables, "observable to prove it by", document.place(("prove_by",))
    )
    for key in ["hold"] if data.get("hold") else []:
        names.one_of(data[key], names.actions, "action", document.place((key,)))
    for i, action in enumerate(data["do"]):
        names.one_of(action, names.actions, "action", document.place(("do", i)))


def _check_lead_order(document: Document) -> None:
    """Refuse a link that stands behind one for the same cause that always counts."""
    always: set[str] = set()
    for i, lead in enumerate(document.data.get("leads_to", [])):
        if lead["cause"] in always:
            raise BadRules(
                f'this link to "{lead["cause"]}" never counts: one before it counts always',
                value=lead["cause"],
                place=document.place(("leads_to", i)),
                right='put the one without "when:" last, or take one out',
            )
        if "when" not in lead:
            always.add(lead["cause"])


def _check_sign(sign: dict[str, Any], entry: Document, names: Names) -> None:
    names.source(sign["sources"], entry.place(("sources",)))
    if "observable" in sign:
        place = entry.place(("observable",))
        names.one_of(sign["observable"], names.observables, "observable", place)
        item = names.observables[sign["observable"]]
        if item["kind"] != "one_of" or not sign.get("answers"):
            raise BadRules(
                f'"{sign["observable"]}" with answers must be a one_of observable',
                place=place,
                right='write "finding: id: value" with "how_often:" for an any_of observable',
            )
        for answer, word in sign["answers"].items():
            place = entry.place(("answers", answer))
            names.one_of(answer, item["answers"], f'answer of "{sign["observable"]}"', place)
            names.word("how_often", word, place)
        return
    if not sign.get("finding") or not sign.get("how_often"):
        raise BadRules(
            "a sign needs finding and how_often, or observable and answers",
            place=entry.place(),
            right='for example "{finding: smell: musty, how_often: often, because: …, sources: […]}"',
        )
    names.leaf(sign["finding"], entry.place(("finding",)))
    names.word("how_often", sign["how_often"], entry.place(("how_often",)))


def _check_when(document: Document, names: Names) -> None:
    data = document.data
    for key in ("when", "forbidden_when"):
        if data.get(key):
            names.condition(data[key], document.place((key,)), stage=("cause", "caution"))
    for key in data.get("covers", []):
        names.one_of(key, names.cautions, "caution", document.place(("covers",)))
    if data.get("hold"):
        names.one_of(data["hold"], names.actions, "action", document.place(("hold",)))
    for key in data.get("includes", []):
        names.one_of(key, names.actions, "action", document.place(("includes",)))
    for i, step in enumerate(data.get("how", [])):
        names.source(step["sources"], document.place(("how", i, "sources")))
    for key in data.get("measures", []):
        names.one_of(key, names.observables, "observable", document.place(("measures",)))
    names.source(data["sources"], document.place(("sources",)))


def _no_circles(causes: dict[str, Any], held: dict[str, Document]) -> None:
    done: set[str] = set()

    def visit(cause: str, path: tuple[str, ...]) -> None:
        if cause in path:
            circle = " -> ".join([*path[path.index(cause) :], cause])
            raise BadRules(
                f"leads_to goes in a circle: {circle}",
                place=held[path[-1]].place(("leads_to",)),
                right="remove one of these links",
            )
        if cause not in done:
            for lead in causes[cause].get("leads_to", []):
                visit(lead["cause"], (*path, cause))
            done.add(cause)

    for cause in causes:
        visit(cause, ())
