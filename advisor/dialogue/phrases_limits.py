"""Sentences about limits: which hold here, where they come from, and where publications do not agree."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.knowledge.rulebase import UNLISTED
from advisor.showing import System, show

if TYPE_CHECKING:
    from advisor.inference.bands import Limit
    from advisor.knowledge.rulebase import RuleBase

#: No more voices than this on a screen; those of the shop's region come first.
VOICES = 3


def limit_sentence(rules: RuleBase, held: Limit, system: System = "metric") -> str:
    """The limits in force for one number, and where they come from."""
    item = rules.observables[held.of]
    parts: list[str] = []
    for step in held.steps:
        end = step.get("below", step.get("up_to"))
        answer = step["answer"].replace("_", " ")
        if end is None:
            parts.append(f"above that {answer}" if parts else answer)
        else:
            told = show(float(end), item.unit or "1", system).removeprefix("pH ")
            parts.append(f"{answer} {'below' if 'below' in step else 'up to'} {told}")
    if held.origin == "sheet":
        return f"{item.name}: {', '.join(parts)}. From the product's data sheet, which goes first."
    if held.origin == "said":
        return f"{item.name}: {', '.join(parts)}. From what you said it should be."
    if held.origin == "window":
        return f"{item.name}: {', '.join(parts)}. The window is from {held.name}."
    told = f" {held.note}" if held.note else ""
    return f"{item.name} ({held.name}): {', '.join(parts)}. {rules.cite(held.sources[:2])}.{told}"


def worth_telling(held: Limit) -> bool:
    """False for limits that nobody has published and the shop has not set: they only sort numbers."""
    return held.origin != "rules" or any(ref not in UNLISTED for ref in held.sources)


def voices(rules: RuleBase, held: Limit) -> list[str]:
    """What publications say where they do not agree, the region's own first.

    Empty where they agree, and where the data sheet or the shop has settled it.
    """
    if held.origin != "rules":
        return []
    told = sorted(held.published, key=lambda said: not said.here)
    if len({said.text for said in told}) < 2:
        return []
    return [f"{'Here: ' if said.here else ''}{said.text} ({rules.cite(said.sources)})."
            for said in told[:VOICES]]  # fmt: skip


def published_line(says: str, where: str) -> str:
    """One publication's figure in the handbook, with the condition in words, if it has one."""
    return f"{where}: {says}" if where else says
