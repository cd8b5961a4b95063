"""The hidden sump: repeatable, drawn from the rules, consistent with them."""

from __future__ import annotations

from collections import Counter

import pytest

from advisor.drills.hidden import LEVELS, draw
from advisor.errors import BadInput
from advisor.inference.assess import assess
from advisor.inference.knowns import Knowns
from advisor.knowledge.rulebase import RuleBase, load


@pytest.fixture(scope="module")
def rules() -> RuleBase:
    """The rule base that ships."""
    return load()


@pytest.mark.parametrize("level", LEVELS)
def test_a_seed_gives_the_same_sump(rules: RuleBase, level: str) -> None:
    """Twice the same seed is twice the same sump; the next seed is another."""
    assert draw(rules, 11, level) == draw(rules, 11, level)
    assert draw(rules, 11, level) != draw(rules, 12, level)


def test_people_and_nothing_wrong_are_never_the_fault(rules: RuleBase) -> None:
    """What may be an illness can follow, it is never what a trainee has to name."""
    faults = {draw(rules, seed, "hard").fault for seed in range(60)}
    assert not [c for c in faults if rules.causes[c].referral or c == "in_range"]


def test_common_faults_are_drawn_more_often(rules: RuleBase) -> None:
    """At the easy level the faults drawn have a higher prior in the mean than at the hard one."""
    mean = {
        level: sum(rules.causes[draw(rules, seed, level).fault].prior for seed in range(80)) / 80
        for level in ("easy", "hard")
    }
    assert mean["easy"] > mean["hard"]


def test_what_follows_is_in_the_rules(rules: RuleBase) -> None:
    """Everything after the fault is led to by something before it, at the levels with one fault."""
    for seed in range(40):
        causes = draw(rules, seed, "fair").causes
        for i, cause in enumerate(causes[1:], 1):
            assert any(cause in rules.causes[c].leads_to for c in causes[:i])


def test_signs_come_as_often_as_the_rules_say(rules: RuleBase) -> None:
    """Rotten eggs are seen with growth without air as often as the rule says (binomial, 4 sigma)."""
    sign = next(s for s in rules.causes["anaerobic_growth"].signs if s.node == "smell: rotten_egg")
    chance, count = sign.chances["yes"], 150
    seen = Counter(
        any(
            f.value == "rotten_egg"
            for f in draw(rules, s, "hard", cause="anaerobic_growth").answers.get("smell", ())
        )
        for s in range(count)
    )[True]
    assert seen / count == pytest.approx(chance, abs=4 * (chance * (1 - chance) / count) ** 0.5 + 0.02)


def test_readings_agree_with_what_was_drawn(rules: RuleBase) -> None:
    """A lean sump reads lean through the factor on its sign; the rules place the number in the same band."""
    for seed in range(12):
        hidden = draw(rules, seed, "easy", cause="lean_mix")
        known = Knowns(rules, hidden.truth())
        reading, factor = known.quantity("refractometer_reading"), known.quantity("refractometer_factor")
        true = known.quantity("titration")
        assert reading is not None
        assert factor is not None
        assert reading * factor / 100 == pytest.approx(true, abs=0.002)


def test_a_sump_can_be_solved(rules: RuleBase) -> None:
    """Knowing everything, the advisor lists the fault among three in most easy sumps."""
    right = 0
    for seed in range(25):
        hidden = draw(rules, seed, "easy")
        causes = assess(hidden.truth(), rules, questions=False).causes
        right += hidden.fault in {j.id for j in causes[:3]}
    assert right >= 18


def test_a_level_that_does_not_exist_is_refused(rules: RuleBase) -> None:
    """The sentence names the levels there are."""
    with pytest.raises(BadInput, match="easy, fair, hard"):
        draw(rules, 1, "cruel")


@pytest.mark.parametrize("level", ["easy", "fair"])
def test_who_looks_at_everything_can_name_the_fault(rules: RuleBase, level: str) -> None:
    """Of every sump drawn, the fault leads once all that is so is known; nobody is asked to guess."""
    for seed in range(15):
        hidden = draw(rules, seed, level)
        view = assess(hidden.truth(), rules, questions=False)
        assert hidden.fault in (*view.chain, view.lead), seed
