"""Every cause that stands on a number has a case exactly at one of that number's limits that stays silent."""

from __future__ import annotations

from collections.abc import Iterator
from math import isclose
from typing import Any

from advisor.dialogue.given import given_facts
from advisor.errors import SumpsideError
from advisor.inference.derive import derive
from advisor.inference.knowns import Knowns
from advisor.inference.program import Program, program
from advisor.knowledge.advice import Advice
from advisor.knowledge.coverage import cases_of
from advisor.knowledge.rule_files import RuleFiles
from advisor.knowledge.rulebase import RuleBase


def silent_at_limits(rules: RuleBase, files: RuleFiles) -> Iterator[Advice]:
    """A cause with signs on bands and no silent case exactly at a limit of one of them."""
    prog = program(rules)
    filled = {band["fills"] for band in rules.bands}
    for entry in files.of("causes"):
        own = {sign.node for sign in rules.causes[entry.id].signs} & filled
        silent = [case for case in cases_of(files, "causes", entry.id) if entry.id in case.get("silent", [])]
        if own and silent and not any(own & at_limits(case, rules, prog) for case in silent):
            yield Advice(
                entry.place(),
                f'no silent case of "{entry.id}" lies exactly at a limit of {_spoken(own)}',
                f"add one to rules/causes/{entry.id}.cases.yaml: at the limit it must not be told",
                check="cases",
            )


def at_limits(case: dict[str, Any], rules: RuleBase, prog: Program) -> set[str]:
    """The bands whose number lies exactly at one of its limits in a case."""
    try:
        told = given_facts({k: case[k] for k in ("facts", "ruled_out", "loose") if k in case}, rules)
    except SumpsideError:
        return set()  # told by the check of the cases themselves
    known, _, _ = derive(Knowns(rules, told), prog)
    found = set()
    for fills, held in known.limits.items():
        value = known.quantity(held.of)
        ends = [end for step in held.steps if (end := step.get("below", step.get("up_to"))) is not None]
        if value is not None and any(isclose(value, end, rel_tol=1e-6, abs_tol=1e-9) for end in ends):
            found.add(fills)
    return found


def _spoken(bands: set[str]) -> str:
    first, *rest = sorted(bands)
    return f'"{first}"' + (f" or {len(rest)} more" if rest else "")
