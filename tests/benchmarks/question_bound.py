"""How far the next question could still be improved: every way of asking, searched through, on small sumps.

    python tests/benchmarks/question_bound.py [questions]

For one complaint each, the best few questions (5 unless told otherwise) with their answers, chances and
minutes as the program sees them, walks included. Asking stops when a first action has 0.6 and three times
its rival, or when nothing is left. Three figures are exact: the least expected minutes of any way of
asking whatsoever (by dynamic programming over everything that may have been heard), those of our choice,
and those of the best of all fixed orders. What lies between the first two is what no cleverness could save.
"""

from __future__ import annotations

import itertools
import sys
from collections.abc import Callable
from functools import cache
from math import log2
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from advisor.inference.assess import assess
from advisor.inference.chains import NAMED_AT, NAMED_OVER
from advisor.inference.outcomes import Outcomes
from advisor.inference.questions import LEAST, NO_WALK, considered, filled_node, walk, worth_asking
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase, load

COMPLAINTS = (
    Fact("foam", "heavy"),
    Fact("smell", "bad"),
    Fact("residue", "sticky"),
    Fact("rust", "parts"),
    Fact("tool_life", "poor"),
)
#: What was heard: the number of the answer to each question, -1 where it was not asked.
Heard = tuple[int, ...]
Choose = Callable[[Heard, "str | None"], int]


class Small:
    """One complaint with a few questions."""

    def __init__(self, rules: RuleBase, complaint: Fact, many: int) -> None:
        view = assess([complaint], rules)
        asked = worth_asking(view.questions, rules, named=False)
        asked = sorted(asked, key=lambda q: -q.worth)[:many]
        self.items = [rules.observables[q.id] for q in asked]
        self.start: Heard = (-1,) * len(self.items)
        weighed = considered(rules, view.belief, view.nodes)
        self.shares = [p for _, p, _ in weighed.hypotheses]
        self.labels = [label for _, _, label in weighed.hypotheses]
        self.table: list[list[list[float]]] = []
        for item in self.items:
            outcomes = Outcomes(view.known, item, str(filled_node(view.known, item)), weighed)
            rows = [outcomes.chances(members) for members, _, _ in weighed.hypotheses]
            self.table.append([[chance / sum(row) for chance in row] for row in rows])
        self.state = cache(self._state)
        self.least = cache(self._least)

    def _state(self, heard: Heard) -> tuple[float, bool, float, float]:
        """Chance of having heard this, whether it is enough, share of the leading action, bits left."""
        split: dict[str, float] = {}
        for h, share in enumerate(self.shares):
            for question, answer in enumerate(heard):
                if answer >= 0:
                    share *= self.table[question][h][answer]
            split[self.labels[h]] = split.get(self.labels[h], 0.0) + share
        total = sum(split.values())
        if total < 1e-12:
            return 0.0, True, 0.0, 0.0
        first, second = [*sorted(split.values(), reverse=True), 0.0][:2]
        enough = first >= NAMED_AT * total and first >= NAMED_OVER * second
        bits = -sum(v / total * log2(v / total) for v in split.values() if v > 0)
        return total, enough or -1 not in heard, first / total, bits

    def cost(self, question: int, at: str | None) -> tuple[float, str | None]:
        """Minutes of one question from a place, and where it leaves the person."""
        item = self.items[question]
        if item.place == NO_WALK:
            return item.effort, at
        return item.effort + (0.0 if item.place == at else walk(item)), item.place

    def after(self, heard: Heard, question: int) -> list[Heard]:
        """What may have been heard after one more question."""
        many = len(self.table[question][0])
        return [(*heard[:question], answer, *heard[question + 1 :]) for answer in range(many)]

    def _least(self, heard: Heard, at: str | None) -> float:
        total, enough, _, _ = self.state(heard)
        if enough:
            return 0.0
        return min(self._expected(heard, question, at, total) for question in self.open(heard))

    def _expected(self, heard: Heard, question: int, at: str | None, total: float) -> float:
        minutes, place = self.cost(question, at)
        return minutes + sum(
            self.state(then)[0] / total * self.least(then, place) for then in self.after(heard, question)
        )

    def open(self, heard: Heard) -> list[int]:
        """Questions not asked yet."""
        return [question for question, answer in enumerate(heard) if answer < 0]

    def ours(self, heard: Heard, at: str | None) -> int:
        """Our choice: most bits per minute from where the person stands."""
        total, _, _, bits = self.state(heard)

        def pays(question: int) -> float:
            then = [self.state(one) for one in self.after(heard, question)]
            left = sum(chance / total * rest for chance, _, _, rest in then)
            return (bits - left) / max(LEAST, self.cost(question, at)[0])

        return max(self.open(heard), key=pays)

    def run(self, choose: Choose, heard: Heard, at: str | None = None) -> tuple[float, float]:
        """Expected minutes, and expected share of the action that leads at the end."""
        total, enough, leading, _ = self.state(heard)
        if enough:
            return 0.0, leading
        question = choose(heard, at)
        minutes, place = self.cost(question, at)
        right = 0.0
        for then in self.after(heard, question):
            chance = self.state(then)[0] / total
            if chance > 0:
                more = self.run(choose, then, place)
                minutes, right = minutes + chance * more[0], right + chance * more[1]
        return minutes, right

    def best_order(self) -> tuple[float, float]:
        """The least expected minutes of any fixed order, with its share."""
        orders = itertools.permutations(range(len(self.items)))
        return min(self.run(lambda heard, _, o=order: _next(o, heard), self.start) for order in orders)  # type: ignore[misc]


def _next(order: tuple[int, ...], heard: Heard) -> int:
    return next(question for question in order if heard[question] < 0)


def main() -> None:
    """Print the three figures for every complaint."""
    rules = load()
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 5
    for complaint in COMPLAINTS:
        small = Small(rules, complaint, many)
        ours, right = small.run(small.ours, small.start)
        order, order_right = small.best_order()
        print(f"{complaint.key}: {', '.join(item.id for item in small.items)}")
        least = small.least(small.start, None)
        print(
            f"  least of any way {least:5.2f} min; ours {ours:5.2f}, surest {right:.2f};"
            f" best fixed order {order:5.2f}, surest {order_right:.2f}",
            flush=True,
        )


if __name__ == "__main__":
    main()
