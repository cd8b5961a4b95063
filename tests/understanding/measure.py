"""Measures how well lines are understood: precision, recall and exact lines, per family of facts.

Run ``python -m tests.understanding.measure [FILE...] [-v] [-s]``; ``-s`` prints one row a file.
A labelled line holds ``facts`` and ``ruled_out`` (must be understood) and ``either`` and
``either_ruled_out`` (allowed, not required);
``loose`` names the facts held loosely.
``anyone_unwell`` is implied by a complaint, so it is never required unless it was asked for.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from advisor.dialogue.understanding import Lexicon, Understood, load_phrases, understand
from advisor.knowledge.yaml_source import read

HERE = Path(__file__).parent
RULES = HERE.parent.parent / "rules"
IMPLIED = "anyone_unwell"
FAMILIES = {
    "smell": "smell smell_when",
    "look": "colour appearance surface residue jar_layers",
    "foam": "foam foam_type foam_when shake_test",
    "metal": "rust stain workpiece operation hydrogen_signs",
    "work": "tool_life finish wheel filter nozzle pump fines",
    "people": "skin breathing eyes_nose symptom_pattern mist_seen extraction people_affected people_total",
    "events": "event",
    "proposals": "proposed_action",
    "danger": "hazard_context injury danger_now",
    "instrument": "instrument",
    "bands": "concentration_band ph_band hardness_band bacteria_band sump_level trend_concentration trend_ph "
    "season",
    "system": "system fluid_type water_source topup",
}
FAMILY = {name: family for family, names in FAMILIES.items() for name in names.split()}


@dataclass
class Score:
    """Counts over a set of lines."""

    hit: Counter[str] = field(default_factory=Counter)
    missed: Counter[str] = field(default_factory=Counter)
    wrong: Counter[str] = field(default_factory=Counter)
    exact: int = 0
    lines: int = 0

    def precision(self, family: str | None = None) -> float:
        """Share of what was understood that was said."""
        hit, wrong = self._sum(self.hit, family), self._sum(self.wrong, family)
        return hit / (hit + wrong) if hit + wrong else 1.0

    def recall(self, family: str | None = None) -> float:
        """Share of what was said that was understood."""
        hit, missed = self._sum(self.hit, family), self._sum(self.missed, family)
        return hit / (hit + missed) if hit + missed else 1.0

    @staticmethod
    def _sum(counts: Counter[str], family: str | None) -> int:
        return sum(counts.values()) if family is None else counts[family]


@cache
def lexicon() -> Lexicon:
    """The lexicon of the rules in this checkout, through JSON as in the program."""
    vocabulary = {
        item["id"]: item
        for file in sorted((RULES / "vocabulary").glob("*.yaml"))
        for item in read(file).data["observables"]
    }
    return Lexicon.from_data(json.loads(json.dumps(load_phrases(RULES / "phrases"))), vocabulary)


def labels(facts: dict[str, Any], ruled_out: list[str]) -> dict[tuple[str, str], list[Any]]:
    """Labelled facts as (status, id) -> values; quantities keep their number or range."""
    made: dict[tuple[str, str], list[Any]] = {}
    for name, value in facts.items():
        single = lexicon().observables[name].kind == "quantity"
        values = [value] if single or not isinstance(value, list) else value
        made.setdefault(("present", name), []).extend(values)
    for entry in ruled_out:
        name, _, value = entry.partition(": ")
        made.setdefault(("ruled_out", name), []).append(value or None)
    return made


def same(said: Any, wanted: Any, slack: float = 0.005) -> bool:
    """Values agree: words exactly, numbers within a share `slack`, ranges end by end."""
    if isinstance(wanted, (list, tuple)) or isinstance(said, (list, tuple)):
        both = isinstance(wanted, (list, tuple)) and isinstance(said, (list, tuple))
        return both and all(same(a, b, slack) for a, b in zip(said, wanted, strict=True))
    if isinstance(said, float) and isinstance(wanted, (int, float)):
        return abs(said - wanted) <= slack * max(abs(wanted), 1e-9) + 1e-9
    return bool(said == wanted)


def judge(line: dict[str, Any], understood: Understood, score: Score) -> list[str]:
    """Adds one line to the score and returns what was wrong with it."""
    must = labels(line.get("facts", {}), line.get("ruled_out", []))
    may = labels(line.get("either", {}), line.get("either_ruled_out", []))
    if line.get("expecting") != IMPLIED:
        for key in [k for k in must if k[1] == IMPLIED]:
            may.setdefault(key, []).extend(must.pop(key))
    faults: list[str] = []
    left = {key: list(values) for key, values in must.items()}
    for fact in understood.facts:
        key = (fact.status, fact.id)
        family = FAMILY.get(fact.id, "numbers")
        # A month has 30 days for one labeller and 30.4 for another.
        slack = 0.015 if lexicon().observables[fact.id].unit == "day" else 0.005
        wanted = next((v for v in left.get(key, []) if same(fact.value, v, slack)), "-")
        if wanted != "-":
            left[key].remove(wanted)
            score.hit[family] += 1
            if (
                fact.status == "present"
                and "loose" in line
                and not fact.firm
                and fact.id not in line["loose"]
            ):
                faults.append(f"loose: {fact.key}")
            if fact.id in line.get("loose", ()) and fact.firm:
                faults.append(f"firm: {fact.key}")
        elif not any(same(fact.value, v, slack) for v in may.get(key, [])):
            score.wrong[family] += 1
            faults.append(f"+{'not ' if fact.status == 'ruled_out' else ''}{fact.id}={fact.value}")
    for (status, name), values in left.items():
        for value in values:
            score.missed[FAMILY.get(name, "numbers")] += 1
            faults.append(f"-{'not ' if status == 'ruled_out' else ''}{name}={value}")
    score.lines += 1
    score.exact += not any(f[0] in "+-" for f in faults)
    return faults


def lines_of(file: Path) -> list[dict[str, Any]]:
    """The labelled lines of a file; ``narrative`` is taken as text."""
    made = [json.loads(row) for row in file.read_text(encoding="utf-8").splitlines() if row.strip()]
    return [{**line, "text": line.get("text", line.get("narrative"))} for line in made]


def measure(file: Path) -> tuple[Score, list[tuple[dict[str, Any], list[str], Understood]]]:
    """Score of a file, and each line with its faults."""
    score, rows = Score(), []
    for line in lines_of(file):
        understood = understand(
            line["text"], lexicon=lexicon(), expecting=line.get("expecting"), gallon=line.get("gallon", "us")
        )
        rows.append((line, judge(line, understood, score), understood))
    return score, rows


def main(arguments: list[str]) -> None:
    """Prints the figures of each file; ``-v`` also the lines that went wrong."""
    files = [Path(a) for a in arguments if not a.startswith("-")] or sorted(HERE.glob("*.jsonl"))
    for file in files:
        score, rows = measure(file)
        print(f"{file.name}: {score.lines} lines, precision {score.precision():.3f}, ", end="")
        print(f"recall {score.recall():.3f}, exact lines {score.exact / max(score.lines, 1):.3f}")
        if "-s" in arguments:
            continue
        for family in sorted({*score.hit, *score.missed, *score.wrong}):
            print(
                f"  {family:<12} precision {score.precision(family):.2f}  recall {score.recall(family):.2f}"
            )
        if "-v" in arguments:
            for line, faults, understood in rows:
                if faults or "-u" in arguments:
                    print(f"{line.get('id', '')}: {line['text']}\n      {faults}  unused {understood.unused}")


if __name__ == "__main__":
    main(sys.argv[1:])
