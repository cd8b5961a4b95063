"""One mistake in one file: the person who made it gets the file, the line, and what would be right."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.errors import BadRules
from advisor.knowledge.loader import compile_rules
from advisor.knowledge.rule_files import read_all
from tests.rules.small_base import line_of, write

LID, SOUR, FLOOR = "causes/oil_lid.yaml", "causes/souring.yaml", "cautions/slimy_floor.yaml"
BANDS, SEEN = "bands/acidity.yaml", "vocabulary/seen.yaml"

#: name: file, what is replaced, by what, a text on the line to be named, words of the advice
MISTAKES: dict[str, tuple[str, str, str, str, str]] = {
    "a key mistyped": (LID, "how_often: often", "how_ofen: often", "how_ofen", 'Write "how_often"'),
    "an id mistyped": (LID, '"surface: oil_lid"', '"surfce: oil_lid"', "surfce", 'Write "surface"'),
    "a word without a number": (LID, "how_often: often", "how_often: oftn", "oftn", 'Write "often"'),
    "a source left out": (
        LID,
        "    because: It floats.\n    sources: [lid-book]\n",
        "    because: It floats.\n",
        "finding: ",
        'Add "sources: [practice]"',
    ),
    "no source in the list": (
        LID,
        "floats.\n    sources: [lid-book]",
        "floats.\n    sources: []",
        "sources: []",
        "Name at least one",
    ),
    "a source not listed": (
        LID,
        "floats.\n    sources: [lid-book]",
        "floats.\n    sources: [lid-bok]",
        "lid-bok",
        'Write "lid-book"',
    ),
    "a line indented too little": (LID, "    how_often", "   how_often", "how_often: often", "by 4 spaces"),
    "a line indented too far": (LID, "    how_often", "     how_often", "how_often: often", "by 4 spaces"),
    "a key given twice": (LID, "title: Oil lid", "title: Oil lid\ntitle: Lid", "title: Lid", "Keep one"),
    "a tab": (LID, "    how_often", "\thow_often", "\thow_often", "spaces in place of the tab"),
    "a colon left out": (LID, "common: common", "common common", "common common", 'Write "key: value"'),
    "no space after a dash": (LID, '- finding: "', '-finding: "', "-finding", 'Write "- "'),
    "an answer that is none": (SOUR, "{low: often}", "{lo: often}", "{lo: often}", 'Write "low"'),
    "a number in words": (LID, "version: 1", "version: one", "version: one", "a whole number"),
    "one thing where a list belongs": (LID, "do: [skim]", "do: skim", "do: skim", 'write "do: [skim]"'),
    "a circle": (
        SOUR,
        "signs:",
        "leads_to:\n  - {cause: oil_lid, how_often: often, sources: [practice]}\nsigns:",
        "leads_to",
        "Remove one of these links",
    ),
    "a link that never counts": (
        LID,
        "  - {cause: souring, how_often: sometimes, sources: [lid-book]}\n",
        "  - {cause: souring, how_often: sometimes, sources: [lid-book]}\n"
        '  - {cause: souring, how_often: often, when: "metal: steel", sources: [lid-book]}\n',
        "how_often: often, when",
        'Put the one without "when:" last',
    ),
    "an action that is none": (LID, "do: [skim]", "do: [skimm]", "skimm", 'Write "skim"'),
    "an id that is not the file's": (LID, "id: oil_lid", "id: oil_lit", "oil_lit", 'Write "id: oil_lid"'),
    "a colon in bare text": (LID, "means: Oil", "means: Note: oil", "Note", 'key: "text: with a colon"'),
    "a comma in bare text in braces": (
        LID,
        "A sour sump smells.",
        "A sour sump, it smells.",
        "it smells",
        "put that text in quotes",
    ),
    "a quote left open": (LID, 'run."', "run.", "run_because", 'second " at the end'),
    "a bracket left open": (LID, "do: [skim]", "do: [skim", "do: [skim", 'Close it with "]"'),
    "a key left out": (LID, "common: common\n", "", "id: oil_lid", 'Add "common: …"'),
    "a level that is none": (FLOOR, "level: warn", "level: warning", "warning", 'Write "warn"'),
    "a comparison mistyped": (FLOOR, "below: 6", "bellow: 6", "bellow", 'Write "below"'),
    "a limit in words": (FLOOR, "below: 6", "below: six", "below: six", "a plain number in pH"),
    "a joining word mistyped": (FLOOR, "{any: [", "{anny: [", "anny", 'Write "any"'),
    "a band of nothing": (BANDS, "of: acidity\n", "of: acidty\n", "of: acidty", 'Write "acidity"'),
    "a band with a gap": (BANDS, "{answer: low, below: 8.5}", "{answer: low}", "{answer: low}", '"below:"'),
    "an id used twice": (SEEN, "id: look\n", "id: surface\n", "id: surface", "another id"),
    "a base rate that is none": (SEEN, "lid, base: seldom", "lid, base: seldm", "seldm", 'Write "seldom"'),
}  # fmt: skip


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_gets_file_line_and_advice(tmp_path: Path, name: str) -> None:
    """The message begins with the file and the line of the mistake and says what would be right."""
    file, old, new, at, advice = MISTAKES[name]
    folder = write(tmp_path, file, old, new)
    lines = (folder / file).read_text(encoding="utf-8").splitlines()
    there = [number for number, line in enumerate(lines, 1) if at in line]

    with pytest.raises(BadRules) as caught:
        compile_rules(folder)

    assert caught.value.place == f"{folder / file}:{there[-1]}"
    assert advice in caught.value.sentence() or advice in caught.value.right


def test_a_letter_that_is_not_utf_8_is_found_on_its_line(tmp_path: Path) -> None:
    """An old editor's accent gets its line; Windows line ends are read as they stand."""
    folder = write(tmp_path)
    whole = (folder / LID).read_bytes()
    (folder / LID).write_bytes(whole.replace(b"\n", b"\r\n"))
    assert b'"souring"' in compile_rules(folder)
    (folder / LID).write_bytes(whole.replace(b"It floats", b"It fl\xf6ats"))

    with pytest.raises(BadRules) as caught:
        compile_rules(folder)

    line = whole[: whole.index(b"It floats")].count(b"\n") + 1
    assert caught.value.place == f"{folder / LID}:{line}"
    assert "UTF-8" in caught.value.sentence()


def test_a_sound_base_compiles(tmp_path: Path) -> None:
    """Without a mistake there is nothing to say, so the tests above fail for their mistake alone."""
    assert b'"souring"' in compile_rules(write(tmp_path))
    assert read_all(tmp_path)[1] == []


def test_every_broken_file_is_named_at_once(tmp_path: Path) -> None:
    """Two mistakes in two files are two messages, not one after the other."""
    write(tmp_path, LID, "version: 1", "version: one", more={FLOOR: "id: slimy_floor\n\tversion: 1\n"})

    _, troubles = read_all(tmp_path)

    places = {trouble.place.removeprefix(f"{tmp_path}/") for trouble in troubles}
    assert places == {f"{LID}:2", f"{FLOOR}:2"}


def test_a_key_of_a_case_mistyped(tmp_path: Path) -> None:
    """A case file is checked like any other."""
    file = "causes/oil_lid.cases.yaml"
    folder = write(tmp_path, file, "asks: [surface]", "ask: [surface]")

    (trouble,) = read_all(folder)[1]

    assert trouble.place == f"{folder / file}:{line_of(folder, file, 'ask: ')}"
    assert trouble.right == 'write "asks"'
