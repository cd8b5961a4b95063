"""The working order of a recipe, as short plain sentences.

Each step is common practice, no source, unless the line above it cites one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from advisor.mixing.display import Display
from advisor.mixing.glass import Glass
from advisor.mixing.pails import BY_HAND, TO_LIFT_KG, pail_count, pail_weight_kg
from advisor.mixing.recipe import Expected, Pail
from advisor.mixing.request import Request

LEAST_CIRCULATION_MIN = 30.0
"""Shortest circulation before a reading, minutes; common practice, no source."""

HARD_WATER = 200.0
"""mg/L as CaCO3 above which a weak mix may cream or split; Iowa Waste Reduction Center, Cutting Fluid
Management for Small Machining Operations, 2003, fluid preparation; from memory, unverified."""

WEAK = 0.02
"""A mix up to this strength is a diluent: no help against rust or germs; common practice, no source."""


DRUM = (
    "Read the name on the concentrate drum aloud and compare it with the name on the machine: it must be "
    "the same product."
)
FILLER = "Check that you stand at the coolant filler, not at the way-oil filler."


LEAST_FOR_PUMP = 1.0 / 3.0
"""Level below which a pump may draw air where its own minimum is not known, a share of the full tank; common
practice, no source."""

#: How the step begins that keeps the pump off until the level is up.
PUMP_OFF = "Keep the pump off"

#: How a step begins that only tells something: nobody has to say that it is done.
_INFORMS = (
    "Water goes in first", "The fullest pail weighs", "First pass.", "Second pass:", "Keep the level up",
    "About ", "Once it reads", "Read again tomorrow",
)  # fmt: skip


def informs(step: str) -> bool:
    """Whether a step only informs, so that there is nothing to do and to tick."""
    return step.startswith(_INFORMS)


@dataclass(frozen=True, slots=True)
class Pour:
    """One draining and one addition, as the steps need to know it.

    Attributes:
        request, show: the request and how to write volumes.
        start_l: litres in the sump before anything is done.
        strength: strength then, a fraction.
        remove_l: litres taken out first.
        rows: pails that go in.
        mix_strength: strength of what goes in.
        after, low, high: strength at the end and its 90 % range.
    """

    request: Request
    show: Display
    start_l: float
    strength: float
    remove_l: float
    rows: tuple[Pail, ...]
    mix_strength: float
    after: float
    low: float
    high: float

    @property
    def kept_l(self) -> float:
        """Litres left when the pouring begins."""
        return self.start_l - self.remove_l


def circulation_min(sump_volume_l: float, pump_flow_l_min: float | None) -> float:
    """Minutes to circulate before reading: the longer of 30 and four sump volumes over the pump's flow."""
    if pump_flow_l_min is None:
        return LEAST_CIRCULATION_MIN
    return max(LEAST_CIRCULATION_MIN, 4.0 * sump_volume_l / pump_flow_l_min)


def pour_steps(pour: Pour) -> tuple[str, ...]:
    """Every step of one draining and addition, in working order."""
    out = [] if pour.remove_l > 1e-6 else pump_off_steps(pour.request, pour.show)
    out += [DRUM] if any(row.concentrate_l > 0 for row in pour.rows) else []
    out.append(FILLER)
    if pour.remove_l > 1e-6:
        out += drain_steps(pour.request, pour.show, pour.remove_l, pour.kept_l)
    out += pail_steps(pour.rows, pour.show, pour.mix_strength)
    out += staged_steps(pour)
    return tuple(out)


def too_low_for_pump(request: Request) -> bool:
    """Whether the level stands below the pump's minimum, or below a third where that is not known.

    An empty tank is charged with everything switched off; nothing is said of it here.
    """
    least = LEAST_FOR_PUMP if request.pump_min_fill is None else request.pump_min_fill
    return 0.0 < request.fill < least


def pump_off_steps(request: Request, show: Display) -> list[str]:
    """The first step where the level is too low for the pump: it comes up before the pump runs."""
    if not too_low_for_pump(request):
        return []
    return [
        f"{PUMP_OFF}: at {show.share(request.fill)} full it draws air. Bring the level up first, as below, "
        f"to above {_lowest(request, show)}."
    ]


def _lowest(request: Request, show: Display) -> str:
    if request.pump_min_fill is None:
        return "the pump's lowest mark (about a third, if it has none)"
    return f"the pump's lowest mark ({show.share(request.pump_min_fill)})"


def second_pass(first: tuple[str, ...], second: tuple[str, ...]) -> tuple[str, ...]:
    """Two passes as one list: what was said once about drum, filler and mixing is not said again."""
    again = ("Lock off", "Cover", "With the level", "Circulate", "Take out", "Fill ", "Pour in")
    rest = tuple(step for step in second if step not in first or step.startswith(again))
    return (
        "First pass.",
        *first,
        "Second pass: work it out again from the reading after the first one; as things stand now it is:",
        *rest,
    )


def drain_steps(request: Request, show: Display, remove_l: float, kept_l: float) -> list[str]:
    """Draining with the machine made safe, and what becomes of the coolant taken out."""
    level = show.share(kept_l / request.sump_volume_l)
    out = [
        "Lock off and tag the coolant pump and the chip conveyor.",
        "Cover the floor drain and keep the spill kit at hand.",
        f"Take out {show.volume(remove_l)}, so that {show.volume(kept_l)} stay in the tank ({level} full).",
    ]
    if remove_l > request.sump_volume_l / 2.0 and not request.repeated_reading:
        out.insert(
            0,
            "Before you drain, take a second reading from a fresh sample. More than half a tank is not "
            "taken out on a single reading.",
        )
    out.append(
        "Keep what comes out in a clean, vented, closed container marked with product, strength, sump, date "
        "and hazard. Read it, smell it, check its pH and skim it before it goes into a lean sump. After "
        "about a week unused it is waste."
    )
    return out


def pail_steps(rows: Sequence[Pail], show: Display, mix_strength: float) -> list[str]:
    """Filling the pails, what they weigh, and the care a weak mix needs."""
    if not rows:
        return []
    out: list[str] = []
    if any(row.concentrate_l > 0 for row in rows):
        # Source: German OSH handbook article on coolants, 2.2.1; IPA/LUBW waste profile 1201 (2017).
        out.append("Water goes in first and concentrate is stirred into it, never the other way round.")
    for row in rows:
        amount = "Fill 1 pail" if row.count == 1 else f"Fill {row.count} pails"
        each = "" if row.count == 1 else " each"
        if row.concentrate_l > 0:
            out.append(
                f"{amount} with {show.volume(row.water_l)} of water{each}, then stir "
                f"{show.measure(row.concentrate_l)} of concentrate into it."
            )
        else:
            out.append(
                f"{amount} with {show.volume(row.water_l)} of low-mineral (deionised) water{each}. Tap water "
                "leaves its minerals behind."
            )
    heaviest = pail_weight_kg(max(row.mix_l for row in rows))
    out.append(f"The fullest pail weighs about {heaviest:.0f} kg.")
    if pail_count(rows if isinstance(rows, tuple) else tuple(rows)) > BY_HAND:
        out[-1] += f" That makes {pail_count(tuple(rows))} pails: use a trolley or a pump, do not carry them."
    elif heaviest >= TO_LIFT_KG:
        out[-1] += " Two people carry it, or a trolley."
    if 0.0 < mix_strength <= WEAK:
        out.append(
            "Make the weak mix fresh and use it in the same shift: it is too thin to stop rust or germs. In "
            "hard water let a jar of it stand 15 minutes first and do not pour it if it curdles."
        )
    return out


def staged_steps(pour: Pour) -> list[str]:
    """Two thirds, circulate, read, finish, read again, read next day."""
    request, show = pour.request, pour.show
    said_first = two_thirds(pour)[2]
    minutes = circulation_min(request.sump_volume_l, request.pump_flow_l_min)
    circulate = f"Circulate for {minutes:.0f} minutes"
    if request.pump_flow_l_min is None:
        circulate += " (longer in a big sump: four times its volume through the pump)"
    out = [f"Pour in {said_first}, about two thirds, in portions."]
    if pour.remove_l > 1e-6:
        above = (
            "above the pump's minimum mark"
            if request.pump_min_fill is None
            else (f"above the pump's minimum of {show.share(request.pump_min_fill)}")
        )
        out.append(f"With the level {above} and everybody clear, take the locks off and start the pump.")
    elif too_low_for_pump(request):
        out.append(
            f"Start the pump only with the level above {_lowest(request, show)}. If it is not there yet, "
            f"fill on with mix at {show.strength(request.target)}."
        )
    out.append(circulate + ".")
    out += [expected.step for expected in readings(pour)]
    out.append("Read again tomorrow and write both readings down.")
    return out


def readings(pour: Pour) -> tuple[Expected, ...]:
    """The readings a staged pour asks for: after its first part, and at the end where that is later."""
    request, show = pour.request, pour.show
    first, rest, _, said_rest = two_thirds(pour)
    mixed = pour.kept_l + first
    midway = (
        (pour.kept_l * pour.strength + first * pour.mix_strength) / mixed if mixed > 0 else pour.mix_strength
    )
    below, above = pour.after - pour.low, pour.high - pour.after  # the same doubt holds on the way
    told = (
        f"Read a sample: about {reading_text(request, show, midway)} is right so far. If it is far off, stop "
        "and find out why."
    )
    out = [Expected(told, midway, max(0.0, midway - below), midway + above, first)]
    if rest > 1e-6:
        told = (
            f"Pour in {said_rest}, circulate again and read: expect "
            f"{reading_text(request, show, pour.after)}, likely {show.between(pour.low, pour.high)}"
            f"{glass_range(request, pour.low, pour.high)}."
        )
        out.append(Expected(told, pour.after, pour.low, pour.high, first + rest))
    return tuple(out)


def two_thirds(pour: Pour) -> tuple[float, float, str, str]:
    """First and second part of an addition in litres and in words, in whole pails where there are some.

    The first part is larger than two thirds when the pump would otherwise still stand below its minimum.
    """
    rows, request = pour.rows, pour.request
    total, pails = sum(row.count * row.mix_l for row in rows), pail_count(rows)
    least = request.pump_min_fill or (LEAST_FOR_PUMP if too_low_for_pump(request) else 0.0)
    needed = least * request.sump_volume_l - pour.kept_l
    if pails < 3:
        first = min(total, max(total * 2.0 / 3.0, needed))
        return (
            first,
            total - first,
            pour.show.volume(first),
            f"the remaining {pour.show.volume(total - first)}",
        )
    full = rows[0].mix_l  # the first row holds the whole pails, and at least two of any three are whole
    count = min(pails, max(1, pails * 2 // 3, ceil(needed / full - 1e-9)))
    first = total if count == pails else count * full
    left = pails - count
    said_rest = "the last pail" if left == 1 else f"the remaining {left} pails"
    return first, total - first, f"{count} pails" if count > 1 else "1 pail", said_rest


def hold_steps(
    request: Request,
    show: Display,
    rows: tuple[Pail, ...],
    strength: float,
    first_l: float,
    through_l: float,
    days: float | None,
) -> tuple[str, ...]:
    """Carrying a sump to its target through the losses that come anyway.

    Args:
        rows: the pails it takes in all.
        strength: of the top-ups, a fraction.
        first_l: litres that fill the room before the holding begins.
        through_l: litres of loss replaced afterwards.
        days: days that takes, or None.
    """
    what = "low-mineral (deionised) water" if strength <= 1e-9 else f"mix at {show.strength(strength)}"
    out = pump_off_steps(request, show)
    if strength > 1e-9:
        out.append(DRUM)
    out.append(FILLER)
    if strength > 1e-9:
        out += pail_steps((Pail(1, rows[0].water_l, rows[0].concentrate_l),), show, strength)
    if first_l > 1e-6:
        out.append(f"Fill the room to the mark with {show.volume(first_l)} of {what}, in portions.")
    daily = f"about {show.volume(request.daily_loss_l)} a day" if request.daily_loss_l else "what has gone"
    out.append(f"From then on replace only what is lost ({daily}) with {what}, up to the mark and not above.")
    out.append(
        "Keep the level up: do not let it run down, because what evaporates leaves its concentrate behind."
    )
    took = "" if days is None else f", in {days_text(days)}"
    out.append(f"About {show.volume(through_l)} of that carries it to {show.strength(request.target)}{took}.")
    out.append("Read twice a week before topping up and write it down.")
    keep = request.target * (1.0 - request.phi)
    out.append(
        f"Once it reads {reading_text(request, show, request.target)}, top up at about {show.strength(keep)} "
        "to keep it there, and correct that from the readings."
    )
    return tuple(out)


def days_text(days: float) -> str:
    """A number of days, rounded up."""
    whole = max(1, ceil(days - 1e-9))
    return "about 1 day" if whole == 1 else f"about {whole} days"


def glass_range(request: Request, low: float, high: float) -> str:
    """A range as the glass shows it, in brackets; "" where it shows the strength itself."""
    said = glass_of(request).between(low, high)
    return f" ({said})" if said else ""


def glass_of(request: Request) -> Glass:
    """The refractometer of a request; a plain one where no factor is known."""
    return Glass(request.factor, request.water_reading) if request.factor else Glass()


def reading_text(request: Request, show: Display, strength: float) -> str:
    """A strength, and what the glass then shows where that is another number."""
    return show.strength(strength) + glass_of(request).beside(strength)
