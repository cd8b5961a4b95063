"""People with complaints add up over the lines of a case and grow fewer only by a correction."""

from __future__ import annotations

import pytest

from advisor.cli import shared_lexicon
from advisor.dialogue.understanding import understand
from advisor.knowledge.facts import Fact

THREE = (Fact("skin", "itch", None), Fact("people_affected", 3.0, "1"))


@pytest.mark.parametrize(
    ("line", "count"),
    [
        ("one guy also has a cough", 4),
        ("kollege hat konzentrat ins auge bekommen", 4),
        ("2 guys have sore eyes", 5),
        ("two more people", 5),
        ("my mate coughs too", 4),
        ("another one has it now", 4),
        ("ein weiterer kollege hat ausschlag", 4),
        ("a second one itches", 4),
        ("now five guys have it", 5),
        ("no, only two people", 2),
        ("it was one guy, not three", 1),
        ("one guy has itchy hands", None),
        ("two of them also cough", None),
        ("he also has a cough", None),
        ("the rash is on their arms too", None),
        ("the foam is back too", None),
    ],
)
def test_people_add_up(line: str, count: int | None) -> None:
    """Of three told before; None says that the line leaves the count as it was."""
    got = understand(line, lexicon=shared_lexicon(), known=THREE).facts

    assert next((f.value for f in got if f.id == "people_affected"), None) == count


def test_two_counts_in_one_line_never_shrink() -> None:
    """The greater of two counts holds, whichever comes first."""
    got = understand("one guy coughs and three people have rashes", lexicon=shared_lexicon()).facts

    assert [f.value for f in got if f.id == "people_affected"] == [3.0]
