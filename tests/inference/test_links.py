"""What one cause leads to may hang on the metal or the water; an error of a pH test is no sour fluid."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.dialogue.given import given_facts
from advisor.drills.hidden import draw
from advisor.inference.assess import Assessment, assess, second_sure
from advisor.inference.derive import derive
from advisor.inference.evidence import network
from advisor.inference.knowns import Knowns
from advisor.inference.program import program
from advisor.knowledge.rulebase import RuleBase, load


@pytest.fixture(scope="module")
def rules() -> RuleBase:
    """The rule base that ships."""
    return load()


def view(rules: RuleBase, ruled_out: tuple[str, ...] = (), **facts: Any) -> Assessment:
    """The judgement of these facts."""
    data = {"facts": facts, "ruled_out": list(ruled_out)}
    return assess(given_facts(data, rules), rules, questions=False)


@pytest.mark.parametrize(
    ("facts", "ruled_out", "word"),
    [({"workpiece": "aluminium"}, (), "often"), ({"workpiece": "steel"}, (), "occasionally"),
     ({}, ("workpiece: aluminium",), "never")],
)  # fmt: skip
def test_a_link_follows_the_metal(
    rules: RuleBase, facts: dict[str, Any], ruled_out: tuple[str, ...], word: str
) -> None:
    """A high pH stains aluminium where aluminium is cut; unsaid is not ruled out."""
    known = Knowns(rules, given_facts({"facts": facts, "ruled_out": list(ruled_out)}, rules))
    links = network(known, [], program(rules)).leads["high_ph"]
    assert links["aluminium_attack"] == rules.words["how_often"][word]


def test_statuses_worked_out_before_move_the_odds_alike(rules: RuleBase) -> None:
    """Odds and links are those of conditions asked one by one, comparisons and findings included."""
    prog = program(rules)
    for seed in range(12):
        known, _, _ = derive(Knowns(rules, draw(rules, seed, "hard").truth()), prog)
        statuses, _ = prog.find(known)
        one_by_one = network(known, [], prog)
        assert network(known, [], prog, statuses.get) == one_by_one
        assert one_by_one.priors != {c.id: c.prior for c in rules.causes.values()}


def test_a_chain_follows_the_link(rules: RuleBase) -> None:
    """With aluminium cut the stain is told as a consequence of the pH."""
    seen = view(rules, ph=10.3, workpiece="aluminium", stain="aluminium_dark", ph_second=10.2)
    stain = next(j for j in seen.causes if j.id == "aluminium_attack")
    assert stain.because_of == "high_ph"


@pytest.mark.parametrize(
    ("second", "lead"), [(9.0, "ph_reading_error"), (7.6, "low_ph")], ids=["it differs", "it agrees"]
)
def test_a_second_test_tells_a_wrong_reading_from_a_sour_fluid(
    rules: RuleBase, second: float, lead: str
) -> None:
    """Tests of one sample agree within a step of a strip, 0.3 (DGUV Regel 109-003, 7.1)."""
    facts = {"ph": 7.6, "ph_second": second, "concentration": "7 %", "target": ["6 %", "8 %"]}
    assert view(rules, ("smell",), **facts).causes[0].id == lead


def test_an_origin_nothing_speaks_for_does_not_lead_what_is_sure(rules: RuleBase) -> None:
    """A weak mix is told as such; water for the losses leads it once somebody says that it goes in."""
    weak = {"titration": "3 %", "target": ["6 %", "8 %"], "operation": "milling"}
    assert view(rules, **weak).chain[0] == "lean_mix"
    assert view(rules, **weak, topup="water_only", sump_level="low").chain[0] == "carry_off_dilution"


def test_a_second_trouble_of_its_own_limits_too(rules: RuleBase) -> None:
    """A fresh charge that foams may run; one that is weak as well runs with limits."""
    foam = {"foam": "heavy", "foam_when": "new_fill", "foam_type": "breaks_fast", "event": "new_fill"}
    sound = view(rules, **foam, titration="7 %", target=["6 %", "8 %"])
    weak = view(rules, **foam, titration="4 %", target=["6 %", "8 %"])
    assert (sound.run, sound.chain[0]) == ("run", "new_charge_foam")
    assert second_sure(rules, weak.causes, weak.chain) in {"lean_mix", "new_charge_foam"}
    assert weak.run == "limits"
