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
        "the saw has a brown table",
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


@pytest.mark.parametrize(
    ("text", "part", "whole"),
    [
        ("ten lathes in the hall, seven of those foam", 7, 10),
        ("von 14 Maschinen haben 3 Schaum", 3, 14),
        ("one of our nine mills foams", 1, 9),
        ("2 aus 5 Anlagen schäumen", 2, 5),
        ("of thirteen machines four foam", 4, 13),
    ],
)
def test_a_share_of_the_machines_counts_both(text: str, part: int, whole: int) -> None:
    """ "So many of so many" gives those affected and all of them, whichever is named first."""
    assert {f"machines_affected: {part}.0", f"machines_total: {whole}.0"} <= told(text)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("ph 9.6 fresh, 9.1 in june, 8.9 now", {"ph_first_fill: 9.6", "ph_before: 9.1", "ph: 8.9"}),
        (
            "Stärke 8 im Herbst, 6,5 letzte Woche, jetzt 5",
            {"concentration_before: 0.065", "concentration: 0.05"},
        ),
        ("3 percent, sorry thats mondays, today 6", {"concentration_before: 0.03", "concentration: 0.06"}),
        ("nitrite 8 last month and 30 on this strip", {"nitrite_before: 8.0", "nitrite: 30.0"}),
        ("Konzentration soll 8 sein, ist 5", {"target: 0.08", "concentration: 0.05"}),
        ("it should sit at 7 but it reads 9 percent", {"target: 0.07", "concentration: 0.09"}),
    ],
)
def test_a_series_is_dated_stretch_by_stretch(text: str, wanted: set[str]) -> None:
    """Each number of a series is dated by the words of its own stretch only."""
    assert wanted <= told(text)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("die Füllung ist siebzehn Monate alt", "fluid_age: 510.0"),
        ("Tank fasst zweihundertfünfzig Liter", "sump_volume: 250.0"),
        ("sump is nineteen days old", "fluid_age: 19.0"),
        ("one part to twenty five", "mix_ratio: 25.0"),
    ],
)
def test_numbers_in_words_are_numbers(text: str, wanted: str) -> None:
    """A number may be one German word, or a ratio in words."""
    assert wanted in told(text)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("a shaken bottle won't foam", "shake_test: no_foam"),
        ("we never run any magnesium or zinc on it", "not workpiece: magnesium"),
        ("es riecht aber nix", "not smell: None"),
        ("Refraktometer zeigt 5, noch nicht umgerechnet", "factor_applied: no"),
        ("the lathe opposite has the same fluid and no rust", "neighbour: fine"),
        ("brix 3, then 3.5, now 5", "refractometer_reading: 5.0"),
    ],
)
def test_a_denial_reaches_what_it_denies(text: str, wanted: str) -> None:
    """A denial takes in what its own clause says, and one of two answers denied is the other."""
    assert wanted in told(text)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("fell from 9.0 to 8.4, that's the ph", {"ph_before: 9.0", "ph: 8.4"}),
        ("the ph sits at 8.8", {"ph: 8.8"}),
        ("strip reads 9 and the meter 8.6", {"ph: 9.0", "ph_second: 8.6"}),
        ("Nitrit 25, im Mai war null", {"nitrite: 25.0", "nitrite_before: 0.0"}),
        ("can we thin it down to 6 percent", {"target: 0.06"}),
        ("factor two point one", {"refractometer_factor: 2.1"}),
        ("Tank ist ein Drittel leer", {"sump_fill: 0.6666666666666667"}),
    ],
)
def test_a_figure_takes_the_quantity_the_line_names(text: str, wanted: set[str]) -> None:
    """The quantity a line names is that of its figures, wherever it stands, and a plan's end is a target."""
    assert wanted <= told(text)


@pytest.mark.parametrize(
    ("text", "barred"),
    [
        ("I make a tea and the foam is back", "colour"),
        ("the pail in the corner is low", "sump_level"),
        ("tool life is up by a third", "sump_fill"),
        ("pressure 6 bar, should be 25", "target"),
        ("taps last twice as long", "tool_life: poor"),
        ("a whiff of nothing since the cleaner left", "smell: solvent"),
    ],
)
def test_words_of_another_thing_fill_no_fact(text: str, barred: str) -> None:
    """A drink, a pail, a tool or a pressure lends its words and figures to no other fact."""
    assert not {said for said in told(text) if said.startswith(barred)}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("everything rusts, table, chuck and parts", {"rust: machine", "rust: fixtures", "rust: parts"}),
        ("the duct hardly draws", {"extraction: blocked"}),
        ("Bakterizid haben wir gestern zugegeben", {"event: biocide_dosed"}),
        ("not a trace of rust", {"not rust: None"}),
        ("down for 3 weeks", {"idle_time: 21.0", "event: idle"}),
        ("central plant for eleven machines", {"machines_total: 11.0"}),
    ],
)
def test_a_list_a_half_denial_and_a_figure_tell_what_goes_with_them(text: str, wanted: set[str]) -> None:
    """Things listed share the state, "hardly" denies what should work, a stop of days is a stop."""
    assert wanted <= told(text)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("can I put more biocide in? the lads did it yesterday already", "event: biocide_dosed"),
        ("soll Entschäumer rein? hat gestern schon einer gemacht", "event: antifoam_dosed"),
        ("my skin itches, worst when I am at the machine", "symptom_pattern: worse_at_work"),
    ],
)
def test_a_clause_leans_on_the_one_before(text: str, wanted: str) -> None:
    """ "Somebody did it yesterday" is the deed just asked about, "worst when" waits for what follows."""
    assert wanted in told(text)


@pytest.mark.parametrize(
    ("text", "barred"),
    [
        ("acid to bring the ph down?", "trend_ph"),
        ("it smells, not only on mondays", "smell_when: monday"),
        ("I stood by the machine all day", "event"),
    ],
)
def test_a_purpose_and_a_person_tell_nothing_of_the_sump(text: str, barred: str) -> None:
    """A purpose is no trend, "not only" no time, and a person who stood is no machine that did."""
    assert not {said for said in told(text) if said.startswith(barred)}


@pytest.mark.parametrize(
    ("text", "wanted", "barred"),
    [
        ("glass says 4, with factor 1.4", "refractometer_reading: 4.0", "factor_applied"),
        ("vier Maschinen von neun rosten die Teile", "machines_affected: 4.0", "rust: machine"),
        ("Schaum kam nach dem Reiniger", "event: cleaner_used", "smell"),
        ("15 machines, all of them stink", "machines_affected: 15.0", "people"),
        ("the mill over there is fine", "operation: milling", "not operation"),
    ],
)
def test_a_word_is_read_with_what_stands_beside_it(text: str, wanted: str, barred: str) -> None:
    """A factor with its figure, machines with their number and "nach" without a smell say only that."""
    assert wanted in told(text)
    assert not {said for said in told(text) if said.startswith(barred)}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("9 lathes in a row, three have the foam", {"machines_total: 9.0", "machines_affected: 3.0"}),
        ("Osmosewasser, Leitwert 25", {"water_conductivity: 25.0"}),
        ("Absaugung aus", {"extraction: off"}),
        ("Wasser kommt aus der Leitung, Skimmer läuft", {"skimmer: running"}),
    ],
)
def test_small_words_are_read_by_their_place(text: str, wanted: set[str]) -> None:
    """ "Three have it" are some of all, 25 µS are the water's, "aus" is a state only where it ends."""
    assert wanted <= told(text)


def test_a_weight_is_no_reading() -> None:
    """ "5 kg" is said back as not used and asked about as nothing."""
    understood = understand("added 5 kg of powder", lexicon=lexicon())
    assert understood.ask == ()
    assert any("5 kg" in words for words in understood.unused)
