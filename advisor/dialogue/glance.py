"""A verdict and a recipe at a glance: what a tired person needs first, on one screen, in the fixed order.

The rest waits behind a plain word ("more", "why", "steps", "recipe"). A caution never does: what is new
is told whole, and what stops the machine is named again with every verdict.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.answer import next_checks
from advisor.dialogue.blocks import DETAIL, INSTEAD, LIST, SHORTENED, TALL, Block, ranked
from advisor.dialogue.following import doing
from advisor.dialogue.recipe_screens import handling_blocks, pail_blocks, step_row
from advisor.dialogue.screens import (
    actions_listed,
    after,
    caution_blocks,
    led_by,
    others,
    run_because,
    run_words,
    step_blocks,
    sure_words,
    verdict_blocks,
)
from advisor.dialogue.shortening import first_sentence, in_brief, in_briefest
from advisor.inference.assess import Assessment
from advisor.inference.evidence import NOTHING_WRONG
from advisor.knowledge.rulebase import RuleBase
from advisor.mixing.display import Display

#: Notes about the work of mixing: told with a recipe and its steps, where they are of use.
WITH_RECIPE = frozenset({"neat_concentrate_handling", "lifting_pails"})
#: A question of at least this many lines is a list.
LONG_LIST = 6
#: A step of how to look that forbids something is about safety, and stays.
_FORBIDS = re.compile(r"\b(?:never|do not|no)\b", re.IGNORECASE)
#: How soon the steps of how to look make room for a stop told for the first time.
LOOK_RANK = 6
#: Steps named in short after the first.
NEXT_STEPS = 4
#: How soon each part makes room on a small screen; what is not here stays.
_NEVER, _FOR, _NEXT, _ELSE, _MORE_NEVER, _MEANS, _AFTER, _NOTES = 2, 4, 5, 6, 7, 8, 9, 10
#: A first sentence shorter than this says too little by itself; the next one goes with it.
_BARE = 50


def in_two_forms(rules: RuleBase, cautions: Iterable[str]) -> list[Block]:
    """New cautions whole, each with the short form it takes where the screen holds no more.

    An emergency has none: it is always told whole.
    """
    blocks: list[Block] = []
    shorter = False
    for key in cautions:
        item = rules.cautions[key]
        first, *rest = caution_blocks(rules, [key])
        if item["level"] == "emergency":
            blocks += [first, *rest]
            continue
        shorter = True
        short = _reminder(item), first_sentence(item["text"])
        whole = len(" ".join([item["text"], *item.get("do_now", [])]))
        briefs = tuple(text for text in short if len(text) < whole) or short[-1:]
        blocks += [replace(first, briefs=briefs), *ranked(rest, DETAIL)]
    return [*blocks, Block("text", phrases.SHORTENED, rank=SHORTENED)] if shorter else blocks


def verdict_at_a_glance(
    view: Assessment,
    cautions: Iterable[Block],
    fresh: Iterable[str],
    *,
    before: Mapping[str, Any] | None = None,
) -> list[Block]:
    """The verdict in its fixed order, the parts that can wait ranked so that they leave first.

    Args:
        view: the judgement.
        cautions: the blocks of what is new in this turn, shown whole.
        fresh: the ids of those cautions.
        before: the verdict told before this one, None for the first.
    """
    rules, told, again = view.known.rules, set(fresh), before is not None
    grave = [c for c in view.cautions if rules.cautions[c]["level"] in {"stop", "emergency"}]
    dangers = [block for block in cautions if block.rank != SHORTENED]  # the last line says it
    for key in grave:
        if key not in told:
            told_before = Block("stop", _reminder(rules.cautions[key]), "STILL: STOP")
            dangers.append(_brief(told_before, first_sentence(rules.cautions[key]["text"])))
    if view.verdict == "outside":
        notes = [c for c in view.cautions if rules.cautions[c]["level"] == "note"]
        return dangers + verdict_blocks(view, {*view.cautions} - {*notes})
    why = run_because(view, {*told, *grave})
    run = " ".join([run_words(view), *why[:1]])
    short = " ".join([run_words(view), *map(first_sentence, why[:1])])
    blocks = [Block("text", phrases.CHANGED, rank=_NEVER)] if again else []
    blocks.append(_brief(Block("head", run, "CAN IT RUN?"), short, run_words(view)))
    blocks += [Block("text", text, rank=_MEANS) for text in why[1:]]
    blocks += dangers + _what(view) + _what_else(view) + _to_do(view, again)
    blocks += [] if again else ranked(after(view), _AFTER)
    told |= {c["id"] for c in (before or {}).get("cautions", ())}
    told |= WITH_RECIPE
    notes = [c for c in view.cautions if c not in told and rules.cautions[c]["level"] == "note"]
    rest, short = phrases.RESTS[bool(actions_listed(view)), bool(view.cautions)]
    return [*blocks, *ranked(caution_blocks(rules, notes), _NOTES), _brief(Block("text", rest), short)]


def _reminder(caution: Mapping[str, Any]) -> str:
    """A caution in its first words and its first step; "cautions" tells it whole."""
    first = first_sentence(caution["text"])
    told = [first, *caution.get("do_now", [])[:1]]
    if len(told) == 1 and len(first) < _BARE:
        told += [first_sentence(caution["text"][len(first) :].strip())]
    return " ".join(filter(None, told))


def _what(view: Assessment) -> list[Block]:
    """What it is and how sure, with the strongest reasons while there is room."""
    blocks = []
    for block in led_by(view):
        if block.kind == "head":
            blocks.append(_brief(block, first_sentence(block.text)))
        elif block.label == "-" or (block.label == "for" and not any(b.label == "for" for b in blocks)):
            blocks += ranked([block], _FOR)  # "-": the reading times its factor, and the window
        else:
            blocks += ranked([block], _MEANS)
    return blocks


def _what_else(view: Assessment) -> list[Block]:
    rules, named = view.known.rules, view.verdict == "named"
    found = others(view)
    blocks = []
    if found:
        told = [
            phrases.lower_first(rules.causes[j.id].plain.rstrip(".") + sure_words(view, j)) for j in found
        ]
        text = phrases.sentence("; ".join(told[: 2 if named else 3]))
        row = Block("row", text, "WHAT ELSE" if named else "COULD BE", rank=_ELSE if named else 0)
        blocks.append(_brief(row, phrases.sentence(told[0])))
    checks = next_checks(view)
    if checks and (found or not named):
        text = f"{checks[0]['question']} {'' if named else checks[0]['why']}".strip()
        check = Block("item", text, "check", rank=_ELSE if named else 0)
        blocks.append(_brief(check, str(checks[0]["question"])))
    return blocks


def _to_do(view: Assessment, again: bool) -> list[Block]:
    """What holds until help comes, the first thing to do whole, the next ones in short, what not to do."""
    rules = view.known.rules
    named = view.verdict == "named"
    actions = [a for a in view.actions if named or a != view.hold]
    mine = bool(actions) and rules.actions[actions[0]]["who"] == "operator"
    blocks = []
    if view.hold and view.hold not in actions and not (named and mine):
        holds = rules.actions[view.hold]["text"]
        blocks.append(_brief(Block("head", holds, "UNTIL THEN"), in_brief(holds)))
    if actions:
        kind = "row" if blocks else "head"
        blocks.append(_step_block(view, actions[0], kind, "FIRST"))
    urgent = [a for a in actions[1:] if rules.actions[a].get("first")]
    blocks += [_step_block(view, key, "row", "AND") for key in urgent]
    rest = [a for a in actions[1:] if a not in urgent]
    if rest:
        blocks.append(Block("row", _in_turn(view, rest), "THEN", rank=_NEXT))
    never = [n for c in view.chain[:1] for n in rules.causes[c].text.get("never", [])]
    for i, text in enumerate(never[:3]):
        blocks.append(Block("item", text, "not", rank=_MORE_NEVER if i else _NEVER))
    return blocks


def _step(view: Assessment, action: str, told: Callable[[str], str] = str) -> str:
    item = view.known.rules.actions[action]
    return f"{phrases.WHO[item['who']]}: {told(item['text'])}"


def _step_block(view: Assessment, action: str, kind: str, label: str) -> Block:
    """A step told whole, with its first part and the very first of it for where room is short."""
    block = Block(kind, _step(view, action), label)
    return _brief(block, _step(view, action, in_brief), _step(view, action, in_briefest))


def _brief(block: Block, *texts: str) -> Block:
    """The block with its short forms, the last of them also where none is shorter: its details then go."""
    return replace(block, briefs=tuple(t for t in texts if len(t) < len(block.text)) or texts[-1:])


def _in_turn(view: Assessment, actions: list[str]) -> str:
    """The next steps, each in its first words, the person named when that changes."""
    told, who = [], ""
    for key in actions[:NEXT_STEPS]:
        item = view.known.rules.actions[key]
        name = phrases.WHO[item["who"]]
        told.append((f"{name}: " if name != who else "") + in_brief(item["text"]))
        who = name
    left = len(actions) - NEXT_STEPS
    return " ".join(told) + (phrases.STEPS_LEFT.format(left=left) if left > 0 else "")


def recipe_at_a_glance(view: Assessment, made: Mapping[str, Any], display: Display) -> list[Block]:
    """A recipe in its pails, what it leads to, what to mind, and the first step."""
    mind = [_brief(b, first_sentence(b.text)) for b in handling_blocks(view.known.rules, made)]
    blocks = mind + pail_blocks(made, display)
    if made["refused"]:
        return blocks
    blocks += [_brief(Block("row", text, "TAKE CARE"), in_brief(text)) for text in made["warnings"]]
    return [
        *blocks,
        *(_brief(b, in_brief(b.text)) for b in step_row(made, doing(made)[0])),
        _brief(Block("text", phrases.BY_STEPS), phrases.BY_STEPS_SHORT),
    ]


def with_recipe(told: list[Block], recipe: list[Block]) -> list[Block]:
    """A recipe behind its verdict: what the recipe's own steps say again leaves first where room is short."""
    given = any(b.label == "expect" for b in recipe)  # one that is taken back says nothing of what to do
    if not given or not any(b.label == "WHAT IT IS" for b in told):
        return told + recipe
    again = {"UNTIL THEN": _NEXT, "FIRST": _ELSE}
    short = [replace(b, rank=max(b.rank, again[b.label])) if b.label in again else b for b in told]
    rest = {whole for whole, _ in phrases.RESTS.values()}
    return [replace(b, rank=_MEANS) if b.text in rest else b for b in short] + recipe


def in_short(view: Assessment, blocks: Iterable[Block]) -> list[Block]:
    """Where a verdict overfills the screen even in short: can it run, what it is, and the first thing to
    do once more, near the prompt."""
    if not any(b.label == "WHAT IT IS" for b in blocks):
        return []
    rules = view.known.rules
    named = view.verdict == "named" and view.chain
    what = rules.causes[view.chain[0]].plain if named else phrases.UNSETTLED
    if view.chain[:1] == (NOTHING_WRONG,):
        what = phrases.NOTHING_WRONG_FOUND
    first = [view.hold, *view.actions] if view.verdict != "named" else [*view.actions]
    told = [phrases.FIRST.format(step=in_briefest(rules.actions[a]["text"])) for a in first if a]
    text = " ".join([run_words(view), phrases.sentence(what), *told[:1]])
    return [Block("head", text, "IN SHORT", rank=TALL)]


def with_question(told: list[Block], question: list[Block]) -> list[Block]:
    """A question behind what is told: where both do not fit, its long list is told in running text, how to
    look in the first part of each step behind a verdict, and not at all behind the steps of a new stop."""
    steps = [b for b in question if b.kind == "item" and b.label.endswith(".")]
    if any(b.label == "STOP" for b in told) and not any(_FORBIDS.search(b.text) for b in steps):
        question = [replace(b, rank=LOOK_RANK) if b in steps else b for b in question]
    elif any(b.label == "WHAT IT IS" for b in told):
        question = [_looked(block) for block in question]
    if len(question) < LONG_LIST or not any(b.label == "WHAT IT IS" for b in told):
        return told + question
    listed = [b for b in question if b.kind == "item"]
    running = "; ".join(f"{b.label} {b.text.rstrip('.')}" for b in listed)
    blocks: list[Block] = []
    for block in question:
        if block in listed:
            blocks.append(ranked([block], LIST)[0])
            if block is listed[-1]:
                blocks.append(Block("text", f"{running}.", rank=INSTEAD))
        else:
            blocks.append(block)
    return told + blocks


def _looked(block: Block) -> Block:
    """A step of how to look, with its first part for where room is short."""
    step = block.kind == "item" and block.label.endswith(".") and not block.briefs
    return _brief(block, in_brief(block.text)) if step else block


def in_parts(view: Assessment) -> list[tuple[str, list[Block]]]:
    """The whole verdict in parts of about a screen, each with the words that announce it."""
    rules = view.known.rules
    reasons = led_by(view)
    checks = [b for b in verdict_blocks(view, view.cautions) if b.label in {"COULD BE", "WHAT ELSE", "check"}]
    notes = [c for c in view.cautions if rules.cautions[c]["level"] == "note"]
    prevent = [p for c in view.chain[:1] for p in rules.causes[c].text.get("prevent", [])]
    stays = [Block("head", "", "SO THAT IT STAYS AWAY"), *(Block("item", text, "-") for text in prevent)]
    parts = [
        (phrases.PART_WHY, reasons + checks),
        (phrases.PART_STEPS, step_blocks(view)),
        (phrases.PART_AFTER, after(view) + caution_blocks(rules, notes) + (stays if prevent else [])),
    ]
    return [(name, blocks) for name, blocks in parts if blocks]
