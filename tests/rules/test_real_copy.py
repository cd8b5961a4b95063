"""A copy of the rules that ship, broken in every way: each mistake is told with file, line and advice."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from advisor.errors import BadRules
from advisor.knowledge.advice import Advice
from advisor.knowledge.checks import check
from advisor.knowledge.loader import compile_rules, rules_folder
from advisor.knowledge.rule_files import read_all

#: file, what is replaced (first place), by what, a text on the line to be named, words of the advice
FAULTS: list[tuple[str, str, str, str, str]] = [
    ("sources.yaml", "  iarc-86:", "  iarc-87: {body: Nobody, title: Unread, standing: read}\n  iarc-86:",
     "iarc-87", "take it out"),
    ("causes/tramp_oil.yaml", "dump_when:", "dump_when: Unknown.\n#", "Unknown", "leave the line out"),
    ("causes/salt_build_up.yaml", "means: ", 'means: "tbd" #', "tbd", "what a person at the sump"),
    ("causes/fungal_growth.cases.yaml", "silent: [fungal_growth]", "silent: [low_ph]", "",
     "fungal_growth.cases"),
    ("causes/bad_concentrate.cases.yaml", "asks:", "hides: []\n    #", "", "add one to rules/causes"),
    ("cautions/bleach_proposed.yaml", "text: ", "text: \"" + "No bleach in it. " * 12 + "\" #", "text: ",
     "put what is to be done"),
    ("cautions/drain_disposal_proposed.yaml", '"proposed_action: drain_disposal"',
     '"proposed_action: caustic"', "when:", "say what tells them apart"),
    ("bands/ph.yaml", "below: 8.0,", "below: 80,", "below: 80", "a limit from 0 to 14"),
    ("bands/windows.yaml", "high: 0.08", "high: 8", "high: 8", "between 0 and 1"),
    ("vocabulary/water.yaml", "      rain: ", "      puddle: {means: a puddle}\n      rain: ", "puddle",
     "or take it out"),
    ("vocabulary/foam_and_pump.yaml", "    costly: ", "    # costly: ", "question:", "what a wrong"),
    ("actions/skim_oil.yaml", "who: operator", "who: supervisor", "version:", "write version:"),
]  # fmt: skip


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The rules that ship, to be broken."""
    return Path(shutil.copytree(rules_folder(), tmp_path_factory.mktemp("copy") / "rules"))


def broken(folder: Path, file: str, old: str, new: str, at: str) -> int:
    """Break one file; the number of the line to be named, 0 where the entry itself is."""
    text = (folder / file).read_text(encoding="utf-8")
    assert old in text, f"{old!r} is not in {file}"
    (folder / file).write_text(text.replace(old, new, 1), encoding="utf-8")
    lines = (folder / file).read_text(encoding="utf-8").splitlines()
    return next((i for i, line in enumerate(lines, 1) if at and at in line), 0)


def told(found: list[Advice], place: str, words: str) -> bool:
    """Whether a remark stands at the place and gives the advice."""
    return any(re.match(re.escape(place), one.place) and words in one.right for one in found)


def test_each_fault_of_a_copy_is_told(copy: Path) -> None:
    """One run names them all; the sound files beside them stay silent."""
    lines = {file: broken(copy, file, old, new, at) for file, old, new, at, _ in FAULTS}
    files, troubles = read_all(copy)
    found = [one for one in check(files) if one.level == "error"]
    assert [trouble.sentence() for trouble in troubles] == []
    missed = [
        file for file, *_, words in FAULTS
        if not told(found, f"{copy / file.replace('.cases', '')}:{lines[file] or ''}", words)
    ]  # fmt: skip
    assert missed == []
    touched = {str(copy / file.replace(".cases", "")) for file, *_ in FAULTS}
    touched.add(str(copy / "vocabulary/people_and_danger.yaml"))  # a proposal has lost its caution
    assert {one.place.rpartition(":")[0] for one in found} <= touched


#: as above, for what cannot be read at all
MISTAKES: list[tuple[str, str, str, str, str]] = [
    ("causes/low_ph.yaml", "how_often:", "how_ofen:", "how_ofen", 'write "how_often"'),
    ("causes/high_ph.yaml", "version: ", "version: one #", "version: one", "a whole number"),
    ("causes/rich_mix.yaml", "\nmeans: ", "\n\tmeans: ", "\tmeans", "spaces in place of the tab"),
    ("cautions/fire.yaml", "level: emergency", "level: emergencyy", "emergencyy", 'write "emergency"'),
    ("actions/skim_oil.yaml", "who: operator", "who: operater", "operater", 'write "operator"'),
    ("bands/ph.yaml", "up_to: ", "upto: ", "upto", 'write "up_to"'),
    ("findings/rust.yaml", "sources: [", "sources: [] #[", "sources: []", "name at least one"),
    ("vocabulary/system.yaml", "kind: one_of", "kind: oneof", "oneof", 'write "one_of"'),
]

#: as above, for names that nothing has: the rules are put together file by file, the first one is told
NAMES: list[tuple[str, str, str, str, str]] = [
    ("causes/low_ph.yaml", "sources: [", "sources: [dguv-109-030, ", "dguv-109-030", 'write "dguv-109-003"'),
    ("causes/low_ph.yaml", "how_much: twice", "how_much: twicee", "twicee", 'write "twice"'),
    ("cautions/fire.yaml", "danger_now: fire", "danger_now: fier", "fier", 'write "fire"'),
    ("bands/ph.yaml", "facts: [ph_by_sheet,", "facts: [ph_by_sheat,", "ph_by_sheat", 'write "ph_by_sheet"'),
    ("bands/ph.yaml", '"region: de"', '"region: ed"', "region: ed", "known: us, gb, de"),
    ("actions/skim_oil.yaml", "id: skim_oil", "id: skim_oill", "skim_oill", 'write "id: skim_oil"'),
]


def test_each_mistake_of_a_copy_is_told(tmp_path: Path) -> None:
    """What cannot be read is told for every file at once, at its line."""
    folder = Path(shutil.copytree(rules_folder(), tmp_path / "rules"))
    lines = {file: broken(folder, file, old, new, at) for file, old, new, at, _ in MISTAKES}
    troubles = {trouble.place: trouble.right for trouble in read_all(folder)[1]}
    expected = {f"{folder / file}:{lines[file]}": words for file, *_, words in MISTAKES}
    assert troubles.keys() == expected.keys()
    assert [place for place, words in expected.items() if words not in troubles[place]] == []


@pytest.mark.parametrize("row", NAMES, ids=lambda row: row[3])
def test_a_name_that_nothing_has(tmp_path: Path, row: tuple[str, str, str, str, str]) -> None:
    """The line, and the nearest name there is."""
    file, old, new, at, words = row
    folder = Path(shutil.copytree(rules_folder(), tmp_path / "rules"))
    line = broken(folder, file, old, new, at)
    with pytest.raises(BadRules) as caught:
        compile_rules(folder)
    assert caught.value.place == f"{folder / file}:{line}"
    assert words in caught.value.right
