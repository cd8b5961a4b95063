"""Sharing rich coolant across sumps of one product: whole-pail transfers and additions that bring every sump
into its window with the least new concentrate and the least waste.

A mixed-integer programme, solved by HiGHS through scipy. What leaves a sump leaves at its present strength,
before anything is added, so that every balance is linear in the numbers of pails.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    import numpy as np

SEPARATE_METALS = frozenset({"copper", "brass", "bronze", "lead", "carbide", "magnesium"})
"""Metals whose coolant goes only where the same is cut: copper and lead go into solution and plate or poison,
carbide leaches cobalt, magnesium reacts and hardens the water; common practice, no source."""

PROTECTED = frozenset({"medical", "aerospace"})
"""Work whose sumps take in no coolant from elsewhere; common practice, no source."""

BARS: dict[str, str] = {
    "smells": "it smells",
    "split": "it has split",
    "oily": "oil floats on it or is taken up in it",
    "unfiltered": "it is not filtered",
    "dosed": "it was dosed with biocide or another additive lately",
    "ph_fallen": "its pH has fallen",
    "nitrite": "its nitrite is over 10 mg/L",
    "high_count": "its germ count is high",
    "health_complaint": "somebody near it has a health complaint",
}
"""Why coolant may not leave a sump. 10 mg/L nitrite: TRGS 611, 5.3; the rest common practice, no source."""

LEFT_ALONE = frozenset({"smells", "split", "ph_fallen", "high_count", "health_complaint"})
"""Bars that also keep the plan from stirring or adding anything: such a sump is put right first."""

WASTE_WEIGHT = 0.1
"""Litres of new concentrate that a litre of waste is worth avoiding; common practice, no source."""

MARGIN = 0.1
"""Share of the window's width kept clear at either end, so that a plan does not land on the edge."""

_MISS = 1000.0
_PAIL_EFFORT = 1e-3


@dataclass(frozen=True, slots=True)
class Sump:
    """One sump as sharing sees it.

    Attributes:
        name: what it is called in the shop.
        product: the coolant in it.
        volume_l, fill, strength: working volume, level as a share of full, fraction.
        window: fractions.
        metals: what is cut there.
        work: kinds of work, such as ``medical``.
        bars: keys of `BARS` that hold.
        pump_min_fill: lowest level it may end at, a share of full.
    """

    name: str
    product: str
    volume_l: float
    fill: float
    strength: float
    window: tuple[float, float]
    metals: frozenset[str] = frozenset()
    work: frozenset[str] = frozenset()
    bars: frozenset[str] = frozenset()
    pump_min_fill: float = 0.3

    def __post_init__(self) -> None:
        low, high = self.window
        right = self.volume_l > 0 and 0 <= self.fill <= 1 and 0 <= self.strength < 1 and 0 <= low < high < 1
        if not right or not 0 <= self.pump_min_fill <= 1:
            raise BadInput(
                f"sump {self.name} has figures that cannot be",
                place=self.name,
                value=self.volume_l,
                right="give a volume above 0 L, a fill of 0 to 100 %, a strength and a window below 100 %",
            )
        unknown = self.bars - BARS.keys()
        if unknown:
            raise BadInput(
                f'"{min(unknown)}" is not a reason this program knows',
                place=self.name,
                value=min(unknown),
                right="use one of " + ", ".join(BARS),
            )

    @property
    def present_l(self) -> float:
        """Litres in it now."""
        return self.volume_l * self.fill


@dataclass(frozen=True, slots=True)
class Move:
    """Whole pails from one sump to another."""

    giver: str
    taker: str
    pails: int


@dataclass(frozen=True, slots=True)
class Change:
    """What happens to one sump besides transfers, in whole pails, and where it ends."""

    name: str
    wasted: int
    water: int
    premix: int
    after_l: float
    strength_after: float
    in_window: bool


@dataclass(frozen=True, slots=True)
class Sharing:
    """The plan.

    Attributes:
        moves: transfers.
        changes: one for every sump that is planned.
        concentrate_l, waste_l: new concentrate used and coolant thrown away, litres.
        barred: sentences on sumps that give nothing, and why.
        proved: False when the solver ran out of time and a better plan may exist.
    """

    moves: tuple[Move, ...]
    changes: tuple[Change, ...]
    concentrate_l: float
    waste_l: float
    barred: tuple[str, ...]
    proved: bool


def may_give(giver: Sump, taker: Sump) -> bool:
    """Whether coolant of one sump may go into another at all."""
    if giver.name == taker.name or giver.product.strip().casefold() != taker.product.strip().casefold():
        return False
    if giver.bars or taker.bars & LEFT_ALONE or taker.work & PROTECTED:
        return False
    return giver.metals & SEPARATE_METALS == taker.metals & SEPARATE_METALS


def share(
    sumps: Sequence[Sump],
    pail_l: float,
    premix: float = 0.15,
    *,
    waste_weight: float = WASTE_WEIGHT,
    margin: float = MARGIN,
    seconds: float = 1.5,
) -> Sharing:
    """Plan transfers, waste, water and premix in whole pails.

    Only rich sumps (above their window) give. Never more than half a tank leaves, and no sump ends below
    its pump's minimum or above its mark. A sump that whole pails cannot bring into its window ends as near
    as they can, marked so.

    Args:
        sumps: with names of their own.
        pail_l: litres that go into one pail.
        premix: strength of new mix, a fraction.
        waste_weight: litres of concentrate a litre of waste is worth.
        margin: share of each window's width kept clear at either end.
        seconds: time allowed to the solver.

    Raises:
        BadInput: no sumps, a name twice, a pail or premix that cannot be.
    """
    _check(sumps, pail_l, premix)
    planned = [sump for sump in sumps if not sump.bars & LEFT_ALONE]
    barred = tuple(_why(sump) for sump in sumps if sump.bars)
    pairs = [
        (g, t)
        for g, giver in enumerate(planned)
        for t, taker in enumerate(planned)
        if giver.strength > giver.window[1] and taker.strength <= taker.window[1] and may_give(giver, taker)
    ]
    if not planned:
        return Sharing((), (), 0.0, 0.0, barred, True)
    counts, proved = _solve(planned, pairs, pail_l, premix, waste_weight, margin, seconds)
    return _told(planned, pairs, counts, pail_l, premix, barred, proved)


def _why(sump: Sump) -> str:
    reasons = " and ".join(BARS[bar] for bar in sorted(sump.bars))
    if sump.bars & LEFT_ALONE:
        return f"{sump.name} is left alone until it is put right: {reasons}."
    return f"Nothing is taken from {sump.name} for others: {reasons}."


def _solve(
    sumps: Sequence[Sump],
    pairs: Sequence[tuple[int, int]],
    pail: float,
    premix: float,
    waste_weight: float,
    margin: float,
    seconds: float,
) -> tuple[np.ndarray[Any, Any], bool]:
    """Columns: a transfer per pair; then waste, water, premix, and two misses per sump."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    n, k = len(sumps), len(pairs)
    waste, water, mix, short = (k + n * block for block in range(4))
    columns = k + 5 * n
    rows, low, high = _balances(sumps, pairs, pail, premix, margin)
    cost = np.full(columns, _PAIL_EFFORT)
    cost[waste:water] += waste_weight * pail
    cost[mix:short] += premix * pail
    cost[short:] = _MISS
    whole = np.ones(columns)
    whole[short:] = 0
    most = np.full(columns, np.inf)
    result = milp(
        cost,
        constraints=LinearConstraint(csr_array(rows), low, high),
        integrality=whole,
        bounds=Bounds(np.zeros(columns), most),
        options={"time_limit": seconds, "mip_rel_gap": 1e-4},
    )
    if result.x is None:
        return np.zeros(columns), False
    return np.asarray(result.x), result.status == 0


def _balances(
    sumps: Sequence[Sump], pairs: Sequence[tuple[int, int]], pail: float, premix: float, margin: float
) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Four rows a sump: its level, what leaves it, and its concentrate against either end of the window."""
    import numpy as np

    n, k = len(sumps), len(pairs)
    waste, water, mix, short, over = (k + n * block for block in range(5))
    columns = k + 5 * n
    rows = np.zeros((4 * n, columns))
    low, high = np.full(4 * n, -np.inf), np.full(4 * n, np.inf)
    for i, sump in enumerate(sumps):
        gap = margin * (sump.window[1] - sump.window[0])
        ends = (sump.window[0] + gap, sump.window[1] - gap)
        level, out, lean, rich = rows[4 * i], rows[4 * i + 1], rows[4 * i + 2], rows[4 * i + 3]
        out[waste + i] = pail
        for column, (giver, taker) in enumerate(pairs):
            if giver == i:
                out[column] = pail
            if taker == i:
                level[column] += pail
                lean[column] += pail * (sumps[giver].strength - ends[0])
                rich[column] += pail * (sumps[giver].strength - ends[1])
        level -= out
        lean -= out * (sump.strength - ends[0])
        rich -= out * (sump.strength - ends[1])
        level[water + i], level[mix + i] = pail, pail
        lean[water + i], lean[mix + i] = -pail * ends[0], pail * (premix - ends[0])
        rich[water + i], rich[mix + i] = -pail * ends[1], pail * (premix - ends[1])
        lean[short + i], rich[over + i] = 1.0, -1.0
        at_least = min(sump.pump_min_fill * sump.volume_l, sump.present_l)
        low[4 * i], high[4 * i] = at_least - sump.present_l, sump.volume_l - sump.present_l
        high[4 * i + 1] = min(sump.volume_l / 2.0, sump.present_l)
        low[4 * i + 2] = -sump.present_l * (sump.strength - ends[0])
        high[4 * i + 3] = -sump.present_l * (sump.strength - ends[1])
    return rows, low, high


def _told(
    sumps: Sequence[Sump],
    pairs: Sequence[tuple[int, int]],
    counts: np.ndarray[Any, Any],
    pail: float,
    premix: float,
    barred: tuple[str, ...],
    proved: bool,
) -> Sharing:
    n, k = len(sumps), len(pairs)
    whole = [round(float(count)) for count in counts[: k + 3 * n]]
    moves = tuple(Move(sumps[g].name, sumps[t].name, whole[c]) for c, (g, t) in enumerate(pairs) if whole[c])
    changes = []
    for i, sump in enumerate(sumps):
        wasted, water, mix = whole[k + i], whole[k + n + i], whole[k + 2 * n + i]
        given = wasted + sum(whole[c] for c, (g, _) in enumerate(pairs) if g == i)
        taken = [(whole[c], sumps[g].strength) for c, (g, t) in enumerate(pairs) if t == i]
        kept = sump.present_l - given * pail
        after = kept + pail * (water + mix + sum(count for count, _ in taken))
        carried = kept * sump.strength + pail * (mix * premix + sum(count * c for count, c in taken))
        strength = carried / after if after > 1e-9 else 0.0
        inside = sump.window[0] - 1e-6 <= strength <= sump.window[1] + 1e-6
        changes.append(Change(sump.name, wasted, water, mix, after, strength, inside))
    concentrate = pail * premix * sum(change.premix for change in changes)
    waste = pail * sum(change.wasted for change in changes)
    return Sharing(moves, tuple(changes), concentrate, waste, barred, proved)


def _check(sumps: Sequence[Sump], pail_l: float, premix: float) -> None:
    names = [sump.name for sump in sumps]
    if not sumps or len(set(names)) != len(names):
        raise BadInput(
            "sharing needs sumps with names of their own",
            place="sumps",
            value=len(sumps),
            right="name every sump once",
        )
    if not 0.0 < pail_l < 1e6:
        raise BadInput(
            f"a pail of {pail_l:g} L is not possible",
            place="pail_l",
            value=pail_l,
            right="give what goes into one pail, above 0 L",
        )
    strongest = max(sump.window[0] for sump in sumps)
    if not strongest < premix <= 0.2:
        raise BadInput(
            f"a premix of {premix:.1%} does not serve here",
            place="premix",
            value=premix,
            right=f"give one above {strongest:.1%} and up to 20 %, which is the cap by hand",
        )
