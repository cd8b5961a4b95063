"""What a line is understood to say: floors on labelled phrases, answers, corrections, requests, speed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from advisor.dialogue.understanding import understand
from advisor.errors import BadRules
from advisor.knowledge.facts import Fact
from advisor.knowledge.yaml_source import read
from advisor.phrasing import compile_phrases
from tests.understanding.measure import HERE, RULES, lexicon, measure


@pytest.mark.parametrize(
    ("file", "precision", "recall"),
    [
        ("utterances.jsonl", 0.97, 0.95),
        ("own_phrases.jsonl", 0.97, 0.95),
        ("own_phrases_b.jsonl", 0.97, 0.95),
        ("own_phrases_c.jsonl", 0.97, 0.95),
        ("own_phrases_d.jsonl", 0.97, 0.95),
        ("own_phrases_e.jsonl", 0.97, 0.95),
        ("own_phrases_f.jsonl", 0.97, 0.95),
        ("additions_phrases.jsonl", 0.97, 0.95),
        ("fresh_phrases.jsonl", 0.97, 0.95),
        ("own_phrases_g.jsonl", 0.90, 0.85),
        ("own_phrases_h.jsonl", 0.95, 0.95),
        ("own_phrases_j.jsonl", 0.97, 0.95),
        ("own_phrases_k.jsonl", 0.97, 0.95),
        ("own_phrases_l.jsonl", 0.97, 0.95),
        ("blind_phrases.jsonl", 0.94, 0.91),
        ("trial_phrases.jsonl", 0.97, 0.95),
        # Written blind, and labelled twice, both without sight of lists or code; first read, with one
        # labelling, at 0.87 / 0.78 and 0.84 / 0.76.
        ("blind_phrases_b.jsonl", 0.94, 0.90),
        ("blind_phrases_c.jsonl", 0.95, 0.94),
        # The same, and never used to mend the reader: first read at 0.92 / 0.87 and 0.94 / 0.86.
        ("blind_phrases_d.jsonl", 0.92, 0.86),
        ("blind_phrases_f.jsonl", 0.92, 0.86),
        # Written and labelled blind by one person, then used for mending: first read at 0.86 / 0.83.
        ("blind_phrases_e.jsonl", 0.94, 0.93),
        # Seven batches, each written before the rules for it; first read at 0.76-0.92 / 0.65-0.89.
        ("own_phrases_i.jsonl", 0.94, 0.94),
    ],
)
def test_labelled_phrases_stay_understood(file: str, precision: float, recall: float) -> None:
    """Precision and recall on each labelled set do not fall below their floors."""
    score, rows = measure(HERE / file)
    wrong = [f"{line['text']}: {faults}" for line, faults, _ in rows if faults]
    assert score.lines >= 8
    assert score.precision() >= precision, wrong
    assert score.recall() >= recall, wrong


@pytest.mark.parametrize(
    ("expecting", "text", "value", "status"),
    [
        ("ph", "8.6", 8.6, "present"),
        ("concentration", "6,5", 0.065, "present"),
        ("sump_fill", "three quarters", 0.75, "present"),
        ("sump_volume", "200 l", 200.0, "present"),
        ("foam", "no", None, "ruled_out"),
        ("foam", "a bit", "light", "present"),
        ("circulated", "yes", "yes", "present"),
        ("circulated", "yes both", "yes", "present"),
        ("shake_test", "no still there thick", "foams", "present"),
        ("skin", "all clear", None, "ruled_out"),
        ("smell", "eggs", "rotten_egg", "present"),
        ("onset", "overnight", "sudden", "present"),
        ("changed", "nothing", "nothing", "present"),
        ("system", "single_sump", "single_sump", "present"),
        ("foam", "nein", None, "ruled_out"),
        ("anyone_unwell", "no", "no", "present"),
        ("anyone_unwell", "one of the guys has a cough", "yes", "present"),
    ],
)
def test_short_answers_answer_the_question(expecting: str, text: str, value: object, status: str) -> None:
    """A bare number, word, yes or no answers the question just asked."""
    facts = understand(text, lexicon=lexicon(), expecting=expecting).facts
    fact = next(f for f in facts if f.id == expecting)
    assert fact.status == status
    assert fact.value == pytest.approx(value) if isinstance(value, float) else fact.value == value


def test_an_answer_may_carry_other_facts() -> None:
    """An unasked-for fact beside the answer is kept."""
    understood = understand("no, but it stinks since monday", lexicon=lexicon(), expecting="foam")
    assert {(f.id, f.status) for f in understood.facts} >= {("foam", "ruled_out"), ("smell", "present")}


def test_another_finding_is_no_answer() -> None:
    """ "No rust" says nothing about the foam that was asked about."""
    understood = understand("no rust", lexicon=lexicon(), expecting="foam")
    assert [(f.id, f.status) for f in understood.facts] == [("rust", "ruled_out")]


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("back", "back"),
        ("why", "why"),
        ("why not tramp oil", "why_not"),
        ("what would change it", "what_would_change"),
        ("how sure are you?", "how_sure"),
        ("what if ph was 8.2", "what_if"),
        ("so far", "so_far"),
        ("help please", "help"),
        ("stop here", "stop_here"),
        ("skip", "skip"),
        ("dunno", "dont_know"),
        ("start over", "restart"),
        ("weiss nicht", "dont_know"),
    ],
)
def test_requests_are_no_facts(text: str, kind: str) -> None:
    """Words to the tool become requests and record nothing."""
    understood = understand(text, lexicon=lexicon(), expecting="ph")
    assert [r.kind for r in understood.requests] == [kind]
    assert understood.facts == ()


def test_a_dangerous_what_if_is_heard() -> None:
    """A side branch records nothing but the idea that needs its caution."""
    understood = understand("what if i put bleach in", lexicon=lexicon())
    assert [f.key for f in understood.facts] == ["proposed_action: bleach"]
    assert understood.requests[0].text == "i put bleach in"


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        ("no, I meant 8", "concentration", 0.08),
        ("i meant 8 not 7", "concentration", 0.08),
        ("sorry ph is 9.1", "ph", 9.1),
        ("scratch that, 5 %", "concentration", 0.05),
    ],
)
def test_corrections_name_what_they_replace(text: str, name: str, value: float) -> None:
    """A correction replaces the fact it names, or the last one its number can be."""
    known = [Fact("ph", 8.6, "pH"), Fact("concentration", 0.07, "fraction")]
    understood = understand(text, lexicon=lexicon(), known=known)
    assert understood.corrections == (name,)
    assert next(f for f in understood.facts if f.id == name).value == pytest.approx(value)


def test_a_corrected_reading_stays_a_reading() -> None:
    """ "The reading was 6" corrects a scale reading where that is what is held."""
    known = [Fact("refractometer_reading", 8.0, "°Bx")]
    understood = understand("no, the reading was 6", lexicon=lexicon(), known=known)
    assert understood.corrections == ("refractometer_reading",)
    assert understood.facts[0].value == pytest.approx(6.0)
    assert understood.requests == ()


def test_a_bare_gallon_is_loose_and_asked_about() -> None:
    """Without a shop a gallon is a US one, loosely; a known shop's gallon is firm."""
    unknown = understand("45 gallon tank", lexicon=lexicon())
    assert not unknown.facts[0].firm
    assert unknown.ask[0].about == "sump_volume"
    known = understand("45 gallon tank", lexicon=lexicon(), gallon="imperial")
    assert known.facts[0].firm
    assert known.facts[0].value == pytest.approx(45 * 4.54609)


@pytest.mark.parametrize(
    ("text", "about"), [("mixed 1:20", "mix_ratio"), ("half a pail", "pail"), ("between 5 and 6", "")]
)
def test_what_can_be_read_two_ways_is_asked(text: str, about: str) -> None:
    """Ratios, pails of unknown size and numbers alone are asked about, never guessed."""
    understood = understand(text, lexicon=lexicon())
    assert about in [a.about for a in understood.ask]


def test_a_volume_without_unit_is_asked_back() -> None:
    """ "50" as the size of a sump is no fact until its unit is known."""
    understood = understand("50", lexicon=lexicon(), expecting="sump_volume")
    assert understood.facts == ()
    assert understood.ask[0].about == "sump_volume"


@pytest.mark.parametrize(
    ("expecting", "text", "right"),
    [
        (None, "pH 27", "between pH 0.0 and pH 14.0"),
        (None, "strength 140 %", "between 0 % and 100 %"),
        ("sump_fill", "170", "between 0 % and 150 %"),
        (None, "pH 8.7", ""),
        (None, "tools last 200 % longer", ""),
    ],
)
def test_a_number_that_cannot_be_is_said(expecting: str | None, text: str, right: str) -> None:
    """A number outside the limits of its quantity is no fact but a sentence that names the limits."""
    understood = understand(text, lexicon=lexicon(), expecting=expecting)
    assert right in "".join(understood.wrong)
    assert bool(understood.wrong) is bool(right)
    assert not (understood.wrong and understood.facts)


@pytest.mark.parametrize(
    ("text", "present"),
    [
        ("fresh mix in a jar is ph 9.1, the sump is 8.4", {"fresh_mix_ph: 9.1", "ph: 8.4"}),
        ("shook it in a bottle, foam stays", {"shake_test: foams"}),
        ("tap water report: chloride 40, sulphate 55", {"water_chloride: 40", "water_sulfate: 55"}),
        ("reads 0.4 on plain water", {"refractometer_water_reading: 0.4"}),
    ],
)
def test_what_is_said_of_a_jar_or_the_water_is_not_of_the_sump(text: str, present: set[str]) -> None:
    """Findings and numbers belong to the jar, bottle or water they are said of."""
    facts = understand(text, lexicon=lexicon()).facts
    keys = {f"{f.id}: {f.value:g}" if isinstance(f.value, float) else f.key for f in facts}
    assert present <= keys
    assert keys.isdisjoint({"foam: heavy", "chloride: 40", "refractometer_reading: 0.4", "event: new_fill"})


def test_a_refused_act_is_no_proposal() -> None:
    """ "I dont want to dump it" proposes nothing; letting the level run down is a plan."""
    facts = understand(
        "i dont want to dump it, can i let it drop to half and top up", lexicon=lexicon()
    ).facts
    assert [f.key for f in facts] == ["proposed_action: run_down"]


def test_unused_words_are_said() -> None:
    """What was not understood is named, not guessed."""
    understood = understand("xyzzy foam blah", lexicon=lexicon())
    assert understood.unused == ("xyzzy", "blah")
    assert [f.key for f in understood.facts] == ["foam: heavy"]


@pytest.mark.parametrize(
    "text", ["", "   ", "???", "\x00\x07", "🙂", "9" * 5000, "no " * 400, "(((", "1e999"]
)
def test_odd_lines_do_no_harm(text: str) -> None:
    """Empty, endless and senseless lines are read without error and without invented facts."""
    understood = understand(text, lexicon=lexicon())
    assert understood.facts == ()


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("can i tip bleach in?", "proposed_action: bleach"),
        ("somebody tipped bleach in", "event: bleach_added"),
        ("shall i climb into the pit", "proposed_action: enter_tank"),
        ("pour it down the drain?", "proposed_action: drain_disposal"),
        ("kann ich Chlor reinkippen?", "proposed_action: bleach"),
    ],
)
def test_proposed_or_done(text: str, key: str) -> None:
    """What is asked about is a proposal, what has happened an event, never both."""
    keys = {f.key for f in understand(text, lexicon=lexicon()).facts}
    assert key in keys
    assert len({k for k in keys if k.startswith(("proposed_action", "event"))}) == 1


def test_every_answer_of_the_vocabulary_can_be_said() -> None:
    """Each value of each choice has at least one phrase, said freely or as a short answer."""
    said = {(t.name, t.value) for t in lexicon().targets if t and t.section in ("facts", "short")}
    lacking = [
        f"{o.id}: {value}"
        for o in lexicon().observables.values()
        for value in o.answers
        if (o.id, value) not in said
    ]
    assert lacking == []


def test_every_quantity_has_a_cue() -> None:
    """Each quantity can be named in words; those before another are reached through it."""
    cued = {t.name for t in lexicon().targets if t and t.section == "cues"}
    through = set(lexicon().settings["before"].values()) | {"target", "ph_first_fill", "other_water_hardness"}
    derived = {o["id"] for o in read(RULES / "vocabulary" / "derived.yaml").data["observables"]}
    quantities = {o.id for o in lexicon().observables.values() if o.kind == "quantity"} - derived
    assert quantities - cued - through == set()


def test_phrase_files_hide_no_comment() -> None:
    """A blank and a number sign outside a folded text would cut a phrase off."""
    folded = re.compile(r"^\s*\"?[\w?!-]+\"?: (?![>{\[|]).*\s#")
    for file in sorted((RULES / "phrases").glob("*/*.yaml")):
        for number, row in enumerate(file.read_text(encoding="utf-8").splitlines(), 1):
            assert not folded.match(row), f"{file}:{number}"


def test_wrong_phrases_are_refused() -> None:
    """An unknown section, group or open bracket names its file."""
    for data in (
        {"facs": {}},
        {"facts": {"foam": {"heavy": "<nothing>"}}},
        {"facts": {"foam": {"heavy": "(a|b"}}},
    ):
        with pytest.raises(BadRules) as caught:
            compile_phrases({"en": {"foam": data}})
        assert "en/foam.yaml" in caught.value.place


def test_reading_loads_neither_yaml_nor_pint() -> None:
    """Start-up stays light: the reader's modules import no heavy library."""
    folder = Path(RULES).parent / "advisor" / "dialogue" / "reading"
    for file in folder.glob("*.py"):
        assert not re.search(r"^(import|from) (yaml|pint|rapidfuzz)", file.read_text(encoding="utf-8"), re.M)


@pytest.mark.parametrize("word", ["alll", "alli", "blesch", "stell", "zinn", "lyr"])
def test_no_metal_and_no_chemical_is_made_of_a_slip(word: str) -> None:
    """A short unknown word, drawn out or misspelt, is never corrected into a metal or a chemical."""
    understood = understand(f"the {word} of it was wiped", lexicon=lexicon())

    assert not [f for f in understood.facts if f.id in ("workpiece", "event", "proposed_action")]
