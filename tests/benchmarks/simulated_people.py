"""People whose sump has one fault: drawn from the rule base, so that any way of asking can be tried on them.

A person has a cause and what its chains brought about. Every answer is drawn from its own dice, with the
rule base's chances and its slip: whoever asks, in whatever order, is told the same. Settings (metal, water,
what was put in) are drawn by how far they favour the causes present.
"""

from __future__ import annotations

import random

from advisor.inference.belief import answer_chances
from advisor.inference.evidence import NOTHING_WRONG, make_node, sign_index
from advisor.inference.outcomes import middle
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import Observable, RuleBase

#: A person comes with something that the fault shows at least this often.
TELLING = 0.3


class Person:
    """Somebody whose sump has one cause and what it led to.

    Args:
        rules: the rule base.
        cause: what is wrong.
        key: names the person; the same key gives the same person.
    """

    def __init__(self, rules: RuleBase, cause: str, key: str) -> None:
        self.rules, self.cause, self.key = rules, cause, key
        dice = random.Random(f"{key} world")
        present = [cause]
        for one in present:  # grows while it is walked
            present += [c for c, w in rules.causes[one].leads_to.items() if dice.random() < w]
        self.present = frozenset(present)
        self.told: dict[str, list[Fact]] = {}

    def answer(self, item: Observable) -> list[Fact]:
        """The facts of this person's answer to one question, the same each time it is asked."""
        if item.id not in self.told:
            dice = random.Random(f"{self.key} {item.id}")
            answer = self._any_of if item.kind == "any_of" else self._one_of
            self.told[item.id] = answer(item, dice)
        return self.told[item.id]

    def _chances(self, node: str) -> dict[str, float]:
        made = make_node(self.rules, node, {}, 0.0)
        return answer_chances(made.bases, [made.chances[c] for c in self.present if c in made.chances])

    def _favour(self, leaf: str) -> float:
        """How much likelier a setting is with these causes, by the plain conditions of their rules."""
        factor = 1.0
        for cause in self.present:
            for favour in self.rules.causes[cause].favours:
                named = favour.fact.get("any", []) if isinstance(favour.fact, dict) else [favour.fact]
                if leaf in [str(part) for part in named]:
                    factor *= favour.factor
        return factor

    def _any_of(self, item: Observable, dice: random.Random) -> list[Fact]:
        false_yes = item.slip / max(1, len(item.answers))
        said = []
        for value in item.answers:
            leaf = f"{item.id}: {value}"
            yes = self._chances(leaf)["yes"]
            odds = self._favour(leaf) * yes / (1 - min(0.98, yes))
            yes = odds / (1 + odds)
            if dice.random() < yes * (1 - item.slip) + (1 - yes) * false_yes:
                said.append(Fact(item.id, value))
        return said or [Fact(item.id, None, None, "ruled_out")]

    def _one_of(self, item: Observable, dice: random.Random) -> list[Fact]:
        node = self._filled(item)
        filled = self.rules.observables[node]
        chances = {v: p * self._favour(f"{node}: {v}") for v, p in self._chances(node).items()}
        if filled.role == "context":
            chances.pop("", None)  # a setting is always one of its answers
        value = dice.choices(list(chances), list(chances.values()))[0]
        if dice.random() < item.slip:
            value = dice.choice([v for v in chances if v != value] or [value])
        number = middle(self.rules, item.id, node, value) if filled.role == "context" else None
        if number is not None:
            return [Fact(item.id, number)]
        return [Fact(node, value)] if value else [Fact(node, None, None, "ruled_out")]

    def _filled(self, item: Observable) -> str:
        """What an answer fills: the observable itself, or the band that a number lies in."""
        if item.kind != "quantity":
            return item.id
        bands = [b["fills"] for b in self.rules.bands if b["of"] == item.id]
        shown = sign_index(self.rules).shown
        return next((b for b in bands if b in shown), bands[0])

    def complaint(self) -> list[Fact]:
        """What this person comes with: something the cause itself shows, the more out of the ordinary the
        sooner; something anybody notices where there is such a thing, else a reading taken on the round."""
        rules, dice = self.rules, random.Random(f"{self.key} complaint")
        striking: dict[Fact, float] = {}
        for sign in rules.causes[self.cause].signs:
            item = rules.observables.get(sign.node.partition(":")[0])
            for answer, chance in sign.chances.items():
                if item is None or chance < TELLING:
                    continue
                value = answer if item.kind == "one_of" else sign.node.partition(":")[2].strip()
                if value and item.answers[value].get("trouble", True) and "base" in item.answers[value]:
                    striking[Fact(item.id, value)] = chance / item.bases[value]
        noticed = {f: w for f, w in striking.items() if _noticed(rules.observables[f.id])}
        told = noticed or striking
        return dice.choices(list(told), list(told.values())) if told else []


def _noticed(item: Observable) -> bool:
    """True for what is seen, smelt, heard or felt in passing."""
    return bool(item.role == "sign" and item.question and not item.wait_h and item.effort <= 2) and (
        item.place != "office"
    )


def people(rules: RuleBase, each: int, seed: int) -> list[Person]:
    """`each` people for every cause that somebody can come with a complaint about."""
    made = [
        Person(rules, cause, f"{seed} {cause} {n}")
        for cause in rules.causes
        if cause != NOTHING_WRONG
        for n in range(each)
    ]
    return [person for person in made if person.complaint()]
