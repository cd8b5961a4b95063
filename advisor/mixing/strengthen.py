"""Strengthening a lean sump with premix, and charging a clean one.

Concentrate never goes neat into a sump. Premix mixed by hand is 10 to 15 %, 20 % at most (common
practice, no source; that bare concentrate is inadvisable: UKLA/HSE Good Practice Guide, v2.2, 2021).
"""

from __future__ import annotations

from advisor.errors import BadInput
from advisor.mixing import balance, option_parts
from advisor.mixing.display import METRIC, Display
from advisor.mixing.recipe import Option, Recipe, refuse
from advisor.mixing.request import Request
from advisor.mixing.thin import NO_ROOM

USUAL_PREMIX = 0.15
"""Strongest premix that still stirs in easily by hand, a fraction; common practice, no source."""

HAND_CAP = 0.20
"""Strongest premix made by hand, a fraction; common practice, no source."""


def strengthen(request: Request, show: Display = METRIC) -> Recipe:
    """Ways to strengthen a lean sump, side by side, the recommended one first.

    Raises:
        BadInput: the sump is empty, or no premix a hand can mix is stronger than the target.
    """
    said = option_parts.assumptions(request, show, "strengthen")
    untrusted = option_parts.distrust(request)
    if untrusted:
        return refuse("strengthen", *untrusted, said)
    if request.fill <= 0.0:
        raise BadInput(
            "an empty sump cannot be strengthened",
            place="fill",
            value=request.fill,
            right="charge it instead, or give how full it stands",
        )
    premix = _premix(request)
    if premix > HAND_CAP + 1e-9:
        return refuse(
            "strengthen",
            f"no premix of {show.strength(premix)} into a sump",
            "Concentrate never goes in neat, and by hand 20 % is the cap. Mix it at 10 to 15 %.",
            said,
        )
    if request.strength >= request.target - 1e-9:
        if request.strength <= request.target + 1e-9 and request.fill < 1.0 - NO_ROOM:
            option = option_parts.swap(
                request,
                show,
                "fill the room to the mark at the target strength",
                0.0,
                request.room_l,
                request.target,
            )
            return Recipe("strengthen", (option,), (), said, make_up=request.make_up)
        return refuse(
            "strengthen",
            "nothing to strengthen",
            f"It stands at {show.strength(request.strength)}, which is not below the target of "
            f"{show.strength(request.target)}. Leave it, or thin it.",
            said,
        )
    options = [one for one in _options(request, show, premix) if one is not None]
    return Recipe(
        "strengthen", tuple(options), _warnings(request, show, options), said, make_up=request.make_up
    )


def charge(request: Request, show: Display = METRIC) -> Recipe:
    """Charge a clean sump; `fill` and `strength` are the rinse left behind (0 when there is none).

    The same make-up strength as anywhere else makes up for the rinse: m = (T - f*C)/(1 - f). (The custom
    is half a point to a point over the target.)

    Raises:
        BadInput: the rinse left behind fills the sump.
    """
    said = option_parts.assumptions(request, show, "charge")
    if request.fill >= 1.0 - NO_ROOM:
        raise BadInput(
            f"a sump that is {request.fill:.0%} full has no room for a charge",
            place="fill",
            value=request.fill,
            right="for a charge, fill is the rinse left behind: usually 0 to 10 %",
        )
    make_up = balance.make_up_strength(request.target, request.fill, request.strength)
    if make_up <= 0.0:
        return refuse(
            "charge",
            "what was left behind is too rich and too much",
            "Drain it, or thin the sump instead of charging it.",
            said,
        )
    if make_up > HAND_CAP + 1e-9:
        return refuse(
            "charge",
            f"a charge would have to go in at {show.strength(make_up)}",
            "So much rinse is left behind that 20 % mix does not reach the target. Drain it first.",
            said,
        )
    option = option_parts.swap(request, show, "charge to the mark", 0.0, request.room_l, make_up)
    # Source: HSE web page "Cleaning a water-mix fluid sump", 2021 and 2024 copies.
    warnings = ["Only into a clean sump: what is left in a dirty one spoils the new charge within days."]
    if request.fill <= 0.0:
        warnings.append(
            "Rinse left in lines and corners weakens the charge. Read it after 30 minutes and correct it."
        )
    warnings.append(
        "Write down strength and pH after 30 minutes and next day: later readings are judged by them."
    )
    return Recipe("charge", (option,), tuple(warnings), said, make_up=make_up)


def _premix(request: Request) -> float:
    if request.premix is not None:
        return request.premix
    if request.target >= HAND_CAP:
        raise BadInput(
            f"a target of {request.target:.1%} is above what premix by hand can reach",
            place="target",
            value=request.target,
            right="20 % is the cap for premix by hand; use a proportioner's premix",
        )
    return USUAL_PREMIX if request.target < USUAL_PREMIX - 0.01 else HAND_CAP


def _options(request: Request, show: Display, premix: float) -> list[Option | None]:
    room = request.fill < 1.0 - NO_ROOM
    make_up = request.make_up if room else None
    swap = _swap(request, show, premix)
    if not room or make_up is None:
        slow = _through_losses(request, show, premix, 0.0)
        return [swap, slow] if request.cannot_wait else [slow, swap]
    if make_up <= premix + 1e-9:
        to_mark = option_parts.swap(
            request, show, "fill the room to the mark with premix", 0.0, request.room_l, make_up
        )
        if request.premix is None or abs(make_up - premix) < 1e-9:
            return [to_mark]
        just_enough = balance.amount_to_add(request.present_l, request.strength, premix, request.target)
        as_given = option_parts.swap(
            request,
            show,
            "add premix as it is, short of the mark",
            0.0,
            just_enough,
            premix,
            warnings=_short_of_mark(request, show, just_enough),
        )
        return [as_given, to_mark]
    partial = option_parts.swap(
        request,
        show,
        "fill the room to the mark with premix",
        0.0,
        request.room_l,
        premix,
        warnings=(
            "The room to the mark is too small to reach the target; carry on with premix as the level falls.",
        ),
    )
    if request.premix is None and make_up <= HAND_CAP + 1e-9:
        strong = option_parts.swap(
            request,
            show,
            "fill the room to the mark with strong premix",
            0.0,
            request.room_l,
            make_up,
            warnings=(
                "This premix is as strong as a hand can stir in: stir it well, and look for streaks before "
                "pouring.",
            ),
        )
        return [strong, partial]
    slow = _through_losses(request, show, premix, request.room_l) or partial
    return [swap, slow, partial] if request.cannot_wait else [slow, partial, swap]


def _through_losses(request: Request, show: Display, premix: float, first_l: float) -> Option | None:
    name = (
        "premix through the coming losses"
        if first_l <= 0.0
        else "fill the room, then premix through the losses"
    )
    return option_parts.hold(request, show, name, premix, first_l=first_l)


def _swap(request: Request, show: Display, premix: float) -> Option | None:
    kept = balance.amount_kept(request.sump_volume_l, request.strength, premix, request.target)
    remove = request.present_l - kept
    if remove <= 1e-6:
        return None
    return option_parts.swap(
        request, show, "drain some and fill with premix", remove, request.sump_volume_l - kept, premix
    )


def _short_of_mark(request: Request, show: Display, added_l: float) -> tuple[str, ...]:
    level = (request.present_l + added_l) / request.sump_volume_l
    return (
        f"The sump then stands at {show.share(level)}; fill on to the mark with mix at the target strength.",
    )


def _warnings(request: Request, show: Display, options: list[Option]) -> tuple[str, ...]:
    out: list[str] = []
    if request.pump_min_fill is not None and request.fill < request.pump_min_fill:
        out.append(
            f"The level is below the pump's minimum of {show.share(request.pump_min_fill)}: stop the pump "
            "now."
        )
    if options and options[0].remove_l <= 1e-6 and options[0].days == 0.0 and not request.repeated_reading:
        out.append("This rests on one reading. Read a second sample before the last third goes in.")
    if request.strength < request.low and options and options[0].days != 0.0:
        out.append(
            "A lean sump rusts and breeds germs while it waits: if rust or smell shows, drain some and fill "
            "with premix instead."
        )
    return tuple(out)
