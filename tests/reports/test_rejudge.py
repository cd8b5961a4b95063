"""Past cases on changed rules: the changed ones are found, the others are not."""

from __future__ import annotations

import copy
import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from advisor.dialogue.answer import verdict_json
from advisor.dialogue.given import given_facts
from advisor.drills.hidden import LEVELS, draw
from advisor.inference import weights
from advisor.inference.assess import assess
from advisor.inference.belief import Node, likelihood
from advisor.inference.program import program
from advisor.inference.weights import Heard, Weights
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.logbook.store import SqliteStore
from advisor.reports import rejudge
from advisor.reports.rejudge import Past, change_json, judge_again, past

FOUL = (("rotten eggs in a closed room", {"smell": "rotten_egg", "hazard_context": "no_ventilation"}),)
RICH = (("reads strong", {"concentration": "14 %", "target": "7 %", "factor_applied": "yes"}),)
CASES = Path(__file__).resolve().parents[1] / "cases" / "fresh_cases.jsonl"
FIGURES = {"sump_volume": "200 L", "sump_fill": "100 %", "pail": "20 L", "circulated": "yes"}


def saved(store: SqliteStore, case: int) -> Past:
    """What one case was judged on."""
    found = past(case, store.events(case))
    assert found is not None
    return found


def changed(rules: RuleBase, edit: Callable[[dict[str, Any]], None]) -> RuleBase:
    """The rule base after an edit."""
    data = copy.deepcopy(rules.data)
    edit(data)
    return RuleBase({**data, "hash": "edited"})


def test_the_same_rules_change_nothing(store: SqliteStore, save: Callable[..., int], rules: RuleBase) -> None:
    """A verdict judged again on its own rules is the same, recipe included."""
    cases = [save(), save(FOUL), save((*RICH, ("full", FIGURES)))]
    assert [judge_again(saved(store, case), rules) for case in cases] == [None] * 3


def test_a_caution_taken_out_is_found(store: SqliteStore, save: Callable[..., int], rules: RuleBase) -> None:
    """Only the case in which the caution stood comes out differently."""
    foul, other = save(FOUL), save()
    edited = changed(rules, lambda data: data["cautions"].pop("hydrogen_sulphide_enclosed"))
    found = judge_again(saved(store, foul), edited)
    assert found is not None
    then, now = found.fields["cautions"]
    assert set(then) - set(now) == {"hydrogen_sulphide_enclosed"}
    assert judge_again(saved(store, other), edited) is None


def test_a_verdict_that_moves_is_found(store: SqliteStore, save: Callable[..., int], rules: RuleBase) -> None:
    """With the leading cause's signs gone the verdict is another one."""
    case = saved(store, save(FOUL))
    lead = case.outcome["verdict"][1]
    edited = changed(rules, lambda data: data["causes"][lead].update(signs=[], favoured_by=[]))
    found = judge_again(case, edited)
    assert found is not None
    assert change_json(found)["verdict"]["then"][1] == lead
    assert change_json(found)["verdict"]["now"][1] != lead


def test_a_recipe_is_compared_by_its_figures(
    store: SqliteStore, save: Callable[..., int], rules: RuleBase
) -> None:
    """The recipe of a rich sump stands in the outcome in litres and strength."""
    case = saved(store, save((*RICH, ("full", FIGURES))))
    name, out, add, mix = case.outcome["recipe"]
    assert name
    assert (out > 0) == (add > 0)
    assert 0 <= mix < 0.07


def test_only_what_was_known_at_the_verdict_counts(store: SqliteStore, save: Callable[..., int]) -> None:
    """An answer after the verdict is not part of what it was judged on."""
    case = save()
    before = saved(store, case)
    fact = {"id": "ph", "value": 7.0, "unit": "pH", "status": "present", "firm": True, "said": None}
    store.append(case, "said", {"facts": [fact]}, "ph 7", time="2025-03-05T12:00:00Z", who="op")
    assert saved(store, case).facts == before.facts


def test_the_short_way_says_what_the_whole_verdict_says(rules: RuleBase) -> None:
    """Without prose and on the plain matcher every narrative has the same verdict, cautions and recipe."""
    differ, recipes = [], 0
    for line in CASES.read_text(encoding="utf-8").splitlines():
        case = json.loads(line)
        facts = given_facts({key: case[key] for key in ("facts", "ruled_out", "loose") if key in case}, rules)
        facts += given_facts({"facts": FIGURES}, rules)
        whole = rejudge.outcome(verdict_json(assess(facts, rules, questions=False)))
        short = rejudge.outcome_of(assess(facts, rules, questions=False, prog=program(rules, "plain")))
        differ += [case] if whole != short else []
        recipes += short["recipe"] is not None
    assert (differ, recipes > 3) == ([], True)


def test_two_processes_find_what_one_finds(
    store: SqliteStore, save: Callable[..., int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Shared among processes the changes and the progress are the same."""
    monkeypatch.setattr(rejudge, "WORTH", 1)
    monkeypatch.setattr(rejudge, "CHUNK", 2)
    cases = [saved(store, save()), saved(store, save(FOUL)), saved(store, save(RICH))]
    more = (*cases[0].facts, Fact("foam", "light", None))
    wrong = Past(99, more, "metric", None, "old", {**cases[0].outcome, "cautions": ["gone"]})
    told: list[tuple[int, int]] = []
    found = rejudge.rejudge([*cases, wrong], lambda *now: told.append(now), processes=2)
    assert [change.case for change in found] == [99]
    assert told == [(2, 0), (4, 1)]


def test_cases_told_the_same_share_a_judgement(
    store: SqliteStore, save: Callable[..., int], rules: RuleBase, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two of three are judged once, and each is still held against its own outcome."""
    one, other = saved(store, save()), saved(store, save(FOUL))
    twin = replace(one, case=7, facts=tuple(f.at(3 * (f.event or 0)) for f in one.facts))
    odd = replace(one, case=8, outcome={**one.outcome, "cautions": ["gone"]})
    judged: list[int] = []
    work = rejudge.judged_now

    def noted(then: Past, base: RuleBase) -> dict[str, Any]:
        judged.append(then.case)
        return work(then, base)

    monkeypatch.setattr(rejudge, "judged_now", noted)
    found = rejudge.rejudge([one, other, twin, odd])
    assert judged == [one.case, other.case]
    assert found == [change for case in (one, other, twin, odd) if (change := judge_again(case, rules))]
    assert [change.case for change in found] == [8]


@pytest.mark.parametrize("change", ["loose", "order", "aim"])
def test_cases_told_otherwise_do_not(store: SqliteStore, save: Callable[..., int], change: str) -> None:
    """A looser answer, another order or another aim is another case."""
    one = saved(store, save())
    other = {
        "loose": replace(one, facts=(replace(one.facts[0], firm=False), *one.facts[1:])),
        "order": replace(one, facts=one.facts[::-1]),
        "aim": replace(one, aim=0.07),
    }[change]
    assert len(rejudge.alike([one, other])) == 2


#: Prints the belief in a few drawn sumps, to the last digit.
BELIEFS = """
from advisor.drills.hidden import draw
from advisor.inference.assess import assess
from advisor.knowledge.rulebase import load
rules = load()
print([sorted(assess(draw(rules, n, "hard").truth(), rules, questions=False).belief.marginals.items())
       for n in range(8)])
"""


def test_every_process_judges_alike_to_the_last_digit() -> None:
    """Processes that share past cases order sets of words differently; no belief may hang on that."""
    told = []
    for seed in ("1", "2"):
        env = {**os.environ, "PYTHONHASHSEED": seed}
        told.append(subprocess.run([sys.executable, "-c", BELIEFS], env=env, capture_output=True, check=True))
    assert told[0].stdout == told[1].stdout
    assert len(told[0].stdout) > 1000


def test_the_quick_way_judges_as_the_plain_one(rules: RuleBase, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawn sumps come out the same when each hypothesis is weighed whole, from the definition."""
    sumps = [draw(rules, seed, level) for seed in range(4) for level in LEVELS]
    quick = [assess(sump.truth(), rules, questions=False) for sump in sumps]

    def whole(self: Weights, mask: int, additions: Iterable[int]) -> list[int]:
        made = [mask | more for more in additions]
        assert all(self.weight(each) >= 0 for each in made)
        return made

    for name in ("grow", "grow_by_many"):
        monkeypatch.setattr(Weights, name, whole)
    monkeypatch.setattr(weights, "seen", by_definition)
    for sump, fast in zip(sumps, quick, strict=True):
        slow = assess(sump.truth(), rules, questions=False)
        assert [j.id for j in fast.causes] == [j.id for j in slow.causes]
        assert rejudge.outcome_of(fast) == rejudge.outcome_of(slow)
        assert (fast.chain, fast.actions) == (slow.chain, slow.actions)
        assert fast.belief.marginals == pytest.approx(slow.belief.marginals, abs=1e-9)


def by_definition(node: Node, who: Heard) -> Callable[[int], float]:
    """The chance of what was seen, worked out anew for every set of causes."""
    return lambda mask: likelihood(node, [chances for bit, chances in who if mask & bit])


def test_a_change_is_told_in_words(rules: RuleBase) -> None:
    """Verdict, cautions and recipe are said as a person says them, each then and now."""
    then = {"verdict": ["named", "rich_mix", "limits"], "cautions": ["mist"], "recipe": None}
    now = {"verdict": ["unsettled", None, "run"], "cautions": ["skin_trouble"]}
    now["recipe"] = ["fill", 0, 9, 0.01]
    change = rejudge.Change(4, {key: (then[key], now[key]) for key in then})
    told = " ".join(block.text for block in rejudge.changed_blocks([change], 9))
    assert "1 of 9" in told
    assert "the mix is too strong (only with limits) -> unsettled" in told
    assert "new: skin trouble; no longer: mist" in told
    assert "no recipe -> fill: 0 L out, 9 L in at 1 %" in told
