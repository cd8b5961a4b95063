"""How often the judgement is right on the narratives, from their facts and from their text.

python tests/cases/report.py [cases.jsonl] [-v]
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from advisor.dialogue.given import given_facts
from advisor.dialogue.understanding import Lexicon, understand
from advisor.inference.assess import Assessment, assess
from advisor.knowledge.rulebase import RuleBase, load

HERE = Path(__file__).resolve().parent


def cases(file: Path = HERE / "cases.jsonl") -> list[dict[str, Any]]:
    """The narratives, one per line."""
    return [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines() if line.strip()]


def view_of(case: dict[str, Any], rules: RuleBase, lexicon: Lexicon | None = None) -> Assessment:
    """The judgement from the case's facts, or from its text when a lexicon is given."""
    if lexicon is not None:
        return assess(understand(case["narrative"], lexicon=lexicon).facts, rules)
    return assess(given_facts({"facts": case["facts"], "ruled_out": case.get("ruled_out", [])}, rules), rules)


def misses(case: dict[str, Any], view: Assessment) -> list[str]:
    """What is wrong with the kind of verdict, the lead, or the first three."""
    top = [j.id for j in view.causes[:3]]
    found = []
    if view.verdict not in case["verdict_ok"]:
        found.append(f"verdict {view.verdict}, should be {'/'.join(case['verdict_ok'])}")
    if view.verdict == "named" and case["lead_ok"] and view.lead not in case["lead_ok"]:
        found.append(f"lead {view.lead}, should be {'/'.join(case['lead_ok'])}")
    if case.get("pair") and not set(case["pair"]) <= set(top):
        found.append(f"pair {case['pair']} not in {top}")
    if found:
        found.append(", ".join(f"{j.id} {j.probability:.2f}" for j in view.causes[:5]))
    return found


def main() -> None:
    """Print figures, and with -v every miss."""
    files = [Path(a) for a in sys.argv[1:] if not a.startswith("-")] or [HERE / "cases.jsonl"]
    rules = load()
    lexicon = Lexicon.from_data(rules.data["phrases"], rules.data["observables"])
    for file in files:
        held = cases(file)
        for name, words in (("from facts", None), ("from text", lexicon)):
            wrong = {c["id"]: misses(c, view_of(c, rules, words)) for c in held}
            right = sum(not w for w in wrong.values())
            lead = sum(not any(t.startswith(("lead", "verdict")) for t in w) for w in wrong.values())
            print(f"{file.name} {name}: verdict and lead right {lead} of {len(held)}, with pairs {right}")
            if "-v" in sys.argv:
                for key, texts in wrong.items():
                    for text in texts:
                        print(f"   {key}: {text}")


if __name__ == "__main__":
    main()
