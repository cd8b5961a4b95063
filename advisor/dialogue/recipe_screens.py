"""A recipe as blocks: its pails, what it leads to, its steps, and the other ways."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from advisor.dialogue import phrases, phrases_led
from advisor.dialogue.blocks import Block
from advisor.dialogue.following import doing, numbered
from advisor.dialogue.screens import caution_blocks
from advisor.knowledge.rulebase import RuleBase
from advisor.mixing.display import Display
from advisor.mixing.glass import Glass
from advisor.mixing.request import FULL

#: The caution that goes with every recipe that uses concentrate.
CONCENTRATE = "neat_concentrate_handling"


def handling_blocks(rules: RuleBase, made: Mapping[str, Any]) -> list[Block]:
    """What handling neat concentrate asks for, where a recipe uses any."""
    wanted = CONCENTRATE in rules.cautions and any(p["concentrate_l"] for p in made["pails"])
    return caution_blocks(rules, [CONCENTRATE] if wanted else [])


def pail_blocks(made: Mapping[str, Any], display: Display) -> list[Block]:
    """A recipe's name, what to take out, its pails, and what it leads to; or why there is none yet."""
    if made["refused"]:
        return [Block("head", f"Not yet: {made['refused']['why']}", "RECIPE")]
    first = made["options"][0]
    blocks = [Block("head", phrases.sentence(first["name"]), "RECIPE")]
    if first["remove_l"]:
        unseen = phrases_led.IF_FULL if FULL in made["assumptions"] else ""
        blocks.append(Block("item", f"take out {display.volume(first['remove_l'])}{unseen}", "out"))
    later_l, rows = made.get("later_l") or 0.0, first["pails"]
    if later_l:
        rows = made["now"] or [{**rows[0], "count": 1}]
    blocks += [_pail_row(row, display) for row in rows]
    if later_l:
        text = phrases_led.LATER if made["now"] else phrases_led.ONLY_LATER
        blocks.append(Block("item", text.format(litres=display.volume(later_l)), "later"))
    return [*blocks, *_expected(made, first, display)]


def _expected(made: Mapping[str, Any], option: Mapping[str, Any], display: Display) -> list[Block]:
    """The strength it leads to, and what the glass shows then where that is another number."""
    low, high = option["strength_low"], option["strength_high"]
    text = f"{display.strength(option['strength_after'])}, likely {display.between(low, high)}"
    glass = Glass.of(made.get("glass"))
    read = glass.both(option["strength_after"], low, high)
    return [Block("item", text, "expect"), *([Block("item", read, "reads")] if read else [])]


def _pail_row(row: Mapping[str, Any], display: Display) -> Block:
    """A row of pails alike: how many, and what goes into each."""
    pails = "pail" if row["count"] == 1 else "pails"
    conc = row["concentrate_l"]
    mix = f", then {display.measure(conc)} concentrate stirred in" if conc > 0 else ", nothing else"
    return Block("item", f"{pails}: {display.volume(row['water_l'])} water{mix}", f"{row['count']} x")


def listed_steps(made: Mapping[str, Any], done: Collection[int] = ()) -> list[Block]:
    """Every step of a recipe, numbered where there is something to do, the ticked ones marked."""
    acts = doing(made)
    return [
        Block(
            "item",
            f"{phrases.TICKED if i in done else ''}{text}",
            f"{numbered(made, i)[0]}" if i in acts else "-",
        )
        for i, text in enumerate(made["steps"])
    ]


def step_row(made: Mapping[str, Any], step: int) -> list[Block]:
    """A step of a recipe put before the person, behind what the lines right before it tell."""
    first = step
    while first and first - 1 not in doing(made):
        first -= 1
    number, total = numbered(made, step)
    told = [Block("item", text, "-") for text in made["steps"][first:step]]
    return [*told, Block("row", made["steps"][step], phrases.STEP_OF.format(number=number, total=total))]


def recipe_blocks(made: Mapping[str, Any], display: Display) -> list[Block]:
    """A whole recipe as `mix` returned it: pails, prediction, steps; other options in one line each."""
    blocks = pail_blocks(made, display)
    if made["refused"]:
        return blocks
    blocks += [Block("warn", text, "TAKE CARE") for text in made["warnings"]]
    blocks += listed_steps(made)
    if len(made["options"]) > 1:
        blocks.append(Block("head", "", "OTHER WAYS"))
    for option in made["options"][1:]:
        days = f", about {option['days']:.0f} days" if option["days"] else ""
        out = f"take out {display.volume(option['remove_l'])}, " if option["remove_l"] else ""
        ends = display.strength(option["strength_after"]) + Glass.of(made.get("glass")).beside(
            option["strength_after"]
        )
        blocks.append(
            Block(
                "item",
                f"{option['name']}: {out}add {display.volume(option['add_l'])}; ends at {ends}{days}",
                "-",
            )
        )
    return blocks + [Block("item", text, "taken") for text in made["assumptions"]]
