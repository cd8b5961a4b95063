"""The supervisor's list, the screen of one case, signatures, and where people and rules disagree."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.dialogue.case import fact_data
from advisor.dialogue.given import given_facts
from advisor.dialogue.understanding import Lexicon
from advisor.errors import BadInput
from advisor.knowledge.rulebase import RuleBase
from advisor.knowledge.yaml_source import read
from advisor.logbook.store import SqliteStore
from advisor.reports import review, signing
from advisor.reports.case_screen import answers_blocks, case_blocks, case_json
from advisor.reports.cases import open_case
from advisor.reports.path import path_blocks
from advisor.terminal.render import render
from tests.transcripts.replay import FOLDER, Stage

NOON = "2025-03-04T12:00:00Z"
FOUL = (("rotten eggs in a closed room", {"smell": "rotten_egg", "hazard_context": "no_ventilation"}),)
VAGUE = (("a bit of foam", {"foam": "light"}),)
READ = {"status": "present", "firm": True, "said": None}
SPAN = {"strength_low": 0.065, "strength_high": 0.08, "strength_after": 0.07}
OPTION = {"name": "water to the mark", "remove_l": 0.0, "add_l": 40.0, "pails": [], "days": None, **SPAN}
RECIPE = {"refused": None, "options": [OPTION], "warnings": [], "assumptions": [], "steps": [], **SPAN}


def reasons(store: SqliteStore) -> dict[int, set[str]]:
    """Case -> ids of why it needs eyes."""
    return {row["case"]: {r["id"] for r in row["reasons"]} for row in review.list_json(store)}


def recheck(store: SqliteStore, case: int, reads: float) -> None:
    """A recipe, and the reading after it."""
    facts = [{**READ, "id": "concentration", "value": reads, "unit": "fraction"}]
    store.append(case, "recipe", {"recipe": RECIPE}, time=NOON, who="op")
    store.append(case, "recheck", {"recipe": None}, time=NOON, who="op", visit=2)
    store.append(case, "said", {"facts": facts}, "reads", time=NOON, who="op")


def sign(store: SqliteStore, case: int, cause: str | None, reason: str = "") -> None:
    """A supervisor's signature."""
    data = signing.signature(open_case(store, case), cause, reason)
    store.append(case, "review", data, time=NOON, who="SV")


def test_a_stop_comes_before_what_is_open(store: SqliteStore, save: Callable[..., int]) -> None:
    """A case with a stop caution is listed before an unsettled one, whatever came last."""
    foul, vague = save(FOUL), save(VAGUE)
    listed = review.list_json(store)
    assert [row["case"] for row in listed] == [foul, vague]
    assert [row["reasons"][0]["id"] for row in listed] == ["stop", "unsettled"]


def test_a_missed_prediction_needs_eyes(store: SqliteStore, save: Callable[..., int]) -> None:
    """A recheck outside the predicted span is a reason, one at its edge is none."""
    missed, held = save(), save()
    recheck(store, missed, 0.0801)
    recheck(store, held, 0.08)
    found = reasons(store)
    assert "missed" in found[missed]
    assert "missed" not in found[held]


GLASS = (
    ("no", {}),
    ("reads 9 on the glass", {"refractometer_reading": 9.0, "refractometer_factor": 1.5, "target": "7 %"}),
    ("level is down", {"sump_level": "low"}),
)


def test_a_changed_strength_takes_the_place_of_the_reading(
    store: SqliteStore, save: Callable[..., int], rules: RuleBase
) -> None:
    """9 on the glass times 1.5 is 13.5 %; with the strength changed to 6.5 % the mix is not too strong."""
    case = open_case(store, save(GLASS))
    extra = given_facts({"facts": {"concentration": "6.5 %"}}, rules)
    changed = review.changed_json(case, extra)
    assert case.view().strength.value == pytest.approx(0.135)
    assert case.tried(extra).strength.value == pytest.approx(0.065)
    assert "rich_mix" in {c["id"] for c in changed["recorded"]["causes"][:3]}
    assert "rich_mix" not in {c["id"] for c in changed["changed"]["causes"][:3]}


def test_the_complaint_is_the_first_line_that_told_something(
    store: SqliteStore, save: Callable[..., int]
) -> None:
    """What was typed before it and meant nothing is no complaint."""
    assert open_case(store, save(GLASS)).complaint == "reads 9 on the glass"
    assert open_case(store, save(VAGUE)).complaint == "a bit of foam"


WELL = ("nobody", {"ruled_out": ["skin", "breathing", "eyes_nose", "injury", "danger_now"]})
READ_WELL = (
    "all of that",
    {"facts": {"reading_care": ["skimmed", "zeroed", "fresh"], "sample_point": "surface"}},
)


def test_the_screen_is_short_and_the_rest_is_a_word_away(
    store: SqliteStore, save: Callable[..., int], rules: RuleBase
) -> None:
    """All well is told once and care is counted; a doubtful sample stays, and the page of answers has all."""
    case = save()
    for words, given in (WELL, READ_WELL):
        facts = [fact_data(f, words) for f in given_facts(given, rules)]
        store.append(case, "said", {"facts": facts}, words, time=NOON, who="op")
    opened = open_case(store, case)
    short, whole = (" ".join(b.text for b in made(opened)) for made in (case_blocks, answers_blocks))
    assert "nobody with complaints, no danger now" in short
    assert "how it was read: 3 of 4 points of care" in short
    assert "where the sample came from" in short
    assert "no chest complaints" in whole
    assert "zeroed on water" in whole
    assert "zeroed on water" not in short


def test_a_thin_verdict_names_the_answer_that_stood_then(
    store: SqliteStore, save: Callable[..., int]
) -> None:
    """A reading after the fix is not what the verdict rests on."""
    case = save((("reads 4", {"concentration": "4 %", "target": "8 %"}),))
    before = [row["reasons"] for row in review.list_json(store)]
    assert "strength 4 %" in before[0][0]["text"]
    recheck(store, case, 0.079)
    after = {r["text"] for row in review.list_json(store) for r in row["reasons"] if r["id"] == "thin"}
    assert after == {before[0][0]["text"]}


def test_what_is_taken_back_later_stood_at_the_verdict(
    store: SqliteStore, save: Callable[..., int]
) -> None:
    """An answer withdrawn after the verdict is still what it was judged on."""
    case = save()
    told = open_case(store, case).judged
    number = next(e.number for e in store.events(case) if e.kind == "said")
    store.append(case, "retracted", {"events": [number]}, time=NOON, who="op")
    assert open_case(store, case).judged == told


def test_a_loose_answer_needs_eyes(store: SqliteStore, save: Callable[..., int]) -> None:
    """An answer that was only guessed is a reason."""
    case = save()
    loose = {**READ, "id": "ph", "value": 8.1, "unit": "pH", "firm": False}
    store.append(case, "said", {"facts": [loose]}, "maybe 8.1", time=NOON, who="op")
    assert "loose" in reasons(store)[case]


def test_an_agreed_case_goes_to_the_end(store: SqliteStore, save: Callable[..., int]) -> None:
    """A signed case is last, though it had a stop caution."""
    foul, vague = save(FOUL), save(VAGUE)
    sign(store, foul, None)
    assert [row["case"] for row in review.list_json(store)] == [vague, foul]
    assert reasons(store)[foul] == {"signed"}


def test_an_overruling_needs_a_reason_and_a_cause(store: SqliteStore, save: Callable[..., int]) -> None:
    """Without a reason, or for an unknown cause, nothing is signed."""
    case = open_case(store, save())
    with pytest.raises(BadInput, match="needs a reason"):
        signing.signature(case, "tramp_oil", " ")
    with pytest.raises(BadInput, match="tramp oil"):
        signing.signature(case, "tramp_oli", "seen")


def test_the_report_names_the_rules_concerned(store: SqliteStore, save: Callable[..., int]) -> None:
    """Two overrulings of one verdict count together, with the signs that had spoken for it."""
    for _ in range(2):
        sign(store, save(), "hard_water_build_up", "lime in the pipes")
    sign(store, save(), None)
    found = review.report_json(store)
    (one,) = found["disagreements"]
    assert (found["agreed"], len(one["cases"]), one["held"]) == (1, 2, "hard_water_build_up")
    assert one["said"]
    assert set(one["rules"].values()) == {2}


def test_the_screen_tells_what_a_minute_needs(store: SqliteStore, save: Callable[..., int]) -> None:
    """Complaint, answers in order, verdict, what it hangs on, the runner-up, and the result are there."""
    case = save()
    recheck(store, case, 0.09)
    blocks = case_blocks(open_case(store, case))
    labels = [block.label for block in blocks]
    assert [label for label in labels if label.isdigit()][:3] == ["1", "2", "3"]
    assert {"COMPLAINT", "VERDICT", "hangs on", "runner-up", "RESULT"} <= set(labels)
    assert "MISSED" in next(block.text for block in blocks if block.label == "RESULT")


def test_cautions_say_whether_they_were_acknowledged(store: SqliteStore, save: Callable[..., int]) -> None:
    """A caution carries shown, and acknowledged only once somebody said so."""
    case = save(FOUL)
    before = " ".join(b.text for b in case_blocks(open_case(store, case)) if b.kind == "stop")
    data = {"cautions": ["hydrogen_sulphide_enclosed"]}
    store.append(case, "acknowledged", data, time=NOON, who="op")
    after = " ".join(b.text for b in case_blocks(open_case(store, case)) if b.kind == "stop")
    assert "[shown]" in before
    assert "[shown, acknowledged]" in after


def test_a_changed_answer_moves_the_verdict_and_nothing_else(
    store: SqliteStore, save: Callable[..., int], lexicon: Lexicon
) -> None:
    """Without the smell the stop is gone; the record has not grown."""
    case = save(FOUL)
    before = len(store.events(case))
    opened = open_case(store, case)
    made = review.changed_blocks(opened, signing.changes(opened, ["not smell"], lexicon))
    assert any(b.label == "caution gone" and "hydrogen sulphide" in b.text for b in made)
    assert len(store.events(case)) == before


def test_what_the_verdict_hangs_on_is_what_was_said(store: SqliteStore, save: Callable[..., int]) -> None:
    """At most two answers, all of them told by the person."""
    held = case_json(open_case(store, save()))["hangs_on"]
    assert 1 <= len(held) <= 2
    assert {fact["id"] for fact in held} <= {
        "concentration",
        "trend_concentration",
        "season",
        "topup",
        "target",
        "sump_level",
    }


def test_erased_words_stay_erased(store: SqliteStore, save: Callable[..., int]) -> None:
    """After erasing, list, screen and path say so and show none of the words; the facts remain."""
    case = save(FOUL)
    store.erase_words(case)
    opened = open_case(store, case)
    told = " ".join(b.text for b in (*case_blocks(opened), *path_blocks(opened), *review.list_blocks(store)))
    assert "words erased" in told
    assert "rotten eggs in a closed room" not in told
    assert "smell: rotten eggs" in told


def test_a_fact_today_s_rules_do_not_know_is_left_out(store: SqliteStore, save: Callable[..., int]) -> None:
    """An old case with an answer that is gone from the rules can still be opened."""
    case = save(VAGUE)
    gone = {**READ, "id": "phlogiston", "value": "much", "unit": None}
    store.append(case, "said", {"facts": [gone]}, "x", time=NOON, who="op")
    opened = open_case(store, case, today=True)
    assert [fact.id for fact in opened.state.facts] == ["foam"]
    assert case_blocks(opened)


@pytest.mark.parametrize("story", sorted(f.stem for f in FOLDER.glob("*.yaml")))
def test_a_case_is_read_in_a_minute(tmp_path: Path, story: str) -> None:
    """The first page of every saved conversation has at most 200 words, 200 a minute being an easy pace."""
    document = read(FOLDER / f"{story}.yaml").data
    stage = Stage(tmp_path, document.get("shop", "metric"))
    for step in document["turns"]:
        stage.turn(str(step["say"]))
    number = stage.session.case
    blocks = case_blocks(open_case(stage.store, number)) if number is not None else []
    stage.store.close()
    said = [word for word in render(blocks, 80, rows=None).split() if any(c.isalnum() for c in word)]
    assert len(said) <= 200
