"""The hidden side of a drill: what is wrong, and what every look, smell and reading would show.

Drawn from the rule base's own generative model: a cause by how common it is, what it leads to by the
rule's word, every observation by the chances its causes give it, else by its base rate. The same seed
and rule base give the same sump.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from random import Random
from typing import Any

from advisor.dialogue.case import SHOP_BOOK
from advisor.drills.figures import place_number
from advisor.errors import BadInput
from advisor.inference.assess import assess
from advisor.inference.belief import answer_chances
from advisor.inference.evidence import NOTHING_WRONG, make_node, sign_index
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import Observable, RuleBase

#: Share of the stray signs (seen with none of their causes) that a drill keeps, by level.
STRAY = {"easy": 0.3, "fair": 0.6, "hard": 1.0}
#: Dangers have no base rate of their own in the vocabulary; strays among them are this much rarer.
DANGER = 0.25
#: Share of hard drills with a second fault of its own, and how far rare causes are drawn more often.
SECOND, FLAT = 0.35, {"easy": 1.0, "fair": 0.75, "hard": 0.4}
LEVELS = tuple(STRAY)
#: How often a sump is drawn anew because nothing in it would show its fault.
_TRIES = 12
#: Oil in a sample reads too high on the glass by about this factor (judgement, common practice, no source).
OILY = 1.3
#: What the sump sign shows, so that the trainee need not ask: invented sumps of ordinary sizes.
_SIZES = (90.0, 120.0, 190.0, 250.0, 300.0, 400.0)
_FACTORS = (1.0, 1.0, 1.2, 1.5, 2.0)
_WINDOWS = ((0.06, 0.10), (0.05, 0.08), (0.07, 0.10), (0.04, 0.06))
_PAIL = 20.0
_SHOWN_ON_SIGN = ("workpiece", "operation", "fluid_type", "system")
#: Strength is not seen: what is read is the glass, and the factor stands on the sign.
_READ_AS = {"concentration": ("refractometer_reading",)}
_TOLD_ONLY, _PEOPLE = {"person", "office", "water", "store"}, {"skin", "breathing", "eyes_nose"}
_UNSAID = {"proposed_action", "anyone_unwell"}


@dataclass(frozen=True, slots=True)
class Hidden:
    """A simulated sump.

    Attributes:
        causes: the fault first, then what it led to, then a second fault where there is one.
        answers: what each observable shows: facts present; an observable not listed shows nothing.
        sign: what the sump sign tells from the start.
        opening: what the operator complains of, facts out of `answers`.
        title, story: of a trainer's own drill; "" for a drawn one.
        must: cautions a trainer's drill asks for besides those that follow from the facts.
        recipe: the recipe kind a trainer's drill asks for, None leaves it to the rules.
    """

    causes: tuple[str, ...]
    answers: Mapping[str, tuple[Fact, ...]]
    sign: tuple[Fact, ...]
    opening: tuple[Fact, ...]
    title: str = ""
    story: str = ""
    must: tuple[str, ...] = ()
    recipe: str | None = None
    data: Mapping[str, Any] = field(default_factory=dict)

    @property
    def fault(self) -> str:
        """The cause everything started with."""
        return self.causes[0]

    def truth(self) -> list[Fact]:
        """Everything that is so, the sign included."""
        return [*self.sign, *(fact for facts in self.answers.values() for fact in facts)]

    def shows(self, rules: RuleBase, observable: str) -> list[Fact]:
        """What a look at one observable brings; nothing of the kind is a firm ruling-out.

        A band whose number is there brings the number; a quantity nobody has a figure for brings nothing.
        """
        held = list(self.answers.get(observable, ()))
        if held:
            return held
        item = rules.observables[observable]
        for number in (*rules.filled_by.get(observable, []), *_READ_AS.get(observable, ())):
            told = self.answers.get(number) or self.answers.get(_READ_AS.get(number, ("",))[0])
            if told:
                return list(told)
        if item.kind == "quantity":
            return [f for f in self.sign if f.id == observable]
        resting = [a for a, answer in item.answers.items() if "base" not in answer]
        if item.kind == "one_of" and len(resting) == 1:
            return [Fact(observable, resting[0], None)]
        return [Fact(observable, None, None, "ruled_out")]


def draw(rules: RuleBase, seed: int, level: str = "fair", *, cause: str | None = None) -> Hidden:
    """A sump drawn from the rule base.

    Args:
        rules: the rule base.
        seed: any whole number; the same one gives the same sump.
        level: easy (common faults, few stray signs), fair, or hard (rare faults, sometimes two).
        cause: the fault to draw, when it is not to be drawn too.

    Raises:
        BadInput: no such level or cause.
    """
    if level not in STRAY:
        raise BadInput(f'"{level}" is not a level', value=level, right=f"use one of {', '.join(LEVELS)}")
    if cause is not None and (cause not in rules.causes or cause == NOTHING_WRONG):
        raise BadInput(
            f'no cause is called "{cause}"', value=cause, right='list them with "sumpside rules list"'
        )
    made = _drawn(rules, Random(f"{seed} {level}"), level, cause)
    for again in range(1, _TRIES):
        if _can_be_found(rules, made, level):
            break
        made = _drawn(rules, Random(f"{seed} {level} {again}"), level, cause)
    return made


def _can_be_found(rules: RuleBase, hidden: Hidden, level: str) -> bool:
    """Whether somebody who looked at everything could name the fault: it leads, or at the hard level
    stands among the first three.
    """
    view = assess(hidden.truth(), rules, questions=False)
    first = [judged.id for judged in view.causes if judged.because_of is None]
    return hidden.fault in ([*view.chain, *first[:1]] if level != "hard" else [*view.chain, *first[:3]])


def _drawn(rules: RuleBase, chance: Random, level: str, cause: str | None) -> Hidden:
    causes = _faults(rules, chance, level, cause)
    sign = _sign(rules, chance, causes)
    answers: dict[str, tuple[Fact, ...]] = {}
    for item in rules.observables.values():
        if item.kind != "quantity" and item.id not in _UNSAID and item.id not in {f.id for f in sign}:
            found = _observe(rules, chance, item, causes, level, answers)
            if found:
                answers[item.id] = found
    _numbers(rules, chance, causes, sign, answers)
    return Hidden(causes, answers, sign, opening(rules, chance, causes, answers, level))


def _faults(rules: RuleBase, chance: Random, level: str, cause: str | None) -> tuple[str, ...]:
    """The fault, what it leads to, and at the hard level sometimes a fault of its own besides."""
    own = [c for c in rules.causes.values() if not c.referral and c.id != NOTHING_WRONG]
    weights = [c.prior ** FLAT[level] for c in own]
    found = [cause or chance.choices(own, weights)[0].id]
    if level == "hard" and chance.random() < SECOND:
        found.append(chance.choices(own, weights)[0].id)
    for one in found:  # grows while it is walked: what is brought about brings about more
        for child, often in sorted(rules.causes[one].leads_to.items()):
            if child not in found and chance.random() < often:
                found.append(child)
    return tuple(dict.fromkeys(found))


def _sign(rules: RuleBase, chance: Random, causes: tuple[str, ...]) -> tuple[Fact, ...]:
    """Volume, factor, window, pail, and the setting in which these causes are met."""
    made = [
        Fact("sump_volume", chance.choice(_SIZES), "L", said=SHOP_BOOK),
        Fact("refractometer_factor", chance.choice(_FACTORS), "1", said=SHOP_BOOK),
        Fact("target", chance.choice(_WINDOWS), "fraction", said=SHOP_BOOK),
        Fact("pail", _PAIL, "L", said=SHOP_BOOK),
    ]
    for key in _SHOWN_ON_SIGN:
        item = rules.observables[key]
        offered = [a for a in item.answers if a != "straight_oil" and item.answers[a].get("offer", True)]
        weights = [item.bases[a] * _favour(rules, causes, f"{key}: {a}") for a in offered]
        made.append(Fact(key, chance.choices(offered, weights)[0], None, said=SHOP_BOOK))
    return tuple(made)


def _favour(rules: RuleBase, causes: tuple[str, ...], leaf: str) -> float:
    """How much likelier this setting is given the causes, by the plain conditions of their rules."""
    factor = 1.0
    for cause in causes:
        for favour in rules.causes[cause].favours:
            fact = favour.fact
            named = fact.get("any", []) if isinstance(fact, dict) else [fact]
            if leaf in [str(part) for part in named]:
                factor *= favour.factor
    return factor


def _observe(
    rules: RuleBase,
    chance: Random,
    item: Observable,
    causes: tuple[str, ...],
    level: str,
    held: Mapping[str, tuple[Fact, ...]],
) -> tuple[Fact, ...]:
    """What one observable shows; nothing for a follow-up whose parent is not there."""
    if item.belongs_to and item.belongs_to not in held:
        return ()
    stray = STRAY[level] * (DANGER if item.role == "safety" else 1.0)
    if item.kind == "one_of":
        answer = _one_of(rules, chance, item, causes, stray)
        normal = not answer or "base" not in item.answers[answer]
        return () if normal else (Fact(item.id, answer, None),)
    found = []
    for answer in item.answers:
        node = make_node(rules, f"{item.id}: {answer}", {}, 0.0)
        shown = [node.chances[c] for c in causes if c in node.chances]
        sure = answer_chances(node.bases, shown)["yes"] if shown else node.bases["yes"] * stray
        favour = _favour(rules, causes, f"{item.id}: {answer}")
        odds = favour * sure / (1 - min(0.98, sure))
        if answer not in {"none", "nothing"} and chance.random() < odds / (1 + odds):
            found.append(Fact(item.id, answer, None))
    return tuple(found)


def _one_of(rules: RuleBase, chance: Random, item: Observable, causes: tuple[str, ...], stray: float) -> str:
    node = make_node(rules, item.id, {}, 0.0)
    shown = [node.chances[c] for c in causes if c in node.chances]
    chances = answer_chances(node.bases, shown)
    normal = [a for a in chances if not a or "base" not in item.answers[a]]
    weights = {a: p * _favour(rules, causes, f"{item.id}: {a}") for a, p in chances.items()}
    if not shown and normal:
        weights = {a: w * (1.0 if a in normal else stray) for a, w in weights.items()}
    return chance.choices(list(weights), list(weights.values()))[0]


def _numbers(
    rules: RuleBase,
    chance: Random,
    causes: tuple[str, ...],
    sign: tuple[Fact, ...],
    answers: dict[str, tuple[Fact, ...]],
) -> None:
    """Readings that lie in the bands drawn, and the glass that shows them, oil and all."""
    told = {f.id for f in sign}  # what stands on the sump sign is not drawn again
    for band in rules.bands:
        of, fills = band["of"], band["fills"]
        item = rules.observables[of]
        if of in told:
            answers.pop(fills, None)
        if not item.question or of in answers or of in told:
            continue
        seen = answers.get(fills)
        answer = str(seen[0].value) if seen else None
        value = place_number(rules, chance, band, answer, [*sign, *(f for a in answers.values() for f in a)])
        if value is not None:
            answers[of] = (Fact(of, value, item.unit),)
        answers.pop(fills, None)  # the number tells it
    strength = answers.pop("concentration", None)
    factor = next(float(str(f.value)) for f in sign if f.id == "refractometer_factor")
    if strength:
        true = float(str(strength[0].value))
        oily = OILY if "refractometer_error" in causes else 1.0
        answers["refractometer_reading"] = (
            Fact("refractometer_reading", round(100 * true / factor * oily, 1), "Brix"),
        )
        answers["titration"] = (Fact("titration", round(true, 3), "fraction"),)


def opening(
    rules: RuleBase,
    chance: Random,
    causes: tuple[str, ...],
    answers: Mapping[str, tuple[Fact, ...]],
    level: str,
) -> tuple[Fact, ...]:
    """What an operator would come with: what anyone notices, the most telling first at the easy level."""
    index = sign_index(rules).shown
    noticed: list[tuple[float, Fact]] = []
    for key, facts in answers.items():
        item = rules.observables[key]
        if (
            item.role != "sign"
            or item.kind == "quantity"
            or item.wait_h
            or item.effort > 1
            or item.belongs_to
        ):
            continue
        if item.place in _TOLD_ONLY and item.id not in _PEOPLE:
            continue
        for fact in facts:
            node = index.get(fact.key, index.get(fact.id, {}))
            told = max((max(node[c].values()) for c in causes if c in node), default=0.0)
            noticed.append((told + 0.01 * chance.random(), fact))
    noticed.sort(key=lambda pair: -pair[0])
    if level == "hard":
        noticed = noticed[1:3] or noticed
    return tuple(fact for _, fact in noticed[: {"easy": 3, "fair": 2, "hard": 1}[level]])
