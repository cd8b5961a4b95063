"""Facts that follow from other facts: strength from a reading, falls, ratios, and the bands they lie in.

The arithmetic is here; every threshold is in ``rules/bands/``. Each derived fact names its parents.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import erf, hypot, sqrt
from typing import TYPE_CHECKING, Any

from advisor.inference.bands import Limit, in_force
from advisor.inference.knowns import Knowns
from advisor.knowledge.facts import Fact, number

if TYPE_CHECKING:
    from advisor.inference.program import Program

Work = Callable[[Knowns, "Window"], "tuple[float, tuple[str, ...]] | None"]

#: Share of concentrate in the weak mix that sets where very rich begins (vocabulary, very_rich_mix).
WEAK = 0.01


@dataclass(frozen=True, slots=True)
class Window:
    """The working range of strength, as fractions, and where it came from."""

    low: float
    high: float
    origin: str
    assumed: bool = False

    @property
    def very_rich(self) -> float:
        """Above this one thinning at half level cannot bring the sump into the window."""
        return 2 * self.high - WEAK

    @property
    def named(self) -> dict[str, float]:
        """The limits that steps of bands name."""
        return {"window_low": self.low, "window_high": self.high, "very_rich_limit": self.very_rich}

    @property
    def middle(self) -> float:
        """The strength aimed for when no single target is known."""
        return (self.low + self.high) / 2


@dataclass(frozen=True, slots=True)
class Strength:
    """True strength as a fraction: the value, whether it may carry a recipe, and why not."""

    value: float | None
    parents: tuple[str, ...] = ()
    assumption: str | None = None
    doubt: str | None = None
    ask: str | None = None


def window(known: Knowns, prog: Program) -> Window:
    """The window in force: the target as said or entered, else by operation, else general."""
    fact = known.present.get("target")
    if fact is not None and fact.value is not None and not isinstance(fact.value, str):
        sheet = known.present.get("target_by_sheet")
        entered = "the product's data sheet" if sheet and sheet.value == fact.value else "the shop book"
        origin = entered if fact.said == "shop book" else "as said"
        if isinstance(fact.value, tuple) and fact.value[0] is not None and fact.value[1] is not None:
            return Window(fact.value[0], fact.value[1], origin)
        middle = number(fact) or 0.0
        half = max(0.1 * middle, 0.005)
        return Window(middle - half, middle + half, f"{origin}, give or take a tenth (at least half a point)")
    for when, item in prog.windows:
        if prog.true(when, known):
            where = known.rules.cite(item["sources"])
            return Window(item["low"], item["high"], f"assumed: {item['name']} ({where})", assumed=True)
    return Window(0.06, 0.10, "assumed: general machining (common practice, no source)", assumed=True)


def strength(known: Knowns) -> Strength:
    """Strength from a reading and its factor, or as said, with what is doubtful about it.

    A raw reading without a factor gives no strength. A strength as said while the shop knows a
    factor other than 1 is doubtful until it is known whether the factor was applied. Where two methods
    contradict each other, the one believed after looking into it counts, or none.
    """
    believed = _believed(known)
    if believed == "titration":
        return Strength(known.quantity("titration"), ("titration",))
    if believed == "neither":
        return Strength(None, doubt="refractometer and titration do not agree, and neither is believed yet")
    return measured(known)


def _believed(known: Knowns) -> str | None:
    """Which method is believed, unless one of them was read again since."""
    fact = known.present.get(f"believed: {known.choice('believed')}")
    read = [
        known.present[k]
        for k in ("concentration", "refractometer_reading", "titration")
        if k in known.present
    ]
    newer = fact is not None and any((r.event or 0) > (fact.event or 0) for r in read if not r.derived)
    return None if fact is None or newer else str(fact.value)


def measured(known: Knowns) -> Strength:
    """Strength by the refractometer or as said, by titration only where there is nothing else."""
    factor = known.quantity("refractometer_factor")
    reading = known.quantity("refractometer_reading")
    said = known.present.get("concentration")
    applied = known.choice("factor_applied")
    if reading is not None and not _later(said, known.present["refractometer_reading"]):
        if factor is None:
            if said is not None:
                return Strength(number(said), ("concentration",))
            return Strength(
                None,
                doubt="a reading without the product's factor is not a strength",
                ask="refractometer_factor",
            )
        zero = known.quantity("refractometer_water_reading") or 0.0
        parents: tuple[str, ...] = ("refractometer_reading", "refractometer_factor")
        parents += ("refractometer_water_reading",) if zero else ()
        return Strength(max(0.0, (reading - zero) * factor / 100), parents)
    if said is None or number(said) is None:
        titrated = known.quantity("titration")
        return Strength(titrated, ("titration",)) if titrated is not None else Strength(None)
    value = number(said)
    if said.derived or applied == "yes":
        return Strength(value, ("concentration",))
    if applied == "no" or "instrument: no_factor" in known.present:
        if factor is None:
            return Strength(
                None,
                doubt="the number is straight off the glass and the factor is not known",
                ask="refractometer_factor",
            )
        return Strength((value or 0.0) * factor, ("concentration", "refractometer_factor", "factor_applied"))
    if factor is not None and abs(factor - 1) > 0.01:
        return Strength(
            value,
            ("concentration",),
            ask="factor_applied",
            doubt=f"the product's factor is {factor:g} and it is not known whether it was applied",
        )
    return Strength(
        value,
        ("concentration",),
        assumption="The strength is taken as already multiplied by the product's factor.",
    )


def _ratio(top: str, bottom: str) -> Work:
    def work(known: Knowns, frame: Window) -> tuple[float, tuple[str, ...]] | None:
        a, b = known.quantity(top), known.quantity(bottom)
        return None if a is None or not b else (a / b, (top, bottom))

    return work


def _less(first: str, second: str) -> Work:
    def work(known: Knowns, frame: Window) -> tuple[float, tuple[str, ...]] | None:
        a, b = known.quantity(first), known.quantity(second)
        return None if a is None or b is None else (a - b, (first, second))

    return work


def _over_target(top: str, scale: float = 1.0, factor: bool = False) -> Work:
    def work(known: Knowns, frame: Window) -> tuple[float, tuple[str, ...]] | None:
        value, times = known.quantity(top), 1.0
        if factor:
            times = known.quantity("refractometer_factor") or 0.0
        if value is None or not times or frame.assumed:
            return None
        return value * times * scale / frame.middle, (top, "target")

    return work


#: Derived quantity -> how it is worked out. Units as in rules/vocabulary/derived.yaml.
DERIVATIONS: dict[str, Work] = {
    "ph_fall": _less("ph_before", "ph"),
    "ph_fall_since_fill": _less("ph_first_fill", "ph"),
    "concentration_change": _less("concentration", "concentration_before"),
    "ph_method_gap": _less("ph", "ph_second"),
    "method_gap": _less("concentration", "titration"),  # of what each shows, whichever is believed
    "hardness_ratio": _ratio("sump_hardness", "water_hardness"),
    "conductivity_ratio": _ratio("conductivity", "fresh_mix_conductivity"),
    "conductivity_change": _ratio("conductivity", "conductivity_before"),
    "fresh_mix_gap": _over_target("fresh_mix_reading", 0.01, factor=True),
    "makeup_ratio": _over_target("makeup_strength"),
    "loss_share": _ratio("daily_loss", "sump_volume"),
    "nitrite_rise": _less("nitrite", "nitrite_before"),
    "people_share": _ratio("people_affected", "people_total"),
}


def derive(known: Knowns, prog: Program) -> tuple[Knowns, dict[str, dict[str, float]], Strength]:
    """What follows from the facts: the facts with derived ones added, the weight of each band's
    answers (a number near a limit counts for both sides), and the strength.
    """
    more = Knowns(known.rules, known.facts())
    frame = window(known, prog)
    found = strength(known)
    said_band = known.choice("concentration_band")
    if found.value is not None and found.parents != ("concentration",):
        more.add(
            Fact(
                "concentration",
                found.value,
                "fraction",
                parents=found.parents,
                firm=all(_firm(known, p) for p in found.parents),
                said="worked out",
            )
        )
    elif found.value is None and "concentration" in more.present:
        more.present.pop("concentration")  # off the glass, factor unknown: no strength
    for key, work in DERIVATIONS.items():
        made = _method_gap(known, measured(known)) if key == "method_gap" else work(more, frame)
        if made is not None:
            value, parents = made
            more.add(
                Fact(
                    key,
                    value,
                    known.rules.observables[key].unit,
                    parents=parents,
                    said="worked out",
                    firm=all(_firm(more, p) for p in parents),
                )
            )
    weights: dict[str, dict[str, float]] = {}
    for band in known.rules.bands:
        if band["of"] == "concentration" and found.ask and said_band is None and found.value is not None:
            continue  # the number cannot be placed before the factor is settled
        _place(band, more, weights, frame, prog)
    return more, weights, found


def _method_gap(known: Knowns, shown: Strength) -> tuple[float, tuple[str, ...]] | None:
    """Strength by refractometer less strength by titration; a titration beside itself says nothing."""
    titrated = known.quantity("titration")
    if shown.value is None or titrated is None or shown.parents == ("titration",):
        return None
    return shown.value - titrated, ("concentration", "titration")


def _later(said: Fact | None, reading: Fact) -> bool:
    """Whether a strength was said in a later line than the reading; then it is the newer measurement."""
    return said is not None and not said.derived and (said.event or 0) > (reading.event or 0)


def _firm(known: Knowns, key: str) -> bool:
    fact = known.present.get(key)
    return fact.firm if fact else True


def _place(
    band: dict[str, Any], known: Knowns, weights: dict[str, dict[str, float]], frame: Window, prog: Program
) -> None:
    value = known.quantity(band["of"])
    if value is None:
        return
    held = in_force(band, known, lambda when: prog.holds(when, known), frame.named, frame.origin)
    if held is None:
        return
    known.limits[band["fills"]] = held
    spread = band["uncertainty"] * (abs(value) if band.get("relative") else 1.0)
    spread = hypot(spread, _looseness(known, band["of"]))
    answer, shares = _shares(held, value, spread)
    fact = known.present[band["of"]]
    if isinstance(fact.value, tuple) and band["of"] != "target":
        shares = {answer: 1.0}
    weights[band["fills"]] = shares
    known.add(
        Fact(
            band["fills"],
            answer,
            None,
            firm=fact.firm,
            said=fact.said,
            event=fact.event,
            parents=(band["of"],),
        )
    )


def _looseness(known: Knowns, key: str) -> float:
    """What a difference owes to a parent known only as a range: one standard deviation of a flat range.

    The range is taken as evenly likely all along (JCGM 100:2008, 4.3.7, from memory, unverified).
    """
    fact, widths = known.present[key], []
    for parent in (known.present.get(name) for name in fact.parents):
        if parent is not None and parent.unit == fact.unit and isinstance(parent.value, tuple):
            low, high = parent.value
            widths += [high - low] if low is not None and high is not None else []
    return hypot(*(width / sqrt(12) for width in widths))


def _shares(held: Limit, value: float, spread: float) -> tuple[str, dict[str, float]]:
    """The answer a number falls into, and how far it may belong to each, its spread allowed for."""
    below, answer = 0.0, ""
    shares: dict[str, float] = {}
    for step in held.steps:
        limit = step.get("below", step.get("up_to"))
        share = (
            1.0 if limit is None else _normal((limit - value) / spread) if spread else float(value < limit)
        )
        shares[step["answer"]] = shares.get(step["answer"], 0.0) + max(0.0, share - below)
        below = max(below, share)
        if not answer and (
            limit is None or value < limit - 1e-9 or ("up_to" in step and value <= limit + 1e-9)
        ):
            answer = step["answer"]
    return answer, shares


def _normal(z: float) -> float:
    return 0.5 * (1 + erf(z / sqrt(2)))
