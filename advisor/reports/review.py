"""Saved cases for the supervisor: what needs eyes first, answers changed on trial, and where people and rules
disagree."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.events import Event
from advisor.dialogue.screens import fact_words, run_words
from advisor.inference.assess import Assessment
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase, load
from advisor.reports.cases import Opened
from advisor.reports.eyes import Eyes, eyes
from advisor.reports.path import cause_words, standing_words
from advisor.showing import local_time

#: Cases looked into for the list, the last touched first.
LOOKED_INTO = 300


@dataclass(frozen=True, slots=True)
class Result:
    """What the logbook says came of a recipe: in a line, and whether it is not what was promised."""

    text: str
    missed: bool

    def block(self) -> Block:
        """The line for the screen of its case."""
        return Block("head", self.text, "BY THE LOG")


#: Gives what came of the cases with these numbers, by number.
Results = Callable[[Sequence[int]], Mapping[int, Sequence[Result]]]


def no_results(numbers: Sequence[int]) -> dict[int, list[Result]]:
    """What came of no case at all: where no logbook of readings is asked."""
    return {}


def _listed(store: Any, results: Results) -> list[tuple[Any, Eyes]]:
    """The cases last touched with why each needs eyes, most in need first, the newest first among equals."""
    rules, rows = load(), store.cases(limit=LOOKED_INTO)
    came = results([row.id for row in rows])
    missed = {number: one.text for number, told in came.items() for one in told if one.missed}
    made = [
        (row, eyes(row, store.events(row.id), store.words(row.id), rules, missed.get(row.id, "")))
        for row in rows
    ]
    return sorted(made, key=lambda pair: pair[1].rank)


def in_need(store: Any, results: Results = no_results) -> list[int]:
    """Numbers of the cases that need eyes, most in need first."""
    return [row.id for row, why in _listed(store, results) if why.reasons and why.reasons[0][0] != "signed"]


def list_json(store: Any, results: Results = no_results) -> list[dict[str, Any]]:
    """The list for other programs."""
    keys = ("opened", "sump", "verdict", "lead", "run", "level", "state", "who")
    return [
        {"case": row.id}
        | {key: getattr(row, key) for key in keys}
        | {"reasons": [{"id": name, "text": text} for name, text in why.reasons]}
        for row, why in _listed(store, results)
    ]


def list_blocks(store: Any, results: Results = no_results) -> list[Block]:
    """The list, and how to open one of it."""
    blocks = listed_blocks(store, results)
    return blocks if len(blocks) == 1 else [*blocks, Block("text", 'Open one with "sumpside review NUMBER".')]


def listed_blocks(store: Any, results: Results = no_results) -> list[Block]:
    """The list, most in need of eyes first, each with its reasons."""
    rules, blocks = load(), [Block("head", "what needs eyes first", "SAVED CASES")]
    for row, why in _listed(store, results):
        named = row.verdict == "named" and row.lead in rules.causes
        lead = f", {cause_words(rules, row.lead)}" if named else ""
        state = "" if row.state == "closed" else ", still open"
        said = f"{local_time(row.opened)}  {row.sump or phrases.NO_MACHINE}: "
        blocks.append(Block("item", f"{said}{row.verdict or 'no verdict yet'}{lead}{state}", f"{row.id}"))
        if why.reasons:
            blocks.append(Block("item", "; ".join(text for _, text in why.reasons), "    why"))
    if len(blocks) == 1:
        return [Block("text", 'No case is saved yet. Talk to "sumpside" first.')]
    return blocks


def changed_json(case: Opened, extra: list[Fact]) -> dict[str, Any]:
    """The verdict as recorded and with answers changed, for other programs."""
    from advisor.dialogue.answer import verdict_json

    return {
        "recorded": verdict_json(case.view()),
        "changed": verdict_json(case.tried(extra)),
    }


def changed_blocks(case: Opened, extra: list[Fact]) -> list[Block]:
    """The verdict as it stands beside the verdict with the answers changed; the record is untouched."""
    now, then = case.view(), case.tried(extra)
    said = phrases.listed([fact_words(f, case.rules) for f in extra])
    blocks = [Block("note", f"{said}.", "With"), *_beside("", "AS IT STANDS", "CHANGED")]
    for name, work in (("can run", _run), ("what it is", standing_words), ("first", _first)):
        before, after = work(now), work(then)
        blocks += _beside(name, before, "the same" if before == after else after)
    texts = {c: case.rules.cautions[c]["text"] for c in (*now.cautions, *then.cautions)}
    blocks += [Block("item", texts[c], "new caution") for c in then.cautions if c not in now.cautions]
    blocks += [Block("item", texts[c], "caution gone") for c in now.cautions if c not in then.cautions]
    return [*blocks, Block("text", "Nothing was recorded.")]


def _beside(label: str, left: str, right: str) -> list[Block]:
    """Two texts beside each other, in 79 columns."""
    wide, first = 32, 11
    columns = [textwrap.wrap(text, wide) or [""] for text in (left, right)]
    rows = zip_longest(*columns, fillvalue="")
    names = [label, *[""] * max(map(len, columns))]
    return [
        Block("text", f"{name:<{first}}  {one:<{wide}}  {two}".rstrip())
        for name, (one, two) in zip(names, rows, strict=False)
    ]


def _run(view: Assessment) -> str:
    return run_words(view)


def _first(view: Assessment) -> str:
    return str(view.known.rules.actions[view.actions[0]]["text"]) if view.actions else "nothing to do"


@dataclass(slots=True)
class Disagreement:
    """What the rules said, what people held instead, in which cases and why, and the rules concerned.

    Attributes:
        said: the recorded lead ("" when nothing was named); held: the cause signed instead.
        cases: (case, who, reason) of each; rules: sign -> how often it spoke for what was said.
    """

    said: str
    held: str
    cases: list[tuple[int, str, str]] = field(default_factory=list)
    rules: dict[str, int] = field(default_factory=dict)


def _signed(store: Any) -> Iterator[tuple[int, Event, Event]]:
    """Every standing signature with the verdict it is about."""
    for row in store.cases():
        events = store.events(row.id)
        by_number = {e.number: e for e in events}
        for event in events:
            about = by_number.get(int(event.data.get("verdict") or 0)) if event.kind == "review" else None
            if about is not None:
                yield row.id, event, about


def disagreements(store: Any) -> tuple[list[Disagreement], int]:
    """Where people overruled the rules, the most frequent first, and how many verdicts they agreed with."""
    found: dict[tuple[str, str], Disagreement] = {}
    agreed = 0
    for case, event, about in _signed(store):
        if event.data["agrees"]:
            agreed += 1
            continue
        verdict = about.data["verdict"]
        lead = (verdict.get("causes") or [{}])[0]
        said = str(lead.get("id", "")) if verdict.get("verdict") == "named" else ""
        held = str(event.data.get("cause") or "")
        one = found.setdefault((said, held), Disagreement(said, held))
        one.cases.append((case, event.who, str(event.data.get("reason") or "")))
        for reason in lead.get("for", []):
            one.rules[reason["rule"]] = one.rules.get(reason["rule"], 0) + 1
    return sorted(found.values(), key=lambda d: (-len(d.cases), d.said, d.held)), agreed


def report_json(store: Any) -> dict[str, Any]:
    """The report for other programs."""
    found, agreed = disagreements(store)
    return {
        "agreed": agreed,
        "disagreements": [
            {
                "said": d.said,
                "held": d.held,
                "cases": [{"case": c, "who": w, "reason": r} for c, w, r in d.cases],
                "rules": d.rules,
            }
            for d in found
        ],
    }


def report_blocks(store: Any) -> list[Block]:
    """Where people and rules disagree, with the rules that led there and those that spoke against."""
    rules = load()
    found, agreed = disagreements(store)
    count = sum(len(d.cases) for d in found)
    blocks = [Block("head", f"{count} overruled, {agreed} agreed", "WHERE PEOPLE AND RULES DISAGREE")]
    for one in found:
        said = _name(rules, one.said) if one.said else "nothing was named"
        blocks.append(
            Block("head", f"rules: {said}; people: {_name(rules, one.held)}", f"{len(one.cases)} x")
        )
        blocks += [
            Block("item", f"{reason or 'no reason given'} ({who})", f"case {c}")
            for c, who, reason in one.cases
        ]
        for sign, times in sorted(one.rules.items(), key=lambda pair: -pair[1])[:6]:
            blocks.append(Block("item", f"{_sign_words(rules, sign)} ({times} x)", f"rule {sign}"))
        page = one.said or one.held
        blocks.append(
            Block("item", f'"sumpside rules show {page}", file rules/causes/{page}.yaml', "look at")
        )
    return blocks if found else [*blocks, Block("text", "No verdict was overruled.")]


def _name(rules: RuleBase, cause: str) -> str:
    return cause_words(rules, cause) if cause in rules.causes else cause


def _sign_words(rules: RuleBase, sign: str) -> str:
    cause = rules.causes.get(sign.rpartition(".")[0])
    held = next((s for s in cause.signs if s.id == sign), None) if cause else None
    return held.because if held else "no longer in the rules"
