"""Thinning a rich sump, and topping up one that is in its window.

The make-up strength decides first: m = (T - f*C)/(1 - f). Draining is for a sump more than two points
over the top of its window that water to the mark would leave above it; anything else is thinned by what is
topped up. Source of the arithmetic: mass balance; of the limits: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

from advisor.errors import BadInput
from advisor.mixing import balance, option_parts, steps, thumb_rules
from advisor.mixing.display import METRIC, Display
from advisor.mixing.pails import real_strength
from advisor.mixing.recipe import Option, Recipe, refuse
from advisor.mixing.request import Request
from advisor.mixing.spread import NINETY

OVER_TO_DRAIN = 0.02
"""Points over the window's top before anything is drained; common practice, no source."""

LEAST_KEPT = 0.30
"""Lowest level one pass goes down to, a share of the full tank; below it, it is a change of charge.
Common practice, no source: the trade stops at 30 % of the height."""

NO_ROOM = 0.01
"""Room below this share of the tank is not worth a pail."""

JUST_WATER = 0.005
"""A make-up strength up to this is water to any hand instrument; common practice, no source."""


def thin(request: Request, show: Display = METRIC) -> Recipe:
    """Ways to thin a rich sump, side by side, the recommended one first.

    Args:
        request: the sump, its reading and the containers.
        show: how volumes are written in the steps.

    Raises:
        BadInput: the weak mix is not weaker than the target, or the sump is empty.
    """
    said = option_parts.assumptions(request, show, "thin")
    untrusted = option_parts.distrust(request)
    if untrusted:
        return refuse("thin", *untrusted, said)
    _workable(request)
    if request.strength <= request.target + 1e-9:
        return refuse(
            "thin",
            "nothing to thin",
            f"It stands at {show.strength(request.strength)}, which is not above the target of "
            f"{show.strength(request.target)}. Top up to the mark, or strengthen it.",
            said,
        )
    options = [one for one in _options(request, show) if one is not None]
    if not options:
        return refuse(
            "thin",
            "no way to thin it with what is given",
            "The sump is full, within two points of its window, and nothing is carried off on parts. Give "
            "the daily loss and how much of it evaporates.",
            said,
        )
    return Recipe("thin", tuple(options), _warnings(request, show, options), said, make_up=request.make_up)


def top_up(request: Request, show: Display = METRIC) -> Recipe:
    """Fill the room to the mark so that the sump lands on its target, as near as water or premix can.

    Raises:
        BadInput: the sump is empty.
    """
    from advisor.mixing.strengthen import strengthen

    said = option_parts.assumptions(request, show, "thin")
    if request.fill > 1.0 - NO_ROOM:
        return refuse(
            "top_up", "no room to the mark", "The sump is full; nothing can be topped up yet.", said
        )
    recipe = thin(request, show) if request.strength > request.target + 1e-9 else strengthen(request, show)
    # Topping up takes nothing out: such options come first, whatever the sump would need besides.
    options = tuple(sorted(recipe.options, key=lambda option: option.remove_l > 0.0))
    return replace(recipe, kind="top_up", options=options)


def _workable(request: Request) -> None:
    if request.fill <= 0.0:
        raise BadInput(
            "an empty sump cannot be thinned",
            place="fill",
            value=request.fill,
            right="charge it instead, or give how full it stands",
        )
    if request.weak_mix >= request.target:
        raise BadInput(
            f"a weak mix of {request.weak_mix:.1%} does not thin to {request.target:.1%}",
            place="weak_mix",
            value=request.weak_mix,
            right="the weak mix must be weaker than the target",
        )


def must_drain(request: Request) -> bool:
    """True where something has to come out: more than two points over, and water to the mark stays above."""
    over = request.strength > request.high + OVER_TO_DRAIN + 1e-9
    return over and request.fill * request.strength > request.high + 1e-9


def fill_strength(request: Request) -> float:
    """Strength to fill the room with: the make-up strength, water when that is about nothing, weak mix
    instead of water for an old or doubtful coolant as long as the result stays in the window."""
    make_up = request.make_up
    assert make_up is not None
    doubtful = request.doubtful_emulsion or request.ph_normal is False
    wanted = max(0.0, make_up)
    if make_up <= min(JUST_WATER, max(0.0, NINETY * request.make_up_sd)):
        wanted = 0.0
    if doubtful and wanted < request.weak_mix:
        lands = request.fill * request.strength + (1.0 - request.fill) * request.weak_mix
        if lands <= request.high + 1e-9:
            return request.weak_mix
    return wanted


def _options(request: Request, show: Display) -> list[Option | None]:
    room = request.fill < 1.0 - NO_ROOM
    fill = _fill(request, show) if room else None
    holding = _hold(request, show, fill)
    if not must_drain(request):
        return [fill, holding]
    share_kept = balance.amount_kept(1.0, request.strength, request.weak_mix, request.high)
    if share_kept < LEAST_KEPT - 1e-9:
        return [_two_passes(request, show), _dump(request, show), holding]
    return [_drain(request, show), fill, holding]


def _fill(request: Request, show: Display) -> Option:
    strength = fill_strength(request)
    what = "water" if strength <= 0.0 else "weak mix" if strength <= request.weak_mix + 1e-9 else "mix"
    warnings: tuple[str, ...] = ()
    after = request.fill * request.strength + (1.0 - request.fill) * strength
    if after > request.high + 1e-9:
        warnings = (
            f"The room to the mark is too small: it ends at about {show.strength(after)}, still above the "
            "window. Weaken the coming top-ups as well.",
        )
    elif after > request.target + 0.0025:
        warnings = (
            f"It ends at about {show.strength(after)}, inside the window but above the target of "
            f"{show.strength(request.target)}. Drain nothing, and mix the next top-ups thinner.",
        )
    if strength <= 0.0 and (request.doubtful_emulsion or request.ph_normal is False):
        warnings += (
            "The coolant is doubtful and a weak mix would leave it too rich: try water on a jar first, and "
            "add it in small portions.",
        )
    return option_parts.swap(
        request,
        show,
        f"fill the room to the mark with {what}",
        0.0,
        request.room_l,
        strength,
        warnings=warnings,
    )


def _hold(request: Request, show: Display, fill: Option | None) -> Option | None:
    doubtful = request.doubtful_emulsion or request.ph_normal is False
    if fill is not None:
        if fill.strength_after <= request.target + 1e-6 or fill.mix_strength > request.weak_mix + 1e-9:
            return None
        name = "fill the room and hold the level with " + ("water" if fill.mix_strength <= 0 else "weak mix")
        return option_parts.hold(request, show, name, fill.mix_strength, first_l=request.room_l)
    weak = (
        option_parts.hold(request, show, "hold the level with weak mix", request.weak_mix)
        if doubtful
        else None
    )
    return weak or option_parts.hold(request, show, "hold the level with water", 0.0)


def _drain(request: Request, show: Display) -> Option:
    kept = balance.amount_kept(request.sump_volume_l, request.strength, request.weak_mix, request.target)
    remove = request.present_l - kept
    warnings: tuple[str, ...] = ()
    if request.half_at_most and not request.repeated_reading and remove > request.sump_volume_l / 2.0:
        remove = request.sump_volume_l / 2.0
        kept = request.present_l - remove
        warnings = (
            "Only half the tank is taken out, because it rests on one reading. Read again after this pass "
            "and work out the next one from that.",
        )
    what = "weak mix" if request.weak_mix > 0 else "water"
    name = f"drain and fill with {what}"
    added = request.sump_volume_l - kept
    option = option_parts.swap(request, show, name, remove, added, request.weak_mix, warnings=warnings)
    rule = thumb_rules.check(request.strength, request.window, request.weak_mix)
    if rule is None or not rule.holds:
        return option
    checked = (
        f"Cross-check: the shop rule (down to {rule.name}, fill with {show.strength(request.weak_mix)} mix) "
        f"would land at {show.strength(rule.lands)}."
    )
    return replace(option, steps=(*option.steps, checked))


def _two_passes(request: Request, show: Display) -> Option:
    """At most half the tank out and refilled, read, then a second pass worked out from that reading."""
    full, weak = request.sump_volume_l, request.weak_mix
    # Never below the least level of one pass, and then still above the target, so a second pass has work.
    kept = min(request.present_l, max(request.present_l - full / 2.0, LEAST_KEPT * full))
    first = option_parts.swap(request, show, "first pass", request.present_l - kept, full - kept, weak)
    # The second pass rests on the reading taken after the first one, so only that one's doubt counts.
    between = first.strength_after
    out = full - balance.amount_kept(full, between, weak, request.target)
    second = option_parts.swap(_as_read(request, between), show, "second pass", out, out, weak)
    rows = first.pails + second.pails
    warnings = (
        "No single pass brings this into the window: it takes two, or a change of the charge. Check first "
        "that the reading is real: oil taken up, a wrong factor or unmixed concentrate read just as high.",
        *first.warnings,
        *(line for line in second.warnings if "cannot prove" in line),
    )
    return replace(
        second,
        name="thin in two passes",
        remove_l=first.remove_l + out,
        add_l=first.add_l + out,
        mix_strength=real_strength(rows),
        pails=rows,
        days=1.0,
        waste_l=first.waste_l + out,
        steps=steps.second_pass(first.steps, second.steps),
        readings=(),  # the second pass is worked out anew from the reading after the first
        warnings=tuple(dict.fromkeys(warnings)),
    )


def _as_read(request: Request, strength: float) -> Request:
    return replace(request, fill=1.0, strength=strength, reading=None, repeated_reading=True)


def _dump(request: Request, show: Display) -> Option:
    return option_parts.swap(
        request,
        show,
        "change the charge",
        request.present_l,
        request.sump_volume_l,
        request.target,
        warnings=(
            "Clean the tank before it is charged again. What comes out is hazardous waste unless it is "
            "kept for lean sumps of the same product.",
        ),
    )


def _warnings(request: Request, show: Display, options: list[Option]) -> tuple[str, ...]:
    out: list[str] = []
    if request.pump_min_fill is not None and request.fill < request.pump_min_fill:
        out.append(
            f"The level is below the pump's minimum of {show.share(request.pump_min_fill)}: stop the pump "
            "now."
        )
    if options[0].remove_l <= 1e-6 and options[0].days == 0.0 and not request.repeated_reading:
        out.append("This rests on one reading. Read a second sample before the last third goes in.")
    rule = thumb_rules.check(request.strength, request.window, request.weak_mix)
    if rule and not rule.holds and must_drain(request):
        out.append(
            f'The shop rule ("down to {rule.name}, fill with {show.strength(request.weak_mix)} mix") '
            f"misses here: it lands at {show.strength(rule.lands)}. It holds only from "
            f"{show.strength(rule.holds_from)} to {show.strength(rule.holds_to)}; use the figures above."
        )
    if (
        request.make_up is not None
        and abs(request.make_up) <= NINETY * request.make_up_sd
        and (options[0].mix_strength <= 1e-9 and options[0].remove_l <= 1e-6)
    ):
        out.append("Only water has gone: the level and the strength agree on that.")
    return tuple(out)
