"""The calculations of ``sumpside mix`` on blends, containers and tanks."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass
from math import isfinite
from typing import TYPE_CHECKING, Any

from advisor.mix_command import Answer, Command, Opt

if TYPE_CHECKING:
    from advisor.mixing.display import Display
    from advisor.mixing.spread import Estimate
    from advisor.mixing.vessels import Vessel


def plain(value: Any) -> Any:
    """A result as JSON holds it: six decimals, ranges spelled out, no infinities."""
    from advisor.mixing.spread import Estimate

    if isinstance(value, Estimate):
        return {
            "value": plain(value.value),
            "low": plain(value.low),
            "high": plain(value.high),
            "sd": plain(value.sd),
        }
    if is_dataclass(value) and not isinstance(value, type):
        return {item.name: plain(getattr(value, item.name)) for item in fields(value)}
    if isinstance(value, dict):
        return {name: plain(item) for name, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, float):
        return round(value, 6) if isfinite(value) else None
    return value


def needed(values: dict[str, Any], *names: str) -> None:
    """Checks that each of these was given.

    Raises:
        BadInput: the first that was not.
    """
    from advisor.errors import BadInput

    for name in names:
        if values.get(name) in (None, ()):
            raise BadInput("this is missing", place=name, right="give it with its unit")


def likely(value: Estimate, show: Display) -> str:
    """A strength with its range: "7.8 %, likely 7.3 to 8.3 %"."""
    return f"{show.strength(value.value)}, likely {show.between(max(0.0, value.low), value.high)}"


def metres(text: str) -> float:
    """A length in metres: "800 mm", "32 in", "0,8 m".

    Raises:
        BadInput: no number, no unit, or a unit that is no length.
    """
    from advisor.errors import BadInput
    from advisor.quantities import split_number

    units = {
        "mm": 0.001,
        "cm": 0.01,
        "dm": 0.1,
        "m": 1.0,
        "in": 0.0254,
        "inch": 0.0254,
        "inches": 0.0254,
        '"': 0.0254,
        "ft": 0.3048,
        "feet": 0.3048,
        "foot": 0.3048,
    }
    right = "give a length with its unit, such as 800 mm or 32 in"
    try:
        number, unit = split_number(text.strip())
    except (ValueError, OverflowError) as error:
        raise BadInput(f"{text!r} is not a length", value=text, right=right) from error
    if unit.casefold() not in units or not isfinite(number) or number < 0:
        raise BadInput(f"{text!r} is not a length", value=text, right=right)
    return number * units[unit.casefold()]


def _blend(values: dict[str, Any], show: Display) -> Answer:
    from advisor import quantities
    from advisor.errors import BadInput
    from advisor.mixing.balance import blend

    needed(values, "parts")
    streams = []
    for text in values["parts"]:
        match = re.fullmatch(r"(?:(\d+)\s*(?:x|×|pails? of|buckets? of)\s*)?(.+?)\s+(?:at|@|of)\s+(.+)", text)
        if match is None:
            right = 'write "40 L at 7 %", or "5 pails of 8 L at 15 %"'
            raise BadInput(f"{text!r} is not a part", place="parts", value=text, right=right)
        each = quantities.parse(match[2], "L").value
        streams.append((int(match[1] or 1) * each, quantities.parse(match[3], "fraction").value))
    total, strength = sum(volume for volume, _ in streams), blend(streams)
    return Answer(
        {"volume_l": plain(total), "strength": plain(strength)},
        "Blend",
        (f"{show.volume(total)} at {show.strength(strength)}.",),
    )


def _hold(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.holding import Log, hold

    needed(values, "target", "volume_l", "strength_before", "strength_after", "topped_l")
    target = values.pop("target")
    values.pop("taken_for_granted", None)
    result = hold(target, Log(**values), show)
    figures = (
        f"Top up at {likely(result.top_up, show)}.",
        f"{show.share(result.evaporated_share.value)} of the loss evaporates; "
        f"{show.volume(result.loss_per_day_l)} are lost in a day.",
    )
    return Answer(
        plain(result),
        "Hold the sump on target",
        figures,
        cautions=result.warnings,
        notes=("What is topped up replaces what was lost; nothing else went in or out.",),
    )


def _pails(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.pails import PAIL_FILL, pail_weight_kg, real_strength
    from advisor.mixing.ratios import in_containers
    from advisor.mixing.steps import pail_steps

    needed(values, "volume", "strength", "pails")
    fill = values.get("pail_fill", PAIL_FILL)
    rows = in_containers(values["volume"], values["strength"], values["pails"], fill, values.get("cup_l"))
    filled = tuple(row for _, row in rows)
    given = real_strength(filled)
    data = {
        "pails": [
            {"holds_l": plain(size), **row.as_json(), "weight_kg": round(pail_weight_kg(row.mix_l), 1)}
            for size, row in rows
        ],
        "strength": plain(given),
    }
    return Answer(
        data,
        "Mix in the containers at hand",
        (f"This gives {show.strength(given)}.",),
        tuple(pail_steps(filled, show, given)),
    )


def _ratio(values: dict[str, Any], show: Display) -> Answer:
    from advisor.errors import BadInput
    from advisor.mixing.ratios import ratio

    needed(values, "ratio")
    match = re.fullmatch(r"\s*(?:1\s*(?::|in|to)\s*)?(\d+(?:[.,]\d+)?)\s*", values["ratio"])
    if match is None:
        raise BadInput(
            f"{values['ratio']!r} is not a ratio", place="ratio", value=values["ratio"], right="write 1:20"
        )
    both = ratio(float(match[1].replace(",", ".")))
    said = "Ask which is meant before mixing." if both.ask else "The two hardly differ."
    figures = (
        f"1 part in {both.parts:g} parts in all is {both.one_in * 100:.2f} %.",
        f"1 part to {both.parts:g} parts of water is {both.one_to * 100:.2f} %.",
        said,
    )
    return Answer({**plain(both), "ask": both.ask}, f"1:{both.parts:g}", figures)


def _vessel_from(values: dict[str, Any]) -> Vessel:
    from advisor.errors import BadInput
    from advisor.mixing.vessels import Box, Compartments, DipTable, Lying, Upright

    shape = values["shape"].strip().casefold()
    size = {
        name: metres(values[name]) for name in ("length", "width", "height", "diameter") if values.get(name)
    }
    wants = {
        "box": ("length", "width", "height"),
        "upright": ("diameter", "height"),
        "lying": ("diameter", "length"),
    }
    if shape in wants:
        needed({**values, **size}, *wants[shape])
        sizes = [size[name] for name in wants[shape]]
        return Box(*sizes) if shape == "box" else Upright(*sizes) if shape == "upright" else Lying(*sizes)
    if shape == "dip":
        needed(values, "dip")
        from advisor import quantities

        rows = [text.split(":", 1) for text in values["dip"] if ":" in text]
        return DipTable(
            tuple(metres(d) for d, _ in rows), tuple(quantities.parse(v, "L").value for _, v in rows)
        )
    if shape == "compartments":
        needed(values, "boxes")
        return Compartments(tuple(_compartment(text) for text in values["boxes"]))
    raise BadInput(
        f'"{shape}" is not a shape',
        place="shape",
        value=shape,
        right="write box, upright, lying, dip or compartments",
    )


def _compartment(text: str) -> tuple[Vessel, float]:
    from advisor.errors import BadInput
    from advisor.mixing.vessels import Box

    match = re.fullmatch(r"(.+?)\s*[x×]\s*(.+?)\s*[x×]\s*([\d.,]+)\s*(\D+?)(?:\s+at\s+(.+))?", text.strip())
    if match is None:
        raise BadInput(
            f"{text!r} is not a compartment",
            place="boxes",
            value=text,
            right='write "800 x 600 x 400 mm at 100 mm": length, width, height, and where its floor is',
        )
    sides = [metres(f"{side} {match[4]}") for side in match.group(1, 2, 3)]
    return Box(*sides), metres(match[5]) if match[5] else 0.0


def _vessel(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.vessels import depth_for, share_of_height, working_volume

    needed(values, "shape")
    vessel = _vessel_from(values)
    full = vessel.volume(vessel.height)
    lines = values.get("lines_l", 0.0)
    data: dict[str, Any] = {"full_l": full + lines, "height_m": vessel.height, "straight": vessel.straight}
    figures = [f"Full: {show.volume(full + lines)}" + (", lines and machine included." if lines else ".")]
    if values.get("depth"):
        data["volume_l"] = working_volume(vessel, metres(values["depth"]), lines)
        figures.append(
            f"At {values['depth']}: {show.volume(data['volume_l'])}, "
            f"{show.share(data['volume_l'] / (full + lines))} of full."
        )
    if "volume" in values:
        data["depth_m"] = depth_for(vessel, max(0.0, values["volume"] - lines))
        figures.append(f"{show.volume(values['volume'])} stand {data['depth_m'] * 1000:.0f} mm deep.")
    if "share" in values:
        data["share_of_volume"], said = share_of_height(vessel, values["share"])
        figures.append(said)
    return Answer(plain(data), "Tank volume", tuple(figures))


def _volume(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.sump_volume import volume_from_fix

    needed(values, "before", "after", "added_l")
    values.pop("taken_for_granted", None)
    result = volume_from_fix(**values)
    figures = (
        ("The change was too small to tell.",)
        if not result.certain
        else (
            f"In the sump now: {show.volume(result.after_l.value)}, likely "
            f"{show.volume(max(0.0, result.after_l.low))} to {show.volume(result.after_l.high)}.",
        )
    )
    return Answer(plain(result), "Sump volume from a fix", figures, cautions=result.sentences)


CALCULATIONS: tuple[Command, ...] = (
    Command(
        "blend",
        "strength of a blend: what the pails that went in made of it",
        (Opt("part", "list:text", 'a part: "142 L at 4 %%" or "5 pails of 8 L at 15 %%"', "parts"),),
        _blend,
    ),
    Command(
        "hold",
        "top-up strength that keeps the target, from the log",
        (
            Opt("target", "fraction", "wanted strength"),
            Opt("sump-volume", "L", "working volume when full", "volume_l"),
            Opt("before", "fraction", "strength at the start", "strength_before"),
            Opt("after", "fraction", "strength at the end", "strength_after"),
            Opt("topped", "L", "what was topped up in between", "topped_l"),
            Opt("topped-strength", "fraction", "strength of that (default water)"),
            Opt("days", "day", "days in between (default 7)"),
            Opt("fill-before", "fraction", "level at the start (default full)"),
            Opt("fill-after", "fraction", "level at the end (default full)"),
        ),
        _hold,
    ),
    Command(
        "pails",
        "a mix in the containers at hand",
        (
            Opt("volume", "L", "mix wanted"),
            Opt("strength", "fraction", "strength of the mix"),
            Opt("pail", "list:L", "what a container holds; may be given more than once", "pails"),
            Opt("pail-fill", "fraction", "share of it that is filled (default 80%%)"),
            Opt("cup", "L", "smallest mark on the measuring cup", "cup_l"),
        ),
        _pails,
        volume="volume",
    ),
    Command("ratio", "both strengths a ratio may mean", (Opt("ratio", "text", "such as 1:20"),), _ratio),
    Command(
        "vessel",
        "tank volume from its sizes",
        (
            Opt("shape", "text", "box, upright, lying, dip or compartments"),
            Opt("length", "text", "length"),
            Opt("width", "text", "width"),
            Opt("height", "text", "height"),
            Opt("diameter", "text", "diameter"),
            Opt("depth", "text", "depth of the coolant"),
            Opt("share", "fraction", "share of the height"),
            Opt("volume", "L", "litres, for their depth"),
            Opt("lines", "L", "coolant held in lines and machine", "lines_l"),
            Opt("dip", "list:text", 'dip-stick rows: "0 mm: 0 L; 300 mm: 150 L"'),
            Opt("box", "list:text", 'a compartment: "800 x 600 x 400 mm at 100 mm"', "boxes"),
        ),
        _vessel,
        volume="volume",
    ),
    Command(
        "volume",
        "the sump's real volume from a fix",
        (
            Opt("before", "fraction", "strength before"),
            Opt("after", "fraction", "strength after"),
            Opt("added", "L", "what was added", "added_l"),
            Opt("added-strength", "fraction", "its strength"),
            Opt("removed", "L", "what was taken out first", "removed_l"),
            Opt("nameplate", "L", "what the machine's plate says", "nameplate_l"),
        ),
        _volume,
        volume="added",
    ),
)
