"""A thousand evidence rules and sixty facts, and how fast the shipped rule base loads.

Run ``python tests/benchmarks/rule_scale.py``. Every engine that is installed builds the same generated
rules in a process of its own and judges the same facts; build time, time for one assessment and memory
are given beside the plain matcher as ratios, which hold on a noisy machine where milliseconds do not.
The run ends with an error when the engines do not fire the same rules.

The shipped base is loaded from its compiled form, as an installed wheel does, in fresh processes beside
``python -c pass``.
"""

from __future__ import annotations

import hashlib
import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from random import Random

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).resolve().parent)]

RULES, FACTS, RUNS, STARTS = 1000, 60, 200, 15
#: What loading the shipped base may take in a fresh process, in seconds, above a bare Python.
TARGET = 0.150


def _memory() -> float:
    """Most memory this process has held so far, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def worker(name: str) -> None:
    """Build and run one engine; prints its figures as JSON."""
    from engine_speed import contenders, rules_of

    random = Random(RULES + FACTS)
    keys, stages = rules_of(random, RULES)
    asked = [{key: random.random() < 0.5 for key in random.sample(keys, FACTS)} for _ in range(RUNS)]
    build = contenders()[name]
    before = _memory()
    begun = time.perf_counter()
    fire = build(stages)
    built = time.perf_counter() - begun
    spent, answers = [], []
    for known in asked:
        begun = time.perf_counter()
        fired = fire(known)
        spent.append(time.perf_counter() - begun)
        answers.append(sorted(fired))
    print(
        json.dumps(
            {
                "build": built,
                "assessment": statistics.median(spent),
                "memory": _memory() - before,
                "rules": sum(map(len, stages)),
                "fired": statistics.mean(map(len, answers)),
                "answers": hashlib.sha256(json.dumps(answers).encode()).hexdigest(),
            }
        )
    )


def scale() -> None:
    """One line for each engine."""
    from engine_speed import contenders

    found = {}
    for name in contenders():
        out = subprocess.run(
            [sys.executable, __file__, "--engine", name], capture_output=True, text=True, check=True
        ).stdout
        found[name] = json.loads(out.splitlines()[-1])
    if len({row["answers"] for row in found.values()}) != 1:
        sys.exit("the engines do not fire the same rules")
    plain = found["plain"]
    print(f"{plain['rules']} rules, {FACTS} facts, {plain['fired']:.0f} rules fire on average")
    print("  in brackets: ratio to the plain matcher; memory without what importing the engine takes")
    for name, row in found.items():
        cells = [
            f"{word} {row[key] * factor:8.2f} {unit} ({row[key] / plain[key]:5.2f})"
            for word, key, factor, unit in (
                ("build", "build", 1e3, "ms"),
                ("one assessment", "assessment", 1e3, "ms"),
                ("memory", "memory", 1, "MB"),
            )
        ]
        print(f"  {name:8} " + "   ".join(cells))


_LOAD = "from advisor.knowledge.rulebase import load; load()"
_PROGRAM = f"from advisor.inference.program import program; {_LOAD.replace('; load()', '')}; program(load())"


def loading() -> None:
    """Fresh processes, in turn so that noise falls on all alike."""
    from advisor.knowledge.loader import compile_rules, rules_folder

    with tempfile.TemporaryDirectory() as folder:
        made = compile_rules(rules_folder())
        (Path(folder) / "rules.json").write_bytes(made)
        env = {**os.environ, "PYTHONPATH": str(ROOT), "SUMPSIDE_RULES": folder}
        jobs = {"python -c pass": "pass", "load": _LOAD, "load and compile": _PROGRAM}
        times: dict[str, list[float]] = {name: [] for name in jobs}
        for _ in range(STARTS):
            for name, code in jobs.items():
                begun = time.perf_counter()
                subprocess.run([sys.executable, "-c", code], env=env, check=True)
                times[name].append(time.perf_counter() - begun)
    bare = statistics.median(times["python -c pass"])
    print(f"shipped base, {len(made) / 1e6:.2f} MB compiled, median of {STARTS} fresh processes")
    for name, spent in times.items():
        middle = statistics.median(spent)
        above = 1e3 * (middle - bare)
        print(f"  {name:18} {middle * 1e3:7.1f} ms   ratio {middle / bare:5.2f}   above bare {above:6.1f} ms")
    load = statistics.median(times["load"]) - bare
    side = "under" if load < TARGET else "OVER"
    print(f"  loading takes {load * 1e3:.0f} ms, {side} the target of {TARGET * 1e3:.0f} ms")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--engine"]:
        worker(sys.argv[2])
    else:
        scale()
        loading()
