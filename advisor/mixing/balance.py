"""Blend balance and its inverses: the few formulas every recipe stands on.

Volumes are litres and add up; strengths are fractions by volume. Any conserved property
(hardness, chloride, nitrite in mg/L) may stand where a strength stands in `blend`.

Source: mass balance; the cross-difference rule is taught in US Army course MD0802,
Pharmaceutical Calculations, lesson 2.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import expm1, isfinite, log1p

from advisor.errors import BadInput

NOTHING = 1e-9
"""Litres or fractions below this are rounding, not coolant."""


def blend(streams: Iterable[tuple[float, float]]) -> float:
    """Strength of a blend: C = sum(V*C) / sum(V).

    Args:
        streams: pairs of volume in litres (0 or more) and strength or any conserved property.

    Raises:
        BadInput: a volume is negative or not a number, or there is no volume at all.
    """
    total = carried = 0.0
    for volume, value in streams:
        if not (isfinite(volume) and isfinite(value)) or volume < 0:
            raise BadInput(
                f"a stream of {volume} L at {value} cannot be blended",
                place="streams",
                value=volume,
                right="give each stream a volume of 0 L or more",
            )
        total += volume
        carried += volume * value
    if total <= NOTHING:
        raise BadInput(
            "there is nothing to blend",
            place="streams",
            value=total,
            right="give at least one stream a volume above 0 L",
        )
    return carried / total


def blend_all(streams: Sequence[tuple[float, Mapping[str, float]]]) -> dict[str, float]:
    """Every conserved property of a blend: strength, hardness, chloride, nitrite, whatever is named.

    Args:
        streams: pairs of volume in litres and properties by name; all streams name the same ones.

    Raises:
        BadInput: no streams, streams that name different properties, or volumes as in `blend`.
    """
    names = set(streams[0][1]) if streams else set()
    for _, properties in streams:
        if set(properties) != names:
            odd = min(set(properties) ^ names)
            raise BadInput(
                f'"{odd}" is not known for every stream',
                place="streams",
                value=odd,
                right="name the same properties in each",
            )
    if not names:
        raise BadInput("there is nothing to blend", place="streams", right="give streams with properties")
    return {name: blend((volume, found[name]) for volume, found in streams) for name in sorted(names)}


def remove_first(capacity_l: float, present_l: float, now: float, added: float, wanted: float) -> float:
    """Litres to take out so that filling up to `capacity_l` with `added` gives `wanted`; 0 when none.

    Raises:
        BadInput: more in it than it holds, or `wanted` does not lie between `now` and `added`.
    """
    if not 0.0 <= present_l <= capacity_l * (1.0 + 1e-12):
        raise BadInput(
            f"{present_l:g} L do not fit {capacity_l:g} L",
            place="present_l",
            value=present_l,
            right=f"give 0 to {capacity_l:g} L",
        )
    return max(0.0, present_l - amount_kept(capacity_l, now, added, wanted))


def parts(high: float, low: float, wanted: float) -> tuple[float, float]:
    """Shares of the stronger and the weaker liquid that give `wanted` (cross-difference rule).

    high : low = (wanted - low) : (high - wanted), scaled to add up to 1.

    Raises:
        BadInput: `wanted` does not lie between the two strengths.
    """
    if (
        not (isfinite(high) and isfinite(low) and isfinite(wanted))
        or high <= low
        or not low <= wanted <= high
    ):
        raise BadInput(
            f"no blend of {low:g} and {high:g} gives {wanted:g}",
            place="wanted",
            value=wanted,
            right=f"ask for something from {low:g} to {high:g}",
        )
    share = (wanted - low) / (high - low)
    return share, 1.0 - share


def amount_to_add(volume_l: float, now: float, added: float, wanted: float) -> float:
    """Litres of strength `added` that bring `volume_l` at `now` to `wanted`: x = V(T-C)/(P-T).

    Raises:
        BadInput: `wanted` does not lie between `now` and `added` (adding can never get there).
    """
    if volume_l < 0:
        raise BadInput(
            f"a volume of {volume_l:g} L is below zero",
            place="volume_l",
            value=volume_l,
            right="give 0 L or more",
        )
    if abs(wanted - now) < NOTHING:
        return 0.0
    if abs(added - wanted) < NOTHING or (wanted - now) * (added - wanted) < 0:
        raise BadInput(
            f"adding {added:.2%} to {now:.2%} never gives {wanted:.2%}",
            place="added",
            value=added,
            right="what is added must lie beyond the wanted strength, seen from where it is now",
        )
    return volume_l * (wanted - now) / (added - wanted)


def strength_to_add(volume_l: float, now: float, added_l: float, wanted: float) -> float:
    """Strength that `added_l` litres must have to bring `volume_l` at `now` to `wanted`.

    May come out below 0 or above 1: then that much liquid cannot do it.

    Raises:
        BadInput: nothing is added.
    """
    if added_l <= NOTHING:
        raise BadInput("nothing is added", place="added_l", value=added_l, right="give a volume above 0 L")
    return ((volume_l + added_l) * wanted - volume_l * now) / added_l


def amount_kept(volume_l: float, now: float, added: float, wanted: float) -> float:
    """Litres to keep before filling up to `volume_l` with strength `added`: V(T-w)/(C-w).

    Raises:
        BadInput: `wanted` does not lie between `now` and `added`.
    """
    low, high = min(now, added), max(now, added)
    if high - low < NOTHING or not low - NOTHING <= wanted <= high + NOTHING:
        raise BadInput(
            f"filling up {now:.2%} with {added:.2%} never gives {wanted:.2%}",
            place="wanted",
            value=wanted,
            right=f"ask for something from {low:.2%} to {high:.2%}",
        )
    return volume_l * (wanted - added) / (now - added)


def make_up_strength(target: float, fill: float, strength: float) -> float:
    """Strength that fills the room up to the mark and lands on the target: m = (T - f*C)/(1 - f).

    Below 0: even water to the mark stays above the target. About 0: only water has gone.

    Args:
        target: fraction wanted at the mark.
        fill: how full the sump stands, 0 to just under 1.
        strength: present strength, a fraction.

    Raises:
        BadInput: there is no room (fill is 1) or the fill lies outside 0 to 1.
    """
    if not 0.0 <= fill < 1.0:
        raise BadInput(
            f"a fill of {fill:.0%} leaves no room to the mark",
            place="fill",
            value=fill,
            right="a make-up strength needs a fill of 0 % or more and below 100 %",
        )
    return (target - fill * strength) / (1.0 - fill)


def run_down(strength: float, from_level: float, to_level: float, evaporated_share: float) -> float:
    """Strength after a sump has run down in use: C = C0*(V0/V)^phi.

    Evaporation takes water only, so what is left thickens; this is not draining. The limit of all
    the loss leaving on parts (share 0) keeps the strength.

    Args:
        strength: fraction at the higher level.
        from_level, to_level: levels in any one unit, `to_level` above 0 and not above `from_level`.
        evaporated_share: evaporated part of the loss, 0 to 1.

    Raises:
        BadInput: levels or share outside those limits.
    """
    if not 0.0 < to_level <= from_level:
        raise BadInput(
            f"a sump does not run down from {from_level:g} to {to_level:g}",
            place="to_level",
            value=to_level,
            right="the lower level must be above 0 and not above the higher one",
        )
    _share(evaporated_share)
    return min(1.0, strength * float((from_level / to_level) ** evaporated_share))


def settles_at(topped_up_with: float, evaporated_share: float) -> float:
    """Strength a held sump tends to when every loss is replaced at one strength: w/(1 - phi).

    Not bounded above when everything evaporates (share 1): returns infinity for a strength above 0.

    Raises:
        BadInput: the share lies outside 0 to 1.
    """
    _share(evaporated_share)
    carried_off = 1.0 - evaporated_share
    if carried_off <= NOTHING:
        return 0.0 if topped_up_with <= 0 else float("inf")
    return topped_up_with / carried_off


def volume_through(
    volume_l: float, now: float, wanted: float, topped_up_with: float, evaporated_share: float
) -> float | None:
    """Litres of top-up that carry a held sump from `now` to `wanted`, or None if it never gets there.

    dC/dL = (w - (1-phi)*C)/V, so L = V/(1-phi) * ln((C - Cinf)/(T - Cinf)); days are L over the
    loss per day.
    """
    _share(evaporated_share)
    if abs(now - wanted) < NOTHING:
        return 0.0
    carried_off = 1.0 - evaporated_share
    if carried_off <= NOTHING:  # nothing leaves: the concentrate in the top-up piles up in a straight line
        if topped_up_with <= NOTHING or wanted < now:
            return None
        return volume_l * (wanted - now) / topped_up_with
    end = topped_up_with / carried_off
    if (now - end) * (wanted - end) <= 0 or abs(wanted - end) > abs(now - end):
        return None
    return -volume_l / carried_off * log1p((wanted - now) / (now - end))


def held(
    volume_l: float, now: float, topped_up_with: float, evaporated_share: float, through_l: float
) -> float:
    """Strength of a held sump after `through_l` litres of loss were replaced at one strength."""
    carried_off = 1.0 - evaporated_share
    if carried_off <= NOTHING:
        return now + topped_up_with * through_l / volume_l
    end = topped_up_with / carried_off
    return now + (now - end) * expm1(-carried_off * through_l / volume_l)


def _share(share: float) -> None:
    if not (isfinite(share) and 0.0 <= share <= 1.0):
        raise BadInput(
            f"an evaporated share of {share:g} is not a share",
            place="evaporated_share",
            value=share,
            right="give the evaporated part of the loss, from 0 to 1",
        )
