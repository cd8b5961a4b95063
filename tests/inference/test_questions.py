"""The choice of the next question."""

from __future__ import annotations

import pytest

from advisor.inference.assess import Assessment, assess
from advisor.inference.outcomes import Outcomes, middle, points
from advisor.inference.questions import (
    Question,
    candidates,
    considered,
    filled_node,
    worth_asking,
    worth_of,
)
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import load

RULES = load()


def view_of(*facts: Fact) -> Assessment:
    """The judgement of some facts."""
    return assess(facts, RULES)


def asked(key: str, gain: float = 0.3, changes: float = 0.2, better: float = 0.1) -> Question:
    """A question of equal minutes wherever it is asked."""
    return Question(key, gain, changes, better, 1.0, 1.0, None)


@pytest.mark.parametrize(
    "complaint", [Fact("foam", "heavy"), Fact("smell", "rotten_egg"), Fact("rust", "parts")]
)
def test_answers_share_out_what_is_believed(complaint: Fact) -> None:
    """Over all answers to a sign, what they leave adds up to what was believed (total probability)."""
    view = view_of(complaint)
    weighed = considered(RULES, view.belief, view.nodes)
    before: dict[str, float] = {}
    for _, p, label in weighed.hypotheses:
        before[label] = before.get(label, 0.0) + p
    for item in candidates(view.known):
        outcomes = Outcomes(view.known, item, filled_node(view.known, item) or item.id, weighed)
        for label in before if outcomes.nodes else ():
            assert sum(s.get(label, 0.0) for s in outcomes.splits()) == pytest.approx(before[label])


def test_a_setting_that_favours_a_cause_is_asked() -> None:
    """What went in last is worth asking when something smells sharp; its rare answers are what tells."""
    view = view_of(Fact("smell", "sharp"))
    assert "event" in [q.id for q in worth_asking(view.questions, RULES, named=False)][:3]


def test_who_stands_at_the_tank_looks_there_first() -> None:
    """Of two questions alike in all but place, the one where the person stands goes first."""
    both = [asked("surface"), asked("stain")]
    assert [q.id for q in worth_asking(both, RULES, named=True, at="machine")] == ["stain", "surface"]
    assert [q.id for q in worth_asking(both, RULES, named=True, at="sump")] == ["surface", "stain"]


def test_nothing_is_asked_that_changes_nothing() -> None:
    """Once a cause is named, a question whose answers all lead to the same first action is not asked."""
    idle = [asked("surface", changes=0.0, better=0.0)]
    assert worth_asking(idle, RULES, named=True) == []
    assert worth_asking(idle, RULES, named=False) == idle


def test_nobody_waits_for_a_dip_slide() -> None:
    """A result that takes days is proposed with the verdict, not asked for."""
    assert RULES.observables["bacteria"].wait_h == 48
    assert worth_asking([asked("bacteria")], RULES, named=False) == []


def test_a_middle_lies_in_its_band() -> None:
    """The number that stands for a band of the charge's age lies between its limits (7 and 365 days)."""
    found = [middle(RULES, "fluid_age", "age_band", a) or 0.0 for a in ("fresh", "running", "old")]
    assert 0 < found[0] <= 7 < found[1] < 365 <= found[2]


def test_an_answer_is_told_by_what_it_speaks_for() -> None:
    """Why the smell is asked names causes by their smell: rotten eggs speak for germs without air."""
    told = dict(points(RULES, view_of(Fact("smell", "bad"), Fact("colour", "black")).belief, "smell"))
    assert told.get("rotten_egg") == "anaerobic_growth"


def test_close_calls_alone_are_not_worth_a_question() -> None:
    """Once a cause is named, an answer that only swaps two equally likely actions is not asked for."""
    idle = [asked("surface", changes=0.3, better=0.01)]
    assert worth_asking(idle, RULES, named=True) == []
    assert worth_asking([asked("surface", changes=0.3, better=0.03)], RULES, named=True) != []


def test_better_is_how_much_likelier_right_the_first_action_gets() -> None:
    """It is what the likeliest action gains on the one that leads now: a hand-made table of two answers."""
    now = {"skim": 0.6, "dilute": 0.4}
    after = [{"skim": 0.5, "dilute": 0.1}, {"skim": 0.1, "dilute": 0.3}]
    assert worth_of(after, now, set())[1:] == pytest.approx((0.4, 0.2))


def test_an_answer_that_stops_the_machine_counts_whole() -> None:
    """However little likelier right it is: the chance that the machine must be stopped is always told."""
    now = {"skim": 0.6, "stop": 0.4}
    after = [{"skim": 0.45, "stop": 0.25}, {"skim": 0.149, "stop": 0.151}]
    assert worth_of(after, now, {"stop"})[2] == pytest.approx(0.3)
    assert worth_of(after, now, set())[2] == pytest.approx(0.002)
