"""What is known before a recipe is worked out, checked once so that the arithmetic need not doubt it.

Litres, fractions, L/day, L/min, mg/L as CaCO3. A request that exists is possible: anything impossible is
refused when it is made, with what would be right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from math import isfinite, sqrt
from typing import Any

from advisor.errors import BadInput
from advisor.mixing.pails import PAIL_FILL
from advisor.mixing.spread import standard_uncertainty

#: What is assumed where nobody told the level.
FULL = "The sump is taken as full to the mark."
GENERAL_WINDOW = (0.06, 0.10)
"""Working window for general machining when nothing better is known; common practice, no source."""

WEAK_MIX = 0.01
"""Strength of a weak mix unless said otherwise; common practice, no source."""

EVAPORATED = 0.6
"""Evaporated share of the loss when the shop has no log: 24 L of 40 L a day; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Standard uncertainties of what goes into a recipe; common practice, no source.

    Attributes:
        reading: of one reading of a hand instrument, in °Bx (half of a 0.2 division, zero and eye together).
        factor: of the product factor, relative.
        fill: of the level, as a share of the full tank.
        volume: of the sump volume, relative.
        pail: of what a pail really holds, relative.
        cup: of a measured cup of concentrate, relative.
        share: of the evaporated share of the loss.
    """

    reading: float = 0.2
    factor: float = 0.03
    fill: float = 0.03
    volume: float = 0.05
    pail: float = 0.03
    cup: float = 0.05
    share: float = 0.15

    def __post_init__(self) -> None:
        for item in fields(self):
            value = getattr(self, item.name)
            if not (isfinite(value) and value >= 0):
                raise BadInput(
                    f"an uncertainty of {value} is not possible",
                    place=item.name,
                    value=value,
                    right="give 0 or more",
                )


@dataclass(frozen=True, slots=True)
class Request:
    """A sump, its reading, its target and the containers at hand.

    Attributes:
        sump_volume_l: working volume when full to the mark, litres, above 0.
        fill: how full it stands, a share from 0 to 1.
        strength: present strength after the product factor, a fraction below 1.
        target: wanted strength, a fraction inside the window.
        window: lowest and highest strength wanted, fractions.
        pail_l, pail_fill: what a pail holds to the brim, and the share of it that is filled.
        cup_l: smallest mark on the measuring cup, litres, or None when measured exactly.
        weak_mix: strength of a weak mix, a fraction; 0 stands for plain water.
        premix: strength of the premix at hand, or None to work it out.
        daily_loss_l: litres topped up in a day, or None.
        evaporated_share: evaporated part of that loss, or None.
        pump_min_fill: level below which the pump must not run, a share of the full tank, or None.
        pump_flow_l_min: circulation, litres a minute, or None.
        water_hardness: of the mixing water, mg/L as CaCO3, or None.
        reading, factor, water_reading: scale reading in °Bx, product factor and reading on plain water, when
            the strength comes from them.
        repeated_reading: the reading was taken twice and agreed.
        half_at_most: on one unrepeated reading take out no more than half the tank in this pass.
        doubtful_emulsion: old, creaming or otherwise doubtful.
        cannot_wait: rust or smell shows already, so a lean sump is not left to come up by its losses.
        ph_normal: False when the pH is off, None when not known.
        factor_known, fuzzy_line, oil_skimmed, circulated, split: what a recipe stands on.
        doubt: standard uncertainties.
        taken_for_granted: assumptions made before the request was complete.
    """

    sump_volume_l: float
    fill: float
    strength: float
    target: float
    window: tuple[float, float]
    pail_l: float = 10.0
    pail_fill: float = PAIL_FILL
    cup_l: float | None = None
    weak_mix: float = WEAK_MIX
    premix: float | None = None
    daily_loss_l: float | None = None
    evaporated_share: float | None = None
    pump_min_fill: float | None = None
    pump_flow_l_min: float | None = None
    water_hardness: float | None = None
    reading: float | None = None
    factor: float | None = None
    water_reading: float = 0.0
    repeated_reading: bool = False
    half_at_most: bool = False
    doubtful_emulsion: bool = False
    cannot_wait: bool = False
    ph_normal: bool | None = None
    factor_known: bool = True
    fuzzy_line: bool = False
    oil_skimmed: bool | None = None
    circulated: bool | None = None
    split: bool = False
    doubt: Doubt = field(default_factory=Doubt)
    taken_for_granted: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        from advisor.mixing import request_limits

        request_limits.check(self)

    @property
    def present_l(self) -> float:
        """Litres in the sump now."""
        return self.sump_volume_l * self.fill

    @property
    def room_l(self) -> float:
        """Litres of room up to the mark."""
        return self.sump_volume_l - self.present_l

    @property
    def low(self) -> float:
        """Lower end of the window."""
        return self.window[0]

    @property
    def high(self) -> float:
        """Upper end of the window."""
        return self.window[1]

    @property
    def phi(self) -> float:
        """Evaporated share of the loss, assumed when not known."""
        return EVAPORATED if self.evaporated_share is None else self.evaporated_share

    @property
    def strength_sd(self) -> float:
        """Standard uncertainty of the present strength, from reading, zero and factor."""
        factor = self.factor if self.factor is not None else 1.0
        scale = sqrt(2.0) if self.repeated_reading else 1.0
        by_reading = factor * self.doubt.reading / 100.0 / scale
        return sqrt(by_reading**2 + (self.strength * self.doubt.factor) ** 2)

    @property
    def make_up(self) -> float | None:
        """Strength that fills the room and lands on the target; None when there is no room."""
        if self.fill >= 1.0:
            return None
        return (self.target - self.fill * self.strength) / (1.0 - self.fill)

    @property
    def make_up_sd(self) -> float:
        """Standard uncertainty of the make-up strength, from strength and level."""

        def formula(strength: float, fill: float) -> float:
            full = min(fill, 0.995)
            return (self.target - full * strength) / (1.0 - full)

        return standard_uncertainty(formula, (self.strength, self.fill), (self.strength_sd, self.doubt.fill))


def strength_from(reading: float, factor: float, water_reading: float = 0.0) -> float:
    """Strength from a scale reading: (reading - reading on plain water) * factor / 100.

    Args:
        reading, water_reading: °Bx.
        factor: product factor, above 0.

    Raises:
        BadInput: factor 0 or below, or a reading below the one on plain water.

    Source: IFA coolant lexicon, entry "Gebrauchskonzentration".
    """
    if not (isfinite(factor) and factor > 0.0):
        raise BadInput(
            f"a product factor of {factor:g} is not possible",
            place="factor",
            value=factor,
            right="take it from the product's data sheet; it is above 0, usually 0.8 to 3",
        )
    if not isfinite(reading) or reading < water_reading - 0.5:
        raise BadInput(
            f"a reading of {reading:g} °Bx is below the {water_reading:g} °Bx on plain water",
            place="reading",
            value=reading,
            right="clean and zero the instrument and read again",
        )
    return max(0.0, reading - water_reading) * factor / 100.0


def resolve_window(
    target: float | None,
    window: tuple[float, float] | None,
) -> tuple[float, tuple[float, float], tuple[str, ...]]:
    """Target and window, the missing one filled in, with the assumptions that took.

    A single target stands for plus or minus a tenth of itself and at least half a point; a window for its
    middle; nothing at all for 6 to 10 % general machining (common practice, no source).
    """
    if window is not None and target is not None:
        return target, window, ()
    if window is not None:
        middle = (window[0] + window[1]) / 2.0
        return middle, window, (f"No target was given; the middle of the window, {middle:.1%}, is taken.",)
    if target is not None:
        half = max(0.1 * target, 0.005)
        around = (max(0.0, target - half), target + half)
        said = (
            "No window was given; the target plus or minus a tenth, at least half a point, is taken: "
            f"{around[0] * 100:.1f} to {around[1] * 100:.1f} %.",
        )
        return target, around, said
    low, high = GENERAL_WINDOW
    return (
        (low + high) / 2.0,
        GENERAL_WINDOW,
        (
            "No target was given. Taken is 8 % in a window of 6 to 10 %, as for general machining (common "
            "practice, no source).",
        ),
    )


def request_from(inputs: Mapping[str, Any]) -> Request:
    """A request from named inputs, target and window filled in, strength worked out from a reading.

    Raises:
        BadInput: an unknown name, something missing, or something impossible.
    """
    known = {item.name for item in fields(Request)}
    values = {name: value for name, value in inputs.items() if value is not None}
    for name in values:
        if name not in known:
            raise BadInput(
                f'"{name}" is not an input of a recipe',
                place=name,
                value=name,
                right="use one of " + ", ".join(sorted(known)),
            )
    if "sump_volume_l" not in values:
        raise BadInput(
            "the sump volume is missing", place="sump_volume_l", right="give the working volume when full"
        )
    said = tuple(values.get("taken_for_granted", ()))
    target, window, more = resolve_window(values.get("target"), values.get("window"))
    said += more
    said += _strength_into(values)
    if "fill" not in values:
        values["fill"] = 1.0
        said += (FULL,)
    values.update(target=target, window=window, taken_for_granted=said)
    return Request(**values)


def _strength_into(values: dict[str, Any]) -> tuple[str, ...]:
    if "strength" in values:
        if "factor" in values and "reading" not in values:
            check = strength_from(1.0, float(values["factor"]))
            assert check > 0.0
        return (
            ("The strength is taken as already multiplied by the product factor.",)
            if ("factor" not in values)
            else ()
        )
    if "reading" not in values:
        raise BadInput(
            "the present strength is missing",
            place="strength",
            right="give a strength such as 7 %, or a reading with its product factor",
        )
    if "factor" not in values:
        values["strength"] = (
            max(0.0, float(values["reading"]) - float(values.get("water_reading", 0.0))) / 100.0
        )
        values["factor_known"] = False
        return ()
    values["strength"] = strength_from(
        float(values["reading"]), float(values["factor"]), float(values.get("water_reading", 0.0))
    )
    return ()
