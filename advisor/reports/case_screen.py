"""One saved case in one screen, read in a minute: what was said, what came out, what it hangs on."""

from __future__ import annotations

from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.asking import SAFE_MEANS
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import SHOP_BOOK
from advisor.dialogue.following import doing
from advisor.dialogue.recipe_screens import pail_blocks, recipe_blocks
from advisor.dialogue.screens import caution_blocks, fact_words, facts_words, reason_blocks, run_words
from advisor.dialogue.shortening import in_brief
from advisor.inference.assess import Assessment, Judged, assess
from advisor.inference.evidence import NOTHING_WRONG
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import Observable, RuleBase
from advisor.mixing.display import IMPERIAL, METRIC, US
from advisor.reports.cases import Opened
from advisor.reports.eyes import cause_title, rechecks, signature_words
from advisor.reports.path import sure_words, verdict_words

_UNITS = {"metric": METRIC, "us": US, "imperial": IMPERIAL}
#: An answer that moves the leading cause by less is not what the verdict hangs on.
HANGS = 0.02
#: Reasons on the page.
_REASONS = 2
#: Answers on the first page at most.
_ANSWERS = 8
MORE_ANSWERS = "{count} more"
REST = '"more" tells the rest.'
#: From this many on, answers that say all is well, or with what care was read, are told in short.
_MANY = 3


def case_json(case: Opened) -> dict[str, Any]:
    """One case for other programs."""
    state = case.state
    return {
        "case": case.number,
        "sump": state.sump,
        "facts": [fact.as_json() for fact in state.facts],
        "verdict": state.verdict,
        "recipe": state.recipe,
        "shown": state.shown,
        "acknowledged": sorted(state.acknowledged),
        "hangs_on": [fact.as_json() for fact in hangs_on(case, case.view())] if state.verdict else [],
        "rechecks": [
            {"value": r.value, "low": r.low, "high": r.high, "held": r.held}
            for r in rechecks(case.events, case.words, case.rules)
        ],
        "signed": [{"who": e.who, "time": e.time, **e.data} for e in case.events if e.kind == "review"],
    }


def case_blocks(case: Opened) -> list[Block]:
    """One case in a minute's words, the rest under "more": complaint, answers, verdict, cautions, recipe.

    Signatures stand below.
    """
    state, rules = case.state, case.rules
    first = case.complaint
    where = f"{state.sump or phrases.NO_MACHINE}, visit {state.visit}, rule base {rules.hash}"
    blocks = [
        Block("head", where, f"CASE {case.number}"),
        Block("head", f'"{first}"' if first else "words erased", "COMPLAINT"),
        Block("head", "", "ANSWERS"),
        *_answers(case),
    ]
    if state.verdict is None:
        return [*blocks, Block("text", "No verdict was given yet."), *_signatures(case)]
    view = case.view()
    blocks += _verdict(case, view)
    blocks += _cautions(case, view)
    blocks += _recipe(case)
    return [*blocks, *_signatures(case), Block("text", REST)]


def more_blocks(case: Opened) -> list[Block]:
    """What the first page leaves out: every answer, caution and step of the recipe."""
    pages = (answers_blocks(case), cautions_page(case), recipe_page(case))
    return [block for page in pages for block in page]


def _answers(case: Opened, *, whole: bool = False) -> list[Block]:
    """The answers in the order in which they came, one line each; in short the first of them, less what
    only says how carefully something was read.
    """
    by_event: dict[int, list[Fact]] = {}
    for fact in case.state.facts:
        if fact.said != SHOP_BOOK:
            by_event.setdefault(fact.event or 0, []).append(fact)
    listed = sorted(by_event.items())
    fix = min((e.number for e in case.events if e.kind == "recipe" and not whole), default=None)
    told_early = [each for each in listed if fix is None or each[0] < fix]  # the rest the results tell
    telling = [each for each in told_early if not all(_of_care(f, case.rules) for f in each[1])]
    first = telling[:_ANSWERS]
    blocks = []
    for i, (event, facts) in enumerate(listed if whole else first, 1):
        words = case.words.get(event)
        quoted = f'  ("{words}")' if words and i > 1 and whole else ""
        told = facts_words(facts, case.rules) if whole else _in_short(facts, case.rules)
        blocks.append(Block("item", f"{'; '.join(told)}{quoted}", f"{i}"))
    left = 0 if whole else len(listed) - len(first)
    return [*blocks, Block("item", MORE_ANSWERS.format(count=left), "…")] if left else blocks


def _in_short(facts: list[Fact], rules: RuleBase) -> list[str]:
    """Facts in words, but that all are well is told once, and the care taken over a reading is counted."""
    safe = [f for f in facts if f.id in SAFE_MEANS and f.status == "ruled_out" and f.value is None]
    checked = [f for f in facts if f.id == "instrument" and f.status == "ruled_out"]  # care in other words
    care = [f for f in facts if _of_care(f, rules) and f not in checked]
    hidden = [*(safe if len(safe) >= _MANY else ()), *((*care, *checked) if len(care) >= _MANY else ())]
    told = facts_words([f for f in facts if f not in hidden], rules)
    if len(safe) >= _MANY:
        told.append(phrases.SAFE.rstrip("."))
    if len(care) >= _MANY:
        item = rules.observables[care[0].id]
        told.append(f"{item.name}: {len(care)} of {len(item.answers)} points of care")
    return told


def _of_care(fact: Fact, rules: RuleBase) -> bool:
    """Whether an answer only says with what care something was read."""
    fine = fact.id == "instrument" and fact.status == "ruled_out"
    item = rules.observables[fact.id]
    normal = [answer for answer, told in item.answers.items() if "base" not in told]
    usual = item.role == "trust" and [fact.value] == normal
    return fine or (fact.status == "present" and (usual or _is_care(item)))


def _is_care(item: Observable) -> bool:
    """Whether its answers say how carefully a reading was taken; each of them is a good one."""
    return item.role == "trust" and item.kind == "any_of"


def answers_blocks(case: Opened) -> list[Block]:
    """Every answer in full."""
    return [Block("head", f"case {case.number}", "ANSWERS"), *_answers(case, whole=True)]


def verdict_page(case: Opened) -> list[Block]:
    """The verdict with what speaks for and against it, what it hangs on and its best rival."""
    if case.state.verdict is None:
        return [Block("text", "No verdict was given yet.")]
    return _verdict(case, case.view(), whole=True)


def cautions_page(case: Opened) -> list[Block]:
    """Every caution that was shown or stands, whole."""
    return caution_blocks(case.rules, _told_or_standing(case, case.view())) or [
        Block("text", phrases.NO_CAUTIONS)
    ]


def _told_or_standing(case: Opened, view: Assessment) -> list[str]:
    """Cautions that were shown or stand, the worst first."""
    rules, order = case.rules, {"emergency": 0, "stop": 1, "warn": 2, "note": 3}
    listed = [c for c in dict.fromkeys((*_named(case, "shown"), *view.cautions)) if c in rules.cautions]
    return sorted(listed, key=lambda c: order[rules.cautions[c]["level"]])


def recipe_page(case: Opened) -> list[Block]:
    """The whole recipe with its steps, other ways and what was taken for granted."""
    made = case.state.recipe
    if not made:
        return [Block("text", phrases.NO_RECIPE)]
    return recipe_blocks(made, _UNITS.get(case.state.opened.get("units") or "metric", METRIC))


def _verdict(case: Opened, view: Assessment, *, whole: bool = False) -> list[Block]:
    held = case.state.verdict or {}
    same = held.get("run") == view.run
    run = run_words(view) if same else phrases.RUN.get(str(held.get("run")), "")
    text = f"{run} {phrases.sentence(verdict_words(view))}"
    blocks = [Block("head", text.strip(), "VERDICT")]
    recorded = held["causes"][0]["id"] if held.get("causes") else None
    if (view.verdict, view.lead) != (held.get("verdict"), recorded):
        was = cause_title(case.rules, recorded) if recorded else "no cause"
        how = "named" if held.get("verdict") == "named" else "likeliest"
        told = f"The record says: {how} was {was}. Judged again with this program it comes out otherwise."
        blocks.append(Block("warn", told, "TAKE CARE"))
    lead = [j for j in view.causes if j.id in view.chain][:2] or list(view.causes[:1])
    reasons = reason_blocks(view, [j for j in lead if j.id != NOTHING_WRONG], _REASONS + whole)
    reasons = [b for b in reasons if b.label != "hangs on" and b.text != phrases.NOTHING_AGAINST]
    blocks += reasons
    hangs = [fact_words(f, case.rules) for f in hangs_on(case, view)]
    if hangs:
        blocks.append(Block("item", phrases.listed(hangs), "hangs on"))
    rival = _runner_up(view)
    return blocks + (rival if whole else rival[:1])


def hangs_on(case: Opened, view: Assessment) -> list[Fact]:
    """The two answers without which the leading cause would lose most."""
    lead = view.lead
    if lead is None or lead == NOTHING_WRONG:
        return []
    facts = case.judged
    drops = []
    for i, fact in enumerate(facts):
        if fact.status == "present" and fact.said != SHOP_BOOK:
            left = assess(facts[:i] + facts[i + 1 :], case.rules, questions=False)
            drops.append((view.belief.marginals[lead] - left.belief.marginals.get(lead, 0.0), -i, fact))
    return [fact for drop, _, fact in sorted(drops, key=lambda d: d[:2], reverse=True)[:2] if drop > HANGS]


def _runner_up(view: Assessment) -> list[Block]:
    """The best rival outside the leading chain, and the one check that would tell them apart."""
    rules = view.known.rules
    rival = next((j for j in view.causes if j.id not in (*view.chain, view.lead, NOTHING_WRONG)), None)
    if rival is None or view.lead is None:
        return []
    blocks = [Block("item", sure_words(rules, rival), "runner-up")]
    check = _separates(view, rival)
    return [*blocks, Block("item", check, "apart by")] if check else blocks


def _separates(view: Assessment, rival: Judged) -> str:
    rules = view.known.rules
    pair = {view.lead, rival.id}
    asked = next((q for q in view.questions if q.between and set(q.between) == pair), None)
    if asked is not None:
        return rules.observables[asked.id].question or ""
    told = [
        other["tell_apart"]
        for one, two in ((view.lead, rival.id), (rival.id, view.lead))
        for other in rules.causes[str(one)].text.get("look_alikes", [])
        if other["cause"] == two
    ]
    if told:
        return str(told[0])
    proof = str(rules.causes[rival.id].text.get("prove_by") or "")
    if proof in rules.observables and view.known.status(proof) is None:
        return f"proves it or clears it: {rules.observables[proof].name}"
    return (rules.observables[view.questions[0].id].question or "") if view.questions else ""


def _named(case: Opened, kind: str) -> list[str]:
    """Ids of the cautions that events of a kind are about, in order."""
    told = [c for e in case.events if e.kind == kind for c in e.data["cautions"]]
    return list(dict.fromkeys(c["id"] if isinstance(c, dict) else c for c in told))


def _cautions(case: Opened, view: Assessment) -> list[Block]:
    """What stopped it, and what stands unshown, in a line each with whether it was acknowledged; the milder
    ones that were shown are counted."""
    rules, shown, read = case.rules, _named(case, "shown"), _named(case, "acknowledged")
    listed = _told_or_standing(case, view)
    blocks: list[Block] = []
    told: list[str] = []
    for key in listed:
        item = rules.cautions[key]
        grave = item["level"] in {"emergency", "stop"}
        if item["level"] == "note" or (key in shown and not grave):
            continue
        told.append(key)
        if key not in shown:
            how = "STANDS TODAY, WAS NOT SHOWN"
        elif key in read:
            how = "shown, acknowledged"
        else:
            how = "shown"
        kind = "stop" if item["level"] in {"emergency", "stop"} else "care"
        blocks.append(
            Block(kind, f"{in_brief(item['text'])} [{how}]", item["level"].upper())
        )
    mild = [rules.cautions[c]["level"] for c in listed if c not in told]
    counted = [(mild.count("warn"), "warning"), (mild.count("note"), "note")]
    left = [f"{n} {word}{'s' if n > 1 else ''}" for n, word in counted if n]
    return [*blocks, Block("text", f"and {phrases.listed(left)}")] if left else blocks


def _recipe(case: Opened) -> list[Block]:
    state = case.state
    if not state.recipe:
        return []
    made = state.recipe
    if made["refused"]:
        blocks = pail_blocks(made, METRIC)
    else:
        display = _UNITS.get(state.opened.get("units") or "metric", METRIC)
        steps = doing(made)
        done = sum(step in state.steps for step in steps)
        pours = display.volume(made.get("add_l") or 0.0)
        name, ends = made["options"][0]["name"], display.strength(made["strength_after"])
        text = f"{name}: {pours} in, to {ends}. {done} of {len(steps)} steps ticked."
        blocks = [Block("head", phrases.sentence(text), "RECIPE")]
    for check in rechecks(case.events, case.words, case.rules):
        blocks.append(Block("head", f"{check.text}{'' if check.held else ': MISSED'}", "RESULT"))
    return blocks


def _signatures(case: Opened) -> list[Block]:
    signed = [event for event in case.events if event.kind == "review"]
    return [Block("head", signature_words(event, case.rules), "SIGNED") for event in signed]
