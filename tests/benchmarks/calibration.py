"""How far the stated probability of the leading cause can be trusted, on the narratives of tests/cases.

Run ``python tests/benchmarks/calibration.py [file.jsonl ...]``. Every case is judged from its facts. The
probability stated for the leading cause is set against how often that cause is a right one: in bins, as
the Brier score (G. W. Brier, Monthly Weather Review 78, 1950, 1-3; the mean squared gap, 0 is perfect),
and beside it the score of somebody who states the overall share each time. Then what other values of the
two figures that decide when a verdict is named would give.

"right": the lead is one the case accepts as lead. "true": it is that, or one of the causes the case says
are present as well. Cases that accept no lead count in the verdicts only.

The rules have been mended with these cases in hand, so the figures on them are not independent. Each case
with one fact left out is nearer to that: the cause is the same and less is known, so the stated figure
has to fall as the share of right leads does. (Its verdicts mean little: without the deciding fact a case
that accepts only a name may rightly stay unsettled.)
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from advisor.dialogue.given import given_facts
from advisor.inference import assess as judgement
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase, load

CASES = Path(__file__).resolve().parents[1] / "cases"
FILES = (
    "cases.jsonl", "fresh_cases.jsonl", "own_cases.jsonl", "blind_cases.jsonl", "blind_cases_b.jsonl",
    "blind_cases_c.jsonl", "blind_cases_d.jsonl",
)  # fmt: skip
BINS = (0.0, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)
AT, OVER = (0.5, 0.6, 0.7, 0.8, 0.9), (1.5, 2.0, 3.0, 5.0, 10.0)


@dataclass(frozen=True)
class Outcome:
    """One case judged: probability stated for the lead, whether it is right, true, and the verdict fits."""

    stated: float
    right: bool
    true: bool
    leads: bool
    verdict: str
    accepted: bool


@contextmanager
def named(at: float, over: float) -> Iterator[None]:
    """The figures that decide when a verdict is named, for a while."""
    kept = judgement.NAMED_AT, judgement.NAMED_OVER
    judgement.NAMED_AT, judgement.NAMED_OVER = at, over
    try:
        yield
    finally:
        judgement.NAMED_AT, judgement.NAMED_OVER = kept


def outcome(case: dict[str, Any], facts: list[Fact], rules: RuleBase) -> Outcome:
    """The case judged from its facts."""
    view = judgement.assess(facts, rules, questions=False)
    lead = view.chain[0] if view.verdict == "named" and view.chain else view.lead
    stated = next((j.probability for j in view.causes if j.id == lead), 0.0)
    right = lead in case["lead_ok"]
    accepted = view.verdict in case["verdict_ok"]
    if view.verdict == "named" and case["lead_ok"]:
        accepted = accepted and right
    true = right or lead in [*case.get("also_ok", []), *case.get("pair", [])]
    return Outcome(stated, right, true, bool(case["lead_ok"]), view.verdict, accepted)


def brier(rows: Sequence[Outcome], key: str) -> tuple[float, float]:
    """The Brier score of what was stated, and of stating the overall share each time."""
    hits = [float(getattr(row, key)) for row in rows]
    share = sum(hits) / len(hits)
    stated = sum((row.stated - hit) ** 2 for row, hit in zip(rows, hits, strict=True)) / len(rows)
    return stated, share * (1 - share)


def interval(hits: int, count: int) -> tuple[float, float]:
    """A 90 % interval of a share (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927, 209-212)."""
    z, share = 1.645, hits / count
    middle = (share + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    return middle - half, middle + half


def bins(rows: Sequence[Outcome]) -> None:
    """One line for each bin of the stated probability."""
    print("  stated       cases   mean stated   right         90 % interval   true")
    for low, high in pairwise(BINS):
        held = [r for r in rows if low <= r.stated < high or (high == 1.0 and r.stated >= 1.0)]
        if not held:
            continue
        mean = sum(r.stated for r in held) / len(held)
        right, true = sum(r.right for r in held), sum(r.true for r in held)
        ends = interval(right, len(held))
        print(
            f"  {low:.2f}-{high:.2f}   {len(held):7}   {mean:11.2f}   {right / len(held):5.2f}"
            f"         {ends[0]:.2f} to {ends[1]:.2f}    {true / len(held):5.2f}"
        )


def report(name: str, rows: Sequence[Outcome]) -> None:
    """Verdicts, scores and bins of one set of cases."""
    told = [row for row in rows if row.leads]
    kinds = {kind: sum(r.verdict == kind for r in rows) for kind in ("named", "unsettled", "outside")}
    wrong = sum(r.verdict == "named" and not r.right for r in rows)
    said = ", ".join(f"{kind} {n}" for kind, n in kinds.items())
    print(f"\n{name}: {len(rows)} cases; {said}")
    print(f"  verdict and lead accepted {sum(r.accepted for r in rows)}; named and not right {wrong}")
    for key in ("right", "true"):
        score, base = brier(told, key)
        mean, share = sum(r.stated for r in told) / len(told), sum(getattr(r, key) for r in told) / len(told)
        print(
            f"  {key:5}: {share:.2f} of {len(told)} leads, stated on average {mean:.2f}; "
            f"Brier {score:.3f} (stating {share:.2f} each time: {base:.3f})"
        )
    bins(told)


def table(cases: Sequence[tuple[dict[str, Any], list[Fact]]], rules: RuleBase) -> None:
    """Accepted verdicts, and in brackets named / named and not right, for other deciding figures."""
    print(f"\naccepted (named/named and not right) of {len(cases)}; NAMED_AT down, NAMED_OVER across")
    print("        " + "".join(f"{over:>16g}" for over in OVER))
    for at in AT:
        cells = []
        for over in OVER:
            with named(at, over):
                rows = [outcome(case, facts, rules) for case, facts in cases]
            told = [row for row in rows if row.verdict == "named"]
            wrong = sum(not row.right for row in told)
            now = "*" if (at, over) == (judgement.NAMED_AT, judgement.NAMED_OVER) else " "
            cells.append(f"{f'{sum(r.accepted for r in rows)} ({len(told)}/{wrong}){now}':>16}")
        print(f"  {at:4g}  " + "".join(cells))
    print("  * as it stands")


def without_one(facts: Sequence[Fact]) -> Iterator[list[Fact]]:
    """The facts with each left out in turn: the cause is the same, less is known of it."""
    if len(facts) > 1:
        for i in range(len(facts)):
            yield [*facts[:i], *facts[i + 1 :]]


def main() -> None:
    """Print the report."""
    rules = load()
    files = [Path(name) for name in sys.argv[1:]] or [CASES / name for name in FILES]
    held: list[tuple[dict[str, Any], list[Fact]]] = []
    for file in files:
        if not file.exists():
            continue
        some = []
        for line in file.read_text(encoding="utf-8").splitlines():
            if line.strip():
                case = json.loads(line)
                parts = {key: case[key] for key in ("facts", "ruled_out", "loose") if key in case}
                some.append((case, given_facts(parts, rules)))
        report(file.name, [outcome(case, facts, rules) for case, facts in some])
        held += some
    report("all together", [outcome(case, facts, rules) for case, facts in held])
    some = [(case, less) for case, facts in held for less in without_one(facts)]
    report("each case with one fact left out, in turn", [outcome(case, facts, rules) for case, facts in some])
    table(held, rules)


if __name__ == "__main__":
    main()
