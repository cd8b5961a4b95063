"""Past cases judged again on today's rules: which of them come out differently.

A verdict is a pure function of the facts that stood when it was given and of the rules, so a change of
the rules can be judged before it is kept. Cases told the same share a judgement, and the work is shared
among processes.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import SHOP_BOOK, fold
from advisor.dialogue.events import Event, standing
from advisor.dialogue.recipes import recipe
from advisor.inference.assess import Assessment, assess
from advisor.inference.program import program
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase, load
from advisor.mixing.display import IMPERIAL, METRIC, US, Display
from advisor.reports.cases import heard, ruled
from advisor.reports.path import cause_words

#: Cases handed to a process at a time, and how many make a second process worth starting.
CHUNK, WORTH = 50, 150
_BAR = 24
_UNITS = {"metric": METRIC, "us": US, "imperial": IMPERIAL}


@dataclass(frozen=True, slots=True)
class Past:
    """What one case was judged on, and what came out."""

    case: int
    facts: tuple[Fact, ...]
    units: str
    aim: float | None
    rules: str
    outcome: Mapping[str, Any]
    carried: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """What one case says today that it did not say then: field -> (then, now)."""

    case: int
    fields: Mapping[str, tuple[Any, Any]]


def past(case: int, events: Sequence[Event]) -> Past | None:
    """The last verdict of a case with the facts it stood on; None when there is none."""
    held = standing(events)
    verdict = next((e for e in reversed(held) if e.kind == "verdict"), None)
    if verdict is None:
        return None
    before = [e for e in events if e.number < verdict.number]
    state = fold(before)
    copies = [event.data.get("copy") or {} for event in standing(before) if event.kind == "said"]
    entered = next((c["sump"]["aim"] for c in reversed(copies) if (c.get("sump") or {}).get("aim")), None)
    return Past(
        case,
        tuple(ruled(state.facts)),
        str(state.opened.get("units") or "metric"),
        _aim(state.facts, entered),
        verdict.data["rules"],
        outcome(verdict.data["verdict"]),
        tuple(c for _, c in state.carried),
    )


def _aim(facts: Sequence[Fact], entered: float | None) -> float | None:
    """The single strength aimed for: as said, where the shop's window holds it, else as entered."""
    window = next((f.value for f in facts if f.id == "target" and f.said == SHOP_BOOK), None)
    told = [f.value for f in facts if f.id == "target" and f.said != SHOP_BOOK]
    said = [value for value in told if isinstance(value, float)]
    if said and isinstance(window, tuple) and (window[0] or 0) <= said[-1] <= (window[1] or 1):
        return said[-1]
    return float(entered) if entered else None


def outcome(whole: Mapping[str, Any]) -> dict[str, Any]:
    """The parts of a verdict that a person would act on: verdict, cautions (notes left out), recipe."""
    causes = whole.get("causes") or []
    lead = causes[0]["id"] if causes else None
    cautions = sorted(c["id"] for c in whole.get("cautions", []) if c["level"] != "note")
    recipes = [a["recipe"] for a in whole.get("actions", []) if a.get("recipe")]
    return {
        "verdict": [
            whole.get("verdict"),
            lead if whole.get("verdict") == "named" else None,
            whole.get("run"),
        ],
        "cautions": cautions,
        "recipe": _recipe(recipes[0]) if recipes else None,
    }


def outcome_of(view: Assessment, show: Display = METRIC, aim: float | None = None) -> dict[str, Any]:
    """The same parts straight from a judgement, without the prose of a whole verdict."""
    rules = view.known.rules
    kind = next((rules.actions[a]["recipe"] for a in view.actions if "recipe" in rules.actions[a]), None)
    made = recipe(view, kind, show, aim) if kind else None
    return {
        "verdict": [view.verdict, view.lead if view.verdict == "named" else None, view.run],
        "cautions": sorted(c for c in view.cautions if rules.cautions[c]["level"] != "note"),
        "recipe": _recipe(made.as_json()) if made else None,
    }


def _recipe(made: Mapping[str, Any]) -> list[Any] | None:
    """A recipe's figures to a tenth of a litre and a tenth of a point."""
    first = (made.get("options") or [None])[0]
    if made.get("refused") or not first:
        return None
    return [
        first["name"],
        round(first["remove_l"] or 0.0, 1),
        round(first["add_l"] or 0.0, 1),
        round(first["mix_strength"] or 0.0, 3),
    ]


def judge_again(then: Past, rules: RuleBase) -> Change | None:
    """What changes when the case is judged on these rules, None when nothing does."""
    return _change(then, judged_now(then, rules))


def judged_now(then: Past, rules: RuleBase) -> dict[str, Any]:
    """What these rules make of the case.

    A fact whose id the rules no longer know is left out, as the conversation would not hear it either.
    The plain matcher fires the same rules as durable-rules (tests compare them) in a tenth of the time.
    """
    facts = [f for f in then.facts if heard(f, rules)]
    view = assess(facts, rules, questions=False, prog=program(rules, "plain"), carried=then.carried)
    return outcome_of(view, _UNITS.get(then.units, METRIC), then.aim)


def _change(then: Past, now: Mapping[str, Any]) -> Change | None:
    fields = {key: (then.outcome[key], now[key]) for key in now if then.outcome[key] != now[key]}
    return Change(then.case, fields) if fields else None


def alike(cases: Iterable[Past]) -> list[list[Past]]:
    """Cases that were told the same in the same order, together: they share a judgement."""
    found: dict[Hashable, list[Past]] = {}
    for case in cases:
        found.setdefault(_told(case), []).append(case)
    return list(found.values())


def _told(case: Past) -> Hashable:
    """What a case is judged on: its facts and which came later, but not when or in whose words."""
    order = {number: i for i, number in enumerate(sorted({f.event or 0 for f in case.facts}))}
    facts = tuple(
        (f.id, f.value, f.unit, f.status, f.firm, f.said, f.parents, order[f.event or 0]) for f in case.facts
    )
    return facts, case.units, case.aim, case.carried


def rejudge(
    cases: Sequence[Past],
    progress: Callable[[int, int], None] = lambda done, changed: None,
    *,
    processes: int | None = None,
) -> list[Change]:
    """The cases that come out differently on today's rules, in order of their number.

    Args:
        cases: what is to be judged again.
        progress: told after each portion how many are done and how many have changed.
        processes: how many to share the work among; None: one for each core.
    """
    groups = alike(cases)
    chunks = [groups[i : i + CHUNK] for i in range(0, len(groups), CHUNK)]
    count = min(processes or os.cpu_count() or 1, len(chunks)) if len(cases) >= WORTH else 1
    found: list[Change] = []
    done = 0
    for chunk, changes in zip(chunks, _results(chunks, count), strict=True):
        found += changes
        done += sum(map(len, chunk))
        progress(done, len(found))
    return sorted(found, key=lambda change: change.case)


def _results(chunks: Sequence[list[list[Past]]], count: int) -> Iterator[list[Change]]:
    if count < 2:
        yield from map(_portion, chunks)
        return
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # A fresh process, not a copy of this one: a copy may hold locks of threads that it does not have.
    with ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_ready) as pool:
        yield from pool.map(_portion, chunks)


def _ready() -> None:
    """In a process of its own: load the rules once, and search for garbage between portions only."""
    program(load(), "plain")
    gc.disable()
    gc.freeze()


def _portion(groups: list[list[Past]]) -> list[Change]:
    rules = load()
    found = []
    for group in groups:
        now = judged_now(group[0], rules)
        found += [change for case in group if (change := _change(case, now))]
    if not gc.isenabled():
        gc.collect()
    return found


def bar(done: int, whole: int, changed: int, seconds: float) -> str:
    """How far it is, in at most 78 columns: a bar, the count, what differs, and the time that is left."""
    full = _BAR * done // max(1, whole)
    left = seconds * (whole - done) / max(1, done)
    ending = f"about {left:.0f} s left" if done < whole else f"{seconds:.0f} s"
    drawn = "#" * full + "." * (_BAR - full)
    return f"[{drawn}] {done} of {whole}, {changed} differ, {ending}"


def change_json(change: Change) -> dict[str, Any]:
    """One change for other programs."""
    return {"case": change.case} | {
        key: {"then": then, "now": now} for key, (then, now) in change.fields.items()
    }


def changed_blocks(found: Sequence[Change], judged: int) -> list[Block]:
    """The cases that come out differently, then and now."""
    rules = load()
    head = f"{len(found)} of {judged} cases come out differently on rule base {rules.hash}"
    blocks = [Block("head", head, "JUDGED AGAIN")]
    for change in found:
        for i, (key, (then, now)) in enumerate(change.fields.items()):
            label = f"{change.case}" if i == 0 else " " * len(f"{change.case}")
            blocks.append(Block("item", f"{key}: {_words(rules, key, then, now)}", label))
    if found:
        blocks.append(Block("text", 'Open one with "sumpside review NUMBER", and with --today besides.'))
    return blocks


def _words(rules: RuleBase, key: str, then: Any, now: Any) -> str:
    if key == "cautions":
        fresh = [f"new: {c.replace('_', ' ')}" for c in now if c not in then]
        gone = [f"no longer: {c.replace('_', ' ')}" for c in then if c not in now]
        return "; ".join([*fresh, *gone])
    if key == "recipe":
        return f"{_recipe_words(then)} -> {_recipe_words(now)}"
    return f"{_verdict_words(rules, then)} -> {_verdict_words(rules, now)}"


def _verdict_words(rules: RuleBase, parts: Sequence[Any]) -> str:
    kind, lead, run = parts
    named = cause_words(rules, lead) if lead in rules.causes else str(lead or kind)
    return f"{named} ({phrases.RUN.get(str(run), str(run)).rstrip('.').lower()})"


def _recipe_words(made: Sequence[Any] | None) -> str:
    if not made:
        return "no recipe"
    name, out, add, mix = made
    return f"{name}: {out:g} L out, {add:g} L in at {100 * mix:g} %"
