"""A fact: one thing known about the sump, as it was said.

Facts are plain values. Nothing here knows where they come from or what follows from them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

Status = Literal["present", "ruled_out"]
Range = tuple["float | None", "float | None"]
Value = "str | float | Range | None"


@dataclass(frozen=True, slots=True)
class Fact:
    """One observed or derived fact.

    Attributes:
        id: an observable's id from the vocabulary.
        value: a choice's value id, a number in the observable's canonical unit, a range
            ``(low, high)`` with None for an open end, or None when the observable is ruled out whole.
        unit: the canonical unit's name for a quantity, None for a choice.
        status: ``present`` or ``ruled_out``. What is not said is not a fact: it is unknown.
        firm: False when the person hedged ("maybe", "I think", "9ish").
        said: the words it was read from.
        event: number of the event in the case that holds it, None outside a case.
        parents: ids of the facts a derived fact was computed from; empty for what was said.
    """

    id: str
    value: str | float | tuple[float | None, float | None] | None
    unit: str | None = None
    status: Status = "present"
    firm: bool = True
    said: str = ""
    event: int | None = None
    parents: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """The fact's name as rules write it: ``smell: rotten_egg``, or ``smell`` for the whole."""
        return f"{self.id}: {self.value}" if isinstance(self.value, str) else self.id

    @property
    def derived(self) -> bool:
        """True for a fact computed from others."""
        return bool(self.parents)

    def at(self, event: int) -> Fact:
        """The same fact, tied to the event that holds it."""
        return replace(self, event=event)

    def as_json(self) -> dict[str, object]:
        """The fact as the ``read`` command prints it."""
        value = list(self.value) if isinstance(self.value, tuple) else self.value
        return {
            "id": self.id,
            "value": value,
            "unit": self.unit,
            "status": self.status,
            "firm": self.firm,
            "said": self.said,
        }


#: Regions whose rules the rule base knows, as ISO 3166-1 codes; rules/vocabulary lists the same.
REGIONS = ("us", "gb", "de", "at", "ch", "fr")


def region_fact(code: str | None, said: str) -> Fact | None:
    """The fact of the region a shop is in, ``other`` for one whose rules are not known; None without."""
    if not code:
        return None
    return Fact("region", code if code in REGIONS else "other", said=said)


def number(fact: Fact) -> float | None:
    """The fact's value as one number: the middle of a closed range, the known end of an open one."""
    if fact.status != "present" or fact.value is None or isinstance(fact.value, str):
        return None
    if isinstance(fact.value, tuple):
        low, high = fact.value
        if low is not None and high is not None:
            return (low + high) / 2
        return low if low is not None else high
    return float(fact.value)
