"""What a schema error means for the person who wrote the file: line, what is wrong, what would be right."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from advisor.errors import BadRules
from advisor.knowledge.loader import nearest
from advisor.knowledge.yaml_source import Document

_UNION_NAMES = {"str", "float", "constrained-str", "dict[str,any]"}
#: What a value should be, by the kind of error.
_SHOULD = {
    "int_parsing": "a whole number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "float_parsing": "a number",
    "float_type": "a number",
    "bool_parsing": "true or false",
    "bool_type": "true or false",
    "string_type": "text; put it in quotes",
    "string_too_short": "a text that says something",
    "string_pattern_mismatch": "an id of small letters, digits and underscores",
    "dict_type": 'a map: "key: value" on lines of their own, indented',
    "model_type": 'a map: "key: value" on lines of their own, indented',
}


def advise(document: Document, errors: list[Any], model: Any) -> BadRules:
    """The first error worth telling: a key that is not known comes before a key that is missing."""
    first = next((e for e in errors if e["type"] == "extra_forbidden"), errors[0])
    where = [step for step in first["loc"] if not (isinstance(step, str) and step in _UNION_NAMES)]
    place = document.place(where)
    if document.data is None:
        return BadRules("holds nothing", place=place, right="see rules/README.md for what belongs into it")
    if first["type"] == "extra_forbidden":
        return _unknown_key(first, where, place, model)
    if first["type"] == "missing":
        return _missing(where, place)
    what = _spoken(where) or "the file"
    return BadRules(
        f"{what} is {_short(first.get('input'))}",
        value=first.get("input"),
        place=place,
        right=_right(first, str(where[-1]) if where else ""),
    )


def _unknown_key(error: Any, where: list[Any], place: str, model: Any) -> BadRules:
    key = str(where[-1])
    near = nearest(key, keys_at(model, where[:-1]))
    if near:
        right = f'write "{near}"'
    elif " " in key or key.endswith(".") or error.get("input") is None:
        right = "if it belongs to the text before it, put that text in quotes: it holds a comma or a colon"
    else:
        right = "remove it, or see rules/README.md for the keys"
    return BadRules(f'the key "{key}" is not known here', value=key, place=place, right=right)


def _missing(where: list[Any], place: str) -> BadRules:
    key, inside = str(where[-1]), _spoken(where[:-1])
    right = f'add "{key}: …"'
    if key == "sources":
        right = 'add "sources: [practice]", or an id of rules/sources.yaml in place of practice'
    return BadRules(f'{inside + ": " if inside else ""}"{key}" is missing', place=place, right=right)


def _right(error: Any, key: str) -> str:
    kind, value, context = error["type"], error.get("input"), error.get("ctx", {})
    if kind == "literal_error":
        known = str(context.get("expected", ""))
        near = nearest(str(value), [word.strip("' ") for word in known.replace(" or ", ", ").split(",")])
        return f'write "{near}"' if near else f"it should be {known}"
    if kind == "list_type":
        example = value if isinstance(value, str) and len(value) < 40 else "…"
        return f'it should be a list: write "{key}: [{example}]", or lines that begin with "- "'
    if kind == "too_short":
        return (
            "name at least one" if context.get("min_length") == 1 else f"give {context['min_length']} or more"
        )
    if kind in _SHOULD:
        return f"it should be {_SHOULD[kind]}"
    said = str(error["msg"])
    return f"it should be {said.removeprefix('Input should be ')}" if said.startswith("Input") else said


def _spoken(where: list[Any]) -> str:
    """A path as people count: ``signs 1, how_often``."""
    said = ""
    for step in where:
        said += f" {step + 1}" if isinstance(step, int) else f", {step}" if said else str(step)
    return f'"{said}"' if said else ""


def _short(value: Any) -> str:
    if isinstance(value, dict):
        return "a map"
    if isinstance(value, list):
        return "a list" if value else "an empty list"
    return f'"{value}"' if isinstance(value, str) else "empty" if value is None else repr(value)


def keys_at(model: Any, path: list[Any]) -> list[str]:
    """Field names of the model reached by walking `path`; empty where that cannot be told."""
    from pydantic import BaseModel

    here: Any = model
    for step in path:
        if isinstance(step, int):
            continue
        field = getattr(here, "model_fields", {}).get(step)
        inner = list(_flatten(field.annotation)) if field else []
        here = next((arg for arg in inner if isinstance(arg, type) and issubclass(arg, BaseModel)), here)
    return list(getattr(here, "model_fields", {}))


def _flatten(annotation: Any) -> Iterator[Any]:
    from typing import get_args

    args = get_args(annotation)
    if not args:
        yield annotation
    for arg in args:
        yield from _flatten(arg)
