"""What somebody means to do and must not is heard in several wordings, and answered at the right level."""

from __future__ import annotations

import pytest

from advisor.dialogue.understanding import understand
from advisor.inference.assess import assess
from advisor.knowledge.rulebase import load
from tests.understanding.measure import lexicon

PLANS = [
    ("nitrite_proposed", "colleague wants to add a nitrite rust inhibitor, the fluid is amine based"),
    ("nitrite_proposed", "shall we put sodium nitrite in against rust"),
    ("nitrite_proposed", "can i use the old nitrite stuff for the rust"),
    ("hot_work_proposed", "were going to weld it while the coolant is in the tank"),
    ("hot_work_proposed", "can we weld the drum handle back on"),
    ("hot_work_proposed", "cut the top off the drum with the angle grinder?"),
    ("reaching_in_proposed", "ill reach in and pull the rag out while the pump is running"),
    ("reaching_in_proposed", "can i clear the conveyor with it running"),
    ("reaching_in_proposed", "bypass the door switch so i can watch the jet"),
    ("pressure_washing_proposed", "full of slime strings, going to pressure wash it out tomorrow"),
    ("pressure_washing_proposed", "can i steam clean the tank"),
    ("pressure_washing_proposed", "jet wash the slime off?"),
    ("water_on_metal_proposed", "we'll hose the magnesium swarf down"),
    ("water_on_metal_proposed", "put water on the burning chips"),
    ("water_on_metal_proposed", "should i throw a bucket of water on the magnesium bin"),
    ("water_into_straight_oil", "neat oil is hot, can i add some water to cool it"),
    ("more_biocide", "shall i put formaldehyde in"),
    ("deodoriser_proposed", "can we put essential oil in the tank"),
    ("salt_for_hardness_proposed", "can epsom salt fix soft water foam"),
    ("antifoam_proposed", "a drop of fabric softener kills foam right?"),
    ("climbing_in", "can i put my nose in the tank"),
]


@pytest.mark.parametrize(("caution", "line"), PLANS)
def test_a_dangerous_plan_is_answered(caution: str, line: str) -> None:
    """The caution about the plan stands, at the level of its file."""
    facts = understand(line, lexicon=lexicon()).facts

    assert caution in assess(facts, load(), questions=False).cautions


@pytest.mark.parametrize(
    "line",
    [
        "pressure washed parts come in wet",
        "the pressure is down at the pump",
        "jet is hitting the tool",
        "we welded the bracket last year",
        "reach for the top of the range",
        "hose it full with water",
        "steam comes off the part",
        "nitrite is 4 mg/l",
    ],
)
def test_what_only_sounds_like_one_is_not(line: str) -> None:
    """No stop comes of a word alone."""
    facts = understand(line, lexicon=lexicon()).facts
    planned = {f.value for f in facts if f.id == "proposed_action" and f.status == "present"}

    assert planned <= {"add_water"}


def test_bleach_and_then_acid_is_an_emergency() -> None:
    """A list joined by "and then some" is heard whole, and no smell of solvent is made of bleach."""
    line = "smells bad so we put bleach in and then some vinegar, now it stings your nose"
    facts = understand(line, lexicon=lexicon()).facts
    held = {f.key for f in facts}

    assert {"event: bleach_added", "event: acid_added"} <= held
    assert "smell: solvent" not in held
    assert assess(facts, load(), questions=False).cautions[0] == "gas_from_additions"


OTHER_WORDS = [
    ("climbing_in", "lean into the tank to get the filter out"),
    ("climbing_in", "apprentice can squeeze in through the hatch and clean it"),
    ("climbing_in", "ich steig mal eben in die grube"),
    ("carrying_on_with_complaints", "we just carry on with the cough"),
    ("deodoriser_proposed", "put some air freshener in it"),
    ("mixing_products_proposed", "is it ok to mix soluble with synthetic"),
    ("solvent_proposed", "can i get the gunk off with acetone"),
    ("acid_proposed", "a dash of phosphoric to clean it?"),
    ("hot_work_proposed", "koennen wir den tank schweissen"),
    ("pressure_washing_proposed", "ich will den tank mit dampfstrahler reinigen"),
    ("reaching_in_proposed", "kann ich bei laufender pumpe reingreifen"),
    ("nitrite_proposed", "sollen wir nitrit reinkippen gegen rost"),
    ("water_on_metal_proposed", "magnesiumspaene mit wasser loeschen?"),
    ("chemical_on_skin", "konzentrat ueber den arm geschuettet"),
    ("chemical_on_skin", "biozid auf die hand bekommen"),
]


@pytest.mark.parametrize(("caution", "line"), OTHER_WORDS)
def test_it_is_heard_in_other_words_and_in_german(caution: str, line: str) -> None:
    """Plans and accidents said as habit, as a trifle, or in the other language."""
    facts = understand(line, lexicon=lexicon()).facts

    assert caution in assess(facts, load(), questions=False).cautions
