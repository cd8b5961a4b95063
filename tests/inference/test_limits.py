"""Which limit a number is held against: the data sheet's, else the region's, else the general one."""

from __future__ import annotations

from statistics import NormalDist
from typing import Any

import pytest

from advisor.dialogue.given import given_facts
from advisor.dialogue.phrases_limits import limit_sentence, voices
from advisor.inference.assess import Assessment, assess
from advisor.inference.derive import derive, window
from advisor.inference.knowns import Knowns
from advisor.inference.program import program
from advisor.knowledge.facts import REGIONS, Fact, region_fact
from advisor.knowledge.rulebase import RuleBase, load


@pytest.fixture(scope="module")
def rules() -> RuleBase:
    """The rule base that ships."""
    return load()


def view(rules: RuleBase, **facts: Any) -> Assessment:
    """The judgement of these facts."""
    return assess(given_facts({"facts": facts}, rules), rules, questions=False)


@pytest.mark.parametrize(
    ("region", "hardness", "band"),
    [("de", "170 ppm", "soft"), ("de", "250 ppm", "ok"), ("de", "360 ppm", "hard"), ("us", "170 ppm", "ok"),
     ("us", "250 ppm", "hard"), (None, "170 ppm", "ok"), ("other", "250 ppm", "hard")],
)  # fmt: skip
def test_the_region_picks_the_limits(rules: RuleBase, region: str | None, hardness: str, band: str) -> None:
    """IFA asks for 10-20 °dH, which are 178-357 mg/L; elsewhere 80-200 is left alone."""
    facts = {"water_hardness": hardness} | ({"region": region} if region else {})
    assert view(rules, **facts).known.choice("hardness_band") == band


@pytest.mark.parametrize(
    ("region", "low", "high"), [("de", 0.04, 0.08), ("us", 0.06, 0.1), (None, 0.06, 0.1)]
)
def test_the_region_picks_the_working_range(
    rules: RuleBase, region: str | None, low: float, high: float
) -> None:
    """IFA's lexicon gives 4-8 % as the usual strength in Germany; elsewhere 6-10 % is assumed."""
    facts = [Fact("region", region)] if region else []
    frame = window(Knowns(rules, facts), program(rules))
    assert (frame.low, frame.high, frame.assumed) == (low, high, True)


@pytest.mark.parametrize(
    ("facts", "band"),
    [({"ph": 8.9}, "ok"), ({"ph": 8.9, "ph_by_sheet": [9.0, 9.4]}, "low"),
     ({"ph": 9.0, "ph_by_sheet": [9.0, 9.4]}, "ok"), ({"ph": 9.4, "ph_by_sheet": [9.0, 9.4]}, "ok"),
     ({"ph": 9.45, "ph_by_sheet": [9.0, 9.4]}, "high"),
     ({"ph": 8.2, "ph_by_sheet": [8.0, 9.0], "workpiece": "aluminium", "region": "us"}, "ok")],
)  # fmt: skip
def test_a_data_sheet_beats_every_figure(rules: RuleBase, facts: dict[str, Any], band: str) -> None:
    """Its ends belong to the range, whatever region and metal say."""
    assert view(rules, **facts).known.choice("ph_band") == band


def test_a_sheet_that_gives_the_most_only(rules: RuleBase) -> None:
    """A single figure is an upper limit: 500 ppm is general alarm, but within a sheet's 600."""
    assert view(rules, sump_hardness=500).known.choice("sump_hardness_band") == "high"
    inside, above = (view(rules, sump_hardness=n, sump_hardness_by_sheet=600).known for n in (500, 601))
    assert inside.choice("sump_hardness_band") == "ok"
    assert above.choice("sump_hardness_band") == "high"


def test_the_screen_says_where_a_limit_comes_from(rules: RuleBase) -> None:
    """The data sheet by name, the region by name, and both sides where publications disagree."""
    held = view(rules, ph=8.2, region="de").known.limits["ph_band"]
    assert "pH (Germany): low below 8.0" in limit_sentence(rules, held)
    told = voices(rules, held)
    assert told[0].startswith("Here: 8.0 to 9.5")
    assert any("8.6 to 9.0" in said.text for said in held.published)
    sheet = view(rules, ph=8.2, ph_by_sheet=[8.5, 9.4]).known.limits["ph_band"]
    assert "data sheet" in limit_sentence(rules, sheet)


def test_regions_are_the_vocabularys(rules: RuleBase) -> None:
    """The codes the shop book is read with are the answers the rules know; others are "other"."""
    assert (*REGIONS, "other") == tuple(rules.observables["region"].answers)
    assert region_fact("nl", "shop book") == Fact("region", "other", said="shop book")
    assert region_fact(None, "") is None


def test_a_fall_from_a_range_is_less_certain(rules: RuleBase) -> None:
    """A fall of 0.6 from 9.2 is past the alarm at 0.5; from somewhere in 9.0 to 9.4 it may not be."""
    known = [derive(Knowns(rules, given_facts({"facts": {"ph": 8.6, "ph_first_fill": first}}, rules)),
                    program(rules))[1]["ph_fall_band"] for first in (9.2, [9.0, 9.4])]  # fmt: skip
    sure, loose = known
    assert sure["alarm"] > loose["alarm"] > loose["ok"] > sure["ok"]
    # by hand: the alarm's share is what a normal curve of that spread has between 0.5 and 1.0
    spread = (0.1**2 + 0.4**2 / 12) ** 0.5
    assert loose["ok"] == pytest.approx(NormalDist(0.6, spread).cdf(0.5), abs=1e-6)
