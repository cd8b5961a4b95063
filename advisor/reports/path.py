"""The decision path of a case: how belief moved with each answer, and which rule moved it."""

from __future__ import annotations

from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.answer import deciding_fact
from advisor.dialogue.case import SHOP_BOOK
from advisor.dialogue.screens import Block, fact_words, full_reason
from advisor.inference.assess import Assessment, Judged, Reason
from advisor.inference.evidence import NOTHING_WRONG
from advisor.reports.cases import Opened, StepOfPath, path_of


def path_blocks(case: Opened) -> list[Block]:
    """The path as blocks: each answer, who led after it, and the rule that moved it most."""
    blocks = [Block("head", f"case {case.number}, rule base {case.rules.hash}", "DECISION PATH")]
    for i, step in enumerate(path_of(case), 1):
        told = [fact_words(f, case.rules) for f in step.facts if f.said != SHOP_BOOK]
        from_book = len(step.facts) - len(told)
        book = f" (and {from_book} figures from the shop book)" if from_book else ""
        blocks.append(Block("head", f'"{step.words}"{book}' if step.words else f"entered{book}", f"{i}"))
        if told:
            blocks.append(Block("item", "; ".join(told), "noted"))
        blocks.append(Block("item", standing_words(step.after), "leads"))
        moved = moved_most(step)
        if moved is not None:
            judged, reason, change = moved
            name = case.rules.causes[judged.id].plain.rstrip(".")
            way = "up" if change > 0 else "down"
            blocks.append(
                Block(
                    "item",
                    f"{phrases.lower_first(name)}, {way} from {phrases.chance(judged.probability - change)} "
                    f"to {phrases.chance(judged.probability)}",
                    "moved",
                )
            )
            if reason is not None:
                blocks.append(Block("item", full_reason(step.after, reason), "by"))
    return blocks


def standing_words(view: Assessment) -> str:
    """Who leads and by how much, and the runner-up."""
    rules = view.known.rules
    listed = [j for j in view.causes if j.id != NOTHING_WRONG][:2]
    if not listed:
        return "nothing leads yet"
    told = []
    for judged in listed:
        cause = rules.causes[judged.id]
        sure = "a referral, no number" if cause.referral else phrases.chance(judged.probability)
        told.append(f"{phrases.lower_first(cause.plain.rstrip('.'))} ({sure})")
    kind = {"named": "named: ", "unsettled": "", "outside": "outside: "}[view.verdict]
    return kind + "; then ".join(told)


def moved_most(step: StepOfPath) -> tuple[Judged, Reason | None, float] | None:
    """The cause this answer moved most, the rule that did it, and by how much."""
    before = {j.id: j.probability for j in step.before.causes}
    changes = [
        (j.probability - before.get(j.id, step.before.belief.marginals.get(j.id, 0.0)), j)
        for j in step.after.causes
        if j.id != NOTHING_WRONG and not step.after.known.rules.causes[j.id].referral
    ]
    if not changes:
        return None
    change, judged = max(changes, key=lambda item: abs(item[0]))
    if abs(change) < 0.02:
        return None
    mine = {f.id for f in step.facts}
    reasons = judged.speaks_for if change > 0 else judged.against
    for reason in reasons:
        fact = deciding_fact(step.after, reason)
        if fact is not None and (fact.id in mine or mine & set(fact.parents)):
            return judged, reason, change
    return judged, None, change


def step_json(step: StepOfPath) -> dict[str, Any]:
    """One step for other programs."""
    moved = moved_most(step)
    return {
        "event": step.event,
        "words": step.words,
        "facts": [f.as_json() for f in step.facts],
        "verdict": step.after.verdict,
        "belief": {j.id: round(j.probability, 4) for j in step.after.causes},
        "moved": None
        if moved is None
        else {"cause": moved[0].id, "by": round(moved[2], 4), "rule": moved[1].sign if moved[1] else None},
    }
