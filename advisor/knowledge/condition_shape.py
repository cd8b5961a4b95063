"""Whether a condition is written in a way that can be read; what it names is checked in `assemble`."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import Any

from advisor.errors import BadRules

_ENDS = ("below", "above", "from", "to")
_KEYS = ("all", "any", "not", "quantity")
_EXAMPLE = '"{quantity: ph, below: 8.5}" or "{quantity: ph, from: 8.5, to: 9.5}"'


def leaves(when: Any) -> Iterable[str]:
    """Every leaf text of a condition, comparison leaves as their quantity's id."""
    if isinstance(when, str):
        yield when
    elif isinstance(when, dict):
        if "quantity" in when:
            yield str(when["quantity"])
        for part in when.get("all", []) + when.get("any", []) + ([when["not"]] if "not" in when else []):
            yield from leaves(part)


def well_formed(when: Any, place: str, quantities: Mapping[str, Any]) -> None:
    """Refuse what is not a condition.

    Args:
        when: the condition with its one-key maps already turned into text.
        place: ``file:line``.
        quantities: the observables by id, for the limits of numbers.

    Raises:
        BadRules: with what would be right.
    """
    if isinstance(when, str):
        return
    if not isinstance(when, dict):
        raise BadRules(
            f"{when!r} is not a condition", value=when, place=place, right='write "id: value" in quotes'
        )
    if "quantity" in when:
        _comparison(when, place, quantities)
        return
    (key, *others) = when
    if others or key not in _KEYS:
        wrong = next((k for k in when if k not in _KEYS), key)
        near = get_close_matches(str(wrong), _KEYS, n=1, cutoff=0.5)
        raise BadRules(
            f'"{wrong}" does not begin a condition' if wrong not in _KEYS else "a condition has one key",
            value=wrong,
            place=place,
            right=f'write "{near[0]}"'
            if near and wrong not in _KEYS
            else 'list several under "all:" or "any:"',
        )
    parts = [when[key]] if key == "not" else when[key]
    if not isinstance(parts, list) or not parts:
        raise BadRules(f'"{key}" takes a list', place=place, right=f'write "{{{key}: [one, other]}}"')
    for part in parts:
        well_formed(part, place, quantities)


def _comparison(when: dict[str, Any], place: str, quantities: Mapping[str, Any]) -> None:
    ends = {end: when[end] for end in _ENDS if end in when}
    strange = [key for key in when if key not in ("quantity", *_ENDS)]
    if strange:
        near = get_close_matches(str(strange[0]), _ENDS, n=1, cutoff=0.4)
        raise BadRules(
            f'a comparison has no "{strange[0]}"',
            value=strange[0],
            place=place,
            right=f'write "{near[0]}"' if near else f"write {_EXAMPLE}",
        )
    if not ends or ("below" in ends and "to" in ends) or ("above" in ends and "from" in ends):
        raise BadRules(
            "a comparison needs one limit, or one on each side", place=place, right=f"write {_EXAMPLE}"
        )
    item = quantities.get(str(when["quantity"]))
    if item is not None and item["kind"] != "quantity":
        raise BadRules(
            f'"{when["quantity"]}" is not a number',
            value=when["quantity"],
            place=place,
            right=f'name one of its answers: "{when["quantity"]}: …"',
        )
    unit = item.get("unit", "1") if item is not None else "its unit"
    for end, limit in ends.items():
        if isinstance(limit, bool) or not isinstance(limit, int | float) or not math.isfinite(limit):
            raise BadRules(
                f'"{end}" is "{limit}"', value=limit, place=place, right=f"give a plain number in {unit}"
            )
