"""Judge a case the way its file asks, and say what is wrong with the answer."""

from __future__ import annotations

from typing import Any

from advisor.dialogue.answer import next_checks
from advisor.dialogue.given import given_facts
from advisor.inference.assess import Assessment, assess
from advisor.knowledge.rulebase import RuleBase


def judged(case: dict[str, Any], rules: RuleBase) -> Assessment:
    """The assessment of a case's facts."""
    data = {key: case[key] for key in ("facts", "ruled_out", "loose") if key in case}
    return assess(given_facts(data, rules), rules)


def complaints(case: dict[str, Any], view: Assessment) -> list[str]:
    """What the answer gets wrong, by the keys of a case beside a rule."""
    ids = [j.id for j in view.causes]
    asked = [check["id"] for check in next_checks(view)]
    asked += [b["fills"] for b in view.known.rules.bands if b["of"] in asked]
    asked += [q for a in list(asked) for q in view.known.rules.filled_by.get(a, [])]
    named = set(view.chain) if view.verdict == "named" else set()
    found = []
    if case.get("lead") and ids[:1] != [case["lead"]]:
        found.append(f"{case['lead']} should lead, got {ids[:3]}")
    found += [
        f"{c} should be in the first three, got {ids[:3]}" for c in case.get("top", []) if c not in ids[:3]
    ]
    found += [
        f"{c} should not be said"
        for c in case.get("silent", [])
        if c in named or (c in ids[:1] and view.verdict == "named")
    ]
    found += [f"caution {c} should be shown" for c in case.get("shows", []) if c not in view.cautions]
    found += [f"caution {c} should not be shown" for c in case.get("hides", []) if c in view.cautions]
    found += [f"{c} should be asked, got {asked}" for c in case.get("asks", []) if c not in asked]
    if case.get("verdict") and view.verdict != case["verdict"]:
        found.append(f"verdict should be {case['verdict']}, is {view.verdict} ({ids[:3]})")
    return found
