"""Recondition a charge or change it: cost against cost, and what a clean-out takes.

Money is in whatever currency the figures are given in. Costs settle nothing where a limit does: a dump
trigger (germs, nitrite, pH fall, illness) comes before any sum.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from advisor.errors import BadInput

CLEANER = 0.02
"""Strength of system cleaner in the circuit, a fraction: 1 to 2 %; DGUV Regel 109-003, Annex 5, 2.1."""

RINSE_SHARE = 0.25
"""Rinse water per rinse as a share of the sump volume; common practice, no source."""

RINSE_MIX = 0.005
"""Old or new mix in the rinse against flash rust, a fraction: 0.5 to 1 %; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Prices:
    """What things cost.

    Attributes:
        concentrate: per litre.
        water: per litre.
        disposal: per litre of spent coolant.
        hour: an hour of labour, the standing machine included.
    """

    concentrate: float
    water: float = 0.0
    disposal: float = 0.0
    hour: float = 0.0

    def __post_init__(self) -> None:
        for name in ("concentrate", "water", "disposal", "hour"):
            if not 0.0 <= getattr(self, name) < inf:
                raise BadInput(
                    f"a price of {getattr(self, name)} is not possible",
                    place=name,
                    value=getattr(self, name),
                    right="give 0 or more",
                )


@dataclass(frozen=True, slots=True)
class Course:
    """One course: what it uses, what it costs at once, how many days it lasts."""

    concentrate_l: float
    water_l: float
    waste_l: float
    hours: float
    lasts_days: float

    def __post_init__(self) -> None:
        for name in ("concentrate_l", "water_l", "waste_l", "hours"):
            if not 0.0 <= getattr(self, name) < inf:
                raise BadInput(
                    f"{getattr(self, name)} is not possible",
                    place=name,
                    value=getattr(self, name),
                    right="give 0 or more",
                )
        if not 0.0 < self.lasts_days < inf:
            raise BadInput(
                f"a life of {self.lasts_days} days is not possible",
                place="lasts_days",
                value=self.lasts_days,
                right="give the days it is expected to last, above 0",
            )

    def cost(self, prices: Prices) -> float:
        """What it costs at once."""
        return (
            self.concentrate_l * prices.concentrate
            + self.water_l * prices.water
            + self.waste_l * prices.disposal
            + self.hours * prices.hour
        )


@dataclass(frozen=True, slots=True)
class Choice:
    """Keep or dump, by cost per day of life.

    Attributes:
        keep_cost, dump_cost: at once.
        keep_per_day, dump_per_day: over the life each buys.
        break_even_days: days the reconditioned charge has to last to be worth it.
        keep: True when keeping costs no more per day.
    """

    keep_cost: float
    dump_cost: float
    keep_per_day: float
    dump_per_day: float
    break_even_days: float
    keep: bool


@dataclass(frozen=True, slots=True)
class CleanOut:
    """A clean-out in litres, and its steps."""

    cleaner_l: float
    rinse_l: float
    rinse_mix_l: float
    waste_l: float
    charge_concentrate_l: float
    charge_water_l: float
    steps: tuple[str, ...]


def choose(keep: Course, dump: Course, prices: Prices) -> Choice:
    """Compare the two per day of life they buy.

    Keeping pays when it lasts longer than its cost over what a new charge costs per day.
    """
    keep_cost, dump_cost = keep.cost(prices), dump.cost(prices)
    per_day = dump_cost / dump.lasts_days
    even = keep_cost / per_day if per_day > 0 else inf if keep_cost > 0 else 0.0
    keep_per_day = keep_cost / keep.lasts_days
    return Choice(keep_cost, dump_cost, keep_per_day, per_day, even, keep_per_day <= per_day)


def clean_out(
    volume_l: float, present_l: float, target: float, rinses: int = 2, cleaner: float = CLEANER
) -> CleanOut:
    """What a clean-out uses and leaves as waste.

    Cleaner into the running charge, drain, clean by hand, rinse with weak mix until it no longer foams,
    charge. Waste is the charge with its cleaner and every rinse.

    Args:
        volume_l: working volume, litres.
        present_l: what is in it now, litres.
        target: strength of the new charge, a fraction.
        rinses: how many, 1 or more.
        cleaner: strength of cleaner, a fraction, 1 to 2 % unless its label says otherwise.

    Raises:
        BadInput: figures that cannot be.
    """
    if not (0.0 < volume_l < 1e9 and 0.0 <= present_l <= volume_l):
        raise BadInput(
            f"{present_l:g} L in a sump of {volume_l:g} L is not possible",
            place="present_l",
            value=present_l,
            right="give a working volume above 0 L, and no more in it than that",
        )
    if not (0.0 < target < 1.0 and 0.0 <= cleaner <= 0.1 and rinses >= 1):
        raise BadInput(
            "target, cleaner or rinses are not possible",
            place="cleaner",
            value=cleaner,
            right="give a target such as 7 %, cleaner of 1 to 2 %, and one rinse or more",
        )
    cleaner_l = present_l * cleaner
    rinse_l = rinses * RINSE_SHARE * volume_l
    return CleanOut(
        cleaner_l,
        rinse_l,
        rinse_l * RINSE_MIX,
        present_l + cleaner_l + rinse_l,
        volume_l * target,
        volume_l * (1.0 - target),
        _clean_out_steps(rinses),
    )


def _clean_out_steps(rinses: int) -> tuple[str, ...]:
    # Sources: DGUV Regel 109-003, Annex 5; HSE web page "Cleaning a water-mix fluid sump", 2021 and 2024
    # copies; the rinse with a little mix is common practice, no source.
    return (
        "Have a written plan first, and a permit for any tank a person could get into. Nobody works alone.",
        "System cleaner is for trained people: label and data sheet first, gloves, goggles and apron on.",
        "Put the cleaner into the running charge 8 to 12 hours before the change and circulate.",
        "Lock off pump and conveyor, cover the floor drain, have spill kit and absorbent at hand.",
        "Drain everything, lines and filters too. All of it is hazardous waste; nothing goes to a drain.",
        "Clean tank, corners, guards and chip conveyor by hand. Where a hose makes mist wear a mask "
        "(FFP3 by UK advice, FFP2 by German).",
        f"Rinse {rinses} times with mix of about {RINSE_MIX:.1%}, not bare water, until it no longer foams. "
        "Drain.",
        "Charge with premix, circulate 30 minutes, read strength and pH, and write them down as the first "
        "fill.",
    )
