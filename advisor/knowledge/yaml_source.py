"""Read a YAML file of rules so that words stay words and every value knows its line.

Differences from plain YAML 1.1: ``yes``, ``no``, ``on`` and ``off`` are words; ``1:20`` is text, not a
base-60 number; ``1e6`` is a number; a key given twice is refused; a one-key map inside a list of
conditions (``- smell: rotten_egg``) equals the text ``"smell: rotten_egg"``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

import yaml

from advisor.errors import BadRules
from advisor.knowledge.yaml_advice import advise

Path = tuple["str | int", ...]

_COMBINATORS = {"all", "any", "not", "quantity"}
_FLOAT = re.compile(r"^[-+]?(\d[\d_]*\.?[\d_]*|\.\d+)([eE][-+]?\d+)?$")
_INT = re.compile(r"^[-+]?\d[\d_]*$")


class _Loader(yaml.SafeLoader):
    """SafeLoader with our own idea of which words are numbers and truth values."""


_Loader.yaml_implicit_resolvers = {
    first: [(tag, rule) for tag, rule in rules if not tag.endswith((":bool", ":int", ":float", ":timestamp"))]
    for first, rules in yaml.SafeLoader.yaml_implicit_resolvers.items()
}
_Loader.add_implicit_resolver("tag:yaml.org,2002:bool", re.compile(r"^(?:true|false)$"), list("tf"))
_Loader.add_implicit_resolver("tag:yaml.org,2002:int", _INT, list("-+0123456789"))
_Loader.add_implicit_resolver("tag:yaml.org,2002:float", _FLOAT, list("-+.0123456789"))


@dataclass(frozen=True)
class Document:
    """One file: its data, and the line on which each value stands."""

    file: FilePath
    data: Any
    lines: dict[Path, int]

    def place(self, path: Iterable[str | int] = ()) -> str:
        """``file:line`` of the value at `path`, or of the nearest value around it."""
        steps = tuple(path)
        while steps and steps not in self.lines:
            steps = steps[:-1]
        return f"{self.file}:{self.lines.get(steps, 1)}"

    def inside(self, path: Path) -> Document:
        """The part of the document at `path`, its lines those of the file."""
        data = self.data
        for step in path:
            data = data[step]
        size = len(path)
        lines = {at[size:]: line for at, line in self.lines.items() if at[:size] == path}
        return Document(self.file, data, lines)


def read(file: FilePath) -> Document:
    """Read one file.

    Raises:
        BadRules: the file is not UTF-8 or not YAML, or gives a key twice; with file and line.
    """
    try:
        raw = file.read_bytes()
    except OSError as trouble:
        raise BadRules(f"cannot be read ({trouble})", place=str(file), right="make it readable") from None
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as trouble:
        line = raw[: trouble.start].count(b"\n") + 1
        raise BadRules(
            "holds a letter that is not UTF-8", place=f"{file}:{line}", right="save the file as UTF-8 text"
        ) from None
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return parse(text, file)


def parse(text: str, file: FilePath) -> Document:
    """Like `read`, from text already in hand."""
    loader = _Loader(text)
    lines: dict[Path, int] = {}
    try:
        node = loader.get_single_node()
        data = None if node is None else _build(loader, node, (), lines, file)
    except yaml.YAMLError as trouble:
        line, what, right = advise(text, trouble)
        raise BadRules(what, place=f"{file}:{line}", right=right) from None
    finally:
        loader.dispose()
    return Document(file, data, lines)


def _build(loader: _Loader, node: yaml.Node, path: Path, lines: dict[Path, int], file: FilePath) -> Any:
    lines[path] = node.start_mark.line + 1
    if isinstance(node, yaml.SequenceNode):
        return [_build(loader, item, (*path, i), lines, file) for i, item in enumerate(node.value)]
    if isinstance(node, yaml.MappingNode):
        built: dict[Any, Any] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value)
            if key in built:
                raise BadRules(
                    f'gives the key "{key}" twice',
                    value=key,
                    place=f"{file}:{key_node.start_mark.line + 1}",
                    right="keep one of the two",
                )
            built[key] = _build(loader, value_node, (*path, key), lines, file)
            lines[(*path, key)] = key_node.start_mark.line + 1
        return built
    if node.tag.endswith((":float", ":int")):
        number = float(node.value.replace("_", ""))
        return int(number) if node.tag.endswith(":int") else number
    return loader.construct_object(node, deep=True)


def condition(value: Any) -> Any:
    """A condition as written, with every one-key map turned into its ``"id: value"`` text."""
    if isinstance(value, list):
        return {"all": [condition(item) for item in value]}
    if not isinstance(value, dict):
        return value
    if len(value) == 1:
        (key, inner), *_ = value.items()
        if key in {"all", "any"} and isinstance(inner, list):
            return {key: [condition(item) for item in inner]}
        if key == "not":
            return {"not": condition(inner)}
        if key not in _COMBINATORS and isinstance(inner, str | int | float):
            return f"{key}: {inner}"
    return value
