"""The recipe subcommands of ``sumpside mix``: thin, strengthen, charge, top-up, run-down."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from advisor.mix_command import Answer, Command, Opt

if TYPE_CHECKING:
    from advisor.mixing.display import Display
    from advisor.mixing.glass import Glass
    from advisor.mixing.recipe import Option, Recipe

_SUMP = (
    Opt("sump-volume", "L", "working volume of the sump when full", "sump_volume_l"),
    Opt(
        "fill", "fraction", "how full it stands, such as 75%% (default full; for a charge: rinse left behind)"
    ),
    Opt("strength", "fraction", "present strength, already multiplied by the product factor"),
    Opt("reading", "°Bx", "scale reading instead of a strength; needs --factor"),
    Opt("factor", "1", "the product's refractometer factor"),
    Opt("water-reading", "°Bx", "what the scale shows on plain water"),
    Opt("target", "fraction", "wanted strength"),
    Opt("window", "window", "wanted window, such as 6-10%%"),
    Opt("pail", "L", "what one pail holds (default 10 L)", "pail_l"),
    Opt("pail-fill", "fraction", "share of a pail that is filled (default 80%%)"),
    Opt("cup", "L", "smallest mark on the measuring cup", "cup_l"),
    Opt("weak-mix", "fraction", "strength of a weak mix (default 1%%)"),
    Opt("premix", "fraction", "strength of the premix at hand"),
    Opt("daily-loss", "L/day", "what is topped up in a day", "daily_loss_l"),
    Opt("evaporated", "fraction", "share of that loss that evaporates", "evaporated_share"),
    Opt("pump-min", "fraction", "level below which the pump must not run", "pump_min_fill"),
    Opt("pump-flow", "L/min", "circulation of the pump", "pump_flow_l_min"),
    Opt("hardness", "mg/L CaCO3", "hardness of the mixing water", "water_hardness"),
    Opt("repeated", "flag", "the reading was taken twice and agreed", "repeated_reading"),
    Opt("half-at-most", "flag", "take out no more than half the tank in this pass"),
    Opt("doubtful", "flag", "old, creaming or otherwise doubtful coolant", "doubtful_emulsion"),
    Opt("cannot-wait", "flag", "rust or smell shows already: change some of it now", "cannot_wait"),
    Opt("fuzzy-line", "flag", "the line on the scale is blurred"),
    Opt("concentrate-price", "1", "price of a litre of concentrate; adds the cost of each option"),
    Opt("disposal-price", "1", "price of getting rid of a litre of coolant"),
)


def _recipe(kind: str) -> Callable[[dict[str, Any], Display], Answer]:
    def answer(values: dict[str, Any], show: Display) -> Answer:
        from advisor.mixing.glass import Glass
        from advisor.mixing.plan import plan

        asked = ("concentrate_price", "disposal_price")
        prices: dict[str, float] = {name: values.pop(name) for name in asked if name in values}
        glass = Glass(values.get("factor") or 1.0, values.get("water_reading") or 0.0)
        recipe = plan(kind, values, show)
        return _with_cost(recipe_answer(recipe, show, glass), recipe, prices)

    return answer


def recipe_answer(recipe: Recipe, show: Display, glass: Glass | None = None) -> Answer:
    """A recipe for people: the recommended option whole, the others in a line each, and what the glass
    shows at the end where the factor is known and that is another number."""
    data = recipe.as_json()
    title = {
        "thin": "Thin the sump",
        "strengthen": "Strengthen the sump",
        "charge": "Charge the sump",
        "top_up": "Top up the sump",
    }[recipe.kind]
    best = recipe.best
    if best is None:
        assert recipe.refused is not None
        said = f"No recipe: {recipe.refused.what}."
        return Answer(data, title, (said, recipe.refused.why), notes=recipe.assumptions)
    figures = [f"Recommended: {best.name}.", *_option_lines(best, show, glass)]
    others = tuple(
        f"Or {other.name}: {'; '.join(_option_lines(other, show, glass))}." for other in recipe.options[1:]
    )
    cautions = tuple(dict.fromkeys([*recipe.warnings, *best.warnings]))
    return Answer(data, title, tuple(figures), best.steps, cautions, recipe.assumptions, others)


def _with_cost(answer: Answer, recipe: Recipe, prices: dict[str, float]) -> Answer:
    """The same with what each option costs in concentrate and disposal, when prices were given."""
    from dataclasses import replace

    if not prices or recipe.best is None:
        return answer
    concentrate, disposal = prices.get("concentrate_price", 0.0), prices.get("disposal_price", 0.0)
    costs = [round(one.concentrate_l * concentrate + one.waste_l * disposal, 2) for one in recipe.options]
    options = [{**shown, "cost": cost} for shown, cost in zip(answer.data["options"], costs, strict=True)]
    lines = [f"{one.name} costs {cost:.2f}" for one, cost in zip(recipe.options, costs, strict=True)]
    said = "In concentrate and disposal, " + ", ".join(lines) + "."
    return replace(answer, data={**answer.data, "options": options}, others=(*answer.others, said))


def _option_lines(option: Option, show: Display, glass: Glass | None = None) -> list[str]:
    from advisor.mixing.steps import days_text

    added = "water" if option.mix_strength <= 0 else f"mix at {show.strength(option.mix_strength)}"
    lines = [f"take out {show.volume(option.remove_l)}"] if option.remove_l > 0 else []
    needs = f" ({show.measure(option.concentrate_l)} of concentrate)" if option.concentrate_l > 0 else ""
    lines.append(f"add {show.volume(option.add_l)} of {added}{needs}")
    lines.append(
        f"ends at {show.strength(option.strength_after)}, likely "
        f"{show.between(option.strength_low, option.strength_high)}"
    )
    if glass is not None and not glass.plain:
        read = glass.both(option.strength_after, option.strength_low, option.strength_high)
        lines.append(f"then reads {read}")
    if option.days is None:
        lines.append("days not known without the daily loss")
    elif option.days > 0:
        lines.append(f"takes {days_text(option.days)}")
    return lines


def _run_down(values: dict[str, Any], show: Display) -> Answer:
    from advisor.errors import BadInput
    from advisor.mixing.balance import run_down
    from advisor.mixing.request import EVAPORATED

    for name, flag in (("strength", "strength"), ("to_fill", "to")):
        if name not in values:
            raise BadInput(f"--{flag} is missing", place=f"--{flag}", right="give it in per cent")
    start, end = values.get("fill", 1.0), values["to_fill"]
    least = values.get("pump_min_fill")
    if least is not None and end < least:
        raise BadInput(
            f"running down to {end:.0%} goes below the pump's minimum of {least:.0%}",
            place="--to",
            value=end,
            right=f"stop at {least:.0%} or above, or lock the pump off and drain",
        )
    share = values.get("evaporated_share", EVAPORATED)
    after = run_down(values["strength"], start, end, share)
    note = (
        f"{show.share(share)} of the loss evaporates"
        + ("" if "evaporated_share" in values else " (assumed)")
        + "."
    )
    data = {"strength_after": round(after, 6), "evaporated_share": share, "assumptions": [note]}
    figures = (
        f"From {show.share(start)} down to {show.share(end)} it thickens from "
        f"{show.strength(values['strength'])} to about {show.strength(after)}.",
        "Running down is not draining: evaporation takes the water and leaves the concentrate.",
    )
    return Answer(data, "Run the sump down in use", figures, notes=(note,))


RECIPES = (
    Command("thin", "thin a rich sump", _SUMP, _recipe("thin")),
    Command("strengthen", "strengthen a lean sump", _SUMP, _recipe("strengthen")),
    Command("charge", "charge a clean sump", _SUMP, _recipe("charge")),
    Command("top-up", "fill to the mark so that it lands on target", _SUMP, _recipe("top_up")),
    Command(
        "run-down",
        "what running a sump down in use does to its strength",
        (
            Opt("strength", "fraction", "strength now"),
            Opt("fill", "fraction", "level now (default full)"),
            Opt("to", "fraction", "level it runs down to", "to_fill"),
            Opt(
                "evaporated",
                "fraction",
                "share of the loss that evaporates (default 60%%)",
                "evaporated_share",
            ),
            Opt("pump-min", "fraction", "level below which the pump must not run", "pump_min_fill"),
        ),
        _run_down,
    ),
)
