"""Which limits a number is held against: the product's data sheet, else the region's, else the general ones.

The figures are in ``rules/bands/`` and in the shop book; here is only the choice between them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from advisor.inference.knowns import Knowns
from advisor.knowledge.facts import Fact

#: Where limits come from: the data sheet, what was said, the sump's window of strength, or the rules.
Origin = Literal["sheet", "said", "window", "rules"]
#: Whether a raw condition holds on the facts; None as a condition always does.
Holds = Callable[[Any], bool]


@dataclass(frozen=True, slots=True)
class Said:
    """What one publication says; ``here``: it speaks for the region of this shop."""

    text: str
    sources: tuple[str, ...]
    here: bool


@dataclass(frozen=True, slots=True)
class Limit:
    """The limits one number was held against.

    Attributes:
        of: the quantity; fills: the band it was placed in.
        name: what the limits are for, in words.
        steps: as in the rules; a named limit is already a number, in the quantity's canonical unit.
        origin: which of these gave them.
        sources: as rules write them; empty for a data sheet or window.
        note: what must be known about them, or "".
        published: what publications say where they do not agree.
    """

    of: str
    fills: str
    name: str
    steps: tuple[dict[str, Any], ...]
    origin: Origin
    sources: tuple[str, ...] = ()
    note: str = ""
    published: tuple[Said, ...] = ()


def in_force(
    band: Mapping[str, Any], facts: Knowns, holds: Holds, named: Mapping[str, float] | None = None,
    window: str = "",
) -> Limit | None:  # fmt: skip
    """The limits that hold for `band` on these facts, None when no scale of it does.

    Args:
        band: as compiled from ``rules/bands/``.
        facts: what is known, the region and the data sheet's figures among it.
        holds: whether a raw condition is true of the facts.
        named: value of each limit that a step names (``window_low``), in the quantity's unit.
        window: where those come from.
    """
    named = named or {}
    said = tuple(
        Said(row["says"], tuple(row["sources"]), "when" in row and holds(row["when"]))
        for row in band.get("published", [])
    )
    given = _by_sheet(band, facts)
    if given is not None:
        return Limit(band["of"], band["fills"], "", given[1], given[0], published=said)
    scale = next((s for s in band["scales"] if holds(s.get("when"))), None)
    if scale is None:
        return None
    steps = tuple(_numbered(step, named) for step in scale["steps"])
    if steps != tuple(scale["steps"]):
        return Limit(band["of"], band["fills"], window, steps, "window", note=scale.get("note", ""))
    cited = [*band["sources"], *(ref for step in steps for ref in step.get("sources", ()))]
    own = scale.get("sources") or list(dict.fromkeys(cited))
    note = scale.get("note", "")
    return Limit(band["of"], band["fills"], scale["name"], steps, "rules", tuple(own), note, said)


def _numbered(step: Mapping[str, Any], named: Mapping[str, float]) -> dict[str, Any]:
    return {key: named[value] if key in ("below", "up_to") and isinstance(value, str) else value
            for key, value in step.items()}  # fmt: skip


def _by_sheet(band: Mapping[str, Any], facts: Knowns) -> tuple[Origin, tuple[dict[str, Any], ...]] | None:
    """Steps made of the range that the data sheet gives or a person said; None where there is none."""
    rule = band.get("by_sheet") or {}
    fact = next((facts.present[key] for key in rule.get("facts", []) if key in facts.present), None)
    if fact is None:
        return None
    low, high = _range(fact, rule.get("give"))
    steps: list[dict[str, Any]] = []
    if low and "below" in rule:
        steps.append({"answer": rule["below"], "below": low})
    if high is not None and "above" in rule:
        steps += [{"answer": rule["inside"], "up_to": high}, {"answer": rule["above"]}]
    elif steps:
        steps.append({"answer": rule["inside"]})
    origin: Origin = "sheet" if fact.id.endswith("_by_sheet") else "said"
    return (origin, tuple(steps)) if steps else None


def _range(fact: Fact, give: float | None) -> tuple[float | None, float | None]:
    """The ends of a figure; a single number is the most allowed, or the middle of a range."""
    if isinstance(fact.value, tuple):
        return fact.value
    if isinstance(fact.value, str) or fact.value is None:
        return None, None
    return (None, fact.value) if give is None else (fact.value - give, fact.value + give)
