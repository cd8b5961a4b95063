"""What a request may hold: each impossible input gets a sentence saying what would be right."""

from __future__ import annotations

from dataclasses import fields
from math import isfinite
from typing import TYPE_CHECKING

from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.mixing.request import Request


def check(request: Request) -> None:
    """Passes a possible request.

    Raises:
        BadInput: anything not finite, negative, over full, out of its window, or beyond the premix.
    """
    _finite(request)
    _sump(request)
    _strengths(request)
    _rest(request)


def _finite(request: Request) -> None:
    for item in fields(request):
        value = getattr(request, item.name)
        numbers = value if item.name == "window" else (value,)
        for number in numbers:
            if isinstance(number, (int, float)) and not isinstance(number, bool) and not isfinite(number):
                raise BadInput(
                    f"{number} is not a number to reckon with",
                    place=item.name,
                    value=number,
                    right="give a plain number",
                )


def _sump(request: Request) -> None:
    _within(
        request.sump_volume_l > 0.0,
        "sump_volume_l",
        request.sump_volume_l,
        f"a sump of {request.sump_volume_l:g} L holds nothing",
        "give the working volume when full, above 0 L",
    )
    _within(
        request.fill >= 0.0,
        "fill",
        request.fill,
        f"a fill of {request.fill:.0%} is below empty",
        "give how full it stands, from 0 to 100 %",
    )
    _within(
        request.fill <= 1.0,
        "fill",
        request.fill,
        f"a fill of {request.fill:.0%} is above full",
        "give 100 % at most; if it stands above the mark, take the working volume up to where it stands",
    )


def _strengths(request: Request) -> None:
    for name in ("strength", "target", "weak_mix"):
        value = getattr(request, name)
        _within(
            0.0 <= value < 1.0,
            name,
            value,
            f"a strength of {value:.1%} is not possible",
            "give a strength from 0 % to below 100 %",
        )
    _within(
        request.target > 0.0,
        "target",
        request.target,
        "a target of 0 % is plain water",
        "give the strength from the data sheet",
    )
    low, high = request.window
    _within(
        0.0 <= low < high < 1.0,
        "window",
        request.window,
        f"{low:.1%} to {high:.1%} is not a window",
        "give the lower end first, such as 6-10 %",
    )
    _within(
        low <= request.target <= high,
        "target",
        request.target,
        f"a target of {request.target:.1%} lies outside the window of {low:.1%} to {high:.1%}",
        "give a target inside the window",
    )
    if request.premix is not None:
        _within(
            request.target < request.premix <= 1.0,
            "target",
            request.target,
            f"a target of {request.target:.1%} cannot be reached with a premix of {request.premix:.1%}",
            "the premix must be stronger than the target",
        )


def _rest(request: Request) -> None:
    for name in ("evaporated_share", "pump_min_fill"):
        value = getattr(request, name)
        _within(
            value is None or 0.0 <= value <= 1.0,
            name,
            value,
            f"{value} is not a share",
            "give a share from 0 to 100 %",
        )
    for name in ("daily_loss_l", "water_hardness"):
        value = getattr(request, name)
        _within(value is None or value >= 0.0, name, value, f"{value} is below zero", "give 0 or more")
    for name in ("pail_l", "pump_flow_l_min", "factor", "cup_l"):
        value = getattr(request, name)
        _within(
            value is None or value > 0.0,
            name,
            value,
            f"{value:g} is not possible" if value is not None else "",
            "give a number above 0",
        )
    _within(
        0.0 < request.pail_fill <= 1.0,
        "pail_fill",
        request.pail_fill,
        f"a pail cannot be filled to {request.pail_fill:.0%}",
        "give a share above 0 % and up to 100 %",
    )


def _within(holds: bool, place: str, value: object, what: str, right: str) -> None:
    if not holds:
        raise BadInput(what, place=place, value=value, right=right)
