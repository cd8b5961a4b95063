"""From what an instrument shows to a strength, with its uncertainty.

Strengths are fractions, scale readings °Bx, temperatures °C, titrations mL.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from advisor.errors import BadInput, Refused
from advisor.mixing.brix_table import correction
from advisor.mixing.request import strength_from
from advisor.mixing.spread import NINETY, Estimate, combine, estimate

READING_SD = 0.2
"""Standard uncertainty of one reading of a hand instrument, °Bx; common practice, no source."""

FACTOR_SD = 0.03
"""Relative standard uncertainty of a product factor from a data sheet; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Factor:
    """A product factor fitted from made-up samples.

    Attributes:
        factor: strength in per cent over reading in °Bx, with its standard error.
        residual: standard deviation of the samples about the line, a fraction of strength.
        fits: False when the samples do not lie on a line through zero.
        sentence: what to do about it, or "".
    """

    factor: Estimate
    residual: float
    fits: bool
    sentence: str


@dataclass(frozen=True, slots=True)
class AcidSplit:
    """What an acid split shows: strength and foreign oil, fractions of the sample."""

    strength: float
    product_oil: float
    tramp_oil: float


def strength(
    reading: float,
    factor: float,
    *,
    water_reading: float = 0.0,
    temperature: float | None = None,
    diluted_parts: float = 0.0,
    compensated: bool = False,
    reading_sd: float = READING_SD,
    factor_sd: float = FACTOR_SD,
) -> Estimate:
    """Strength from a scale reading, with uncertainty from reading, zero and factor.

    Args:
        reading, water_reading: °Bx as read, on the sample and on plain water at the same temperature.
        factor: product factor.
        temperature: of sample and instrument, °C, when neither the instrument nor a zero on water at
            that temperature makes up for it; None otherwise.
        diluted_parts: parts of water the sample was mixed with (1 for one to one); the reading is
            multiplied back (IFA coolant lexicon, entry "Gebrauchskonzentration").
        compensated: the instrument corrects for temperature itself; it is then not corrected again.
        reading_sd, factor_sd: standard uncertainties, °Bx and relative.

    Raises:
        BadInput: factor or reading not possible, temperature outside the tables, dilution below 0.
    """
    if diluted_parts < 0.0:
        raise BadInput(
            f"{diluted_parts:g} parts of water is below zero",
            place="diluted_parts",
            value=diluted_parts,
            right="give 1 for one to one",
        )
    shift = 0.0
    if temperature is not None and not compensated:
        shift = correction(reading, temperature)
    strength_from(reading + shift, factor, water_reading)  # raises for what cannot be

    def formula(read: float, zero: float, times: float) -> float:
        return max(0.0, read + shift - zero) * times * (1.0 + diluted_parts) / 100.0

    return estimate(
        formula,
        Estimate(reading, reading_sd),
        Estimate(water_reading, reading_sd / 2.0),
        Estimate(factor, factor * factor_sd),
    )


def fit_factor(samples: Sequence[tuple[float, float]]) -> Factor:
    """The product factor from samples made up to known strengths: least squares through zero.

    k = sum(x*y)/sum(x^2) with x the reading less its zero and y the strength in per cent; the standard
    error is s/sqrt(sum(x^2)). A straight line with an intercept is fitted beside it: an intercept more
    than its 95 % Student range away from zero means that the samples do not pass through zero.

    Args:
        samples: pairs of made-up strength (fraction) and reading (°Bx), at least three.

    Raises:
        BadInput: fewer than three samples, or any that is not above zero.
    """
    if len(samples) < 3:
        raise BadInput(
            f"{len(samples)} samples do not make a factor",
            place="samples",
            value=len(samples),
            right="make at least three, for example at 3, 6 and 9 %",
        )
    for made, read in samples:
        if not (0.0 < made < 1.0 and 0.0 < read < 100.0):
            raise BadInput(
                f"a sample of {made:.1%} that reads {read:g} °Bx is not possible",
                place="samples",
                value=read,
                right="give strengths above 0 % and readings above 0 °Bx",
            )
    x = [read for _, read in samples]
    y = [made * 100.0 for made, _ in samples]
    sxx = sum(a * a for a in x)
    k = sum(a * b for a, b in zip(x, y, strict=True)) / sxx
    s = sqrt(sum((b - k * a) ** 2 for a, b in zip(x, y, strict=True)) / (len(x) - 1))
    offset, offset_sd = _intercept(x, y)
    fits = abs(offset) <= _student(len(x) - 2) * offset_sd + 1e-9
    sentence = (
        ""
        if fits
        else (
            f"The samples do not pass through zero (the line starts at {offset:+.2f} %). Zero the instrument "
            "on the water they were made with, check how they were measured out, and make them again."
        )
    )
    return Factor(Estimate(k, s / sqrt(sxx)), s / 100.0, fits, sentence)


def titration(
    acid_ml: float, factor: float, blank_ml: float = 0.0, acid_sd: float = 0.1, factor_sd: float = FACTOR_SD
) -> Estimate:
    """Strength from acid used: (acid - blank) * factor / 100, factor in per cent per mL.

    Foreign oil does not disturb it (DGUV Regel 109-003, Annex 3, row 4); acids, alkalis and biocides do
    (7.1).

    Raises:
        BadInput: less acid than the blank, or a factor that is not above 0.
    """
    if factor <= 0.0:
        raise BadInput(
            f"a titration factor of {factor:g} is not possible",
            place="factor",
            value=factor,
            right="take it from the product's data sheet, in per cent per mL",
        )
    if not 0.0 <= blank_ml <= acid_ml:
        raise BadInput(
            f"{acid_ml:g} mL of acid is less than the {blank_ml:g} mL of the blank",
            place="acid_ml",
            value=acid_ml,
            right="titrate again; the sample uses more acid than plain water",
        )
    return estimate(
        lambda acid, blank, times: (acid - blank) * times / 100.0,
        Estimate(acid_ml, acid_sd),
        Estimate(blank_ml, acid_sd if blank_ml > 0 else 0.0),
        Estimate(factor, factor * factor_sd),
    )


def acid_split(sample_ml: float, oil_ml: float, strength_known: float, oil_share: float) -> AcidSplit:
    """Foreign oil from an acid split: oil layer less what the product itself brings.

    Args:
        sample_ml: sample broken with acid.
        oil_ml: oil layer read off.
        strength_known: strength by a method that oil does not disturb, a fraction.
        oil_share: mineral oil and what splits with it in the concentrate, a fraction from its data sheet.

    Raises:
        BadInput: more oil than sample, or shares outside 0 to 1.

    Source: method family of DIN 51368; from memory, unverified.
    """
    if not 0.0 <= oil_ml <= sample_ml or sample_ml <= 0.0:
        raise BadInput(
            f"{oil_ml:g} mL of oil in a sample of {sample_ml:g} mL is not possible",
            place="oil_ml",
            value=oil_ml,
            right="read the layer again; it is part of the sample",
        )
    if not (0.0 <= strength_known < 1.0 and 0.0 <= oil_share <= 1.0):
        raise BadInput(
            "strength and oil share must be shares",
            place="oil_share",
            value=oil_share,
            right="take the oil share from the data sheet, such as 40 %",
        )
    own = strength_known * oil_share
    return AcidSplit(strength_known, own, max(0.0, oil_ml / sample_ml - own))


def combined(first: Estimate, second: Estimate) -> Estimate:
    """Two methods as one strength, weighted by their uncertainty.

    Raises:
        Refused: they differ by more than their uncertainties allow (95 %): one of them is wrong.
        BadInput: an uncertainty of zero.
    """
    if first.sd <= 0.0 or second.sd <= 0.0:
        raise BadInput(
            "no spread may be zero",
            place="sd",
            value=0.0,
            right="give each method its own uncertainty",
        )
    if abs(first.value - second.value) > 1.96 * sqrt(first.sd**2 + second.sd**2):
        # Source: DGUV Regel 109-003, 7.1: where the two differ strongly, ask a laboratory.
        raise Refused(
            f"the two methods disagree ({first.value:.1%} and {second.value:.1%})",
            right="look for oil in the sample, which lifts the refractometer, and for acid, lye or biocide, "
            "which upset the titration. Repeat both, and send a sample to a laboratory if they still differ",
        )
    return Estimate(*combine(first.value, first.sd, second.value, second.sd))


def proves(value: Estimate, window: tuple[float, float]) -> str:
    """Whether an instrument this uncertain can show that a sump is in its window: a sentence, or ""."""
    if 2.0 * NINETY * value.sd <= window[1] - window[0]:
        return ""
    return "The uncertainty is wider than the window: this instrument cannot prove that the sump is in it."


def _intercept(x: Sequence[float], y: Sequence[float]) -> tuple[float, float]:
    n = len(x)
    mx, my = sum(x) / n, sum(y) / n
    spread = sum((a - mx) ** 2 for a in x)
    if spread <= 0.0:
        return 0.0, float("inf")
    slope = sum((a - mx) * (b - my) for a, b in zip(x, y, strict=True)) / spread
    offset = my - slope * mx
    s2 = sum((b - offset - slope * a) ** 2 for a, b in zip(x, y, strict=True)) / (n - 2)
    return offset, sqrt(s2 * (1.0 / n + mx * mx / spread))


def _student(freedom: int) -> float:
    """Two-sided 95 % point of Student's t (GUM, table G.2), within 1 % above 10 degrees of freedom."""
    table = (12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228)
    return table[freedom - 1] if freedom <= len(table) else 1.96 + 2.5 / freedom
