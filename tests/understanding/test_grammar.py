"""The grammar of a line: what is said of which thing, what is over, what is only a comparison."""

from __future__ import annotations

import pytest

from advisor.dialogue.understanding import understand
from tests.understanding.measure import lexicon


def told(text: str) -> set[str]:
    """The facts of a line, those ruled out with a "not"."""
    facts = understand(text, lexicon=lexicon()).facts
    return {f"{'not ' if f.status == 'ruled_out' else ''}{f.id}: {f.value}" for f in facts}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("rust on the housings, the chuck is spotless", {"rust: parts", "not rust: fixtures"}),
        ("Schraubstock rostig, Bohrungen auch", {"rust: fixtures", "rust: parts"}),
        ("Rost nur am Maschinentisch, the shafts are bright", {"rust: machine", "not rust: parts"}),
        ("pallets corrode, the gears don't", {"rust: fixtures", "not rust: parts"}),
        ("bronze bushes turned dark", {"stain: brass_dark", "workpiece: bronze"}),
        ("the skimmer belt is in but catches nothing", {"skimmer: blocked"}),
        ("der Strich im Refraktometer ist nicht scharf", {"instrument: fuzzy_line"}),
        ("losses are made up with the hose", {"topup: water_only"}),
    ],
)
def test_a_thing_and_a_state_make_a_finding(text: str, wanted: set[str]) -> None:
    """Any word for a thing goes with any word for a state, in either language, denied or not."""
    assert wanted <= told(text)


@pytest.mark.parametrize(
    "text",
    [
        "the green forklift leaks",
        "a bloke in a grey shirt said so",
        "castings come out brown",
        "a yellow lamp is on",
        "der Mann im grauen Kittel",
        "the pump went black with age",
    ],
)
def test_a_colour_of_something_else_is_not_the_fluids(text: str) -> None:
    """A colour belongs to the thing its clause speaks of."""
    assert not {said for said in told(text) if said.startswith("colour")}


@pytest.mark.parametrize(
    ("text", "wanted", "barred"),
    [
        ("it went from yellow to black", "colour: black", "colour: yellow_brown"),
        ("the suds were grey last month, pink now", "colour: pink", "colour: grey"),
        ("war gelb, ist jetzt schwarz", "colour: black", "colour: yellow_brown"),
    ],
)
def test_a_state_that_is_over_is_not_present(text: str, wanted: str, barred: str) -> None:
    """What the fluid was before is no finding of today."""
    assert wanted in told(text)
    assert barred not in told(text)


@pytest.mark.parametrize("text", ["he is right as rain", "slippery like a well", "gone as fast as rain"])
def test_a_comparison_tells_no_finding(text: str) -> None:
    """What something is only likened to is not in the shop."""
    assert not {said for said in told(text) if said.startswith("water_source")}
