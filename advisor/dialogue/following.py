"""After the recipe: steps ticked one by one, and the reading that shows whether the fix worked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.inference.assess import Assessment
from advisor.mixing.balance import run_down
from advisor.mixing.request import EVAPORATED
from advisor.quantities import show


def tick_blocks(state: CaseState) -> tuple[list[Block], int | None]:
    """The answer to "done", and the index of the step it ticks (None when there is none)."""
    if not state.recipe or state.recipe["refused"]:
        return [Block("text", phrases.NO_RECIPE_YET)], None
    steps = state.recipe["steps"]
    left = [i for i in range(len(steps)) if i not in state.steps]
    if not left:
        return [Block("text", phrases.NO_MORE_STEPS)], None
    blocks = [Block("text", phrases.STEP_DONE.format(number=left[0] + 1, total=len(steps)))]
    if len(left) > 1:
        blocks.append(Block("item", steps[left[1]], f"{left[1] + 1}"))
    else:
        blocks.append(Block("text", phrases.NO_MORE_STEPS))
    return blocks, left[0]


def run_down_block(view: Assessment) -> Block | None:
    """What letting the level fall in use would do to the strength, when it is planned and computable.

    The evaporated share of the loss is assumed (common practice, no source) until the log knows it.
    """
    value, fill = view.strength.value, view.known.quantity("sump_fill") or 1.0
    if "proposed_action: run_down" not in view.known.present or not value or fill <= 0.5:
        return None
    then = run_down(value, fill, 0.5, EVAPORATED)
    return Block(
        "item",
        f"From {show(value, 'fraction')} now it would stand near {show(then, 'fraction')} at half level, if "
        f"{100 * EVAPORATED:.0f} % of what is lost is water (common practice, no source).",
        "sum",
    )


def filled_to(view: Assessment, made: Mapping[str, Any] | None) -> float | None:
    """How full the sump stands once the recipe is poured, a share; None when that cannot be told."""
    volume, fill = view.known.quantity("sump_volume"), view.known.quantity("sump_fill")
    if not made or made["refused"] or not volume or fill is None:
        return None
    return float(min(1.0, max(0.0, fill + (made["add_l"] - made["remove_l"]) / volume)))


def recheck_blocks(view: Assessment, state: CaseState, before: float | None) -> list[Block]:
    """The new reading against what the recipe predicted, and what a difference may mean.

    Args:
        view: the judgement with the new reading.
        state: the case before it, with the recipe and the steps ticked.
        before: strength before the recipe, a fraction, or None.
    """
    made = state.recipe or {}
    value = view.strength.value
    if value is None or made.get("strength_after") is None:
        return [Block("text", phrases.NOTHING_TO_COMPARE)]
    low, high, aimed = made["strength_low"], made["strength_high"], made["strength_after"]
    glass = view.known.quantity("refractometer_reading")
    shown = glass is not None and "refractometer_reading" in view.strength.parents
    on_glass = f" ({glass:g} on the glass)" if shown else ""
    got, span = show(value, "fraction") + on_glass, f"{low * 100:.1f} to {high * 100:.1f} %"
    if low <= value <= high:
        inside = view.window.low <= value <= view.window.high
        told = phrases.WORKED if inside else phrases.STILL_OUTSIDE
        label = "IT WORKED" if inside else "AS PREDICTED"
        return [Block("head", f"{got}, as predicted ({span}). {told}", label)]
    between = before is not None and min(before, aimed) < value < max(before, aimed)
    if between and len(state.steps) < len(made["steps"]) - 1:
        return [Block("head", phrases.HALFWAY.format(got=got, aimed=f"{aimed * 100:.1f} %"), "ON THE WAY")]
    return _missed(got, f"{aimed * 100:.1f} % was predicted ({span})", value, aimed, before)


def _missed(got: str, promised: str, value: float, aimed: float, before: float | None) -> list[Block]:
    """What a missed prediction may mean, and what to do about it."""
    blocks = [Block("head", f"{got}, but {promised}.", "NOT AS PREDICTED")]
    reasons = list(phrases.MISSED)
    if before is not None:
        moved_more = abs(value - before) > abs(aimed - before) and (value - before) * (aimed - before) > 0
        reasons.append(phrases.SMALLER if moved_more else phrases.LARGER)
    return [*blocks, *(Block("item", text, "-") for text in reasons), Block("text", phrases.AFTER_A_MISS)]
