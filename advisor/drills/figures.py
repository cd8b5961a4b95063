"""A number for a band: a reading that a simulated sump would show, to the instrument's step."""

from __future__ import annotations

from collections.abc import Sequence
from math import log10
from random import Random
from typing import Any

from advisor.inference.bands import in_force
from advisor.inference.derive import window
from advisor.inference.knowns import Knowns
from advisor.inference.program import program
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase

#: Span of an open end beyond the last limit, as a share of that limit, where nothing else bounds it.
_BEYOND = 0.35
#: Counts of germs run over powers of ten.
_COUNTS = {"bacteria", "fungi", "water_bacteria"}
#: Ordinary ends of scales that are open in the rules, in canonical units.
_ENDS = {"ph": (7.6, 10.2), "fluid_temperature": (6.0, 42.0), "sump_fill": (0.45, 1.1)}


def place_number(
    rules: RuleBase, chance: Random, band: dict[str, Any], answer: str | None, facts: Sequence[Fact]
) -> float | None:
    """A value of ``band["of"]`` that the rules read as `answer`, clear of its limits.

    Args:
        answer: the band wanted; None takes the normal one, that without a base rate, and gives nothing
            where the band has none.
        facts: the setting, for the scale and window in force.
    """
    known, prog = Knowns(rules, facts), program(rules)
    frame = window(known, prog)
    held = in_force(band, known, lambda when: prog.holds(when, known), frame.named)
    if held is None:
        return None
    if answer is None:
        answers = rules.observables[band["fills"]].answers
        normal = [s["answer"] for s in held.steps if "base" not in answers[s["answer"]]]
        if len(set(normal)) != 1:
            return None
        answer = normal[0]
    item = rules.observables[band["of"]]
    low: float | None = None
    for step in held.steps:
        high = step.get("below", step.get("up_to"))
        if step["answer"] == answer:
            return _between(chance, item.id, low, high, item.step, item.limits)
        low = high
    return None


def _between(
    chance: Random,
    key: str,
    low: float | None,
    high: float | None,
    step: float | None,
    limits: tuple[float, float] | None,
) -> float:
    """A value well inside the ends; an open end is bounded by what is ordinary."""
    first, last = _ENDS.get(key, (None, None))
    if low is None:
        low = first if first is not None else 0.35 * (high or 0.0)
    if high is None:
        high = last if last is not None and last > low else low * (10 if key in _COUNTS else 1 + _BEYOND)
    if limits:
        low, high = max(low, limits[0]), min(high, limits[1])
    if key in _COUNTS:
        ends = log10(max(low, 10.0)), log10(max(high, 20.0))
        return float(round(10 ** (ends[0] + (ends[1] - ends[0]) * chance.uniform(0.3, 0.8)), -1))
    value = low + (high - low) * chance.uniform(0.25, 0.75)
    return value if not step else round(round(value / step) * step, 6)
