"""Print every published row that is not answered, and the count.

python tests/published/run_rows.py [row id ...]
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from advisor.dialogue.given import given_facts
from advisor.inference.assess import assess
from advisor.knowledge.rulebase import RuleBase, load
from advisor.knowledge.yaml_source import read

HERE = Path(__file__).resolve().parent
#: As many causes of a row must stand among the first three as it names, three at most.
FIRST = 3


def mapping() -> dict[str, dict[str, Any]]:
    """The reviewed table: row id to facts and causes, or to why it is left out."""
    rows: dict[str, dict[str, Any]] = read(HERE / "mapping.yaml").data["rows"]
    return rows


def first_three(row: dict[str, Any], rules: RuleBase) -> list[str]:
    """Ids of the first three causes given for a row's facts."""
    data = {key: row[key] for key in ("facts", "ruled_out") if key in row}
    return [j.id for j in assess(given_facts(data, rules), rules, questions=False).causes[:FIRST]]


def answered(row: dict[str, Any], first: list[str]) -> bool:
    """Whether enough of the row's causes stand in `first`."""
    hits = sum(any(cause in first for cause in alike) for alike in row["causes"])
    return hits >= min(FIRST, len(row["causes"]))


def unanswered(rules: RuleBase, only: list[str]) -> Iterator[tuple[str, list[str]]]:
    """Row id and our first three of every row that is asked and not answered."""
    for key, row in mapping().items():
        if "causes" in row and (not only or key in only):
            first = first_three(row, rules)
            if not answered(row, first):
                yield key, first


def main() -> None:
    """Print the misses and the count."""
    rows = mapping()
    missed = list(unanswered(load(), sys.argv[1:]))
    for key, first in missed:
        print(f"{key}: {rows[key]['facts']} wants {rows[key]['causes']}, got {first}")
    asked = sum("causes" in row for row in rows.values())
    print(f"{asked - len(missed)} of {asked} rows answered, {len(rows) - asked} of {len(rows)} left out")


if __name__ == "__main__":
    main()
