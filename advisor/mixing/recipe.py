"""What a mixing plan is: pails, options side by side, and the recipe that holds them.

Litres and fractions throughout. `as_json` gives the field names other programs rely on.
"""

from __future__ import annotations

from dataclasses import dataclass, field

_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Pail:
    """A row of equal pails. Litres are per pail.

    Attributes:
        count: how many pails are filled alike, 1 or more.
        water_l: water put in first, litres.
        concentrate_l: concentrate stirred in, litres.
    """

    count: int
    water_l: float
    concentrate_l: float

    @property
    def mix_l(self) -> float:
        """Litres of mix in one pail."""
        return self.water_l + self.concentrate_l

    def as_json(self) -> dict[str, object]:
        """The row as the ``mix`` commands print it."""
        return {
            "count": self.count,
            "water_l": round(self.water_l, _DIGITS),
            "concentrate_l": round(self.concentrate_l, _DIGITS),
        }


@dataclass(frozen=True, slots=True)
class Refusal:
    """A recipe that is not given. `why` says what would lift the refusal."""

    what: str
    why: str

    def as_json(self) -> dict[str, str]:
        """The refusal as the ``mix`` commands print it."""
        return {"what": self.what, "why": self.why}


@dataclass(frozen=True, slots=True)
class Expected:
    """A reading that one of the steps asks for.

    Attributes:
        step: the step's sentence.
        strength, low, high: predicted strength and the range that holds it 9 times in 10, fractions.
        poured_l: litres poured in by then.
    """

    step: str
    strength: float
    low: float
    high: float
    poured_l: float


@dataclass(frozen=True, slots=True)
class Option:
    """One way of doing it.

    Attributes:
        name: short plain name.
        remove_l: coolant taken out before anything is added, litres.
        add_l: mix or water added in all, litres; equals the pails' sum.
        mix_strength: strength of what is added, a fraction; 0 is plain water.
        pails: rows of pails; a part pail is a row of its own.
        strength_after: predicted strength, a fraction.
        strength_low, strength_high: range that holds the true strength 9 times in 10.
        days: days it takes, 0 when done at once, None when the daily loss is unknown.
        waste_l: coolant that leaves the sump, litres (some may be kept for a lean sump).
        steps, warnings: short sentences in working order.
        readings: what the steps that ask for a reading expect, in order.
        later_l: of ``add_l``, litres that go in only as the level falls; 0 when all goes in at once.
        now: rows of pails that go in at once, where some wait.
    """

    name: str
    remove_l: float
    add_l: float
    mix_strength: float
    pails: tuple[Pail, ...]
    strength_after: float
    strength_low: float
    strength_high: float
    days: float | None = 0.0
    waste_l: float = 0.0
    steps: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    readings: tuple[Expected, ...] = ()
    later_l: float = 0.0
    now: tuple[Pail, ...] = ()

    @property
    def concentrate_l(self) -> float:
        """Concentrate used in all, litres."""
        return sum(row.count * row.concentrate_l for row in self.pails)

    @property
    def water_l(self) -> float:
        """Water used in all, litres."""
        return sum(row.count * row.water_l for row in self.pails)

    def figures(self) -> dict[str, object]:
        """The figures shared by the top level and each option; rows sum exactly to ``add_l``."""
        rows = [row.as_json() for row in self.pails]
        total = sum(
            row.count * (round(row.water_l, _DIGITS) + round(row.concentrate_l, _DIGITS))
            for row in self.pails
        )
        return {
            "remove_l": round(self.remove_l, _DIGITS),
            "add_l": round(total if rows else self.add_l, _DIGITS),
            "mix_strength": round(self.mix_strength, _DIGITS),
            "pails": rows,
            "strength_after": round(self.strength_after, _DIGITS),
            "strength_low": round(self.strength_low, _DIGITS),
            "strength_high": round(self.strength_high, _DIGITS),
        }

    def as_json(self, assumptions: tuple[str, ...] = ()) -> dict[str, object]:
        """The option as the ``mix`` commands print it."""
        days = None if self.days is None else round(self.days, 2)
        return {
            "name": self.name,
            **self.figures(),
            "days": days,
            "waste_l": round(self.waste_l, _DIGITS),
            "steps": list(self.steps),
            "warnings": list(self.warnings),
            "refused": None,
            "assumptions": list(assumptions),
        }


@dataclass(frozen=True, slots=True)
class Recipe:
    """A whole plan: options side by side, the first one recommended.

    Attributes:
        kind: ``thin``, ``strengthen``, ``charge`` or ``top_up``.
        options: recommended first; empty when refused.
        warnings: sentences that hold for every option.
        assumptions: what was taken for granted.
        refused: why there is no recipe, or None.
    """

    kind: str
    options: tuple[Option, ...] = ()
    warnings: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    refused: Refusal | None = None
    make_up: float | None = field(default=None)

    @property
    def best(self) -> Option | None:
        """The recommended option, None when refused."""
        return self.options[0] if self.options else None

    def as_json(self) -> dict[str, object]:
        """The contract of ``sumpside mix thin|strengthen|charge --json``."""
        empty: dict[str, object] = {
            "remove_l": None,
            "add_l": None,
            "mix_strength": None,
            "pails": [],
            "strength_after": None,
            "strength_low": None,
            "strength_high": None,
        }
        best = self.best
        return {
            **(best.figures() if best else empty),
            "options": [option.as_json(self.assumptions) for option in self.options],
            "steps": list(best.steps) if best else [],
            "warnings": list(dict.fromkeys([*self.warnings, *(best.warnings if best else ())])),
            "refused": self.refused.as_json() if self.refused else None,
            "assumptions": list(self.assumptions),
        }


def refuse(kind: str, what: str, why: str, assumptions: tuple[str, ...] = ()) -> Recipe:
    """A recipe that is refused, with what would lift the refusal."""
    return Recipe(kind, refused=Refusal(what, why), assumptions=assumptions)
