"""Which kinds of evidence each cause has: the coverage table."""

from __future__ import annotations

from typing import Any

from advisor.knowledge.rule_files import RuleFiles
from advisor.knowledge.rulebase import RuleBase, Sign

#: Columns of the table and what they count.
COLUMNS = {
    "look": "signs seen, smelt or felt",
    "read": "signs by a reading or a said band",
    "trend": "signs by a change over time",
    "jar": "signs by a jar of fresh mix or a standing sample",
    "comb": "signs by a combination of facts",
    "against": "signs that speak against it",
    "favour": "contexts that favour or disfavour it",
    "leads": "causes it leads to",
    "from": "causes that lead to it",
    "alike": "look-alikes told apart",
    "lead": "cases in which it must lead or stand among the first three",
    "silent": "cases in which it must stay silent",
    "ask": "cases in which something must be asked",
}
_JAR = ("fresh_mix", "jar_layers", "shake_test")
_TREND = ("trend_", "onset", "_fall_", "_change", "_rise")


def coverage(rules: RuleBase, files: RuleFiles) -> dict[str, dict[str, int]]:
    """For every cause, the count in every column."""
    table = {cause: dict.fromkeys(COLUMNS, 0) for cause in rules.causes}
    for key, cause in rules.causes.items():
        row = table[key]
        for sign in cause.signs:
            row["against" if not raises(rules, sign) else _kind(rules, sign)] += 1
        row["favour"], row["leads"] = len(cause.favours), len(cause.leads_to)
        row["alike"] = len(cause.text.get("look_alikes", []))
        for child in cause.leads_to:
            table[child]["from"] += 1
        for case in cases_of(files, "causes", key):
            row["lead"] += case.get("lead") == key or key in case.get("top", [])
            row["silent"] += key in case.get("silent", [])
            row["ask"] += bool(case.get("asks"))
    return table


def cases_of(files: RuleFiles, under: str, key: str) -> list[dict[str, Any]]:
    """The cases beside one cause or caution."""
    document = files.cases.get((under, key))
    return list(document.data["cases"]) if document else []


def raises(rules: RuleBase, sign: Sign) -> bool:
    """True when some answer of the sign is likelier with the cause than without any."""
    item = rules.observables.get(sign.node)
    if item is None or item.kind != "one_of" or ("yes" in sign.words and "yes" not in item.answers):
        return sign.chances["yes"] > rules.base(sign.node)
    normal = {a: 0.5 for a, answer in item.answers.items() if "base" not in answer}
    return any(chance > normal.get(a, item.bases[a]) for a, chance in sign.chances.items())


def _kind(rules: RuleBase, sign: Sign) -> str:
    key = sign.node.partition(":")[0]
    if key in rules.findings:
        return "comb"
    if key.startswith(_JAR):
        return "jar"
    if any(mark in key for mark in _TREND):
        return "trend"
    return "read" if key.endswith("_band") or rules.observables[key].role == "reading" else "look"


def table_lines(table: dict[str, dict[str, int]]) -> list[str]:
    """The table as text of at most 120 columns, with a key to its columns."""
    wide = max(map(len, table), default=5)
    heads = [*COLUMNS]
    lines = [" " * wide + "".join(f" {head:>{max(4, len(head))}}" for head in heads)]
    for cause, row in table.items():
        cells = "".join(f" {row[head] or '.':>{max(4, len(head))}}" for head in heads)
        lines.append(f"{cause:<{wide}}{cells}")
    return [*lines, "", *(f"{head}: {told}" for head, told in COLUMNS.items())]
