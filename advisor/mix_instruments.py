"""The calculations of ``sumpside mix`` on instruments."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from advisor.mix_calculations import likely, needed, plain
from advisor.mix_command import Answer, Command, Opt

if TYPE_CHECKING:
    from advisor.mixing.display import Display


def _reading(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.instruments import proves, strength

    needed(values, "reading", "factor")
    window = values.pop("window", None)
    values.pop("taken_for_granted", None)
    result = strength(values.pop("reading"), values.pop("factor"), **values)
    cautions = tuple(line for line in (proves(result, window) if window else "",) if line)
    notes = (
        ("Corrections for temperature are for sugar water, a good approximation for coolant.",)
        if ("temperature" in values)
        else ()
    )
    return Answer(
        {"strength": plain(result)},
        "Strength from a reading",
        (likely(result, show) + ".",),
        cautions=cautions,
        notes=notes,
    )


def _fit(values: dict[str, Any], show: Display) -> Answer:
    from advisor import quantities
    from advisor.errors import BadInput
    from advisor.mixing.instruments import fit_factor

    needed(values, "samples")
    pairs = []
    for text in values["samples"]:
        made, colon, read = text.partition(":")
        if not colon:
            raise BadInput(f"{text!r} is not a sample", place="samples", value=text, right='write "6 %: 3.1"')
        pairs.append((quantities.parse(made, "fraction").value, quantities.parse(read, "°Bx").value))
    result = fit_factor(pairs)
    figures = (
        f"Factor {result.factor.value:.2f}, likely {result.factor.low:.2f} to {result.factor.high:.2f}.",
    )
    return Answer(
        plain(result),
        "Product factor from made-up samples",
        figures,
        cautions=(result.sentence,) if result.sentence else (),
    )


def _titration(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.instruments import titration

    needed(values, "acid", "factor")
    result = titration(values["acid"] * 1000.0, values["factor"], values.get("blank", 0.0) * 1000.0)
    return Answer(
        {"strength": plain(result)},
        "Strength from a titration",
        (likely(result, show) + ".",),
        notes=("The factor is the product's own, in per cent per mL of acid.",),
    )


def _split(values: dict[str, Any], show: Display) -> Answer:
    from advisor.mixing.instruments import acid_split

    needed(values, "sample", "oil", "strength", "oil_share")
    result = acid_split(
        values["sample"] * 1000.0, values["oil"] * 1000.0, values["strength"], values["oil_share"]
    )
    return Answer(
        plain(result),
        "Foreign oil from an acid split",
        (
            f"Foreign oil: {show.strength(result.tramp_oil)} of the sample.",
            f"The product's own oil: {show.strength(result.product_oil)}.",
        ),
    )


def _combine(values: dict[str, Any], show: Display) -> Answer:
    from advisor.errors import Refused
    from advisor.mixing.instruments import combined
    from advisor.mixing.spread import Estimate

    needed(values, "first", "first_sd", "second", "second_sd")
    try:
        result = combined(
            Estimate(values["first"], values["first_sd"]), Estimate(values["second"], values["second_sd"])
        )
    except Refused as error:
        return Answer(
            {"strength": None, "refused": {"what": error.what, "why": error.right}},
            "Two methods",
            (f"Refused: {error.what}.", error.right[0].upper() + error.right[1:] + "."),
        )
    return Answer({"strength": plain(result), "refused": None}, "Two methods", (likely(result, show) + ".",))


INSTRUMENTS: tuple[Command, ...] = (
    Command(
        "reading",
        "strength from a scale reading",
        (
            Opt("reading", "°Bx", "what the scale shows"),
            Opt("factor", "1", "product factor"),
            Opt("water-reading", "°Bx", "what it shows on plain water"),
            Opt("temperature", "°C", "of sample and instrument, if nothing makes up for it"),
            Opt("compensated", "flag", "the instrument corrects for temperature itself"),
            Opt("diluted", "1", "parts of water the sample was mixed with", "diluted_parts"),
            Opt("window", "window", "wanted window"),
        ),
        _reading,
    ),
    Command(
        "fit-factor",
        "product factor from made-up samples",
        (Opt("sample", "list:text", 'a sample: "6 %%: 3.1"', "samples"),),
        _fit,
    ),
    Command(
        "titration",
        "strength from a titration",
        (
            Opt("acid", "L", "acid used, such as 6.2 mL"),
            Opt("blank", "L", "acid used by plain water"),
            Opt("factor", "1", "product factor, per cent per mL"),
        ),
        _titration,
    ),
    Command(
        "split",
        "foreign oil from an acid split",
        (
            Opt("sample", "L", "sample, such as 100 mL"),
            Opt("oil", "L", "oil layer, such as 4 mL"),
            Opt("strength", "fraction", "strength by titration"),
            Opt("oil-share", "fraction", "oil in the concentrate, from its data sheet"),
        ),
        _split,
    ),
    Command(
        "combine",
        "two methods as one strength",
        (
            Opt("first", "fraction", "one strength"),
            Opt("first-sd", "fraction", "its standard uncertainty"),
            Opt("second", "fraction", "the other"),
            Opt("second-sd", "fraction", "its standard uncertainty"),
        ),
        _combine,
    ),
)
