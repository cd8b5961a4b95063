"""The shape of ``rules/procedures/``: a check or measurement a person is led through step by step.

A procedure is knowledge; what it means to lead somebody through one is in `advisor.dialogue.procedures`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from advisor.errors import BadRules
from advisor.knowledge.schema import Condition, Id, Model, Prose, Short, Sources
from advisor.knowledge.yaml_source import Document, condition

if TYPE_CHECKING:
    from advisor.knowledge.assemble import Names

#: Keys of a step that hold a condition.
WHEN = ("known", "only_if", "unless")


class ProcedureStep(Model):
    """One step.

    ``do``: what to do, or with ``asks`` the question; ``short``: the step as something that may be done
    already ("zeroed on water"), ``word`` the same in a row of them. ``known``: when this holds the step is
    not needed. ``only_if``: the step
    is left out while this is not true. ``unless``: the step must not be done; ``instead`` says so, and
    ``needed`` that no recipe is worked out then. ``makes``: facts that hold once it is done. ``asks``:
    observables any of which answers it. ``fails``: facts that answer it with "not possible so";
    ``fail_words``: words that say the same. ``led_by``: questions whose own steps lead through this one.
    ``after``: only when one of these steps had to be done; ``by``: the later step that does this one as
    well. ``water_parts``: the sample was mixed with so many parts of water, and the reading is multiplied
    back.
    """

    id: Id
    do: Prose
    short: Short | None = None
    word: Short | None = None
    because: Prose | None = None
    known: Condition | None = None
    only_if: Condition | None = None
    unless: Condition | None = None
    instead: Prose | None = None
    needed: bool = False
    makes: tuple[str, ...] = ()
    asks: tuple[Id, ...] = ()
    fails: tuple[str, ...] = ()
    led_by: tuple[Id, ...] = ()
    water_parts: float = 0.0
    after: tuple[Id, ...] = ()
    by: Id | None = None
    fail_words: tuple[Short, ...] = ()
    sources: Sources


class ProcedureEnd(Model):
    """What follows from it: the first whose ``when`` is true is told; ``makes``: what then holds."""

    id: Id
    when: Condition | None = None
    makes: tuple[str, ...] = ()
    text: Prose
    do: tuple[Prose, ...] = ()
    sources: Sources


class Procedure(Model):
    """``rules/procedures/<id>.yaml``.

    ``kind``: ``order`` the order of a measurement, told or led through before a recipe stands on it;
    ``contradiction`` readings not to be believed before they are looked into, begun by ``when``;
    ``instrument`` a check that is offered; ``miss`` after a fix that did not come out as worked out.
    ``stands_on``: the readings it belongs to. ``called``: what a person types to begin it. ``leaves``:
    what holds when the person will not be led. ``does``: actions that are done once it is through.
    """

    id: Id
    version: Annotated[int, Field(ge=1)]
    title: Prose
    kind: Literal["order", "contradiction", "instrument", "miss"]
    rank: int = 5
    when: Condition | None = None
    opens: Prose | None = None
    stands_on: tuple[Id, ...] = ()
    called: tuple[Short, ...] = ()
    leaves: tuple[str, ...] = ()
    does: tuple[Id, ...] = ()
    steps: Annotated[list[ProcedureStep], Field(min_length=1)]
    ends: tuple[ProcedureEnd, ...] = ()
    sources: Sources


def conditions(data: dict[str, Any]) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    """Every condition of one procedure with its path in the file."""
    if data.get("when"):
        yield ("when",), condition(data["when"])
    for i, step in enumerate(data["steps"]):
        for key in WHEN:
            if step.get(key):
                yield ("steps", i, key), condition(step[key])
    for i, end in enumerate(data.get("ends", [])):
        if end.get("when"):
            yield ("ends", i, "when"), condition(end["when"])


def plain(data: dict[str, Any]) -> None:
    """Turn the conditions of a compiled procedure into their read form, in place."""
    for path, when in list(conditions(data)):
        held: Any = data
        for key in path[:-1]:
            held = held[key]
        held[path[-1]] = when
    for part in [data, *data["steps"], *data.get("ends", [])]:
        for key in ("makes", "leaves", "fails"):
            if key in part:
                part[key] = [str(condition(leaf)) for leaf in part[key]]


def check_all(documents: Iterable[Document], names: Names) -> None:
    """Check every procedure and give its conditions their read form.

    Raises:
        BadRules: with the line and what would be right.
    """
    for document in documents:
        check(document, names)
    for item in names.procedures.values():
        plain(item)


def check(document: Document, names: Names) -> None:
    """Refuse a procedure that names what does not exist.

    Raises:
        BadRules: with the line and what would be right.
    """
    data = document.data
    for path, when in conditions(data):
        names.condition(when, document.place(path))
    for key in data.get("stands_on", []):
        names.one_of(key, names.observables, "observable", document.place(("stands_on",)))
    for key in data.get("does", []):
        names.one_of(key, names.actions, "action", document.place(("does",)))
    parts: list[tuple[tuple[str | int, ...], dict[str, Any]]] = [((), data)]
    parts += [((name, i), item) for name in ("steps", "ends") for i, item in enumerate(data.get(name, []))]
    for path, part in parts:
        names.source(part["sources"], document.place((*path, "sources")))
        for key in ("makes", "leaves", "fails"):
            for leaf in part.get(key, []):
                _made(str(condition(leaf)), document.place((*path, key)), names)
        for key in [*part.get("asks", []), *part.get("led_by", [])]:
            names.one_of(key, names.observables, "observable", document.place(path))
        for key in [*part.get("after", []), *([part["by"]] if part.get("by") else [])]:
            names.one_of(key, [step["id"] for step in data["steps"]], "step", document.place(path))
        if part.get("unless") and not part.get("instead"):
            raise BadRules(
                "a step with unless says nothing in its place",
                place=document.place((*path, "unless")),
                right='add "instead:" with what to do then',
            )


def _made(leaf: str, place: str, names: Names) -> None:
    """Refuse a fact to be made that is neither an answer nor a number of a quantity."""
    leaf = leaf.removeprefix("not ")
    key, _, value = (part.strip() for part in leaf.partition(":"))
    names.one_of(key, names.observables, "observable", place)
    if names.observables[key]["kind"] != "quantity":
        names.leaf(leaf, place)
        return
    try:
        float(value)
    except ValueError:
        raise BadRules(
            f'"{leaf}" gives no number', value=value, place=place, right=f'write "{key}: 0"'
        ) from None
