"""However long a verdict is, what matters most stands on the screen that is in sight at the end."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from advisor.dialogue import phrases, policy
from advisor.dialogue.asking import question_blocks
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.given import given_facts
from advisor.dialogue.glance import in_short, in_two_forms, verdict_at_a_glance, with_question
from advisor.dialogue.guiding import led_blocks
from advisor.dialogue.procedures import LIST
from advisor.dialogue.screens import run_words
from advisor.dialogue.shop import Shop
from advisor.dialogue.shortening import in_briefest
from advisor.inference.assess import Assessment, assess
from advisor.inference.evidence import NOTHING_WRONG
from advisor.knowledge.rulebase import RuleBase, load
from advisor.knowledge.yaml_source import read
from advisor.terminal.render import SPARE, render

RULES = Path(__file__).resolve().parents[2] / "rules"
SIZES = [(60, 20), (80, 24)]
#: The longest questions there are: a list of what was done, and many answers with steps to look by.
LONGEST = ("smell", "reading_strength")


@cache
def views(kind: str) -> list[tuple[str, Assessment]]:
    """The judgement of every case beside the causes, or beside the cautions that stop."""
    rules, found = load(), []
    for file in sorted((RULES / kind).glob("*.cases.yaml")):
        name = file.name.removesuffix(".cases.yaml")
        if kind == "cautions" and rules.cautions[name]["level"] != "stop":
            continue
        for case in read(file).data["cases"]:
            if case.get("lead") == name or name in case.get("shows", ()):
                facts = given_facts({"facts": case.get("facts", {})}, rules)
                found.append((f"{name}: {case['name']}", assess(facts, rules)))
    return found


def question(rules: RuleBase, target: str) -> list[Block]:
    """A long question as it is put."""
    if target != "reading_strength":
        return question_blocks(rules, policy.Move("ask", target), Shop())
    state = CaseState()
    view = assess(given_facts({"facts": {"refractometer_reading": "3 °Bx"}}, rules), rules, questions=False)
    return led_blocks(rules, state, view, policy.Move("ask", f"{target}/{LIST}"))


def last_screen(view: Assessment, target: str, size: tuple[int, int]) -> str:
    """What is in sight at the end, cautions all new, as one run of words."""
    rules, (width, rows) = view.known.rules, size
    new = [c for c in view.cautions if rules.cautions[c]["level"] != "note"]
    told = verdict_at_a_glance(view, in_two_forms(rules, new), new)
    blocks = with_question(told + in_short(view, told), question(rules, target))
    lines = render(blocks, width, rows=rows).splitlines()
    return " ".join(" ".join(lines[-(rows - SPARE) :]).split())


def wanted(view: Assessment, target: str) -> dict[str, str]:
    """What has to be in sight: can it run, what it is, the first thing to do, the question."""
    rules, named = view.known.rules, view.verdict == "named" and view.chain
    what = rules.causes[view.chain[0]].plain if named else phrases.UNSETTLED
    if view.chain[:1] == (NOTHING_WRONG,):
        what = phrases.NOTHING_WRONG_FOUND
    first = [rules.actions[a]["text"] for a in [*([] if named else [view.hold]), *view.actions] if a]
    return {
        "run": run_words(view),
        "what": what.rstrip(".")[1:],
        "first": in_briefest(first[0]).rstrip(".") if first else "",
        "question": question(rules, target)[0].text,
    }


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("target", LONGEST)
@pytest.mark.parametrize("kind", ["causes", "cautions"])
def test_what_matters_most_is_in_sight_at_the_end(kind: str, target: str, size: tuple[int, int]) -> None:
    """For every cause that leads and every caution that stops, before the longest questions."""
    held = [(name, view) for name, view in views(kind) if view.verdict != "outside"]
    screens = {name: (last_screen(view, target, size), wanted(view, target)) for name, view in held}
    missing = {name: [key for key, text in must.items() if text not in screen]
               for name, (screen, must) in screens.items()}  # fmt: skip
    assert len(held) > 25
    assert {name: keys for name, keys in missing.items() if keys} == {}
