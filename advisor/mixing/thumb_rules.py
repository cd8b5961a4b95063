"""The trade's two rules of thumb for a rich sump, and where they miss.

Both are common practice, no source: a reading under 20 % is brought back by going to half full and
filling with a weak mix, one from 20 to 30 % by going to 30 % of the height. The exact recipe is checked
against them, and the person is told where they would land.
"""

from __future__ import annotations

from dataclasses import dataclass

RULES: tuple[tuple[str, float, float, float], ...] = (
    ("half full", 0.50, 0.0, 0.20),
    ("30 % full", 0.30, 0.20, 0.30),
)
"""Name, level kept, and the strengths the trade uses it from and to."""


@dataclass(frozen=True, slots=True)
class ThumbRule:
    """What a rule of thumb gives.

    Attributes:
        name: the level it goes down to, in words.
        lands: strength it gives, a fraction.
        holds_from, holds_to: strengths between which it lands inside the window.
        holds: whether it does here.
    """

    name: str
    lands: float
    holds_from: float
    holds_to: float
    holds: bool


def rule_for(strength: float) -> tuple[str, float] | None:
    """Name and kept level of the rule the trade would use at this strength; None above 30 %."""
    for name, level, _, to in RULES:
        if strength < to or (level == 0.30 and strength <= to):
            return name, level
    return None


def check(strength: float, window: tuple[float, float], weak_mix: float) -> ThumbRule | None:
    """Where the trade's rule lands for this reading, and between which readings it holds."""
    rule = rule_for(strength)
    if rule is None:
        return None
    name, kept = rule
    lands = kept * strength + (1.0 - kept) * weak_mix
    return ThumbRule(
        name,
        lands,
        *holds_between(kept, window, weak_mix),
        holds=window[0] - 1e-12 <= lands <= window[1] + 1e-12,
    )


def holds_between(kept: float, window: tuple[float, float], weak_mix: float) -> tuple[float, float]:
    """Strengths between which going down to `kept` and filling with weak mix lands in the window.

    6-10 % and 1 %: half full holds from 11 to 19 %, 30 % full from 17.7 to 31 %.
    """
    rest = (1.0 - kept) * weak_mix
    return (window[0] - rest) / kept, (window[1] - rest) / kept
