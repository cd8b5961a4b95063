"""Print every case beside a rule whose answer is not what the case asks for.

python tests/cases/run_cases.py [word in the file's name]
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from judging import complaints, judged

from advisor.errors import SumpsideError
from advisor.knowledge.loader import case_files, rules_folder
from advisor.knowledge.rulebase import load


def main() -> None:
    """Run the cases and print the misses and the count."""
    word = sys.argv[1] if len(sys.argv) > 1 else ""
    rules, good, total = load(), 0, 0
    for under in ("causes", "cautions"):
        for owner, document in case_files(rules_folder(), under):
            if word not in owner:
                continue
            for case in document.data["cases"]:
                total += 1
                try:
                    wrong = complaints(case, judged(case, rules))
                except SumpsideError as trouble:
                    wrong = [trouble.sentence()]
                good += not wrong
                for text in wrong:
                    print(f"{under}/{owner}: {case['name']}: {text}")
    print(f"{good} of {total} cases as asked")


if __name__ == "__main__":
    main()
