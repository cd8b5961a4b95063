"""Lines that put themselves right, mix two languages, speak of another time or make an exception."""

from __future__ import annotations

import pytest

from advisor.dialogue.understanding import understand
from tests.understanding.measure import lexicon


def told(text: str) -> dict[str, object]:
    """Ids and values of what holds after `text`."""
    return {f.id: f.value for f in understand(text, lexicon=lexicon()).facts if f.status == "present"}


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("ph 8.1, no wait, 8.7", "ph", 8.7),
        ("5 % sorry 6.5 %", "concentration", 0.065),
        ("chloride 60 hang on 80", "chloride", 80.0),
        ("pH war 9.0, nein 8.6", "ph", 8.6),
        ("ph 8.1, no rust", "ph", 8.1),
    ],
)
def test_a_number_put_right_in_the_same_breath(text: str, name: str, value: float) -> None:
    """The later number stands under the earlier one's name; a "no" that denies a thing corrects nothing."""
    assert told(text)[name] == pytest.approx(value)


def test_a_finding_put_right_in_the_same_breath() -> None:
    """Of two looks with "no wait" between them the second stands."""
    assert told("looks cloudy, no wait, separated")["appearance"] == "separated"


def test_a_share_of_a_vessel() -> None:
    """A third of a 21 litre bucket is 7 litres, and the bucket holds 21."""
    facts = told("chucked in a third of a 21 litre bucket of neat")
    assert facts["concentrate_added"] == pytest.approx(7.0)
    assert facts["pail"] == pytest.approx(21.0)


def test_a_height_of_a_height() -> None:
    """22 cm of 40 is 55 %."""
    assert told("level 22 cm of 40")["sump_fill"] == pytest.approx(0.55)


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("the Dichtungen are swelling", ("machine_damage", "seals_swelling")),
        ("the line is unscharf when I look", ("instrument", "fuzzy_line")),
        ("nothing changed but the drum", ("changed", "drum")),
        ("nothing is different except the operator", ("changed", "person")),
        ("someone chucked in vinegar and bleach", ("event", "bleach_added")),
    ],
)
def test_mixed_and_excepted(text: str, key: tuple[str, str]) -> None:
    """German nouns in an English line count; what is excepted from "nothing" did change."""
    assert told(text)[key[0]] == key[1]


def test_what_was_not_before_is_not_denied_now() -> None:
    """ "No foam on the old charge" rules out no foam today."""
    facts = understand("no foam on the old charge", lexicon=lexicon()).facts
    assert [f.id for f in facts if f.status == "ruled_out"] == []


def test_a_meter_beside_values_near_nine_reads_a_ph() -> None:
    """Two bare values of 7.5 to 10.5 said of a meter are a pH, at first fill and now."""
    facts = told("meter says 8.9, 9.3 when we filled it")
    assert (facts["ph"], facts["ph_first_fill"]) == (8.9, 9.3)


@pytest.mark.parametrize(
    ("text", "value"), [("Strength 8 on target, pH 9.0", 0.08), ("strength is 7 % right on target", 0.07)]
)
def test_a_strength_on_target_tells_both(text: str, value: float) -> None:
    """The number is the strength and the wanted strength."""
    facts = told(text)
    assert facts["concentration"] == pytest.approx(value)
    assert facts["target"] == pytest.approx(value)


def test_a_right_zero_is_no_wrong_zero() -> None:
    """ "Plain water reads 0" faults no instrument; 0.5 does."""
    assert told("plain water reads 0").get("instrument") is None
    assert told("plain water reads 0.5")["instrument"] == "not_zeroed"


def test_fine_parts_do_not_deny_the_full_tank() -> None:
    """What "are fine" says of the parts does not reach back over the "and"."""
    facts = understand("the tank is full and the parts are fine", lexicon=lexicon()).facts
    assert ("sump_level", "ruled_out") not in [(f.id, f.status) for f in facts]
