"""How many questions, and how much work and walking, to the right verdict: our choice against others.

    python tests/benchmarks/question_choice.py [people per cause] [seed ...] [-v]

Simulated people (`simulated_people.py`) come with one thing and answer what they are asked. Every way of
asking is stopped by the program's own rule (named and nothing likely to change it, nothing worth asking, or
twelve questions), hears the same answers, and pays the same minutes: for the look itself and for each walk
to another place. Opening and safety questions stand apart: they are asked by every way alike.

A fixed order is a list of questions asked one after the other; what is known or cannot be asked is left
out. The best is searched on other people: greedily, by what each place of the list brings over all of
them for nought, root and whole of its minutes. The same order that also leaves out what our stop rule calls
not worth asking is shown beside it; that one borrows half of our choice. With several seeds each has its
own people and its own searched orders; the mean over them is told at the end, with the least and the most.

Ways are compared at equal accuracy: the share of people whose cause is in a named chain. The better one is
held back to the other's share by a limit on its number of questions (interpolated between two limits).
The bound: bits about the first action that the answers took away, over what the best one question of
each turn was expected to tell. It takes each turn's best question as given; `question_bound.py` works out
on small sumps what no way of asking could save.
"""

from __future__ import annotations

import os
import statistics
import sys
from collections import Counter, defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from math import log2
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from simulated_people import Person, people

from advisor.dialogue.policy import MOST_QUESTIONS
from advisor.inference.assess import Assessment, assess
from advisor.inference.questions import (
    LONGEST_MINUTES,
    LONGEST_WAIT,
    NO_WALK,
    Question,
    candidates,
    considered,
    walk,
    worth_asking,
)
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase, load

#: Chooses an observable out of those worth asking and those that can be asked; None gives up.
Choose = Callable[["list[Question]", "set[str]"], "str | None"]


@dataclass
class Turn:
    """Where an interview stands: minutes spent, verdict right or not, the cause in the first three or not."""

    minutes: float
    right: bool
    three: bool
    state: State
    best: float


class State:
    """What is known, judged; the rest is worked out once, and only where it is wanted."""

    def __init__(self, view: Assessment) -> None:
        self.view = view

    @cached_property
    def bits(self) -> float:
        """Bits of what is done first that are left."""
        return bits_left(self.view)

    @cached_property
    def open(self) -> frozenset[str]:
        """Everything that may be asked now, telling or not."""
        found = candidates(self.view.known)
        return frozenset(i.id for i in found if i.wait_h <= LONGEST_WAIT and i.effort <= LONGEST_MINUTES)


class Judge:
    """States remembered by what is known: every way of asking meets many of the same."""

    def __init__(self, rules: RuleBase) -> None:
        self.rules = rules
        self.held: dict[frozenset[tuple[object, ...]], State] = {}

    def __call__(self, facts: list[Fact]) -> State:
        key = frozenset((f.id, f.value, f.status) for f in facts)
        if key not in self.held:
            self.held[key] = State(assess(facts, self.rules))
        return self.held[key]


class Interview:
    """One person asked until the stop rule says that it is enough."""

    def __init__(self, judge: Judge, person: Person) -> None:
        self.judge, self.person, self.rules = judge, person, judge.rules
        self.facts: list[Fact] = person.complaint()
        self.asked: list[str] = []
        self.at: str | None = None
        self.minutes = 0.0
        self.turns: list[Turn] = []
        self._judge()

    def _judge(self) -> None:
        self.state = self.judge(self.facts)
        view = self.state.view
        questions = [q for q in view.questions if q.id not in self.asked]
        named, cause = view.verdict == "named", self.person.cause
        done = len(self.asked) >= MOST_QUESTIONS
        self.worth = [] if done else worth_asking(questions, self.rules, named=named, at=self.at)
        three = cause in [j.id for j in view.causes[:3]]
        best = max((q.gain for q in self.worth), default=0.0)
        self.turns.append(Turn(self.minutes, named and cause in view.chain, three, self.state, best))

    def askable(self) -> set[str]:
        """Everything that may be asked now and has not been, telling or not."""
        return {*self.state.open} - {*self.asked}

    def cost(self, target: str) -> float:
        """Minutes that one more question takes, the way there included."""
        item = self.rules.observables[target]
        return item.effort + (0.0 if item.place == self.at else walk(item))

    def ask(self, target: str) -> None:
        """Ask, pay, hear the answer, judge."""
        item = self.rules.observables[target]
        self.minutes += self.cost(target)
        self.at = self.at if item.place == NO_WALK else item.place
        self.asked.append(target)
        self.facts = [*self.facts, *self.person.answer(item)]
        self._judge()

    def run(self, choose: Choose) -> list[Turn]:
        """Every turn until the end."""
        while self.worth:
            target = choose(self.worth, self.askable())
            if target is None:
                break
            self.ask(target)
        return self.turns


def bits_left(view: Assessment) -> float:
    """Bits of what is done first, over the hypotheses that a question is chosen by."""
    lead = view.chain[0] if view.verdict == "named" else None
    shares: defaultdict[str, float] = defaultdict(float)
    for _, p, label in considered(view.known.rules, view.belief, view.nodes, lead).hypotheses:
        shares[label] += p
    return -sum(p * log2(p) for p in shares.values() if p > 0)


def fixed(order: list[str], *, skipping: bool) -> Choose:
    """Asks down a list; with `skipping` only what the stop rule calls worth asking."""

    def choose(worth: list[Question], askable: set[str]) -> str | None:
        open_ = {q.id for q in worth} if skipping else askable
        return next((key for key in order if key in open_), None)

    return choose


def search(judge: Judge, trained: list[Person], power: float, *, skipping: bool) -> list[str]:
    """The order that at each place brings most bits per minutes to `power`, over everybody not yet done."""
    order: list[str] = []
    talks = [Interview(judge, person) for person in trained]
    while open_ := [talk for talk in talks if talk.worth]:
        gain: Counter[str] = Counter()
        spent: defaultdict[str, float] = defaultdict(float)
        for talk in open_:
            tells = {q.id: q.gain for q in talk.worth}
            for key in ({*tells} if skipping else talk.askable()) - {*order}:
                gain[key] += tells.get(key, 0.0)  # type: ignore[assignment]
                spent[key] += talk.cost(key)
        if not gain:
            break
        order.append(max(gain, key=lambda key: (gain[key] / spent[key] ** power, key)))
        for talk in open_:
            if order[-1] in ({q.id for q in talk.worth} if skipping else talk.askable()):
                talk.ask(order[-1])
    left = [i for i in judge.rules.observables.values() if i.question and i.id not in order]
    return [*order, *(i.id for i in sorted(left, key=lambda i: (i.effort, i.id)))]


def at_limit(rows: list[list[Turn]], limit: int) -> tuple[float, float, float]:
    """Mean questions, minutes and right share when nobody is asked more than `limit` questions."""
    ends = [turns[min(limit, len(turns) - 1)] for turns in rows]
    asked = statistics.mean(min(limit, len(turns) - 1) for turns in rows)
    return asked, statistics.mean(t.minutes for t in ends), statistics.mean(t.right for t in ends)


def held_to(rows: list[list[Turn]], share: float) -> tuple[float, float]:
    """Mean questions and minutes at which a way of asking reaches a share of right verdicts."""
    before = at_limit(rows, 0)
    for limit in range(1, MOST_QUESTIONS + 1):
        now = at_limit(rows, limit)
        if now[2] >= share:
            part = (share - before[2]) / (now[2] - before[2]) if now[2] > before[2] else 1.0
            part = min(1.0, max(0.0, part))
            return before[0] + part * (now[0] - before[0]), before[1] + part * (now[1] - before[1])
        before = now
    return before[0], before[1]


def ratio(ours: list[list[Turn]], theirs: list[list[Turn]]) -> tuple[float, float]:
    """Our minutes over theirs at equal accuracy, and the share of right verdicts it is taken at."""
    share = min(at_limit(ours, MOST_QUESTIONS)[2], at_limit(theirs, MOST_QUESTIONS)[2])
    return held_to(ours, share)[1] / max(1e-9, held_to(theirs, share)[1]), share


def told(name: str, rows: list[list[Turn]]) -> str:
    """One line of the table."""
    asked, minutes, right = at_limit(rows, MOST_QUESTIONS)
    three = statistics.mean(turns[-1].three for turns in rows)
    end = f"named right {right:.2f}  in three {three:.2f}"
    return f"{name:40} questions {asked:5.2f}  {minutes:5.2f} min  {end}"


def ways(judge: Judge, seed: int) -> dict[str, Choose]:
    """Every way of asking, ours first, the fixed orders searched on people of another seed."""
    found: dict[str, Choose] = {
        "bits per minute (ours)": lambda worth, _: worth[0].id,
        "most bits, effort ignored": lambda worth, _: max(worth, key=lambda q: q.gain).id,
    }
    trained = people(judge.rules, 1, seed + 1000)
    for skipping in (False, True):
        for power in (0.0, 0.5, 1.0):
            order = search(judge, trained, power, skipping=skipping)
            name = f"fixed, bits / min^{power:g}{', idle ones left out' if skipping else ''}"
            found[name] = fixed(order, skipping=skipping)
            if "-v" in sys.argv:
                print(f"{name}: {', '.join(order[:12])}", flush=True)
    return found


def compare(rules: RuleBase, each: int, seed: int) -> tuple[dict[str, float], float]:
    """Every way of asking on the people of one seed: our minutes over theirs, and our share of right ones."""
    judge = Judge(rules)
    asked = people(rules, each, seed)
    print(f"{len(asked)} people, {len({p.cause for p in asked})} causes, seed {seed}", flush=True)
    rows: dict[str, list[list[Turn]]] = {}
    for name, choose in ways(judge, seed).items():
        rows[name] = [Interview(judge, person).run(choose) for person in asked]
        print(told(name, rows[name]), flush=True)
    ours = next(iter(rows.values()))
    efforts = {}
    for name, theirs in rows.items():
        if theirs is not ours:
            efforts[name], share = ratio(ours, theirs)
            print(f"our minutes over theirs {efforts[name]:.2f}, both right {share:.2f}: {name}")
    first = statistics.mean(turns[0].state.bits for turns in ours)
    last = statistics.mean(turns[-1].state.bits for turns in ours)
    best = statistics.mean(t.best for turns in ours for t in turns[:-1])
    print(
        f"bits about the first action {first:.2f} after the complaint, {last:.2f} at the end; "
        f"one question is expected to tell {best:.2f} at most: bound {(first - last) / best:.1f} questions"
    )
    if "-v" in sys.argv:
        by_cause: defaultdict[str, list[list[Turn]]] = defaultdict(list)
        for person, turns in zip(asked, ours, strict=True):
            by_cause[person.cause].append(turns)
        for cause, held in by_cause.items():
            print(told(cause, held))
    return efforts, at_limit(ours, MOST_QUESTIONS)[2]


def main() -> None:
    """Compare on the people of every seed, and print the mean where there are several."""
    os.environ.setdefault("SUMPSIDE_ENGINE", "plain")  # the same judgements as the engine's, sooner
    numbers = [int(a) for a in sys.argv[1:] if a.isdigit()]
    seeds, rules = numbers[1:] or [1], load()
    found = [compare(rules, numbers[0] if numbers else 2, seed) for seed in seeds]
    if len(seeds) > 1:
        print(f"seeds {', '.join(map(str, seeds))}: named right {statistics.mean(r for _, r in found):.2f}")
        for name in found[0][0]:
            all_ = [efforts[name] for efforts, _ in found]
            mean = statistics.mean(all_)
            print(f"our minutes over theirs, mean {mean:.2f} ({min(all_):.2f} to {max(all_):.2f}): {name}")


if __name__ == "__main__":
    main()
