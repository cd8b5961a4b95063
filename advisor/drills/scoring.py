"""How a drill is scored: the right cause, safety first, effort, the recipe, and dangerous acts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from advisor.dialogue import policy
from advisor.drills.advice import SAFETY_MINUTES, Look, asks_people, look, minutes
from advisor.drills.hidden import Hidden
from advisor.inference.assess import Assessment, assess
from advisor.inference.derive import window
from advisor.inference.knowns import Knowns
from advisor.inference.program import program
from advisor.knowledge.rulebase import RuleBase
from advisor.mixing.balance import blend

#: Points of each part (judgement, common practice, no source): safety weighs more than speed.
POINTS = {"cause": 40, "safety": 25, "effort": 15, "recipe": 20}
DANGER_POINTS = 15
#: A recipe that ends this far outside the window, as a fraction, is worth nothing.
LOST = 0.02
#: A charge is a new fill: when more than this share of the old one is left, it is no such recipe.
LEFT_OVER, OTHER_KIND = 0.1, 0.25
#: A cause of the right chain that is not its start.
HALF = 0.5
#: Minutes that an hour of waiting counts for, as in the choice of questions.
WAITING = 0.5
_GRAVE = {"emergency", "stop"}


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a trainee would pour: litres out first, litres in, and the strength of what goes in (fraction)."""

    out_l: float
    add_l: float
    strength: float


@dataclass(slots=True)
class Run:
    """What a trainee did, in order.

    Attributes:
        looks: everything asked.
        causes, cautions: what was named; deeds: what would be done, by id.
        recipe: the recipe given, or None.
        asked_people: whether people and danger were asked about at all.
        acted_first: whether a cause, deed or recipe came before that.
    """

    looks: list[Look] = field(default_factory=list)
    causes: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    deeds: list[str] = field(default_factory=list)
    recipe: Recipe | None = None
    asked_people: bool = False
    acted_first: bool = False


@dataclass(frozen=True, slots=True)
class Score:
    """A drill's outcome: parts from 0 to 1, points out of 100, and what was wrong in sentences."""

    parts: dict[str, float]
    points: int
    dangerous: tuple[str, ...]
    must: tuple[str, ...]
    strength_after: float | None = None


def could_be_known(rules: RuleBase, hidden: Hidden, looks: Sequence[Look]) -> frozenset[str]:
    """The cautions that stand on the sign, the complaint, these looks, and asking about people."""
    told = [*hidden.sign, *hidden.opening, *(fact for one in looks for fact in one.facts)]
    people = look(rules, hidden, policy.SAFETY).facts
    return frozenset(assess([*told, *people], rules, questions=False).cautions)


def must_cautions(
    rules: RuleBase, hidden: Hidden, view: Assessment, known: frozenset[str]
) -> tuple[str, ...]:
    """The cautions a trainee has to name: the grave ones that stand, and those the trainer asks for.

    Where none is grave, the first warning that stands is the one to name. A danger that neither the trainee
    nor the advisor had any sign of cannot be asked for.

    Args:
        known: the cautions that could be known (`could_be_known`).
    """
    standing = [c for c in view.cautions if c in known]
    grave = [c for c in standing if rules.cautions[c]["level"] in _GRAVE]
    if not grave and not hidden.must:
        grave = [c for c in standing if rules.cautions[c]["level"] == "warn"][:1]
    return tuple(dict.fromkeys([*grave, *hidden.must]))


def wanted_recipe(rules: RuleBase, hidden: Hidden) -> str | None:
    """The kind of recipe the fault calls for, None for none or where the trainer wants none."""
    if hidden.recipe is not None:
        return None if hidden.recipe == "none" else hidden.recipe
    do = [a for cause in hidden.causes for a in rules.causes[cause].do]
    return next((str(rules.actions[a]["recipe"]) for a in do if rules.actions[a].get("recipe")), None)


def score(rules: RuleBase, hidden: Hidden, run: Run, advisor: Sequence[Look]) -> Score:
    """Score a finished run."""
    truth = assess(hidden.truth(), rules, questions=False)
    must = must_cautions(rules, hidden, truth, could_be_known(rules, hidden, [*run.looks, *advisor]))
    dangerous = tuple(dict.fromkeys(d for d in run.deeds if is_dangerous(rules, hidden, d)))
    parts = {"cause": _cause(hidden, run), "safety": _safety(run, must)}
    spent, needed = cost(run.looks), needed_minutes(advisor)
    parts["effort"] = parts["cause"] * min(1.0, (needed + 1.0) / (spent + 1.0))
    after = None
    if wanted_recipe(rules, hidden) and not _closed(rules, hidden, truth):
        parts["recipe"], after = _recipe(rules, hidden, run.recipe)
    elif run.recipe is not None and _closed(rules, hidden, truth):
        dangerous = (*dangerous, "recipe")
    whole = sum(POINTS[name] for name in parts)
    points = 100 * sum(POINTS[name] * part for name, part in parts.items()) / whole
    return Score(parts, max(0, round(points - DANGER_POINTS * len(dangerous))), dangerous, must, after)


def cost(looks: Sequence[Look]) -> float:
    """The effort of some looks in minutes: the work, and waiting as the advisor counts it when it asks."""
    return sum(one.minutes + WAITING * one.hours for one in looks)


def needed_minutes(advisor: Sequence[Look]) -> float:
    """The effort that is enough: the advisor's, and asking about people where it was told of them unasked."""
    return cost(advisor) + (0.0 if asks_people(advisor) else SAFETY_MINUTES)


def cost_words(looks: Sequence[Look]) -> str:
    """The same in words, with how far waiting has a part in it."""
    waits = sum(one.hours for one in looks)
    told = f", {waits:g} hours of waiting counted as {WAITING * waits:g}" if waits else ""
    count = f"{len(looks)} question{'s' * (len(looks) != 1)}"
    return f"{count}, {minutes_words(looks)}{told}"


def minutes_words(looks: Sequence[Look]) -> str:
    """The effort alone, as "1 minute" or "7.3 minutes"."""
    spent = round(cost(looks), 1)
    return f"{spent:g} minute{'s' * (spent != 1)}"


def _cause(hidden: Hidden, run: Run) -> float:
    """The last cause named counts: the fault itself, or half for something it led to."""
    last = run.causes[-1] if run.causes else ""
    return 1.0 if last == hidden.fault else HALF if last in hidden.causes else 0.0


def _safety(run: Run, must: Sequence[str]) -> float:
    first = 1.0 if run.asked_people and not run.acted_first else 0.5 if run.asked_people else 0.0
    if not must:
        return first
    return 0.4 * first + 0.6 * sum(c in run.cautions for c in must) / len(must)


def is_dangerous(rules: RuleBase, hidden: Hidden, deed: str) -> bool:
    """Whether a deed is one the rules stop, refuse or forbid at this sump."""
    known = Knowns(rules, hidden.truth())
    if deed.startswith("proposed_action: "):
        return any(
            item.get("when") == deed and (item["level"] in _GRAVE or "refuses" in item)
            for item in rules.cautions.values()
        )
    view = assess(known.facts(), rules, questions=False)
    return deed in view.forbidden


def _closed(rules: RuleBase, hidden: Hidden, truth: Assessment) -> bool:
    kind = wanted_recipe(rules, hidden) or "thin"
    return any(kind in rules.cautions[c].get("closes", []) for c in truth.cautions)


def _recipe(rules: RuleBase, hidden: Hidden, given: Recipe | None) -> tuple[float, float | None]:
    """How good the recipe is, and the strength it ends at; more than the sump holds is worth nothing."""
    held = figures(rules, hidden)
    if given is None or held is None:
        return 0.0, None
    volume, fill, strength = held
    left = volume * fill - given.out_l
    if left < 0 or given.add_l < 0 or left + given.add_l <= 0:
        return 0.0, None
    after = blend([(left, strength), (given.add_l, given.strength)])
    frame = window(Knowns(rules, hidden.truth()), program(rules))
    outside = max(0.0, frame.low - after, after - frame.high)
    if left + given.add_l > 1.03 * volume:
        return 0.0, after
    worth = max(0.0, 1.0 - outside / LOST)
    fresh = wanted_recipe(rules, hidden) == "charge"
    return worth * (OTHER_KIND if fresh and left > LEFT_OVER * volume else 1.0), after


def figures(rules: RuleBase, hidden: Hidden) -> tuple[float, float, float] | None:
    """Litres to the mark, fill and true strength, where the sump has them all."""
    known = Knowns(rules, hidden.truth())
    volume, fill = known.quantity("sump_volume"), known.quantity("sump_fill")
    strength = known.quantity("titration")
    strength = known.quantity("concentration") if strength is None else strength
    if volume is None or strength is None:
        return None
    return volume, 1.0 if fill is None else fill, strength


def result(title: str, run: Run, made: Score, hidden: Hidden) -> dict[str, Any]:
    """The outcome as it is kept: plain values only."""
    return {
        "drill": title,
        "points": made.points,
        **{name: round(part, 3) for name, part in made.parts.items()},
        "minutes": round(minutes(run.looks), 1),
        "looks": len(run.looks),
        "dangerous": len(made.dangerous),
        "named": run.causes[-1] if run.causes else "",
        "fault": hidden.fault,
    }
