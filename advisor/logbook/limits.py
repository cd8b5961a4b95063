"""The limit in force for a figure of a sump, with where it comes from.

The nearer source wins: the shop's own entry for the sump, its product's data sheet, then the rule base.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from advisor.inference.bands import in_force
from advisor.inference.conditions import evaluate, read
from advisor.inference.knowns import Knowns
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.logbook.shop import SHOP_BOOK, UNITS, Shop, setting_facts

#: Figures whose limit is the sump's window of strength.
STRENGTHS = ("concentration", "titration")
#: Figures with bands that help a diagnosis and are no limit to keep.
NOT_LIMITED = ("sump_fill",)
#: A single target is held to a tenth of itself, at least half a point; common practice, no source.
TENTH, HALF_POINT = 0.1, 0.005


@dataclass(frozen=True, slots=True)
class Limit:
    """A range in the canonical unit of a figure; None where an end is open."""

    low: float | None
    high: float | None
    source: str

    def breach(self, value: float) -> str:
        """``low``, ``high``, or "" when the value keeps the limit; a value on the limit keeps it."""
        if self.low is not None and value < self.low - 1e-9:
            return "low"
        return "high" if self.high is not None and value > self.high + 1e-9 else ""


NONE = Limit(None, None, "")


class Limits:
    """The limits of one shop on one rule base; each is worked out once."""

    def __init__(self, rules: RuleBase, shop: Shop) -> None:
        self._rules, self._shop = rules, shop
        self._by_setting: dict[tuple[str, str], Limit] = {}

    def of(self, sump: str, observable: str) -> Limit:
        """The limit of a figure in a sump; `NONE` when there is none."""
        row = self._shop.sumps.get(sump, {})
        if observable in STRENGTHS:
            own = self._own_window(row)
            if own is not None:
                return own
        figures = row.get("figures", {})
        setting = repr([row.get("product"), *(figures.get(k) for k in ("operation", "workpiece", "system"))])
        key = (setting, observable)
        if key not in self._by_setting:
            self._by_setting[key] = self._from_rules(row, observable)
        return self._by_setting[key]

    def first_fill_ph(self, sump: str) -> float | None:
        """The lower end of the pH a fresh fill of the sump's product has, by its data sheet."""
        held = self._product(self._shop.sumps.get(sump, {})).get("figures", {}).get("ph_first_fill")
        return float(held[0] if isinstance(held, list) else held) if held is not None else None

    def factor(self, sump: str) -> float | None:
        """The factor of the sump's product, None when it is not known."""
        row = self._shop.sumps.get(sump, {})
        for figures in (row.get("figures", {}), self._product(row).get("figures", {})):
            if "refractometer_factor" in figures:
                return float(figures["refractometer_factor"])
        return None

    def volume(self, sump: str) -> float | None:
        """What the sump holds when full, litres, by the shop's entry."""
        held = self._shop.sumps.get(sump, {}).get("figures", {}).get("sump_volume")
        return float(held) if isinstance(held, int | float) else None

    def _product(self, row: dict[str, Any]) -> dict[str, Any]:
        return self._shop.products.get(row.get("product") or "", {})

    def _own_window(self, row: dict[str, Any]) -> Limit | None:
        product = self._product(row)
        for held, source in (
            (row, "shop's entry for the sump"),
            (product, f"data sheet of {product.get('name', '')}"),
        ):
            target = held.get("figures", {}).get("target")
            if isinstance(target, list):
                return Limit(float(target[0]), float(target[1]), source)
            if target is not None:
                half = max(TENTH * target, HALF_POINT)
                return Limit(target - half, target + half, f"{source}, target give or take a tenth")
        return None

    def _from_rules(self, row: dict[str, Any], observable: str) -> Limit:
        figures, sheet = row.get("figures", {}), self._product(row)
        facts = [fact for key, value in figures.items() for fact in _facts(key, value)]
        facts += [fact for fact in setting_facts(self._shop, sheet) if fact.id in self._rules.observables]
        known = Knowns(self._rules, facts)

        def holds(when: Any) -> bool:
            return when is None or evaluate(read(when), known.status).value is True

        cite = self._rules.cite
        if observable in STRENGTHS:
            item = next(w for w in self._rules.windows if holds(w.get("when")))
            return Limit(item["low"], item["high"], f"assumed for {item['name']}: {cite(item['sources'])}")
        for band in self._rules.bands:
            if band["of"] == observable and observable not in NOT_LIMITED:
                held = in_force(band, known, holds)
                if held is not None:
                    by_sheet = held.origin == "sheet"
                    name = f"data sheet of {sheet.get('name', '')}" if by_sheet else cite(held.sources)
                    return _ends(held.steps, name)
        return NONE


def _ends(held: Sequence[dict[str, Any]], source: str) -> Limit:
    """The good part of a scale of bands: from the end of its low band to the start of its worst one."""
    steps = [(s["answer"], s.get("below", s.get("up_to"))) for s in held]
    answers = [answer for answer, _ in steps]
    if len(steps) < 2 or any(isinstance(end, str) for _, end in steps):
        return NONE
    starts_low = "ok" in answers and answers.index("ok") > 0
    ends_high = answers[-1] not in ("ok", "good")
    return Limit(steps[0][1] if starts_low else None, steps[-2][1] if ends_high else None, source)


def _facts(key: str, value: Any) -> list[Fact]:
    if key in UNITS:
        return []
    return [Fact(key, str(item), said=SHOP_BOOK) for item in (value if isinstance(value, list) else [value])]
