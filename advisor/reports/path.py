"""The decision path of a case: how belief moved with each answer, and which rule moved it."""

from __future__ import annotations

from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.answer import deciding_fact
from advisor.dialogue.blocks import Block
from advisor.dialogue.screens import fact_words, full_reason
from advisor.inference.assess import Assessment, Judged, Reason
from advisor.inference.evidence import NOTHING_WRONG
from advisor.inference.program import program
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.cases import Opened, StepOfPath, path_of
from advisor.reports.eyes import Recheck, rechecks

#: A smaller change of belief than this is not told as a move.
MOVED = 0.02


def path_blocks(case: Opened) -> list[Block]:
    """The path as blocks: each answer, who led after it, and the rule that moved it most."""
    blocks = [Block("head", f"case {case.number}, rule base {case.rules.hash}", "DECISION PATH")]
    for i, step in enumerate(path_of(case), 1):
        blocks.append(Block("head", said_words(step), f"{i}"))
        blocks += [Block("item", text, label) for label, text in step_lines(step)]
    blocks += [Block("head", check.text, "AFTER THE FIX") for check in after_fix(case)]
    if len(blocks) == 1:
        blocks.append(Block("text", "Nothing was told yet, so nothing was decided."))
    return blocks


def after_fix(case: Opened) -> list[Recheck]:
    """Readings after the fix against what the recipe predicted."""
    return rechecks(case.events, case.words, case.rules)


def said_words(step: StepOfPath) -> str:
    """What was typed, in quotes, and how many figures came from the shop book with it."""
    book = len(step.facts) - len(step.told)
    from_book = f" (and {book} figure{'s' * (book != 1)} from the shop book)" if book else ""
    if step.words:
        return f'"{step.words}"{from_book}'
    return f"{'words erased' if step.erased else 'entered'}{from_book}"


def step_lines(step: StepOfPath) -> list[tuple[str, str]]:
    """What one answer did, as label and text: noted, cautions, who leads, what moved, by which rule."""
    rules = step.after.known.rules
    lines = []
    if step.told:
        lines.append(("noted", "; ".join(fact_words(f, rules) for f in step.told)))
    for caution in step.after.cautions:
        item = rules.cautions[caution]
        if caution not in step.before.cautions and item["level"] != "note":
            level = {"emergency": "EMERGENCY", "stop": "STOP", "warn": "take care"}[item["level"]]
            lines.append((level, item["text"]))
    lines.append(("leads", standing_words(step.after)))
    moved = moved_most(step)
    if moved is not None:
        judged, _, change = moved
        name = phrases.lower_first(rules.causes[judged.id].plain.rstrip("."))
        told, far = _moved_words(name, judged.probability, change)
        lines.append(("moved", told))
        by = by_words(step) if far else ""
        if by:
            lines.append(("by", by))
    return lines


def _moved_words(name: str, now: float, change: float) -> tuple[str, bool]:
    """From where to where a cause moved, and whether that was further than one step of the words."""
    before, after = phrases.chance(now - change), phrases.chance(now)
    way = "up" if change > 0 else "down"
    if before == after:
        return f"nothing far; {name} a little {way}, still {after}", False
    return f"{name}, {way} from {before} to {after}", True


def cause_words(rules: RuleBase, cause: str) -> str:
    """A cause as a person is told it: what may be an illness only as what people report."""
    item = rules.causes[cause]
    return phrases.lower_first(str(item.text["title"] if item.referral else item.plain).rstrip("."))


def sure_words(rules: RuleBase, judged: Judged) -> str:
    """A cause with how sure it is; a referral carries no number."""
    sure = "a referral, no number" if rules.causes[judged.id].referral else phrases.chance(judged.probability)
    return f"{cause_words(rules, judged.id)} ({sure})"


def standing_words(view: Assessment) -> str:
    """Who leads and by how much, and the runner-up."""
    rules = view.known.rules
    nothing = view.chain == (NOTHING_WRONG,)
    listed = [j for j in view.causes if (j.id == NOTHING_WRONG) == nothing][:2]
    if not listed:
        return "nothing leads yet"
    kind = {"named": "named: ", "unsettled": "", "outside": "outside: "}[view.verdict]
    return kind + "; then ".join(sure_words(rules, judged) for judged in listed)


def verdict_words(view: Assessment) -> str:
    """What a verdict says: the cause it names and what that has led to, or what is likeliest."""
    rules = view.known.rules
    told = [sure_words(rules, judged) for judged in view.causes if judged.id in view.chain][:2]
    if view.verdict == "named" and told:
        return "; with it ".join(told)
    leads = f"; likeliest is {sure_words(rules, view.causes[0])}" if view.causes else ""
    return f"{'outside what is judged here' if view.verdict == 'outside' else 'no cause is named'}{leads}"


def moved_most(step: StepOfPath) -> tuple[Judged, Reason | None, float] | None:
    """The cause this answer moved most, the rule that did it, and by how much. Never a referral."""
    rules = step.after.known.rules
    changes = [
        (j.probability - probability(step.before, j.id), j)
        for j in step.after.causes
        if j.id != NOTHING_WRONG and not rules.causes[j.id].referral
    ]
    if not changes:
        return None
    change, judged = max(changes, key=lambda item: abs(item[0]))
    if abs(change) < MOVED:
        return None
    return judged, _reason(step, judged, change), change


def _reason(step: StepOfPath, judged: Judged, change: float) -> Reason | None:
    """The strongest rule about this cause that this answer brought into play, or changed the weight of."""
    mine = {f.id for f in step.facts}
    reasons = judged.speaks_for if change > 0 else judged.against
    for reason in reasons:
        fact = deciding_fact(step.after, reason)
        if fact is not None and (fact.id in mine or mine & set(fact.parents)):
            return reason
        if fact is None and step.before.known.findings.get(reason.node) is None:
            return reason
    earlier = next((j for j in step.before.causes if j.id == judged.id), None)
    held = {r.sign: r.weight for r in (*earlier.speaks_for, *earlier.against)} if earlier else {}
    fresh = (r for r in reasons if abs(held.get(r.sign, 1.0) - r.weight) > 0.1 * r.weight)
    return next(fresh, None)


def by_words(step: StepOfPath) -> str:
    """Which rule moved what this answer moved most: a sign, the setting, a consequence, or a better rival."""
    moved = moved_most(step)
    if moved is None:
        return ""
    judged, reason, change = moved
    rules = step.after.known.rules
    if reason is not None:
        return full_reason(step.after, reason)
    prog = program(rules)
    for condition, favour in prog.favours[judged.id]:
        fresh = prog.true(condition, step.after.known) and not prog.true(condition, step.before.known)
        if fresh and (favour.factor > 1) == (change > 0):
            why = phrases.sentence(favour.because or "The setting counts.")
            return f"{why} Odds {favour.word}. Setting of {judged.id}; {rules.cite(favour.sources)}."
    for child in step.after.causes:
        if child.id in rules.causes[judged.id].leads_to and not rules.causes[child.id].referral:
            shown = _reason(step, child, change)
            if shown is not None:
                way = "brings about" if change > 0 else "would bring about"
                return f"it {way} this: {cause_words(rules, child.id)}. {full_reason(step.after, shown)}"
    rival = next((j for j in step.after.causes if j.id != judged.id and _reason(step, j, 1.0)), None)
    if change < 0 and rival is not None and not rules.causes[rival.id].referral:
        better = _reason(step, rival, 1.0)
        assert better is not None
        return f"{cause_words(rules, rival.id)} explains it better. {full_reason(step.after, better)}"
    return ""


def probability(view: Assessment, cause: str) -> float:
    """Belief in a cause, whether or not it is likely enough to be listed."""
    listed = next((j.probability for j in view.causes if j.id == cause), None)
    return view.belief.marginals.get(cause, 0.0) if listed is None else listed


def step_json(step: StepOfPath) -> dict[str, Any]:
    """One step for other programs."""
    moved = moved_most(step)
    return {
        "event": step.event,
        "asked": step.asked,
        "words": step.words,
        "facts": [f.as_json() for f in step.facts],
        "verdict": step.after.verdict,
        "belief": {j.id: round(j.probability, 4) for j in step.after.causes},
        "moved": None
        if moved is None
        else {"cause": moved[0].id, "by": round(moved[2], 4), "rule": moved[1].sign if moved[1] else None},
    }
