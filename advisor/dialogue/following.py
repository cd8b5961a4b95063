"""After the recipe: what a reading says about the fix, and what a miss says about the sump.

Pure functions of the recipe as stored, the figures before it and the new strength. A stored recipe
carries besides its own fields ``readings`` (what each reading step expects), ``strength_before``,
``fill_before``, ``tells`` (indexes of the steps that only inform), ``begins`` (index of the first step that
fills or drains), ``basis`` (the figures it was worked out from) and ``glass`` (factor of the refractometer
and its reading on water, where a factor is known).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from advisor.dialogue.case import SHOP_BOOK, CaseState
from advisor.errors import BadInput
from advisor.inference.assess import Assessment
from advisor.knowledge.facts import number
from advisor.mixing.recipe import Recipe
from advisor.mixing.steps import DRUM, FILLER, PUMP_OFF, informs
from advisor.mixing.sump_volume import volume_from_fix

#: What a recheck came to.
WORKED, OUTSIDE, ON_THE_WAY, SO_FAR, MISSED = "worked", "outside", "on_the_way", "so_far", "missed"
#: The same once it is known that nothing, or only a part, went in.
NOTHING_IN, PART_IN = "nothing_in", "part_in"
#: Ends of the check after a miss; those of `CLOSING` close the case's recipes.
GIVE_UP, WRONG_WAY, UNLIKELY, UNCLEAR = "give_up", "wrong_way", "unlikely", "unclear"
CLOSING = frozenset({GIVE_UP, WRONG_WAY, UNLIKELY})
#: Steps that neither fill nor drain anything yet.
_BEFORE = (DRUM, FILLER, PUMP_OFF)
_ON_WATER = "refractometer_water_reading"
#: The target of the question for the reading after the fix.
RECHECK = "recheck"
#: The target of the question for what went in, where steps are not ticked.
POURED = "poured"
#: The check begun after a miss, and confirmed misses after which no further recipe is given.
AFTER_A_MISS, MOST_MISSES = "after_a_miss", 2
#: A volume told by a fix is not believed beyond this many times the entry, either way; common practice,
#: no source.
UNLIKE = 2.0
#: Standard uncertainty of a strength read twice, times the factor, as a fraction; common practice, no
#: source (0.2 Brix for one reading, see `advisor.mixing.instruments`).
TWICE_SD = 0.0015
#: Two readings of one fluid further apart than this, times the factor, are not the same reading: 1.96 times
#: the root of two readings' variances, 0.2 Brix each (GUM 5.1.2 on common practice, no source).
SAME_WITHIN = 0.0055


@dataclass(frozen=True, slots=True)
class Told:
    """What a confirmed miss says: the end that holds, and the sump's full volume and fill after it."""

    end: str
    volume_l: float | None = None
    fill: float | None = None


#: Figures a recipe stands on that are told in words; a change of them changes it, also while it is under way.
_VESSELS = ("pail", "cup", "sump_volume", "premix", "weak_mix")
#: The same for those that the pouring itself changes.
_MOVED = ("sump_fill", "sump_level")
_FULL = ("ok", "overfull")
#: A level told this near to where the recipe ends says that it was poured; common practice, no source.
NEAR_FULL = 0.05


def basis_of(view: Assessment, kind: str) -> dict[str, Any]:
    """The figures a recipe of this kind is worked out from, as plain data that can be compared."""
    known = view.known
    held: dict[str, Any] = {key: known.quantity(key) for key in _VESSELS}
    held |= {"kind": kind, "strength": view.strength.value, "window": [view.window.low, view.window.high]}
    return held | {"sump_fill": known.quantity("sump_fill"), "sump_level": known.choice("sump_level")}


def wanted(state: CaseState) -> float | None:
    """The strength somebody said they want, a fraction; the window of the shop's book is none."""
    told = [f.value for f in state.facts if f.id == "target" and f.said != SHOP_BOOK]
    return told[-1] if told and isinstance(told[-1], float) else None


def doing(made: Mapping[str, Any]) -> list[int]:
    """Indexes of the steps that have to be done; the others only inform."""
    tells = made.get("tells") or ()
    return [i for i in range(len(made["steps"])) if i not in tells]


def numbered(made: Mapping[str, Any], step: int) -> tuple[int, int]:
    """Which of the steps to be done a step is, from 1, and of how many."""
    steps = doing(made)
    return sum(i <= step for i in steps), len(steps)


def stands(state: CaseState) -> bool:
    """Whether there is a recipe that is neither refused nor judged by a reading."""
    return bool(state.recipe) and not (state.recipe or {})["refused"] and not is_spent(state)


def begun(state: CaseState) -> bool:
    """Whether a pail of the recipe has been filled, or something been taken out."""
    return any(i >= (state.recipe or {}).get("begins", 0) for i in state.steps)


def outdated(state: CaseState, view: Assessment, kind: str | None) -> bool:
    """Whether the standing recipe goes by figures that no longer hold.

    Once it is under way only its vessels count: strength and level move with what is poured.
    """
    basis = (state.recipe or {}).get("basis")
    if not basis or not stands(state):
        return False
    now = basis_of(view, kind or "")
    if begun(state):
        return any(basis[key] != now[key] for key in _VESSELS)
    moved = () if told_full(state, view) else _MOVED
    other_aim = "wanted" in basis and basis["wanted"] != wanted(state)  # an older recipe did not keep it
    return other_aim or any(
        basis[key] != now[key] for key in (*_VESSELS, "kind", "strength", "window", *moved)
    )


def told_full(state: CaseState, view: Assessment) -> bool:
    """Whether a level told since is the one the recipe leads to: then it was poured, ticked or not."""
    made = state.recipe or {}
    ends = fill_after(made, made.get("add_l") or 0.0, view.known.quantity("sump_volume"))
    before = (made.get("basis") or {}).get("sump_fill")
    since = [f for f in state.facts if (f.event or 0) > (state.recipe_event or 0) and f.status == "present"]
    told = [1.0 if f.value in _FULL else number(f) for f in since if f.id in _MOVED]
    fill = told[-1] if told else None
    if ends is None or fill is None or before is None or ends <= before:
        return False
    return before < fill and fill >= ends - NEAR_FULL


def kept(made: Recipe, view: Assessment, kind: str = "") -> dict[str, Any]:
    """A recipe as its event keeps it, with what the readings after it are compared with."""
    data: dict[str, Any] = made.as_json()
    best = made.best
    if best is not None:
        data["readings"] = [
            {
                "step": best.steps.index(expected.step),
                "strength": expected.strength,
                "low": expected.low,
                "high": expected.high,
                "poured_l": expected.poured_l,
            }
            for expected in best.readings
        ]
        data["later_l"], data["now"] = best.later_l, [row.as_json() for row in best.now]
        data["tells"] = [i for i, step in enumerate(best.steps) if informs(step)]
        data["begins"] = next((i for i, s in enumerate(best.steps) if not s.startswith(_BEFORE)), 0)
        data["basis"] = basis_of(view, kind)
        factor, water = (view.known.quantity(k) for k in ("refractometer_factor", _ON_WATER))
        data["glass"] = {"factor": factor, "water": water} if factor else None
        data["strength_before"] = view.strength.value
        data["fill_before"] = view.known.quantity("sump_fill") or 1.0
    return data


def current_step(state: CaseState) -> int | None:
    """Index of the recipe's next step, None when there is none left or no recipe."""
    made = state.recipe
    if not made or made["refused"] or is_spent(state):
        return None
    left = [i for i in doing(made) if i not in state.steps | state.passed]
    return left[0] if left else None


def is_spent(state: CaseState) -> bool:
    """Whether the standing recipe has been carried out and judged by a reading that holds."""
    last = state.results[-1] if state.results else None
    if last is None or last.get("recipe") != state.recipe_event:
        return False
    return last["result"] in {WORKED, OUTSIDE} or bool(last.get("confirmed"))


def in_doubt(state: CaseState) -> bool:
    """Whether a reading missed what was predicted and has not been taken a second time."""
    last = state.results[-1] if state.results else None
    missed = last is not None and last["result"] == MISSED and not last.get("confirmed")
    return missed and AFTER_A_MISS not in state.concluded


def pour_unknown(state: CaseState) -> bool:
    """Whether a reading missed, steps are not ticked, and nobody has said yet what went in."""
    return bool(state.results) and bool(state.results[-1].get("asked")) and in_doubt(state)


def is_judged(state: CaseState) -> bool:
    """Whether the fix has been judged by a reading and nothing has been told since."""
    return is_spent(state) and not any(n > state.results[-1]["event"] + 1 for n in state.told)


def is_closed(state: CaseState) -> bool:
    """Whether this case gives no further recipe."""
    return state.concluded.get(AFTER_A_MISS) in CLOSING


def expected_at(state: CaseState) -> dict[str, Any] | None:
    """What a reading now is compared with: at a reading step what that one expects, else the end."""
    made = state.recipe or {}
    points: list[dict[str, Any]] = made.get("readings") or []
    if state.steps:
        due = next((p for p in points if p["step"] not in state.steps), None)
        if due is not None and due["step"] == current_step(state):
            return due
    if made.get("strength_after") is None:
        return None
    low, high = made["strength_low"], made["strength_high"]
    step = points[-1]["step"] if points else len(made["steps"]) - 1
    return {
        "step": step,
        "strength": made["strength_after"],
        "low": low,
        "high": high,
        "poured_l": made["add_l"],
    }


def is_last(state: CaseState, point: Mapping[str, Any]) -> bool:
    """Whether a point is the end of the recipe."""
    points = (state.recipe or {}).get("readings") or [point]
    return bool(point["step"] >= points[-1]["step"])


def result_of(state: CaseState, point: Mapping[str, Any], value: float, view: Assessment) -> str:
    """What a strength says about the fix so far.

    Args:
        state: the case before the reading, with its recipe and ticked steps.
        point: what was expected (`expected_at`).
        value: the strength read, a fraction.
        view: the judgement with the new reading, for the window.
    """
    if point["low"] <= value <= point["high"]:
        if not is_last(state, point):
            return SO_FAR
        return WORKED if view.window.low <= value <= view.window.high else OUTSIDE
    made = state.recipe or {}
    before, aimed = made.get("strength_before"), point["strength"]
    between = before is not None and min(before, aimed) < value < max(before, aimed)
    left = any(i < point["step"] and i not in state.steps for i in doing(made)) if made else False
    if between and begun(state) and is_last(state, point) and left:
        return ON_THE_WAY
    return MISSED


def fill_after(made: Mapping[str, Any], poured_l: float, volume_l: float | None) -> float | None:
    """How full the sump stands after a pour, a share; None when that cannot be told."""
    before = made.get("fill_before")
    if made.get("refused") or not volume_l or before is None:
        return None
    return float(min(1.0, max(0.0, before + (poured_l - made["remove_l"]) / volume_l)))


def strength_with(made: Mapping[str, Any], litres: float, volume_l: float | None = None) -> float | None:
    """The strength a sump stands at with so many litres of its recipe in, a fraction, once run round.

    A mass balance of what was there, less what was taken out, and what went in. None where the recipe as
    kept does not say what was there.

    Args:
        made: the recipe as kept.
        litres: of the recipe's mix that went in.
        volume_l: the sump when full; as the recipe went by where left out.
    """
    volume = volume_l or (made.get("basis") or {}).get("sump_volume")
    before = made.get("strength_before")
    if made.get("refused") or not volume or before is None:
        return None
    there = (made.get("fill_before") or 1.0) * volume - made["remove_l"]
    return float((there * before + litres * made["mix_strength"]) / (there + litres))


def litres_of_pails(made: Mapping[str, Any], count: int) -> float:
    """Litres in the first so many pails of a recipe."""
    each = [row["water_l"] + row["concentrate_l"] for row in made["pails"] for _ in range(row["count"])]
    return float(sum(each[:count]))


def told_by(
    made: Mapping[str, Any],
    poured_l: float,
    value: float,
    volume_l: float | None,
    factor: float,
    misses: int,
) -> Told:
    """What a confirmed miss says.

    Args:
        made: the recipe as kept.
        poured_l: litres poured of it by then.
        value: the strength read twice, a fraction.
        volume_l: the sump's volume as entered.
        factor: product factor, for the uncertainty of the reading.
        misses: confirmed misses in this case, this one included.
    """
    fill = fill_after(made, poured_l, volume_l)
    if misses >= MOST_MISSES:
        return Told(GIVE_UP, fill=fill)
    before, wanted = made.get("strength_before"), made["strength_after"]
    if before is None:
        return Told(UNCLEAR, fill=fill)
    if (value - before) * (wanted - before) < 0.0 and abs(value - before) > 2.0 * TWICE_SD * factor:
        return Told(WRONG_WAY, fill=fill)
    try:
        found = volume_from_fix(
            before, value, poured_l, made["mix_strength"], made["remove_l"], volume_l, TWICE_SD * factor
        )
    except BadInput:  # hardly moved, or past what was poured in
        return Told(UNCLEAR, fill=fill)
    full = found.before_l.value / (made.get("fill_before") or 1.0)
    if not found.certain or not volume_l:
        return Told(UNCLEAR, fill=fill)
    if not 1.0 / UNLIKE <= full / volume_l <= UNLIKE:
        return Told(UNLIKELY, fill=fill)
    return Told("smaller" if full < volume_l else "larger", full, min(1.0, found.after_l.value / full))
