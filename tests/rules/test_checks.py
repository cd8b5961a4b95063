"""Each check finds what it is for in a base that is otherwise sound, and nothing in the sound one."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.knowledge.advice import Advice
from advisor.knowledge.checks import check
from advisor.knowledge.loader import compile_rules
from advisor.knowledge.rule_files import read_all
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.rule_proofs import prove
from tests.rules.small_base import FILES, line_of, write

LID, SOUR, FLOOR = "causes/oil_lid.yaml", "causes/souring.yaml", "cautions/slimy_floor.yaml"
SEEN, BANDS, LID_CASES = "vocabulary/seen.yaml", "bands/acidity.yaml", "causes/oil_lid.cases.yaml"
TWIN = (
    FILES[FLOOR]
    .replace("slimy_floor", "slippery")
    .replace(
        '"surface: mats", {quantity: acidity, below: 6}', '{quantity: acidity, below: 6}, "surface: mats"'
    )
)

OLD_NOTE = "  old-note: {body: A club, title: Old, standing: read}\n"
DUST = """\
  - id: dust
    kind: quantity
    name: depth of dust
    role: reading
    unit: "1"
    question: How deep?
    sources: [practice]
"""

#: name of the check: file, what is replaced, by what, a text on the line to be named
FAULTS: dict[str, list[tuple[str, str, str, str]]] = {
    "unused source": [
        ("sources.yaml", "  jar-note:", OLD_NOTE + "  jar-note:", "old-note"),
    ],
    "unused answer": [
        (SEEN, "      mats:", "      dust: {means: dust, base: seldom}\n      mats:", "dust"),
    ],
    "deaf sign": [
        (LID, '"surface: oil_lid"', '"look"', 'finding: "look"'),
        (LID, '"surface: oil_lid"', '"acidity"', 'finding: "acidity"'),
        (LID, '"surface: oil_lid"', '"metal: steel"', 'finding: "metal'),
    ],
    "threshold": [
        (BANDS, "    scales:", "    by_sheet: {facts: [depth], inside: ok}\n    scales:", "by_sheet"),
        (SEEN, '    unit: "pH"\n', "", ""),
        (BANDS, "below: 8.5", "below: 85", "below: 85"),
        (BANDS, "- {answer: ok}", "- {answer: ok, below: 8}\n          - {answer: low}", "below: 8}"),
        (FLOOR, "below: 6", "below: 60", "below: 60"),
        (FLOOR, "below: 6", "from: 7, below: 6", "from: 7"),
        (FLOOR, "below: 6", "above: 6, to: 6", "above: 6"),
        (BANDS, "high: 0.1,", "high: 10,", "high: 10"),
    ],
    "equal conditions": [
        (SOUR, '"surface: mats"', "lid_on_sour_fluid", "sometimes, because: Both"),
    ],
    "filler": [
        (LID, "Oil floats on the fluid and shuts out the air.", "Unknown.", "Unknown"),
        (SOUR, "In a week.", "n/a", "n/a"),
        (FLOOR, "Slime makes the floor slippery.", "Slime, tbd later.", "tbd"),
        (LID, "It floats.", "...", "because: ..."),
    ],
    "not whole": [
        (LID, "look_alikes:\n  - {cause: souring, tell_apart: A sour sump smells.}\n", "", "signs:"),
        (LID, "hold: skim\n", "", "signs:"),
        (SOUR, "dump_when: It is in layers.\n", "", "signs:"),
        (SOUR, "prevent:\n  - Keep it aired.\n", "", "signs:"),
        (SEEN, "    costly: One wrong pH costs a charge.\n", "", "What is the pH?"),
        (SEEN, "    look:\n      - Read the job sheet.\n", "", "Which metal is cut?"),
    ],
    "too long": [
        (FLOOR, "Slime makes the floor slippery.", "Slime makes the floor slippery. " * 7, "text:"),
    ],
    "unanswered": [
        (SEEN, "    role: context\n", "    role: safety\n", "steel"),
    ],
    "id in a text": [
        (LID, "Oil floats on the fluid", "Oil floats (lid-book) on the fluid", "means:"),
    ],
    "cases": [
        (LID_CASES, "    lead: oil_lid\n", "", ""),
        (LID_CASES, "    silent: [oil_lid]\n", "", ""),
        (LID_CASES, "    asks: [surface]\n", "", ""),
        ("cautions/slimy_floor.cases.yaml", "    hides: [slimy_floor]\n", "", ""),
    ],
}  # fmt: skip
ROWS = [(name, row) for name, rows in FAULTS.items() for row in rows]


def remarks(folder: Path) -> list[Advice]:
    """Everything but the versions, which have tests of their own."""
    files, troubles = read_all(folder)
    assert troubles == []
    return [one for one in check(files) if one.check != "version"]


def proofs(folder: Path) -> list[Advice]:
    """What judging finds."""
    return prove(RuleBase(json.loads(compile_rules(folder))), read_all(folder)[0])


def test_a_sound_base_has_nothing_to_mend(tmp_path: Path) -> None:
    """No check cries out without cause."""
    folder = write(tmp_path)
    assert remarks(folder) == []
    assert proofs(folder) == []


@pytest.mark.parametrize(("name", "row"), ROWS, ids=[f"{n}-{i}" for i, (n, _) in enumerate(ROWS)])
def test_a_fault_is_found_where_it_stands(tmp_path: Path, name: str, row: tuple[str, str, str, str]) -> None:
    """The check of that name speaks, at the line where there is one."""
    file, old, new, at = row
    folder = write(tmp_path, file, old, new)

    found = [one for one in remarks(folder) if one.check == name]

    assert found
    assert not at or f"{folder / file}:{line_of(folder, file, at)}" in {one.place for one in found}


def test_two_cautions_told_at_the_same_time(tmp_path: Path) -> None:
    """The order in which a condition lists its parts does not hide a twin."""
    folder = write(tmp_path, more={"cautions/slippery.yaml": TWIN})
    assert [one.check for one in remarks(folder) if "same condition" in one.what] == ["equal conditions"]


def test_two_cautions_that_come_to_the_same(tmp_path: Path) -> None:
    """A condition multiplied out is the same condition."""
    whole = FILES[FLOOR].replace('{any: ["surface: mats", {quantity: acidity, below: 6}]}', "{0}")
    one = whole.replace("{0}", '{all: [look, {any: ["surface: mats", "surface: oil_lid"]}]}')
    out = '{any: [{all: ["surface: mats", look]}, {all: [look, "surface: oil_lid"]}]}'
    two = whole.replace("{0}", out).replace("id: slimy_floor", "id: slippery")
    folder = write(tmp_path, more={FLOOR: one, "cautions/slippery.yaml": two})
    assert [p.place for p in proofs(folder) if p.check == "equal conditions"] == [
        f"{folder / 'cautions/slippery.yaml'}:4"
    ]


def test_cases_of_nothing(tmp_path: Path) -> None:
    """A case file whose rule has another name is told."""
    folder = write(tmp_path, more={"causes/oil_led.cases.yaml": FILES[LID_CASES]})
    (found,) = remarks(folder)
    assert found.place == f"{folder / 'causes/oil_led.cases.yaml'}:1"


def test_a_cause_not_tried_at_its_limit(tmp_path: Path) -> None:
    """A silent case beside the limit does not show on which side the limit itself lies."""
    file = "causes/souring.cases.yaml"
    folder = write(tmp_path, file, "acidity: 8.5", "acidity: 8.6")
    (found,) = proofs(folder)
    assert (found.check, found.place) == ("cases", f"{folder / 'causes/souring.yaml'}:1")
    assert "exactly at a limit" in found.what


def test_a_question_nothing_uses(tmp_path: Path) -> None:
    """A quantity that no band, rule or part of the program reads is not worth asking."""
    folder = write(tmp_path, SEEN, "  - id: look\n", DUST + "  - id: look\n")
    (found,) = [one for one in remarks(folder) if one.check == "idle question"]
    assert found.place == f"{folder / SEEN}:{line_of(folder, SEEN, 'How deep?')}"


def test_a_question_whose_answers_all_lead_to_the_same(tmp_path: Path) -> None:
    """When both causes begin with the same action, no answer changes what is done first."""
    folder = write(tmp_path, SOUR, "do: [measure]", "do: [skim, measure]")
    found = [one for one in proofs(folder) if one.check == "idle question"]
    assert {one.what.split('"')[1] for one in found} == {"surface", "look", "acidity"}


def test_a_cause_that_cannot_win(tmp_path: Path) -> None:
    """A cause that shows everything less often than its rival leads from none of its signs."""
    weak = (
        FILES[LID]
        .replace("often\n    because", "sometimes\n    because")
        .replace("common: common", "common: rare")
    )
    strong = (
        FILES[SOUR].replace('"surface: mats"', '"surface: oil_lid"').replace("common: rare", "common: common")
    )
    folder = write(tmp_path, more={LID: weak, SOUR: strong})
    found = [one for one in proofs(folder) if one.check == "cannot win"]
    assert [one.place for one in found] == [f"{folder / LID}:{line_of(folder, LID, 'signs:')}"]


@pytest.mark.parametrize(
    ("old", "new", "at", "says"),
    [
        ("{look: parted}", "{loook: parted}", "loook", 'did you mean "look"'),
        ("{look: parted}", "{look: partd}", "partd", 'did you mean "parted"'),
        ("{surface: oil_lid}", "{surface: mats}", "a lid is seen", "oil_lid should lead"),
    ],
)
def test_a_case_that_does_not_come_out(tmp_path: Path, old: str, new: str, at: str, says: str) -> None:
    """Its line, and what is wrong with it."""
    folder = write(tmp_path, LID_CASES, old, new)
    (found,) = [one for one in proofs(folder) if one.check == "case"]
    assert found.place == f"{folder / LID_CASES}:{line_of(folder, LID_CASES, at)}"
    assert says.lower() in found.line().lower()


@pytest.mark.parametrize(
    ("old", "new", "code"), [("", "", 0), ("It floats.", "n/a", 1), ("It floats", "\tx", 2)]
)
def test_exit_codes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, old: str, new: str, code: int) -> None:
    """0 without an error, 1 when a check finds one, 2 when a file cannot be used at all."""
    folder = write(tmp_path, LID if old else "", old, new if code < 2 else f"It: floats{new}")
    monkeypatch.setenv("SUMPSIDE_RULES", str(folder))
    assert main(["rules", "check", "--table"]) == code
