"""The sump's real working volume, from one fix: strength before, what was added, strength after."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.errors import BadInput
from advisor.mixing.holding import READ_SD
from advisor.mixing.spread import Estimate, estimate

TOO_UNSURE = 0.25
"""Relative standard uncertainty above which a volume is not told; common practice, no source."""

ADDED_SD = 0.03
"""Relative standard uncertainty of pails poured in or taken out; common practice, no source."""


@dataclass(frozen=True, slots=True)
class SumpVolume:
    """Litres in the sump before and after a fix.

    Attributes:
        before_l: litres before anything was done, with uncertainty.
        after_l: litres afterwards, with uncertainty.
        certain: False when the change was too small to tell a volume from.
        sentences: what it means, also beside the nameplate.
    """

    before_l: Estimate
    after_l: Estimate
    certain: bool
    sentences: tuple[str, ...]


def volume_from_fix(
    before: float,
    after: float,
    added_l: float,
    added_strength: float = 0.0,
    removed_l: float = 0.0,
    nameplate_l: float | None = None,
    read_sd: float = READ_SD,
) -> SumpVolume:
    """Volume from a change of strength: V = R + A*(w - C1)/(C1 - C0).

    Args:
        before, after: strengths C0 and C1, fractions.
        added_l, added_strength: A litres at w.
        removed_l: R litres taken out first.
        nameplate_l: what the machine's plate says it holds, or None.
        read_sd: standard uncertainty of each strength.

    Raises:
        BadInput: nothing added, strengths that did not move, or that moved away from what was added.
    """
    _check(before, after, added_l, added_strength, removed_l)

    def litres(c0: float, c1: float, added: float, removed: float) -> float:
        return removed + added * (added_strength - c1) / (c1 - c0)

    inputs = (
        Estimate(before, read_sd),
        Estimate(after, read_sd),
        Estimate(added_l, added_l * ADDED_SD),
        Estimate(removed_l, removed_l * ADDED_SD),
    )
    # Near no change the volume runs off to infinity and a straight line is no guide, hence the factor 3.
    moved = abs(after - before) > 3.0 * read_sd * 2.0**0.5
    start = (
        estimate(litres, *inputs)
        if moved
        else Estimate(litres(before, after, added_l, removed_l), float("inf"))
    )
    end = Estimate(start.value - removed_l + added_l, start.sd)
    certain = moved and start.sd <= TOO_UNSURE * start.value
    return SumpVolume(start, end, certain, _sentences(end, certain, nameplate_l))


def _sentences(volume: Estimate, certain: bool, nameplate_l: float | None) -> tuple[str, ...]:
    if not certain:
        return (
            "The change was too small to tell the volume: use a larger addition, or read each strength "
            "twice.",
        )
    if nameplate_l is None:
        return ()
    if volume.low <= nameplate_l <= volume.high:
        return ("That agrees with the nameplate.",)
    if nameplate_l < volume.low:
        return (
            "That is more than the nameplate says: lines, machine and filter hold coolant too. Use this "
            "volume.",
        )
    return (
        "That is less than the nameplate says: look for sludge, a level below the mark, or a plate that "
        "counts the brim. Use this volume.",
    )


def _check(before: float, after: float, added_l: float, added_strength: float, removed_l: float) -> None:
    if not 0.0 < added_l < 1e9 or removed_l < 0.0:
        raise BadInput(
            f"{added_l:g} L added and {removed_l:g} L taken out tell no volume",
            place="added_l",
            value=added_l,
            right="give what was added, above 0 L, and what was taken out, 0 L or more",
        )
    if before == after:
        raise BadInput(
            "the strength did not move",
            place="after",
            value=after,
            right="a volume can only be told from a change of strength",
        )
    if (added_strength - after) * (after - before) <= 0.0:
        raise BadInput(
            f"adding {added_strength:.1%} cannot take the strength from {before:.1%} to {after:.1%}",
            place="after",
            value=after,
            right="check both readings and what was added",
        )
