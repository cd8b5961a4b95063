"""Saved cases for the supervisor: what needs eyes, one case in one screen, an answer changed on trial."""

from __future__ import annotations

from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import SHOP_BOOK
from advisor.dialogue.given import given_facts
from advisor.dialogue.screens import caution_blocks, fact_words, reason_blocks, recipe_blocks
from advisor.errors import BadInput
from advisor.inference.assess import Assessment
from advisor.inference.evidence import NOTHING_WRONG
from advisor.knowledge.facts import Fact
from advisor.knowledge.loader import nearest
from advisor.mixing.display import IMPERIAL, METRIC, US
from advisor.reports.cases import Opened
from advisor.reports.path import standing_words

_LEVEL = {"emergency": 0, "stop": 1, "warn": 3, "note": 4, "": 5}
_UNITS = {"metric": METRIC, "us": US, "imperial": IMPERIAL}


def _sorted(store: Any) -> list[Any]:
    """What needs eyes first: stops, then verdicts not settled, then the rest, the newest first."""
    unsettled = {"unsettled": 2}
    rows = sorted(store.cases(), key=lambda r: r.touched, reverse=True)
    return sorted(rows, key=lambda r: min(_LEVEL.get(r.level, 5), unsettled.get(r.verdict, 5)))


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
    }


def changed_json(case: Opened, extra: list[Fact]) -> dict[str, Any]:
    """The verdict as recorded and with answers changed, for other programs."""
    from advisor.dialogue.answer import verdict_json

    return {
        "recorded": verdict_json(case.view()),
        "changed": verdict_json(case.view([*case.state.facts, *extra])),
    }


def list_json(store: Any) -> list[dict[str, Any]]:
    """The list for other programs."""
    return [
        {
            "case": r.id,
            "opened": r.opened,
            "sump": r.sump,
            "verdict": r.verdict,
            "lead": r.lead,
            "run": r.run,
            "level": r.level,
            "state": r.state,
            "who": r.who,
        }
        for r in _sorted(store)
    ]


def list_blocks(store: Any) -> list[Block]:
    """The list, most in need of eyes first."""
    from advisor.knowledge.rulebase import load

    rules, blocks = load(), [Block("head", "what needs eyes first", "SAVED CASES")]
    for row in _sorted(store):
        cause = rules.causes.get(row.lead)
        lead = (
            ""
            if cause is None or row.verdict != "named"
            else f", {phrases.lower_first(cause.plain.rstrip('.'))}"
        )
        level = f", {row.level} caution" if row.level in {"stop", "emergency"} else ""
        state = "" if row.state == "closed" else ", still open"
        said = f"{row.opened[:16].replace('T', ' ')}  {row.sump or 'no machine named'}: "
        blocks.append(
            Block("item", f"{said}{row.verdict or 'no verdict yet'}{lead}{level}{state}", f"{row.id}")
        )
    if len(blocks) == 1:
        return [Block("text", 'No case is saved yet. Talk to "sumpside" first.')]
    return [*blocks, Block("text", 'Open one with "sumpside review NUMBER".')]


def case_blocks(case: Opened) -> list[Block]:
    """One case in one screen: complaint, answers, verdict, evidence, cautions, recipe."""
    state, rules = case.state, case.rules
    held = state.verdict
    first = next((case.words[n] for n in sorted(case.words)), "")
    blocks = [
        Block(
            "head",
            f"{state.sump or 'no machine named'}, visit {state.visit}, rule base {rules.hash}",
            f"CASE {case.number}",
        ),
        Block("head", f'"{first}"' if first else "words erased", "COMPLAINT"),
        Block("head", "", "ANSWERS"),
    ]
    told = [f for f in state.facts if f.said != SHOP_BOOK]
    blocks += [Block("item", fact_words(f, rules) + (f'  ("{f.said}")' if f.said else ""), "-") for f in told]
    if held is None:
        return [*blocks, Block("text", "No verdict was given yet.")]
    view = case.view()
    shown = [c for c in state.shown if c in rules.cautions]
    blocks += caution_blocks(rules, shown[:4])
    if len(shown) > 4:
        blocks.append(Block("text", f"and {len(shown) - 4} more cautions shown"))
    blocks.append(
        Block(
            "head",
            f"{held['verdict']}; run: {held['run']}. {phrases.sentence(standing_words(view))}",
            "VERDICT",
        )
    )
    if held["causes"] and (view.lead, view.verdict) != (held["causes"][0]["id"], held["verdict"]):
        blocks.append(Block("warn", f"Judged again this leads to {view.lead} ({view.verdict}).", "TAKE CARE"))
    blocks += reason_blocks(
        view, [j for j in view.causes if j.id in view.chain][:2] or list(view.causes[:1]), 3
    )
    blocks += _hangs(case, view)
    if state.recipe:
        blocks += recipe_blocks(state.recipe, _UNITS.get(state.opened.get("units") or "metric", METRIC))[:6]
        done = len(state.steps)
        blocks.append(Block("text", f"{done} of {len(state.recipe['steps'])} steps ticked."))
    for event in case.events:
        if event.kind == "review":
            said = "agreed" if event.data["agrees"] else f"overruled: {event.data.get('cause')}"
            blocks.append(
                Block(
                    "head", f"{said} by {event.who}, {event.time}. {event.data.get('reason') or ''}", "SIGNED"
                )
            )
    return blocks


def _hangs(case: Opened, view: Assessment) -> list[Block]:
    """The two answers the verdict hangs on, and the runner-up with what would separate it."""
    lead = view.lead
    if lead is None or lead == NOTHING_WRONG:
        return []
    told = [f for f in case.state.facts if f.status == "present" and f.said != SHOP_BOOK]
    drops = []
    for fact in told:
        left = [f for f in case.state.facts if f is not fact]
        drops.append((view.belief.marginals[lead] - case.view(left).belief.marginals.get(lead, 0.0), fact))
    best = [f for d, f in sorted(drops, key=lambda d: -d[0])[:2] if d > 0.02]
    blocks = []
    if best:
        words = phrases.listed([fact_words(f, case.rules) for f in best])
        blocks.append(Block("item", f"{words}", "hangs on"))
    if view.questions:
        blocks.append(Block("item", case.rules.observables[view.questions[0].id].question or "", "check"))
    return blocks


def changes(case: Opened, texts: list[str]) -> list[Fact]:
    """Changed answers as facts: ``"ph: 8.2"`` or ``"not foam"``.

    Raises:
        BadInput: an id or value that cannot be used.
    """
    found: list[Fact] = []
    for text in texts:
        body = text.strip()
        if body.lower().startswith("not "):
            found += given_facts({"ruled_out": [body[4:].strip()]}, case.rules)
            continue
        key, colon, value = (part.strip() for part in body.partition(":"))
        if not colon or not value:
            raise BadInput(f'"{text}" is not a change', value=text, right='write "ph: 8.2" or "not foam"')
        found += given_facts({"facts": {key: value}}, case.rules)
    return found


def changed_blocks(case: Opened, extra: list[Fact]) -> list[Block]:
    """The verdict as it stands beside the verdict with the answers changed; the record is untouched."""
    now, then = case.view(), case.view([*case.state.facts, *extra])
    said = phrases.listed([fact_words(f, case.rules) for f in extra])
    blocks = [Block("note", f"{said}.", "With")]
    for label, view in (("AS RECORDED", now), ("CHANGED", then)):
        blocks.append(
            Block("head", f"{phrases.RUN[view.run]} {phrases.sentence(standing_words(view))}", label)
        )
        first = case.rules.actions[view.actions[0]]["text"] if view.actions else "nothing to do"
        blocks.append(Block("item", first, "first"))
    fresh = [c for c in then.cautions if c not in now.cautions]
    gone = [c for c in now.cautions if c not in then.cautions]
    blocks += [Block("item", case.rules.cautions[c]["text"], "new") for c in fresh[:4]]
    blocks += [Block("item", case.rules.cautions[c]["text"], "gone") for c in gone[:4]]
    return [*blocks, Block("text", "Nothing was recorded.")]


def signature(case: Opened, overrule: str | None, reason: str) -> dict[str, Any]:
    """Data of the ``review`` event that agrees, or holds another cause for right.

    Raises:
        BadInput: the case has no verdict, the cause is unknown, or an overruling has no reason.
    """
    if case.verdict_event is None:
        raise BadInput(
            f"case {case.number} has no verdict to sign", value=case.number, right="let it come to one first"
        )
    if overrule and overrule not in case.rules.causes:
        near = nearest(overrule, case.rules.causes)
        right = f'did you mean "{near}"?' if near else "see sumpside rules"
        raise BadInput(f'no cause is called "{overrule}"', value=overrule, right=right)
    if overrule and not reason.strip():
        raise BadInput("an overruling needs a reason", right='add --reason "what you saw"')
    return {
        "agrees": not overrule,
        "cause": overrule,
        "reason": reason.strip() or None,
        "verdict": case.verdict_event.number,
        "rules": case.rules.hash,
    }
