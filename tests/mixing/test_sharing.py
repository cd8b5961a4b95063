"""Sharing coolant: the plan against brute force on small shops, and what must never be shared."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import BadInput
from advisor.mixing.sharing import BARS, MARGIN, WASTE_WEIGHT, Sharing, Sump, may_give, share

RICH = Sump("Mill", "A", 100.0, 0.9, 0.14, (0.06, 0.10))
LEAN = Sump("Lathe", "A", 60.0, 0.7, 0.04, (0.06, 0.10))


def cost(plan: Sharing) -> float:
    """What the plan is judged by: concentrate, and waste at its weight."""
    return plan.concentrate_l + WASTE_WEIGHT * plan.waste_l


def cheapest(rich: Sump, lean: Sump, pail: float, premix: float) -> float:
    """Every whole-pail plan for one rich and one lean sump, tried out."""
    best = float("inf")
    low, high = 0.06 + MARGIN * 0.04, 0.10 - MARGIN * 0.04
    for moved, waste, water, lean_waste, lean_water, mix in product(*map(range, (9, 9, 9, 5, 5, 7))):
        kept, lean_kept = rich.present_l - (moved + waste) * pail, lean.present_l - lean_waste * pail
        one_l, two_l = kept + water * pail, lean_kept + (moved + lean_water + mix) * pail
        halves = (moved + waste) * pail <= rich.volume_l / 2 and lean_waste * pail <= lean.volume_l / 2
        fits = 0.3 * rich.volume_l <= one_l <= rich.volume_l and 0.3 * lean.volume_l <= two_l <= lean.volume_l
        if not (halves and fits):
            continue
        one = kept * rich.strength / one_l
        two = (lean_kept * lean.strength + pail * (moved * rich.strength + mix * premix)) / two_l
        if low - 1e-9 <= one <= high + 1e-9 and low - 1e-9 <= two <= high + 1e-9:
            best = min(best, premix * mix * pail + WASTE_WEIGHT * (waste + lean_waste) * pail)
    return best


@settings(derandomize=True, deadline=None, max_examples=12)
@given(st.floats(0.105, 0.15), st.floats(0.03, 0.058), st.floats(0.6, 1.0), st.floats(0.5, 0.9))
def test_plan_costs_what_brute_force_finds(rich: float, lean: float, full: float, level: float) -> None:
    """On a shop of two sumps no whole-pail plan is cheaper than the one given."""
    one, two = replace(RICH, strength=rich, fill=full), replace(LEAN, strength=lean, fill=level)
    plan = share([one, two], 6.0)
    best = cheapest(one, two, 6.0, 0.15)
    if best < float("inf"):
        assert all(change.in_window for change in plan.changes)
        assert cost(plan) == pytest.approx(best, abs=0.05)


def test_rich_coolant_spares_concentrate() -> None:
    """One rich and one lean sump come right without a drop of new concentrate."""
    plan = share([RICH, LEAN], 6.0)
    assert plan.concentrate_l == 0.0
    assert all(change.in_window for change in plan.changes)
    assert plan.moves[0].giver == "Mill"


@pytest.mark.parametrize("bar", sorted(BARS))
def test_a_barred_sump_gives_nothing(bar: str) -> None:
    """Each bar keeps its sump from giving, and the plan says why."""
    plan = share([replace(RICH, bars=frozenset({bar})), LEAN], 6.0)
    assert plan.moves == ()
    assert BARS[bar] in plan.barred[0]


APART = {
    "another product": replace(LEAN, product="B"),
    "medical work": replace(LEAN, work=frozenset({"medical"})),
    "aerospace work": replace(LEAN, work=frozenset({"aerospace"})),
    "copper cut there": replace(LEAN, metals=frozenset({"copper"})),
    "a health complaint": replace(LEAN, bars=frozenset({"health_complaint"})),
    "itself": RICH,
}


@pytest.mark.parametrize("taker", APART.values(), ids=APART)
def test_what_must_not_meet_is_kept_apart(taker: Sump) -> None:
    """Other products, protected work, other metals, a health complaint, and the sump itself."""
    assert not may_give(RICH, taker)
    assert may_give(RICH, LEAN)


@pytest.mark.parametrize("metal", ["copper", "lead", "carbide", "magnesium"])
def test_separate_metals_go_only_to_their_like(metal: str) -> None:
    """A sump with such a metal gives only where the same is cut."""
    giver = replace(RICH, metals=frozenset({metal, "steel"}))
    assert not may_give(giver, LEAN)
    assert may_give(giver, replace(LEAN, metals=frozenset({metal})))


@settings(derandomize=True, deadline=None, max_examples=15)
@given(
    st.lists(
        st.tuples(st.floats(60, 800), st.floats(0.4, 1.0), st.floats(0.02, 0.22)), min_size=2, max_size=6
    )
)
def test_every_plan_fits_and_closes(rows: list[tuple[float, float, float]]) -> None:
    """No sump ends over its mark, and all that was there is there again, in sumps or in waste."""
    sumps = [Sump(f"S{n}", "A", v, f, c, (0.06, 0.10)) for n, (v, f, c) in enumerate(rows)]
    plan = share(sumps, 10.0)
    assert all(
        change.after_l <= sump.volume_l + 1e-6 for change, sump in zip(plan.changes, sumps, strict=True)
    )
    water = 10.0 * sum(change.water + change.premix for change in plan.changes)
    before = sum(sump.present_l for sump in sumps) + water
    assert sum(change.after_l for change in plan.changes) + plan.waste_l == pytest.approx(before)


def test_shops_that_cannot_be() -> None:
    """No sumps, a name twice, and a bar nobody knows are refused."""
    for bad in ([], [RICH, RICH]):
        with pytest.raises(BadInput):
            share(bad, 6.0)
    with pytest.raises(BadInput, match="reason"):
        replace(RICH, bars=frozenset({"purple"}))
    with pytest.raises(BadInput):
        share([RICH, LEAN], 0.0)


def test_never_more_than_half_a_tank_leaves() -> None:
    """A 30 % sump would need two thirds out; the plan stops at half and says it is still outside."""
    change = share([replace(RICH, strength=0.30, fill=1.0)], 5.0).changes[0]
    assert change.wasted * 5.0 <= 50.0
    assert not change.in_window
