"""How many questions, and how much walking, to the right verdict: our choice against two others.

    python tests/benchmarks/question_choice.py [people per cause] [seed]

For every cause, simulated people have it, with consequences as its chains say. Each reports one thing it
shows and then answers what is asked, with the chances of the rule base and its slip. Three ways of asking
stop by the same rule (a named verdict that no question is likely to change, or twelve questions):
expected gain per root of effort (ours), expected gain alone, and the best fixed order (by mean gain over
the causes). Prints questions, effort in minutes, how often the cause is named or in the first three, and
the entropy bound: the bits of the prior over first actions that remain after the complaint.
"""

from __future__ import annotations

import random
import statistics
import sys
from collections import Counter
from collections.abc import Callable
from math import log2
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from advisor.inference.assess import Assessment, assess
from advisor.inference.belief import answer_chances
from advisor.inference.evidence import NOTHING_WRONG, make_node, sign_index
from advisor.inference.questions import WORTH, Question
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import Observable, RuleBase, load

MOST = 12
Choose = Callable[[Assessment, list[Question]], Question]


class Person:
    """Somebody whose sump has one cause and what it led to; answers are drawn once and kept."""

    def __init__(self, rules: RuleBase, cause: str, dice: random.Random) -> None:
        self.rules, self.dice = rules, dice
        self.present = {cause}
        for one in list(self.present):
            self.present |= {c for c, w in rules.causes[one].leads_to.items() if dice.random() < w}

    def _chances(self, node: str) -> dict[str, float]:
        made = make_node(self.rules, node, {}, 0.0)
        return answer_chances(made.bases, [made.chances[c] for c in self.present if c in made.chances])

    def answer(self, item: Observable) -> list[Fact]:
        """The facts of this person's answer to one question."""
        rules, dice = self.rules, self.dice
        if item.kind == "any_of":
            index = sign_index(rules).shown
            values = [v for v in item.answers if f"{item.id}: {v}" in index]
            said = [v for v in values if dice.random() < self._chances(f"{item.id}: {v}")["yes"]]
            if not said:
                return [Fact(item.id, None, None, "ruled_out")]
            return [Fact(item.id, v) for v in said]
        fills = item.id
        if item.kind == "quantity":
            bands = [b["fills"] for b in rules.bands if b["of"] == item.id]
            fills = next(b for b in bands if b in sign_index(rules).shown)
        chances = self._chances(fills)
        value = dice.choices(list(chances), list(chances.values()))[0]
        return [Fact(fills, value)] if value else [Fact(fills, None, None, "ruled_out")]

    def complaint(self, cause: str) -> list[Fact]:
        """The first thing this person reports: something the cause itself shows."""
        rules = self.rules
        tellable = []
        for sign in rules.causes[cause].signs:
            item = rules.observables.get(sign.node.partition(":")[0])
            for answer, chance in sign.chances.items():
                if item is None or chance < 0.3:
                    continue
                value = answer if item.kind == "one_of" else sign.node.partition(":")[2].strip()
                if value and item.answers[value].get("trouble", True) and "base" in item.answers[value]:
                    tellable.append(Fact(item.id, value))
        return [self.dice.choice(tellable)] if tellable else []


def interview(person: Person, start: list[Fact], choose: Choose) -> tuple[int, float, Assessment]:
    """Questions asked, effort spent, and the last judgement."""
    facts, asked, effort, skip = list(start), 0, 0.0, []
    while True:
        view = assess(facts, person.rules, skip=tuple(skip))
        open_ = [
            q for q in view.questions if q.changes >= WORTH and person.rules.observables[q.id].wait_h < 1
        ]
        if asked >= MOST or not open_:
            return asked, effort, view
        question = choose(view, open_)
        facts += person.answer(person.rules.observables[question.id])
        skip.append(question.id)
        asked, effort = asked + 1, effort + person.rules.observables[question.id].effort


def main() -> None:
    """Run the three ways of asking on the same people and print the table."""
    each = int(sys.argv[1]) if len(sys.argv) > 1 else 2
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    rules = load()
    gains: Counter[str] = Counter()
    people = []
    bits = []
    for cause in rules.causes:
        for n in range(each):
            dice = random.Random(f"{seed} {cause} {n}")
            person = Person(rules, cause, dice)
            start = [] if cause == NOTHING_WRONG else person.complaint(cause)
            if not start:
                continue
            people.append((cause, n, start))
            view = assess(start, rules)
            gains.update({q.id: q.gain for q in view.questions})
            likely = [p for _, p in view.belief.hypotheses]
            bits.append(-sum(p * log2(p) for p in likely if p > 0))
    order = [key for key, _ in gains.most_common()]
    ways: dict[str, Choose] = {
        "gain per root of effort (ours)": lambda view, q: q[0],
        "gain alone": lambda view, q: max(q, key=lambda one: one.gain),
        "best fixed order": lambda view, q: min(
            q, key=lambda one: order.index(one.id) if one.id in order else 999
        ),
    }
    print(
        f"{len(people)} people, {len({c for c, _, _ in people})} causes; "
        f"bits left after the complaint {statistics.mean(bits):.1f}"
    )
    for name, choose in ways.items():
        rows = []
        for cause, n, start in people:
            person = Person(rules, cause, random.Random(f"{seed} {cause} {n}"))
            asked, effort, view = interview(person, start, choose)
            top = [j.id for j in view.causes[:3]]
            rows.append((asked, effort, cause in view.chain and view.verdict == "named", cause in top))
        asked, effort, named, top = (statistics.mean(column) for column in zip(*rows, strict=True))
        told = f"questions {asked:5.2f}  effort {effort:5.1f} min  named {named:.2f}  in three {top:.2f}"
        print(f"{name:32} {told}")


if __name__ == "__main__":
    main()
