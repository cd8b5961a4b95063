"""The calculations of ``sumpside mix`` on water, doses, clean-outs and sharing."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from advisor.mix_calculations import needed, plain
from advisor.mix_command import Answer, Command, Opt

if TYPE_CHECKING:
    from advisor.mixing.display import Display
    from advisor.mixing.sharing import Sharing, Sump


def _hardness(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.water import from_ions, in_all_units

    if "hardness" not in values:
        needed(values, "calcium", "magnesium")
        values["hardness"] = from_ions(values["calcium"], values["magnesium"], values.get("iron", 0.0))
    units = in_all_units(values["hardness"])
    return Answer(
        plain(units), "Water hardness", tuple(f"{amount:.3g} {name}" for name, amount in units.items())
    )


def _water_blend(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.water import blend_two

    needed(values, "volume", "first", "second", "wanted")
    one, two = blend_two(values["volume"], values["first"], values["second"], values["wanted"])
    return Answer(
        {"first_l": plain(one), "second_l": plain(two)},
        "Blend two waters",
        (f"{show.volume(one)} of the first and {show.volume(two)} of the second.",),
    )


def _build_up(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.water import build_up, swap_to_reach

    needed(values, "volume_l", "water")
    limit = values.get("limit")
    result = build_up(
        values["volume_l"],
        values.get("start", values["water"]),
        values["water"],
        values.get("evaporation", 0.0),
        values.get("drag_out", 0.0),
        values.get("days", 30.0),
        limit,
    )
    data = plain(result)
    days = values.get("days", 30.0)
    tends = (
        "It climbs without end, because nothing leaves on parts."
        if data["plateau"] is None
        else (f"It levels off at {result.plateau:.0f} mg/L.")
    )
    figures = [f"After {days:.0f} days: {result.after:.0f} mg/L as CaCO3.", tends]
    if limit is not None:
        figures.append(
            "It never crosses the limit."
            if result.day_over is None
            else f"It crosses {limit:.0f} mg/L after {result.day_over:.0f} days."
        )
        if result.after > limit > values["water"]:
            data["swap_l"] = plain(swap_to_reach(values["volume_l"], result.after, values["water"], limit))
            figures.append(
                f"To come back then: swap {show.volume(data['swap_l'])} for fresh mix in this water."
            )
    return Answer(
        data, "Minerals piling up", tuple(figures), notes=("Low-mineral water for topping up stops it.",)
    )


def _dose(values: dict[str, Any], show: Display) -> Answer:
    from advisor.errors import Refused
    from advisor.mixing.dosing import dose

    needed(values, "sump_volume")
    present = values["sump_volume"] * values.get("fill", 1.0)
    try:
        result = dose(
            present,
            values.get("label_amount"),
            values.get("label_per"),
            values.get("label_most"),
            values.get("already", 0.0),
            int(values.get("portions", 2)),
        )
    except Refused as error:
        right = error.right[0].upper() + error.right[1:]
        return Answer(
            {"amount_l": None, "refused": {"what": error.what, "why": right}},
            "Dose by the label",
            (f"Refused: {error.what}.", f"{right}."),
        )
    figures = (
        f"{show.measure(result.amount_l)} in all, {show.measure(result.portion_l)} in each of "
        f"{result.portions} portions.",
        f"The label's maximum here is {show.measure(result.most_l)}.",
    )
    return Answer({**plain(result), "refused": None}, "Dose by the label", figures, cautions=result.sentences)


def _dump(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.dump_or_keep import Course, Prices, choose

    needed(values, "sump_volume", "target", "concentrate_price", "keep_days", "dump_days")
    volume = values["sump_volume"]
    prices = Prices(
        values["concentrate_price"],
        values.get("water_price", 0.0),
        values.get("disposal_price", 0.0),
        values.get("hour_price", 0.0),
    )
    keep = Course(
        values.get("keep_concentrate", 0.0),
        values.get("keep_water", 0.0),
        values.get("keep_waste", 0.0),
        values.get("keep_hours", 0.0),
        values["keep_days"],
    )
    dump = Course(
        volume * values["target"],
        volume * (1 - values["target"]),
        volume,
        values.get("dump_hours", 0.0),
        values["dump_days"],
    )
    result = choose(keep, dump, prices)
    figures = (
        ("Keep it." if result.keep else "Change it."),
        f"Keeping costs {result.keep_cost:.2f}, {result.keep_per_day:.2f} a day of life.",
        f"Changing costs {result.dump_cost:.2f}, {result.dump_per_day:.2f} a day of life.",
        f"Keeping pays once it lasts {result.break_even_days:.0f} days.",
    )
    return Answer(
        plain(result),
        "Keep or change the charge",
        figures,
        cautions=("Germs, nitrite, a fallen pH or an illness settle this before any sum does.",),
    )


def _clean_out(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.dump_or_keep import CLEANER, clean_out

    needed(values, "sump_volume", "target")
    volume = values["sump_volume"]
    plan = clean_out(
        volume,
        volume * values.get("fill", 1.0),
        values["target"],
        int(values.get("rinses", 2)),
        values.get("cleaner", CLEANER),
    )
    figures = (
        f"Cleaner: {show.measure(plan.cleaner_l)}. Rinse: {show.volume(plan.rinse_l)}, with "
        f"{show.measure(plan.rinse_mix_l)} of concentrate in it.",
        f"Waste: {show.volume(plan.waste_l)}.",
        f"New charge: {show.measure(plan.charge_concentrate_l)} of concentrate and "
        f"{show.volume(plan.charge_water_l)} of water.",
    )
    return Answer(plain(plan), "Clean out and recharge", figures, plan.steps)


def _share(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.sharing import share

    needed(values, "file", "pail_l")
    plan = share(_sumps(values["file"]), values["pail_l"], values.get("premix", 0.15))
    return Answer(
        plain(plan),
        "Share coolant across sumps",
        _figures(plan, show),
        _moves(plan),
        (
            "Only between sumps of one product. Read every giver again on the day, smell it and skim it "
            "first.",
            *plan.barred,
        ),
        () if plan.proved else ("The time ran out: a better plan may exist.",),
    )


def _figures(plan: Sharing, show: Display) -> tuple[str, ...]:
    lines = [f"New concentrate: {show.measure(plan.concentrate_l)}. Waste: {show.volume(plan.waste_l)}."]
    for change in plan.changes:
        said = "" if change.in_window else ", still outside its window"
        lines.append(f"{change.name} ends at {show.strength(change.strength_after)}{said}.")
    return tuple(lines)


def _moves(plan: Sharing) -> tuple[str, ...]:
    def pails(count: int) -> str:
        return "1 pail" if count == 1 else f"{count} pails"

    steps = [
        "Lock off pump and conveyor at every sump that gives, and read the product name on both machines "
        "aloud."
    ]
    steps += [
        f"Take {pails(move.pails)} from {move.giver} and keep them for {move.taker}." for move in plan.moves
    ]
    steps += [f"Take {pails(c.wasted)} from {c.name} as waste." for c in plan.changes if c.wasted]
    steps += [f"Pour the {pails(move.pails)} from {move.giver} into {move.taker}." for move in plan.moves]
    for change in plan.changes:
        if change.water or change.premix:
            parts = [
                f"{pails(n)} of {what}"
                for n, what in ((change.water, "water"), (change.premix, "premix"))
                if n
            ]
            steps.append(f"Add {' and '.join(parts)} to {change.name}.")
    return (
        (*steps, "Circulate each sump 30 minutes, read it, and read it again next day.")
        if len(steps) > 1
        else ()
    )


def _sumps(path: str) -> list[Sump]:
    from pathlib import Path

    from advisor import quantities
    from advisor.errors import BadInput
    from advisor.mixing.sharing import Sump

    try:
        rows = json.loads(Path(path).read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise BadInput(
            f"{path} cannot be read as JSON",
            place="file",
            value=path,
            right='give a list of sumps, each with "name", "product", "volume", "fill", "strength", "window"',
        ) from error
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise BadInput(
            f"{path} holds no list of sumps", place="file", value=path, right="give a list of objects"
        )

    def number(row: dict[str, Any], name: str, unit: str) -> float:
        if name not in row:
            raise BadInput(f'a sump lacks "{name}"', place="file", value=name, right="add it to every sump")
        return quantities.parse(str(row[name]), unit).value

    def names(row: dict[str, Any], name: str) -> frozenset[str]:
        return frozenset(map(str, row.get(name, ())))

    sumps = []
    for row in rows:
        low, high = quantities.parse_window(str(row.get("window", "6-10 %")), "fraction")
        sumps.append(
            Sump(
                str(row.get("name", "")),
                str(row.get("product", "")),
                number(row, "volume", "L"),
                number(row, "fill", "fraction"),
                number(row, "strength", "fraction"),
                (low.value, high.value),
                names(row, "metals"),
                names(row, "work"),
                names(row, "bars"),
            )
        )
    return sumps


_SUMP = Opt("sump-volume", "L", "working volume when full")

DECISIONS: tuple[Command, ...] = (
    Command(
        "hardness",
        "hardness of water in every unit",
        (
            Opt("hardness", "mg/L CaCO3", "hardness, such as 10 °dH"),
            Opt("calcium", "mg/L", "dissolved calcium"),
            Opt("magnesium", "mg/L", "dissolved magnesium"),
            Opt("iron", "mg/L", "dissolved iron"),
        ),
        _hardness,
    ),
    Command(
        "water-blend",
        "blend two waters to a wanted hardness",
        (
            Opt("volume", "L", "water wanted"),
            Opt("first", "mg/L CaCO3", "hardness of one water"),
            Opt("second", "mg/L CaCO3", "hardness of the other"),
            Opt("wanted", "mg/L CaCO3", "hardness wanted"),
        ),
        _water_blend,
        volume="volume",
    ),
    Command(
        "build-up",
        "minerals piling up by evaporation and top-up",
        (
            Opt("sump-volume", "L", "working volume", "volume_l"),
            Opt("water", "mg/L CaCO3", "hardness of the top-up"),
            Opt("start", "mg/L CaCO3", "hardness now (default that of the water)"),
            Opt("evaporation", "L/day", "evaporated a day"),
            Opt("drag-out", "L/day", "leaving on parts a day"),
            Opt("days", "day", "days ahead (default 30)"),
            Opt("limit", "mg/L CaCO3", "limit to watch"),
        ),
        _build_up,
    ),
    Command(
        "dose",
        "dose an additive by its label",
        (
            _SUMP,
            Opt("fill", "fraction", "how full it stands (default full)"),
            Opt("label-amount", "L", "the label's dose"),
            Opt("label-per", "L", "for so much coolant"),
            Opt("label-most", "L", "the label's maximum for the same"),
            Opt("already", "L", "already in and still counting"),
            Opt("portions", "1", "equal portions (default 2)"),
        ),
        _dose,
    ),
    Command(
        "dump-or-keep",
        "cost of keeping a charge against changing it",
        (
            _SUMP,
            Opt("target", "fraction", "strength of a new charge"),
            Opt("concentrate-price", "1", "a litre of concentrate"),
            Opt("water-price", "1", "a litre of water"),
            Opt("disposal-price", "1", "a litre of waste"),
            Opt("hour-price", "1", "an hour"),
            Opt("keep-concentrate", "L", "concentrate to recondition"),
            Opt("keep-water", "L", "water to recondition"),
            Opt("keep-waste", "L", "waste from reconditioning"),
            Opt("keep-hours", "1", "hours to recondition"),
            Opt("keep-days", "day", "days it then lasts"),
            Opt("dump-hours", "1", "hours to change and clean"),
            Opt("dump-days", "day", "days a new charge lasts"),
        ),
        _dump,
    ),
    Command(
        "clean-out",
        "what a clean-out uses and leaves as waste",
        (
            _SUMP,
            Opt("fill", "fraction", "how full it stands (default full)"),
            Opt("target", "fraction", "strength of the new charge"),
            Opt("rinses", "1", "rinses (default 2)"),
            Opt("cleaner", "fraction", "strength of the cleaner (default 2%%)"),
        ),
        _clean_out,
    ),
    Command(
        "share",
        "share rich coolant across sumps of one product",
        (
            Opt("file", "text", "JSON file with a list of sumps"),
            Opt("pail", "L", "litres that go in a pail", "pail_l"),
            Opt("premix", "fraction", "strength of new mix (default 15%%)"),
        ),
        _share,
        volume="pail",
    ),
)
