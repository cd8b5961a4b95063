"""How fast the rules fire: durable-rules beside the plain matcher, and beside CLIPS where clipspy is there.

Run ``python tests/benchmarks/engine_speed.py``. Times are medians; on a noisy machine read the ratios.
All engines must fire the same rules, or the run ends with an error.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from advisor.inference import engine
from advisor.inference.conditions import Literal
from advisor.inference.matcher import PlainStagedRules
from advisor.inference.staged import Rule

Fire = Callable[[dict[str, bool]], set[str]]
Build = Callable[[list[list[Rule]]], Fire]
SIZES = ((100, 25), (300, 25), (1000, 25), (1000, 60))
RUNS = 200


def rules_of(random: Random, count: int) -> tuple[list[str], list[list[Rule]]]:
    """Fact keys, and a fifth findings with the rest signs on facts and findings; 1 to 4 literals each."""
    keys = [f"o{i}: v{j}" for i in range(60) for j in range(5)]
    findings = [f"finding {i}" for i in range(count // 5)]

    def when(known: list[str]) -> tuple[Literal, ...]:
        chosen = random.sample(known, random.randint(1, 4))
        return tuple(Literal(key, random.random() < 0.7) for key in chosen)

    first = [
        Rule(f"f{i}", "findings", when(keys + findings[:i]), Literal(key, True))
        for i, key in enumerate(findings)
    ]
    second = [Rule(f"s{i}", "signs", when(keys + findings)) for i in range(count - len(first))]
    return keys, [first, second]


def durable(stages: list[list[Rule]]) -> Fire:
    """The rules on durable-rules."""
    rules = engine.StagedRules(stages)
    return lambda known: {firing.rule for firing in rules.fire(known)}


def plain(stages: list[list[Rule]]) -> Fire:
    """The rules on the plain matcher."""
    rules = PlainStagedRules(stages)
    return lambda known: {firing.rule for firing in rules.fire(known)}


def clips(stages: list[list[Rule]]) -> Fire:
    """The rules as CLIPS productions over ordered facts, all stages in one environment.

    Its time includes reading the facts as text, the one way to assert many that leaks nothing.
    """
    from clips import Environment

    made = Environment()
    fired: set[str] = set()
    made.define_function(fired.add, name="fired")
    for rule in (rule for stage in stages for rule in stage):
        when = " ".join(f'(is "{key}" {"so" if wanted else "not"})' for key, wanted in rule.when)
        gives = f'(assert (is "{rule.gives.key}" so))' if rule.gives else ""
        made.build(f'(defrule {rule.id} {when} => (fired "{rule.id}") {gives})')

    def fire(known: dict[str, bool]) -> set[str]:
        made.reset()
        fired.clear()
        facts = (f'(is "{key}" {"so" if wanted else "not"})' for key, wanted in known.items())
        made.load_facts(" ".join(facts))
        made.run()
        return set(fired)

    return fire


def contenders() -> dict[str, Build]:
    """Every engine that is installed."""
    found: dict[str, Build] = {"plain": plain}
    if engine.available():
        found["durable"] = durable
    try:
        import clips as _  # noqa: F401

        found["clips"] = clips
    except ImportError:
        print("clipspy is not installed; it is left out")
    return found


def measure(builds: dict[str, Build], count: int, facts: int) -> None:
    """One line for each engine: load, one firing of all stages, and its ratio to durable-rules."""
    random = Random(count + facts)
    keys, stages = rules_of(random, count)
    asked = [{key: random.random() < 0.5 for key in random.sample(keys, facts)} for _ in range(RUNS)]
    loads: dict[str, float] = {}
    times: dict[str, float] = {}
    answers = {}
    for name, build in builds.items():
        begun = time.perf_counter()
        fire = build(stages)
        loads[name] = time.perf_counter() - begun
        spent = []
        answers[name] = []
        for known in asked:
            begun = time.perf_counter()
            answers[name].append(fire(known))
            spent.append(time.perf_counter() - begun)
        times[name] = statistics.median(spent)
    if any(answer != answers["plain"] for answer in answers.values()):
        sys.exit("the engines do not fire the same rules")
    base = times.get("durable", times["plain"])
    for name, spent_on_one in times.items():
        print(
            f"{count:5} rules {facts:3} facts  {name:8} load {loads[name] * 1e3:7.1f} ms   "
            f"fire {spent_on_one * 1e3:7.3f} ms   ratio to {'durable' if 'durable' in times else 'plain'} "
            f"{spent_on_one / base:5.2f}"
        )


if __name__ == "__main__":
    installed = contenders()
    for size in SIZES:
        measure(installed, *size)
