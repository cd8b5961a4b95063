"""Facts that another program or a file gives by id, turned into facts with every mistake explained."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import Any

from advisor.errors import BadInput, BadQuantity
from advisor.knowledge.facts import Fact
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import Observable, RuleBase
from advisor.quantities import Gallon, parse

_YES_NO = {True: "yes", False: "no"}
_KEYS = ("text", "facts", "ruled_out", "loose")


def given_facts(data: Mapping[str, Any], rules: RuleBase, *, gallon: Gallon | None = None) -> list[Fact]:
    """The facts of one object of the ``assess`` contract (``text`` is read elsewhere).

    Args:
        data: ``facts`` (id to value), ``ruled_out`` and ``loose`` (lists of ``"id"`` or ``"id: value"``).
        rules: whose vocabulary the ids belong to.
        gallon: what a bare gallon means in this shop; US and loosely held when None.

    Raises:
        BadInput: a key, id, value or unit that cannot be used, with what would be right.
    """
    for key in data:
        if key not in _KEYS:
            near = nearest(str(key), _KEYS)
            raise BadInput(
                f'"{key}" is not a key here',
                value=key,
                right=f'write "{near}"' if near else "use text, facts, ruled_out, loose",
            )
    facts = data.get("facts") or {}
    if not isinstance(facts, Mapping):
        raise BadInput(
            "facts must be a map of ids to values",
            value=facts,
            place="facts",
            right='write for example {"facts": {"ph": 8.6}}',
        )
    loose = set(_keys(data.get("loose"), "loose", rules))
    made: list[Fact] = []
    for key, value in facts.items():
        for fact in _facts(str(key), value, rules, gallon):
            held = fact.firm and fact.key not in loose and fact.id not in loose
            made.append(Fact(fact.id, fact.value, fact.unit, firm=held, said=fact.said))
    for key in _keys(data.get("ruled_out"), "ruled_out", rules):
        observable, _, value = (part.strip() for part in key.partition(":"))
        made.append(
            Fact(
                observable,
                value or None,
                None,
                status="ruled_out",
                said=key,
                firm=key not in loose and observable not in loose,
            )
        )
    return made


def _keys(items: Any, place: str, rules: RuleBase) -> list[str]:
    if items is None:
        return []
    if isinstance(items, str):
        items = [items]
    if not isinstance(items, Iterable):
        raise BadInput(
            f"{place} must be a list", value=items, place=place, right='write ["smell", "rust: parts"]'
        )
    found = []
    for item in items:
        if isinstance(item, Mapping) and len(item) == 1:
            ((key, value),) = item.items()
            item = f"{key}: {value}"
        key, _, value = (part.strip() for part in str(item).partition(":"))
        observable = rules.observable(key)
        if value and observable.kind != "quantity":
            _answer(observable, value, f"{place}: {key}")
        found.append(f"{key}: {value}" if value and observable.kind != "quantity" else key)
    return found


def _facts(key: str, value: Any, rules: RuleBase, gallon: Gallon | None) -> list[Fact]:
    item = rules.observable(key)
    if item.kind == "quantity":
        return [_quantity(item, value, gallon)]
    if value is None:
        raise BadInput(
            f'"{key}" has no value',
            value=value,
            place=key,
            right=f'give one of {", ".join(item.answers)}, or list "{key}" under ruled_out',
        )
    values = value if isinstance(value, list | tuple) else [value]
    if item.kind == "one_of" and len(values) != 1:
        raise BadInput(
            f'"{key}" takes one value', value=value, place=key, right=f"one of {', '.join(item.answers)}"
        )
    return [Fact(key, _answer(item, v, key), None, said=str(v)) for v in values]


def _answer(item: Observable, value: Any, place: str) -> str:
    text = _YES_NO.get(value, str(value).strip()) if isinstance(value, bool) else str(value).strip()
    if text not in item.answers:
        near = nearest(text, item.answers)
        right = f'did you mean "{near}"?' if near else f"use one of {', '.join(item.answers)}"
        raise BadInput(f'"{text}" is not an answer of "{item.id}"', value=value, place=place, right=right)
    return text


def _quantity(item: Observable, value: Any, gallon: Gallon | None) -> Fact:
    unit = item.unit or "1"
    if isinstance(value, list | tuple):
        if len(value) != 2 or all(v is None for v in value):
            raise BadQuantity(
                "a range needs two ends",
                value=value,
                place=item.id,
                right="write [low, high], null for an open end",
            )
        ends = [None if v is None else _one(item, v, unit, gallon) for v in value]
        low, high = (e[0] if e else None for e in ends)
        if low is not None and high is not None and low > high:
            raise BadQuantity(
                "the range runs backwards", value=value, place=item.id, right="write [low, high]"
            )
        return Fact(item.id, (low, high), unit, said=str(value), firm=not any(e and e[1] for e in ends))
    number, loose = _one(item, value, unit, gallon)
    return Fact(item.id, number, unit, firm=not loose, said=str(value))


def _one(item: Observable, value: Any, unit: str, gallon: Gallon | None) -> tuple[float, bool]:
    """One number in the canonical unit, and whether it is loosely held."""
    if isinstance(value, Mapping):
        if set(value) != {"value", "unit"}:
            raise BadQuantity(
                "a quantity as an object has value and unit",
                value=dict(value),
                place=item.id,
                right='write {"value": 50, "unit": "US gal"}',
            )
        plain = isinstance(value["value"], int | float) and not isinstance(value["value"], bool)
        value = value["value"] if plain and value["unit"] == unit else f"{value['value']} {value['unit']}"
    if isinstance(value, bool) or value is None:
        raise BadQuantity(
            f"{value!r} is not a quantity", value=value, place=item.id, right=f"give a number in {unit}"
        )
    if isinstance(value, int | float):
        number, loose = float(value), False
        if not math.isfinite(number):
            raise BadQuantity(
                f"{value} is not a number that can be measured",
                value=value,
                place=item.id,
                right=f"give a plain number in {unit}",
            )
        if unit == "fraction" and item.limits and number > item.limits[1]:
            raise BadQuantity(
                f"{value:g} is above {item.limits[1]:g} as a share of the whole",
                value=value,
                place=item.id,
                right=f"write {value:g} % or {number / 100:g}",
            )
    else:
        try:
            parsed = parse(str(value), unit, gallon=gallon)
        except BadQuantity as trouble:
            trouble.place = trouble.place or item.id
            raise
        number, loose = parsed.value, parsed.loose
    if item.limits and not item.limits[0] <= number <= item.limits[1]:
        raise BadQuantity(
            f"{item.name} {value} lies outside what is possible",
            value=value,
            place=item.id,
            right=f"give a value from {item.limits[0]:g} to {item.limits[1]:g} {unit}",
        )
    return number, loose
