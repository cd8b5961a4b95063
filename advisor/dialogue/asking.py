"""How a question is put, and the answers that need no reading: a number picked, the safety question."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from difflib import get_close_matches

from advisor.dialogue import phrases, policy
from advisor.dialogue.blocks import Block
from advisor.dialogue.shop import Shop
from advisor.dialogue.understanding import Understood
from advisor.errors import BadQuantity
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import Observable, RuleBase
from advisor.quantities import EXAMPLE, parse, show

#: What a plain "no" to the safety question rules out.
SAFE_MEANS = ("skin", "breathing", "eyes_nose", "injury", "danger_now")
#: What answers the safety question besides a plain no.
ABOUT_PEOPLE = {*SAFE_MEANS, "hazard_context", "people_affected", "symptom_pattern", "mist_seen"}
#: Words of a plain "no": every word of the line is one of these, and it opens with one that says so.
_OPENS = {"no", "nope", "nah", "none", "nobody", "noone", "nothing", "negative", "nein", "keiner", "nichts"}
_ALL_FINE = {"all", "everyone", "everybody", "fine", "ok", "okay", "good", "alles", "alle"}
_REST = {
    *_OPENS, *_ALL_FINE, "one", "body", "is", "are", "was", "we", "we're", "were", "well", "ill", "sick",
    "hurt", "unwell", "complaining", "complaints", "complained", "here", "there", "near", "it", "that", "i",
    "know", "of", "not", "far", "as", "so", "at", "the", "moment", "today", "thing", "things", "has", "any",
    "and", "trouble", "problem", "problems", "safe", "thanks", "thank", "you", "mate", "gut", "in", "ordnung",
}  # fmt: skip
_DANGERS = {
    "fire",
    "smoke",
    "fumes",
    "pit",
    "air",
    "stinging",
    "rash",
    "cough",
    "skin",
    "eyes",
    "chest",
    "or",
}
_PEOPLE = {"nobody", "noone", "everyone", "everybody", "one", "hurt", "ill", "keiner"}
_LONG_NO = ("nobody", "nothing", "everyone", "everybody", "negative")
_NO_ANSWER = (["ok"], ["okay"], ["k"], ["all"], ["everyone"], ["everybody"], ["alle"], ["alles"], ["good"])
_PLACES = {"pit", "fire", "smoke", "fumes", "air", "stinging"}
_ILLS = {"rash", "cough", "skin", "eyes", "chest", "hurt", "ill", "sick", "unwell"}
_THEY = {"they", "they're", "theyre", "both", "we're"}
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
    blocks = [Block("ask", item.question or phrases.WHAT_IS.format(name=item.name))]
    if item.look and not again:
        blocks += [Block("item", step, f"{i}.") for i, step in enumerate(item.look, 1)]
    if item.kind == "quantity":
        example = item.example or EXAMPLE.get(item.unit or "1", "").removeprefix("a plain number, such as ")
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


def answer_by_yes_or_no(rules: RuleBase, expecting: str | None, text: str) -> Understood | None:
    """The fact a plain yes or no stands for, where the question has such answers."""
    item = rules.observables.get(expecting or "")
    if item is None:
        return None
    answer = item.yes if plain_yes(text) else item.no if plain_no(text) else None
    return Understood(facts=(Fact(item.id, answer, None, said=text),)) if answer else None


def plain_no(text: str) -> bool:
    """True for a line that says no, or that all is well, and nothing else."""
    if any(c.isdigit() for c in text):
        return False  # "no, it was 5 %" corrects a number
    words = [_meant(word) for word in re.findall(r"[a-z']+", text.lower())]
    if words in _NO_ANSWER:  # heard, perhaps, but no answer to a question about danger
        return False
    if {*words} & _PLACES and not {*words} & _ILLS:  # "nobody is in the pit" says nothing about sore skin
        return False
    says = bool(words) and (words[0] in _OPENS | _ALL_FINE or (words[0] in _THEY and words[-1] in _ALL_FINE))
    if {*words} & _PEOPLE:  # "no fire no smoke nobody hurt" denies the dangers it names
        return says and set(words) <= _REST | _THEY | _DANGERS
    return says and set(words) <= _REST | _THEY


def _meant(word: str) -> str:
    """A long word of a plain no with one slip in it ("nobdy"); every other word as it is."""
    if len(word) < 5 or word in _REST:
        return word
    return next(iter(get_close_matches(word, _LONG_NO, n=1, cutoff=0.8)), word)


def safety_facts(rules: RuleBase, text: str, told: Sequence[Fact] = ()) -> list[Fact] | None:
    """What a plain "no" to the safety question rules out; None when the line says more than that.

    It says that there is nothing more, not that what was `told` before is not so.
    """
    if not plain_no(text):
        return None
    kept = {f.id for f in told if f.status == "present"}
    clear = [key for key in SAFE_MEANS if key in rules.observables and key not in kept]
    return [Fact(key, None, None, "ruled_out", said=text) for key in clear]


def plain_yes(text: str) -> bool:
    """True for a bare yes, which to the safety question is not an answer yet."""
    return bool(_YES.match(text.strip()))


def why_unusable(rules: RuleBase, expecting: str, text: str) -> str:
    """What was wrong with an answer that could not be used, and what would be right."""
    if expecting == policy.SAFETY:
        return phrases.SAFETY_PLAIN
    item = rules.observables.get(expecting)
    if item is None or item.kind != "quantity":
        return phrases.NOT_AN_ANSWER.format(said=text[:60])
    if plain_no(text) or plain_yes(text):
        return phrases.NUMBER_WANTED
    try:
        parsed = parse(text, item.unit or "1")
    except BadQuantity as trouble:
        general = EXAMPLE.get(item.unit or "1", "")
        return trouble.sentence().replace(general, item.example) if item.example else trouble.sentence()
    low, high = item.limits or (parsed.value, parsed.value)
    if low <= parsed.value <= high:
        return phrases.NOT_AN_ANSWER.format(said=text[:60])
    unit = item.unit or "1"
    span = f"{show(low, unit)} to {show(high, unit)}"
    return phrases.OUTSIDE_LIMITS.format(value=show(parsed.value, unit), span=span)


def answers(got: Understood, expecting: str | None) -> bool:
    """Whether what was understood answers the open question."""
    if expecting in (None, policy.COMPLAINT):
        return True
    wanted = ABOUT_PEOPLE if expecting == policy.SAFETY else {expecting}
    return any(f.id in wanted for f in got.facts)


def uncrossed(got: Understood, expecting: str | None) -> Understood:
    """What was understood, less an answer to the open question read out of a correction of another."""
    corrected = {*got.corrections}
    if expecting is None or not corrected or expecting in corrected or len(got.facts) < 2:
        return got
    return replace(got, facts=tuple(f for f in got.facts if f.id != expecting))
