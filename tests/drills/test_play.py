"""A drill played: what is asked for is told and costs, what is said is scored."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from advisor.drills.advice import advisor_path, asks_people
from advisor.drills.hidden import Hidden, draw
from advisor.drills.own import own_drill
from advisor.drills.play import Drill
from advisor.errors import BadInput
from advisor.knowledge.rulebase import RuleBase, load
from advisor.terminal.render import render

FOUL = """
title: The Monday lathe
story: Smells on Monday, oil on top.
cause: anaerobic_growth
sump: {sump_volume: 200 L, refractometer_factor: 1.5, target: [5 %, 8 %], pail: 20 L}
facts: {smell: rotten_egg, surface: oil_layer, ph: 8.1, concentration: 6.0 %, hazard_context: no_ventilation}
"""
RICH = """
title: The strong mill
story: It reads strong.
cause: rich_mix
sump: {sump_volume: 200 L, refractometer_factor: 2, target: [6 %, 8 %], pail: 20 L}
facts: {concentration: 12 %, sump_fill: 100 %, trend_concentration: rising}
recipe: thin
"""


@pytest.fixture(scope="module")
def rules() -> RuleBase:
    """The rule base that ships."""
    return load()


def own(rules: RuleBase, folder: Path, text: str) -> Hidden:
    """A trainer's drill from its text."""
    file = folder / "drill.yaml"
    file.write_text(text, encoding="utf-8")
    return own_drill(rules, file)


def played(rules: RuleBase, hidden: Hidden, *lines: str) -> Drill:
    """The drill after these lines."""
    drill = Drill(rules, hidden, "test")
    for line in lines:
        drill.say(line)
    return drill


def test_a_look_tells_and_costs(rules: RuleBase, tmp_path: Path) -> None:
    """The smell is told for its minutes, the dip slide for two days besides."""
    drill = Drill(rules, own(rules, tmp_path, FOUL), "test")
    assert "rotten eggs" in drill.say("what does it smell like?")[0].text
    assert "8.1" in drill.say("ph")[0].text
    drill.say("bacteria count")
    assert [(look.id, look.hours) for look in drill.run.looks][-1] == ("bacteria", 48)


@pytest.mark.parametrize(
    ("line", "target"),
    [
        ("oil on top?", "surface"),
        ("is the machine beside it the same", "neighbour"),
        ("how old is the fluid", "fluid_age"),
        ("who is sick", "safety"),
        ("WATER HARDNESS", "water_hardness"),
        ("any changes lately", "changed"),
        ("same next door?", "neighbour"),
        ("do they show it too?", "neighbour"),
        ("did it come suddenly?", "onset"),
        ("how did it begin", "onset"),
        ("when did it start?", "onset"),
        ("strenght", "concentration"),
        ("poeple", "safety"),
        ("are the peple ok", "safety"),
        ("wot dose it smell like", "smell"),
        ("oil?", "surface"),
        ("any oil on it", "surface"),
        ("whats the temp", "fluid_temperature"),
        ("ask what happend", "event"),
    ],
)
def test_plain_words_ask_for_what_they_mean(rules: RuleBase, line: str, target: str) -> None:
    """Nobody has to know what an observable is called."""
    drill = Drill(rules, draw(rules, 4, "easy"), "test")
    drill.say(line)
    assert [look.id for look in drill.run.looks] == [target]


def test_the_glass_shows_strength_through_the_factor(rules: RuleBase, tmp_path: Path) -> None:
    """6.0 % at factor 1.5 is 4.0 on the glass."""
    drill = Drill(rules, own(rules, tmp_path, FOUL), "test")
    assert "4 Brix" in drill.say("read the refractometer")[0].text


def test_the_right_way_scores_full_safety(rules: RuleBase, tmp_path: Path) -> None:
    """People first, the danger named, the fault named: cause and safety are whole."""
    drill = played(
        rules, own(rules, tmp_path, FOUL), "is anyone hurt?", "smell",
        "caution: hydrogen sulphide enclosed", "cause: growth without air", "done",
    )  # fmt: skip
    assert drill.score is not None
    assert drill.score.parts["cause"] == drill.score.parts["safety"] == 1.0
    assert drill.score.must == ("hydrogen_sulphide_enclosed",)


def test_deciding_before_asking_about_people_costs(rules: RuleBase, tmp_path: Path) -> None:
    """The same said in the wrong order has less for safety; never asking has none for it."""
    hidden = own(rules, tmp_path, RICH)
    first = played(rules, hidden, "people", "cause: rich mix", "done").score
    after = played(rules, hidden, "cause: rich mix", "people", "done").score
    never = played(rules, hidden, "cause: rich mix", "done").score
    assert first
    assert after
    assert never
    assert first.parts["safety"] > after.parts["safety"] > never.parts["safety"] == 0


def test_a_dangerous_act_is_told_and_costs(rules: RuleBase, tmp_path: Path) -> None:
    """Bleach is dangerous, skimming is not."""
    hidden = own(rules, tmp_path, FOUL)
    bad = played(rules, hidden, "people", "do: tip household bleach in", "done").score
    good = played(rules, hidden, "people", "do: skim the oil", "done").score
    assert bad
    assert good
    assert (bad.dangerous, good.dangerous) == (("proposed_action: bleach",), ())
    assert bad.points < good.points


@pytest.mark.parametrize(
    ("line", "recipe"),
    [
        ("recipe take out 20 add 20 at 5", (20.0, 20.0, 0.05)),
        ("recipe: add 20 L 5%", (0.0, 20.0, 0.05)),
        ("drain 20 L and add 25,5 L at 2 %", (20.0, 25.5, 0.02)),
        ("out 20, in 25 at 1.5", (20.0, 25.0, 0.015)),
        ("recipe: out 1 US gal, add 1 US gal at 2 %", (3.785, 3.785, 0.02)),
    ],
)
def test_a_recipe_may_be_said_short(rules: RuleBase, line: str, recipe: tuple[float, float, float]) -> None:
    """Bare numbers are litres and per cent; a US gallon is 3.785 L (NIST Handbook 44, appendix C)."""
    made = played(rules, draw(rules, 4, "easy"), line).run.recipe
    assert made is not None
    assert (made.out_l, made.add_l, made.strength) == pytest.approx(recipe, rel=1e-3)


def test_what_is_only_half_meant_is_asked_before_it_counts(rules: RuleBase) -> None:
    """A caution in words of which only some belong to one is offered; yes takes it, other words do not."""
    drill = Drill(rules, draw(rules, 4, "easy"), "test")
    assert "Is this meant?" in drill.say("caution: dont stir")[0].text
    assert drill.run.cautions == []
    drill.say("yes")
    assert len(drill.run.cautions) == 1
    assert "nothing to pick from" in drill.say("1")[0].text


def test_yes_takes_one_offer_and_never_one_of_several(rules: RuleBase) -> None:
    """Of several that could be meant only a number takes one."""
    drill = Drill(rules, draw(rules, 4, "easy"), "test")
    assert drill.say("caution: keep away from the machine")[0].text == "Which one?"
    drill.say("yes")
    assert drill.run.cautions == []


def test_a_deed_is_not_taken_for_one_that_warns_of_it(rules: RuleBase) -> None:
    """Stirring is spoken of in other advice; it is asked whether that is meant."""
    drill = Drill(rules, draw(rules, 4, "easy"), "test")
    assert drill.say("do stir the tank")[0].kind == "ask"
    assert drill.run.deeds == []


def test_the_glass_and_the_strength_are_one_question(rules: RuleBase, tmp_path: Path) -> None:
    """What one asked as strength and the other as the glass was asked by both."""
    drill = played(rules, draw(rules, 77, "fair"), "people", "glass", "done")
    assert "concentration" in {look.id for look in drill.advised}
    drill.say("more")
    told = {block.label: block.text for block in drill.say("more")}
    assert "strength" in told["both"]
    assert "glass" not in told.get("only you", "")
    assert "strength" not in told["only it"].split("; ")


def test_a_danger_nobody_had_a_sign_of_is_not_asked_for(rules: RuleBase, tmp_path: Path) -> None:
    """A grave caution that only a test nobody would make shows costs nothing until somebody makes it."""
    text = RICH.replace("sump_fill: 100 %", "sump_fill: 100 %, ndela: 9 mg/L")
    hidden = own(rules, tmp_path, text)
    blind = played(rules, hidden, "people", "cause: rich mix", "done").score
    seen = played(rules, hidden, "people", "ndela", "cause: rich mix", "done").score
    assert blind
    assert seen
    grave = {c for c in seen.must if rules.cautions[c]["level"] in {"stop", "emergency"}}
    assert grave
    assert not grave & set(blind.must)


@pytest.mark.parametrize(
    ("recipe", "part", "after"),
    [
        ("out 100 L, add 100 L at 1 %", 1.0, 0.065),  # (100 x 12 % + 100 x 1 %) / 200
        ("out 20 L, add 20 L at 2 %", 0.0, 0.11),  # 3 points over the window's top
        ("add 100 L at 1 %", 0.0, 25.0 / 300),  # runs over
    ],
)
def test_a_recipe_is_judged_by_where_it_ends(
    rules: RuleBase, tmp_path: Path, recipe: str, part: float, after: float
) -> None:
    """In the window is whole, far outside or over the rim is nothing; strengths by mass balance."""
    made = played(rules, own(rules, tmp_path, RICH), "people", f"recipe: {recipe}", "done").score
    assert made is not None
    assert made.parts["recipe"] == pytest.approx(part)
    assert made.strength_after == pytest.approx(after)


def test_asking_people_never_costs_effort(rules: RuleBase, tmp_path: Path) -> None:
    """Where the complaint tells of people and the advisor need not ask, asking still loses nothing."""
    hidden = draw(rules, 5, "fair")
    assert not asks_people(advisor_path(rules, hidden)[0])
    made = played(rules, hidden, "people", f"cause: {hidden.fault}", "done").score
    assert made is not None
    assert made.parts["effort"] == 1.0


def test_the_advisor_looks_where_nobody_complains(rules: RuleBase) -> None:
    """Without a complaint it begins with the people, and goes on."""
    hidden = replace(draw(rules, 4, "easy"), opening=())
    looks, _ = advisor_path(rules, hidden)
    assert looks[0].id == "safety"
    assert len(looks) > 1


def test_more_looking_than_the_advisor_costs_effort(rules: RuleBase, tmp_path: Path) -> None:
    """The right cause after a laboratory tour has less for effort."""
    hidden = own(rules, tmp_path, RICH)
    quick = played(rules, hidden, "people", "refractometer reading", "cause: rich mix", "done").score
    tour = ("dip slide", "1", "chloride", "1", "cobalt", "copper", "titration", "zinc")
    slow = played(rules, hidden, "people", *tour, "cause: rich mix", "done").score
    assert quick
    assert slow
    assert slow.parts["effort"] < quick.parts["effort"] <= 1.0


def test_the_score_is_one_screen_and_the_rest_waits(rules: RuleBase) -> None:
    """After done the score with what each part hangs on; the talk comes part by part, and then anew."""
    drill = Drill(rules, draw(rules, 4, "easy"), "test")
    drill.say("people")
    first = drill.say("done")
    assert len(render(first).splitlines()) <= 21
    assert "It was:" in " ".join(block.text for block in first)
    parts = [drill.say("more") for _ in range(3)]
    assert [part[0].label for part in parts] == ["IT WAS", "QUESTIONS", "IT WAS"]
    assert {"you", "advisor", "it would say"} <= {block.label for block in parts[1]}
    assert not drill.over


def test_one_effort_is_counted_and_told(rules: RuleBase, tmp_path: Path) -> None:
    """The minutes of the score, of the talk and of "so far" are one figure, waiting counted in."""
    drill = played(rules, own(rules, tmp_path, RICH), "people", "bacteria count", "cause: rich mix")
    spent = 1.0 + rules.observables["bacteria"].effort + 0.5 * rules.observables["bacteria"].wait_h
    so_far = drill.say("so far")[-1].text
    told = " ".join(block.text for block in drill.say("done"))
    drill.say("more")
    talk = next(block.text for block in drill.say("more") if block.label == "you")
    assert f"You took {spent:g} minutes" in told
    assert f"2 questions, {spent:g} minutes" in so_far
    assert f"2 questions, {spent:g} minutes" in talk


def test_shown_by_names_only_what_was_shown(rules: RuleBase, tmp_path: Path) -> None:
    """What nobody looked at is told as not asked, never as having shown it."""
    hidden = own(rules, tmp_path, FOUL.replace("story: Smells on Monday, oil on top.", "story: Have a look."))
    hidden = replace(hidden, opening=())
    blind, seen = (
        {b.label: b.text for b in played(rules, hidden, *lines, "done").say("more")}
        for lines in (("people",), ("people", "smell"))
    )
    assert "nothing that you were shown" in blind["shown by"]
    assert "smell" in blind["not asked"]
    assert "rotten eggs" in seen["shown by"]
    assert "smell" not in seen.get("not asked", "")


@pytest.mark.parametrize("word", ["q", "quit", "Exit", "leave"])
def test_a_drill_is_left_without_a_score(rules: RuleBase, word: str) -> None:
    """Leaving before done scores nothing; after it the score stays."""
    drill = Drill(rules, draw(rules, 4, "easy"), "test")
    assert "without a score" in drill.say(word)[0].text
    assert (drill.over, drill.score) == (True, None)
    scored = played(rules, draw(rules, 4, "easy"), "done", word)
    assert scored.over
    assert scored.score is not None


def test_nonsense_and_hostile_lines_are_answered(rules: RuleBase) -> None:
    """Nothing typed ends the drill or costs minutes by accident."""
    drill = Drill(rules, draw(rules, 4, "easy"), "test")
    for line in ("", "qwxz", "\x1b[2J", "<script>", "recipe: x", "7", "cause: ", "x" * 5000):
        assert drill.say(line)
    assert not drill.over
    assert not drill.run.looks


@pytest.mark.parametrize(
    ("change", "right"),
    [
        (("cause: anaerobic_growth", "cause: anaerobic_grwth"), "anaerobic_growth"),
        (("story:", "stroy:"), "story"),
        (("smell: rotten_egg", "smell: roten_egg"), "rotten_egg"),
        (("cause: anaerobic_growth", "cause: skin_overload"), "fluid"),
        (("title: The Monday lathe", "title:"), "title"),
    ],
)
def test_a_mistake_in_a_trainers_file_says_what_is_right(
    rules: RuleBase, tmp_path: Path, change: tuple[str, str], right: str
) -> None:
    """Unknown cause, key or answer, a referral as fault, a missing title."""
    with pytest.raises(BadInput, match=right):
        own(rules, tmp_path, FOUL.replace(*change))


@pytest.mark.parametrize(
    ("said", "key"),
    [("level", "sump_fill"), ("look at the surface", "surface"), ("look of the fluid", "appearance")],
)
def test_plain_words_find_what_is_meant(rules: RuleBase, tmp_path: Path, said: str, key: str) -> None:
    """A band's name leads to the number that fills it; looking at a thing leads to the thing."""
    drill = Drill(rules, own(rules, tmp_path, RICH), "test")
    drill.say(said)
    assert [look.id for look in drill.run.looks] == [key]


def test_nothing_to_see_says_what_was_looked_at(rules: RuleBase, tmp_path: Path) -> None:
    """A clean surface is told as one, not as no surface."""
    told = Drill(rules, own(rules, tmp_path, RICH), "test").say("surface")[0].text
    assert "Surface: nothing out of the ordinary" in told


def test_a_thinning_is_no_fresh_charge(rules: RuleBase, tmp_path: Path) -> None:
    """Where a new charge is wanted, ending in the window with the old one left in is worth a quarter."""
    hidden = own(rules, tmp_path, RICH.replace("recipe: thin", "recipe: charge").replace("12 %", "7 %"))
    kept = played(rules, hidden, "people", "recipe: out 20 L, add 20 L at 7 %", "done")
    fresh = played(rules, hidden, "people", "recipe: out 195 L, add 195 L at 7 %", "done")
    assert kept.score is not None
    assert fresh.score is not None
    assert (kept.score.parts["recipe"], fresh.score.parts["recipe"]) == (0.25, 1.0)


def test_a_danger_in_own_words_is_never_put_down_to_another(rules: RuleBase, tmp_path: Path) -> None:
    """Rotten-egg gas in a closed room is the grave caution, or asked about, not a mere bad smell."""
    drill = Drill(rules, own(rules, tmp_path, FOUL), "test")
    told = drill.say("caution: rotten egg gas in a closed room")
    offered = " ".join(block.text for block in told)
    assert drill.run.cautions == ["hydrogen_sulphide_enclosed"] or "hydrogen sulphide enclosed" in offered


def test_no_name_of_a_look_is_a_command(rules: RuleBase, tmp_path: Path) -> None:
    """Whatever can be looked at can be asked for by its name; the finish of parts does not end the drill."""
    drill = Drill(rules, own(rules, tmp_path, RICH), "test")
    names = {item.name for item in rules.observables.values() if item.question}
    for name in sorted(names):
        before = len(drill.run.looks)
        told = drill.say(name)
        assert not drill.over, name
        assert len(drill.run.looks) == before + 1 or told[0].text == "Which one?", name


def test_half_a_match_costs_nothing(rules: RuleBase, tmp_path: Path) -> None:
    """Words of which only one occurs somewhere lead to no look: it is said that they were not understood."""
    drill = Drill(rules, own(rules, tmp_path, RICH), "test")
    for line in ("purple door handle", "any new oil or chemical", "did anything spill"):
        assert "I do not know what to look at" in drill.say(line)[0].text, line
    assert drill.run.looks == []
