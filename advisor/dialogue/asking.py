"""How a question is put, and the answers that need no reading: a number picked, the safety question."""

from __future__ import annotations

import re

from advisor.dialogue import phrases, policy
from advisor.dialogue.screens import Block
from advisor.dialogue.shop import Shop
from advisor.dialogue.understanding import Understood
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import Observable, RuleBase
from advisor.quantities import EXAMPLE

#: What a plain "no" to the safety question rules out.
SAFE_MEANS = ("skin", "breathing", "eyes_nose", "injury", "danger_now")
_NO = re.compile(
    r"^(no|nope|nah|none|nobody|no one|noone|nothing|negative|all (ok|fine|good|well)|everyone is (ok|fine)|"
    r"nein|keiner|nichts)\b[\s.!,]*(not that i know( of)?|all (ok|fine|good)|one|body|thing)?[\s.!]*$",
    re.I,
)
_YES = re.compile(r"^(y|yes|yeah|yep|ja)[\s.!]*$", re.I)


def question_blocks(rules: RuleBase, move: policy.Move, shop: Shop, *, again: bool = False) -> list[Block]:
    """A question: how to look (first time), the question, the answers offered."""
    target = move.target or policy.COMPLAINT
    if target == policy.COMPLAINT:
        return [Block("ask", phrases.WHAT_DO_YOU_SEE)]
    if target == policy.SUMP:
        names = [*shop.sumps]
        return [Block("ask", phrases.WHICH_SUMP), Block("answers", _numbered([*names, "another one"]))]
    if target == policy.SAFETY:
        return [Block("ask", phrases.SAFETY_QUESTION)]
    item = rules.observables[target]
    blocks: list[Block] = []
    if item.look and not again:
        blocks += [Block("item", step, f"{i}") for i, step in enumerate(item.look, 1)]
    blocks.append(Block("ask", item.question or f"What is the {item.name}?"))
    if item.kind == "quantity":
        unit = item.unit or "1"
        example = EXAMPLE.get(unit, "")
        blocks.append(Block("answers", f"a number{f', such as {example}' if example else ''}; or don't know"))
    else:
        blocks.append(Block("answers", _numbered(_offers(item))))
    return blocks


def _offers(item: Observable) -> list[str]:
    means = [item.answers[a]["means"] for a in item.offered()]
    return means if _has_normal(item) else [*means, "none of these"]


def _has_normal(item: Observable) -> bool:
    """True when one of the answers is the normal state, so that "none of these" would say nothing."""
    return item.kind == "one_of" and any("base" not in a for a in item.answers.values())


def _numbered(items: list[str]) -> str:
    return "   ".join(f"{i} {text}" for i, text in enumerate(items, 1))


def answer_by_number(rules: RuleBase, expecting: str | None, text: str) -> Understood | None:
    """The facts of "2", or "1 and 3", typed to a question whose answers were numbered."""
    if expecting not in rules.observables or not re.fullmatch(r"\d+([\s,;+&]+(and\s+)?\d+)*", text.strip()):
        return None
    item = rules.observables[expecting]
    if item.kind == "quantity":
        return None
    offered = item.offered()
    picks = [int(p) for p in re.findall(r"\d+", text)]
    last = len(offered) + (0 if _has_normal(item) else 1)
    if any(not 1 <= p <= last for p in picks):
        return None
    if picks == [len(offered) + 1]:
        return Understood(facts=(Fact(item.id, None, None, "ruled_out", said=text),))
    facts = tuple(Fact(item.id, offered[p - 1], None, said=text) for p in picks if p <= len(offered))
    return Understood(facts=facts if item.kind == "any_of" else facts[:1])


def safety_facts(rules: RuleBase, text: str) -> list[Fact] | None:
    """What a plain "no" to the safety question rules out; None when the line says more than that."""
    if not _NO.match(text.strip()):
        return None
    return [Fact(key, None, None, "ruled_out", said=text) for key in SAFE_MEANS if key in rules.observables]


def plain_yes(text: str) -> bool:
    """True for a bare yes, which to the safety question is not an answer yet."""
    return bool(_YES.match(text.strip()))
