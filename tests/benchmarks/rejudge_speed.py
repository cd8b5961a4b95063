"""How long past cases take to be judged again: cases drawn from the rule base, kept in a logbook, all of it.

    python tests/benchmarks/rejudge_speed.py [CASES] [PROCESSES]

Every case is another sump: the sign, what the operator says, and eleven looks or readings.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path
from random import Random

from advisor.dialogue.answer import verdict_json
from advisor.dialogue.case import fact_data
from advisor.drills.hidden import LEVELS, draw
from advisor.inference.assess import assess
from advisor.inference.program import program
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase, load
from advisor.logbook.store import open_store
from advisor.reports.rejudge import past, rejudge

NOON = "2026-03-04T12:00:00Z"


def answers(rules: RuleBase, seed: int) -> list[Fact]:
    """The facts of one invented case."""
    hidden, chance = draw(rules, seed, LEVELS[seed % len(LEVELS)]), Random(seed)
    asked = sorted(o.id for o in rules.observables.values() if o.question and o.kind != "quantity")
    facts = [*hidden.sign, *hidden.opening]
    for key in chance.sample(sorted(hidden.answers), min(6, len(hidden.answers))):
        facts += hidden.answers[key]
    for key in chance.sample(asked, 5):
        facts += hidden.shows(rules, key)
    return facts


def main(count: int, processes: int) -> None:
    """Save the cases, read them back, judge them again, and say what each took."""
    rules = load()
    with tempfile.TemporaryDirectory() as folder, open_store(Path(folder)) as store:
        began = time.perf_counter()
        for seed in range(count):
            facts = answers(rules, seed)
            view = assess(facts, rules, questions=False, prog=program(rules, "plain"))
            verdict = verdict_json(view)
            verdict.pop("unused")
            case = store.start_case("op", NOON, {"program": "0", "units": "metric"})
            store.append(case, "said", {"facts": [fact_data(f, "") for f in facts]}, time=NOON, who="op")
            held = {"verdict": verdict, "rules": "0", "program": "0"}
            store.append(case, "verdict", held, time=NOON, who="op")
        saved = time.perf_counter()
        cases = [one for row in store.cases() if (one := past(row.id, store.events(row.id)))]
        opened = time.perf_counter()
        found = rejudge(cases, processes=processes)
        done = time.perf_counter()
    print(f"{count} cases saved in {saved - began:.1f} s (not part of judging again)")
    print(f"read back in {opened - saved:.1f} s")
    print(f"judged again in {done - opened:.1f} s on {processes} processes")
    used = resource.getrusage(resource.RUSAGE_CHILDREN if processes > 1 else resource.RUSAGE_SELF)
    print(f"{1000 * used.ru_utime / count:.1f} ms of processor time a case; {len(found)} differ")


if __name__ == "__main__":
    given = [int(text) for text in sys.argv[1:]]
    main(*given, *(10_000, 2)[len(given) :])
