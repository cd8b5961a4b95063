"""A condition on facts is true, false or unknown, with the reason for each leaf.

Written form (as in ``rules/``)::

    "smell: rotten_egg"            that value is present
    "foam"                         anything of that observable, or the finding of that id
    "cause: tramp_oil"             in the later stages: a cause of the verdict, a caution that stands
    {quantity: ph, below: 8.5}     a comparison: below, above (strict), from, to (inclusive)
    {all: [...]}  {any: [...]}  {not: ...}

What nobody said is unknown, never false; ``not`` means ruled out. Evaluation is Kleene's strong
three-valued logic (S. C. Kleene, Introduction to Metamathematics, 1952, section 64).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from advisor.errors import BadRules, EngineLimit

#: A number, or a range with None for an open end.
Measured = float | tuple[float | None, float | None]

#: More conjunctions than this and a condition is refused; one with 256 branches is not readable either.
MOST_CONJUNCTIONS = 256
_ENDS = ("below", "above", "from", "to")


class Literal(NamedTuple):
    """A leaf's key and the status wanted of it: True present, False ruled out."""

    key: str
    wanted: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """A quantity between limits, in its canonical unit; an end that is None is open.

    Attributes:
        quantity: id of the quantity.
        low, high: the limits.
        low_in, high_in: whether the limit itself belongs to the range.
    """

    quantity: str
    low: float | None = None
    high: float | None = None
    low_in: bool = True
    high_in: bool = True

    @property
    def key(self) -> str:
        """The comparison's name among statuses: ``ph < 8.5``, ``0.06 <= concentration <= 0.1``."""
        low = "" if self.low is None else f"{self.low:.12g} {'<=' if self.low_in else '<'} "
        high = "" if self.high is None else f" {'<=' if self.high_in else '<'} {self.high:.12g}"
        if low and not high:
            return f"{self.quantity} {'>=' if self.low_in else '>'} {self.low:.12g}"
        return f"{low}{self.quantity}{high}"

    def status(self, measured: Measured | None) -> bool | None:
        """True or False when the whole of `measured` lies inside or outside; else None."""
        if measured is None:
            return None
        low, high = measured if isinstance(measured, tuple) else (measured, measured)
        low = -math.inf if low is None else low
        high = math.inf if high is None else high
        if self._clears_low(low) and self._clears_high(high):
            return True
        if not self._clears_low(high) or not self._clears_high(low):
            return False
        return None

    def _clears_low(self, value: float) -> bool:
        return self.low is None or value > self.low or (self.low_in and value == self.low)

    def _clears_high(self, value: float) -> bool:
        return self.high is None or value < self.high or (self.high_in and value == self.high)


@dataclass(frozen=True, slots=True)
class Leaf:
    """One status, by its key; `comparison` when the status comes from comparing a number."""

    key: str
    comparison: Comparison | None = None


@dataclass(frozen=True, slots=True)
class All:
    """True when every part is true, false when one is false."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Any_:  # noqa: N801  (typing.Any is another thing)
    """True when one part is true, false when every part is false."""

    parts: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class Not:
    """True when the part is ruled out."""

    part: Condition


Condition = Leaf | All | Any_ | Not
#: Status of a leaf's key: True is present, False is ruled out, None is unknown.
Status = Callable[[str], "bool | None"]


@dataclass(frozen=True, slots=True)
class Truth:
    """What a condition came to.

    Attributes:
        value: True, False, or None for unknown.
        reasons: every leaf once, in order of appearance, with its status.
        decisive: keys of the leaves that settle the value; empty while it is unknown.
        unknown: keys of the unknown leaves that can still settle it; empty once it is settled.
    """

    value: bool | None
    reasons: tuple[tuple[str, bool | None], ...]
    decisive: tuple[str, ...]
    unknown: tuple[str, ...]


def read(raw: object, place: str = "") -> Condition:
    """The condition that `raw` (as parsed from YAML or JSON) writes.

    Args:
        raw: text, or a map as in the module's docstring; a list means ``all``.
        place: file and line for the error message.

    Raises:
        BadRules: it is not a condition; with what would be right.
    """
    if isinstance(raw, str):
        return Leaf(_leaf_key(raw, place))
    if isinstance(raw, list | tuple):
        return All(_parts(raw, place))
    if not isinstance(raw, Mapping):
        raise _bad(f"{raw!r} is not a condition", raw, place)
    if "quantity" in raw:
        comparison = _comparison(raw, place)
        return Leaf(comparison.key, comparison)
    if len(raw) != 1:
        raise BadRules(
            "a condition has one key",
            value=sorted(map(str, raw)),
            place=place,
            right='put several conditions into a list under "all:" or "any:"',
        )
    ((key, inner),) = raw.items()
    if key in ("all", "any"):
        parts = _parts(inner, place)
        return All(parts) if key == "all" else Any_(parts)
    if key == "not":
        return Not(read(inner, place))
    if isinstance(inner, str):
        return Leaf(_leaf_key(f"{key}: {inner}", place))
    raise _bad(f'"{key}" with {inner!r} is not a condition', raw, place)


def _bad(what: str, value: object, place: str) -> BadRules:
    right = (
        'write "observable", "observable: value", a finding\'s id, "{quantity: ph, below: 8.5}", '
        '"{all: [...]}", "{any: [...]}" or "{not: ...}"'
    )
    return BadRules(what, value=value, place=place, right=right)


def _leaf_key(text: str, place: str) -> str:
    head, colon, tail = text.partition(":")
    key, value = head.strip(), tail.strip()
    if not key or (colon and not value):
        raise _bad(f'"{text}" is not a condition', text, place)
    return f"{key}: {value}" if colon else key


def _parts(raw: object, place: str) -> tuple[Condition, ...]:
    if not isinstance(raw, list | tuple) or not raw:
        raise BadRules(
            "all and any take a list of conditions",
            value=raw,
            place=place,
            right="list at least one condition under it",
        )
    return tuple(read(part, place) for part in raw)


def _comparison(raw: Mapping[str, object], place: str) -> Comparison:
    ends = {end: raw[end] for end in _ENDS if end in raw}
    unknown = set(raw) - {"quantity", *_ENDS}
    sides = [end in ends for end in ("below", "to")], [end in ends for end in ("above", "from")]
    if not isinstance(raw["quantity"], str) or unknown or not ends or any(all(side) for side in sides):
        raise BadRules(
            "a comparison needs a quantity and one limit, or one on each side",
            value=dict(raw),
            place=place,
            right='write for example "{quantity: ph, below: 8.5}" or "{quantity: ph, from: 8.5, to: 9.5}"',
        )
    numbers = {end: _number(limit, end, place) for end, limit in ends.items()}
    low, high = numbers.get("from", numbers.get("above")), numbers.get("to", numbers.get("below"))
    if low is not None and high is not None and low >= high:
        raise BadRules(
            f"nothing lies between {low:g} and {high:g}",
            value=dict(raw),
            place=place,
            right="give the smaller number as the lower limit",
        )
    return Comparison(raw["quantity"].strip(), low, high, "above" not in numbers, "below" not in numbers)


def _number(limit: object, end: str, place: str) -> float:
    if isinstance(limit, bool) or not isinstance(limit, int | float) or not math.isfinite(limit):
        raise BadRules(
            f'"{end}" is {limit!r}, not a number',
            value=limit,
            place=place,
            right="give a plain number in the quantity's canonical unit",
        )
    return float(limit)


def leaves(condition: Condition) -> tuple[Leaf, ...]:
    """Every leaf once, in order of appearance."""
    return tuple(dict.fromkeys(_walk(condition)))


def _walk(condition: Condition) -> Iterator[Leaf]:
    match condition:
        case Leaf():
            yield condition
        case Not(part):
            yield from _walk(part)
        case All(parts) | Any_(parts):
            for part in parts:
                yield from _walk(part)


def comparisons(conditions: Iterable[Condition]) -> tuple[Comparison, ...]:
    """Every comparison in `conditions` once: what to work out before statuses are complete."""
    found = (leaf.comparison for condition in conditions for leaf in _walk(condition))
    return tuple(dict.fromkeys(comparison for comparison in found if comparison))


def evaluate(condition: Condition, status: Status) -> Truth:
    """What `condition` comes to when each leaf has the status that `status(key)` says."""
    seen = {leaf.key: status(leaf.key) for leaf in _walk(condition)}
    value, keys = _settle(condition, seen)
    keys = tuple(dict.fromkeys(keys))
    reasons = tuple(seen.items())
    return Truth(value, reasons, (), keys) if value is None else Truth(value, reasons, keys, ())


def value_of(condition: Condition, status: Status) -> bool | None:
    """What `condition` comes to, without the reasons; the same as the value of `evaluate`."""
    match condition:
        case Leaf(key):
            return status(key)
        case Not(part):
            value = value_of(part, status)
            return None if value is None else not value
        case All(parts) | Any_(parts):
            stops, unknown = isinstance(condition, Any_), False
            for part in parts:
                value = value_of(part, status)
                if value is stops:
                    return stops
                unknown = unknown or value is None
            return None if unknown else not stops


def _settle(condition: Condition, seen: Mapping[str, bool | None]) -> tuple[bool | None, tuple[str, ...]]:
    """The value, and the leaves that settle it (or, while it is unknown, the ones that could)."""
    match condition:
        case Leaf(key):
            return seen[key], (key,)
        case Not(part):
            value, keys = _settle(part, seen)
            return (None if value is None else not value), keys
        case All(parts):
            return _join([_settle(part, seen) for part in parts], stops=False)
        case Any_(parts):
            return _join([_settle(part, seen) for part in parts], stops=True)


def _join(
    results: Sequence[tuple[bool | None, tuple[str, ...]]], stops: bool
) -> tuple[bool | None, tuple[str, ...]]:
    """Kleene "and" (one False stops it) or "or" (one True stops it)."""
    for value in (stops, None, not stops):
        keys = [key for result, part in results if result is value for key in part]
        if keys:
            return value, tuple(keys)
    raise AssertionError("a joined condition has at least one part")


def normal_form(condition: Condition, place: str = "") -> tuple[tuple[Literal, ...], ...]:
    """Conjunctions of literals, one of which holds exactly when `condition` is true.

    With leaves that may be unknown, ``x or not x`` is not always true, so it stays; ``x and not x`` is
    never true, so it goes. The form of ``Not(condition)`` holds exactly when `condition` is false.

    Raises:
        EngineLimit: more than `MOST_CONJUNCTIONS` of them.
    """
    found = _conjunctions(condition, True, place)
    least = [one for one in found if not any(other < one for other in found)]
    return tuple(tuple(sorted(one)) for one in dict.fromkeys(least))


def _conjunctions(condition: Condition, wanted: bool, place: str) -> list[frozenset[Literal]]:
    match condition:
        case Leaf(key):
            return [frozenset([Literal(key, wanted)])]
        case Not(part):
            return _conjunctions(part, not wanted, place)
        case All(parts) | Any_(parts):
            either = isinstance(condition, Any_) is wanted
            branches = [_conjunctions(part, wanted, place) for part in parts]
            if either:
                return _few([one for branch in branches for one in branch], place)
            made: list[frozenset[Literal]] = [frozenset()]
            for branch in branches:
                joined = (one | other for one in made for other in branch)
                made = _few([one for one in joined if _possible(one)], place)
            return made


def _few(conjunctions: list[frozenset[Literal]], place: str) -> list[frozenset[Literal]]:
    unique = list(dict.fromkeys(conjunctions))
    if len(unique) > MOST_CONJUNCTIONS:
        raise EngineLimit(
            f"a condition comes to more than {MOST_CONJUNCTIONS} alternatives",
            value=len(unique),
            place=place,
            right="give part of it a name as a finding of its own",
        )
    return unique


def _possible(conjunction: frozenset[Literal]) -> bool:
    return not any(Literal(key, not wanted) in conjunction for key, wanted in conjunction)
