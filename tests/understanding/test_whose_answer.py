"""What a line says of one thing is no answer about another."""

from __future__ import annotations

import pytest

from advisor.cli import shared_lexicon
from advisor.dialogue.understanding import understand


@pytest.mark.parametrize(
    ("line", "expecting", "told", "untold"),
    [
        ("no i meant no one is ill, i dont know about the others", "neighbour", "skin", "neighbour"),
        ("nobody is ill", "neighbour", "skin", "neighbour"),
        ("another guy has a rash", None, "skin", "changed"),
        ("another lad looks after it now", None, "changed", "skin"),
        ("can i run it, we put biocide in yesterday", None, "event", "proposed_action"),
        ("can we top it up, i added antifoam this morning", None, "event", "proposed_action"),
        ("can i put biocide in, he says", None, "proposed_action", "event"),
    ],
)
def test_one_thing_is_no_answer_about_another(
    line: str, expecting: str | None, told: str, untold: str
) -> None:
    """People who are well say nothing of the machines beside; a deed after a question was done."""
    ids = {f.id for f in understand(line, lexicon=shared_lexicon(), expecting=expecting).facts}

    assert told in ids
    assert untold not in ids
