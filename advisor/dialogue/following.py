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


def recheck_blocks(view: Assessment, state: CaseState) -> list[Block]:
    """The new reading against what the recipe predicted, and what a difference may mean."""
    made = state.recipe or {}
    value = view.strength.value
    if value is None or made.get("strength_after") is None:
        return [Block("text", "Noted. Without a strength and a prediction there is nothing to compare.")]
    low, high, aimed = made["strength_low"], made["strength_high"], made["strength_after"]
    raw = (
        view.known.quantity("refractometer_reading")
        if "refractometer_reading" in view.strength.parents
        else None
    )
    glass = f" ({raw:g} on the glass)" if raw is not None else ""
    got, span = show(value, "fraction") + glass, f"{low * 100:.1f} to {high * 100:.1f} %"
    inside = view.window.low <= value <= view.window.high
    if low <= value <= high:
        text = f"{got}, as predicted ({span}). "
        text += (
            "The fix worked. Read again tomorrow."
            if inside
            else "It is still outside the window; go on with it."
        )
        return [Block("head", text, "IT WORKED" if inside else "AS PREDICTED")]
    blocks = [Block("head", f"{got}, but {aimed * 100:.1f} % was predicted ({span}).", "NOT AS PREDICTED")]
    thinned = aimed < (state.recipe or {}).get("mix_strength", 0) or made.get("mix_strength", 0) < aimed
    less = (value < low) == thinned
    likely = (
        "the sump holds less than its entry says, so the addition did more"
        if less
        else "the sump holds more than its entry says, so the addition did less"
    )
    blocks += [
        Block("item", text, "-")
        for text in (
            "the addition has not gone round yet: run it, wait, and read again",
            "the reading is off: zero on plain water, wipe the glass, read twice",
            likely,
        )
    ]
    return blocks
