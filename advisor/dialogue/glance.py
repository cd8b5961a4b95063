"""A verdict and a recipe at a glance: what a tired person needs first, on one screen, in the fixed order.

The rest waits behind a plain word ("more", "why", "steps", "recipe"). A caution never does: what is new
is told whole, and what stops the machine is named again with every verdict.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.answer import next_checks
from advisor.dialogue.blocks import INSTEAD, LIST, TALL, Block, ranked
from advisor.dialogue.following import doing
from advisor.dialogue.screens import (
    after,
    caution_blocks,
    handling_blocks,
    led_by,
    others,
    pail_blocks,
    run_because,
    step_blocks,
    step_row,
    sure_words,
    verdict_blocks,
)
from advisor.inference.assess import Assessment
from advisor.mixing.display import Display

#: A question of at least this many lines is a list.
LONG_LIST = 6
#: Steps named in short after the first.
NEXT_STEPS = 4
#: How soon each part makes room on a small screen; what is not here stays.
_NEVER, _FOR, _NEXT, _ELSE, _MORE_NEVER, _MEANS, _AFTER, _NOTES = 1, 3, 4, 5, 6, 7, 8, 9
_FIRST_PART = re.compile(r"^(.+?[^.\d])(?:[.:;]\s|[.:;]?$)")
_FIRST_SENTENCE = re.compile(r"^(.+?[^.\d][.!])(?:\s|$)")


def in_brief(text: str) -> str:
    """A step's first part, up to its first stop, colon or semicolon."""
    found = _FIRST_PART.match(text)
    return phrases.sentence(found.group(1) if found else text)


def first_sentence(text: str) -> str:
    """A caution's first sentence."""
    found = _FIRST_SENTENCE.match(text)
    return found.group(1) if found else text


def verdict_at_a_glance(
    view: Assessment, cautions: Iterable[Block], fresh: Iterable[str], *, again: bool = False
) -> list[Block]:
    """The verdict in its fixed order, the parts that can wait ranked so that they leave first.

    Args:
        view: the judgement.
        cautions: the blocks of what is new in this turn, shown whole.
        fresh: the ids of those cautions.
        again: another verdict was told before.
    """
    if view.verdict == "outside":
        return verdict_blocks(view, fresh)
    rules, told = view.known.rules, set(fresh)
    why = run_because(view)
    run = " ".join([phrases.RUN[view.run], *why[:1]])
    blocks = [Block("text", phrases.CHANGED, rank=_NEVER)] if again else []
    blocks += [Block("head", run, "CAN IT RUN?"), *(Block("text", text, rank=_MEANS) for text in why[1:])]
    blocks += cautions
    for key in view.cautions:
        if key not in told and rules.cautions[key]["level"] in {"stop", "emergency"}:
            blocks.append(Block("stop", _reminder(rules.cautions[key]), "STILL: STOP"))
    blocks += _what(view) + _what_else(view) + _to_do(view, again)
    blocks += [] if again else ranked(after(view), _AFTER)
    notes = [c for c in view.cautions if c not in told and rules.cautions[c]["level"] == "note"]
    rest = phrases.REST_AND_CAUTIONS if view.cautions else phrases.REST
    return [*blocks, *ranked(caution_blocks(rules, notes), _NOTES), Block("text", rest)]


def _reminder(caution: Mapping[str, Any]) -> str:
    """A caution told before, in its first words and its first step; "cautions" tells it whole."""
    return " ".join([first_sentence(caution["text"]), *caution.get("do_now", [])[:1]])


def _what(view: Assessment) -> list[Block]:
    """What it is and how sure, with the strongest reasons while there is room."""
    blocks = []
    for block in led_by(view):
        if block.kind == "head":
            blocks.append(block)
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
        blocks.append(Block("row", text, "WHAT ELSE" if named else "COULD BE", rank=_ELSE if named else 0))
    checks = next_checks(view)
    if checks and (found or not named):
        text = f"{checks[0]['question']} {'' if named else checks[0]['why']}"
        blocks.append(Block("item", text.strip(), "check", rank=_ELSE if named else 0))
    return blocks


def _to_do(view: Assessment, again: bool) -> list[Block]:
    """What holds until help comes, the first thing to do whole, the next ones in short, what not to do."""
    rules = view.known.rules
    named = view.verdict == "named"
    actions = [a for a in view.actions if named or a != view.hold]
    mine = bool(actions) and rules.actions[actions[0]]["who"] == "operator"
    blocks = []
    if view.hold and view.hold not in actions and not (named and mine):
        blocks.append(Block("head", rules.actions[view.hold]["text"], "UNTIL THEN"))
    if actions:
        kind = "row" if blocks else "head"
        blocks.append(Block(kind, _step(view, actions[0]), "FIRST"))
    urgent = [a for a in actions[1:] if rules.actions[a].get("first")]
    blocks += [Block("row", _step(view, key), "AND") for key in urgent]
    rest = [a for a in actions[1:] if a not in urgent]
    if rest:
        blocks.append(Block("row", _in_turn(view, rest), "THEN", rank=_NEXT))
    never = [n for c in view.chain[:1] for n in rules.causes[c].text.get("never", [])]
    for i, text in enumerate(never[:3]):
        blocks.append(Block("item", text, "not", rank=_MORE_NEVER if i else _NEVER))
    return blocks


def _step(view: Assessment, action: str) -> str:
    item = view.known.rules.actions[action]
    return f"{phrases.WHO[item['who']]}: {item['text']}"


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
    blocks = handling_blocks(view.known.rules, made) + pail_blocks(made, display)
    if made["refused"]:
        return blocks
    blocks += [Block("row", text, "TAKE CARE") for text in made["warnings"]]
    return [*blocks, *step_row(made, doing(made)[0]), Block("text", phrases.BY_STEPS)]


def in_short(view: Assessment, blocks: Iterable[Block]) -> list[Block]:
    """Where a verdict's cautions alone overfill the screen: what matters once more, near the prompt."""
    if not any(b.label == "WHAT IT IS" for b in blocks):
        return []
    rules = view.known.rules
    named = view.verdict == "named" and view.chain
    what = rules.causes[view.chain[0]].plain if named else phrases.UNSETTLED
    stops = [c for c in view.cautions if rules.cautions[c]["level"] in {"emergency", "stop"}]
    mind = " ".join(_reminder(rules.cautions[c]) for c in stops)
    text = " ".join(filter(None, [phrases.RUN[view.run], mind, phrases.sentence(what)]))
    return [Block("head", text, "IN SHORT", rank=TALL)]


def with_question(told: list[Block], question: list[Block]) -> list[Block]:
    """A question behind a verdict: where both do not fit, its long list is told in running text."""
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
