"""What a supervisor says in plain words: other answers on trial, agreeing, overruling, signing."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from advisor.dialogue.understanding import Lexicon
from advisor.errors import BadInput
from advisor.knowledge.rulebase import RuleBase
from advisor.logbook.store import SqliteStore
from advisor.reports.case_screen import case_blocks
from advisor.reports.cases import open_case
from advisor.reports.review_talk import ReviewTalk
from advisor.reports.signing import cause_called, changes, overruling

NOON = "2025-03-04T12:00:00Z"
LATER = "2025-03-05T08:00:00Z"
Save = Callable[..., int]


def desk(store: SqliteStore, lexicon: Lexicon, **more: str) -> ReviewTalk:
    """A supervisor at the desk."""
    return ReviewTalk(store, lexicon, lambda: LATER, **more)


def told(talk: ReviewTalk, *lines: str) -> str:
    """All that is answered to these lines."""
    return " ".join(f"{b.label} {b.text}" for line in lines for b in talk.say(line))


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("it was tramp oil because the jar showed oil", "tramp_oil"),
        ("overrule it was Tramp oil, because the jar showed oil", "tramp_oil"),
        ("wrong: bacteria are living in the coolant: the slide was full", "bacterial_growth"),
        ("overrule: lean_mix since the titration said 3 %", "lean_mix"),
        ("no, it was the wrong product because of the drum", "mixed_or_wrong_product"),
    ],
)
def test_an_overruling_in_a_sentence(rules: RuleBase, text: str, cause: str) -> None:
    """Cause and reason are found in what a person would write."""
    found, reason = overruling(rules, text)
    assert found == cause
    assert reason


def test_what_could_be_several_is_asked_and_nothing_is_guessed(rules: RuleBase) -> None:
    """Oil alone is more than one cause; nonsense is none; a missing reason is asked for."""
    with pytest.raises(BadInput, match="could be several"):
        cause_called(rules, "oil")
    with pytest.raises(BadInput, match="no cause is called"):
        cause_called(rules, "gremlins in the drive")
    with pytest.raises(BadInput, match="needs a reason"):
        overruling(rules, "overrule it was tramp oil")


def test_every_cause_is_found_by_its_own_names(rules: RuleBase) -> None:
    """Id, title and plain words of each cause lead to it."""
    for key, cause in rules.causes.items():
        for name in (key, key.replace("_", " "), cause.text["title"], cause.plain):
            assert cause_called(rules, str(name)) == key


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("strength: 6.5", "concentration", 0.065),
        ("the strength was 6.5 %", "concentration", 0.065),
        ("ph: 8.2", "ph", 8.2),
        ("no oil on top", "surface: oil_layer", "oil_layer"),
        ("not foam", "foam", None),
    ],
)
def test_another_answer_by_id_or_in_words(
    store: SqliteStore, save: Save, lexicon: Lexicon, text: str, key: str, value: object
) -> None:
    """A change is taken as rules write it and as a person says it."""
    (fact,) = changes(open_case(store, save()), [text], lexicon)
    assert (fact.key, fact.value) == (key, value)


def test_what_is_no_answer_is_refused(store: SqliteStore, save: Save, lexicon: Lexicon) -> None:
    """A bare number could be several things, and chatter is none; the sentence says what would be right."""
    case = open_case(store, save())
    with pytest.raises(BadInput, match="could be"):
        changes(case, ["6.5"], lexicon)
    with pytest.raises(BadInput, match="no answer"):
        changes(case, ["hello there"], lexicon)
    with pytest.raises(BadInput):
        changes(case, ["phlogiston: 3"], lexicon)


def test_a_signature_asks_who_and_keeps_the_chain(store: SqliteStore, save: Save, lexicon: Lexicon) -> None:
    """Name, time, rule base and the seal of the chain before it are in the event that is signed."""
    case = save()
    last = store.events(case)[-1]
    talk = desk(store, lexicon, suggested="kim")
    talk.open(case)
    assert "Who signs?" in told(talk, "overrule it was tramp oil because the jar showed oil")
    assert len(store.events(case)) == last.number
    assert f"by kim, {LATER}" in told(talk, "")
    event = store.events(case)[-1]
    assert (event.kind, event.who, event.time) == ("review", "kim", LATER)
    assert (event.data["cause"], event.data["seal"]) == ("tramp_oil", last.hash)
    assert event.data["rules"] == store.events(case)[-2].data["rules"]


def test_no_signs_nothing_and_a_name_once_given_stays(
    store: SqliteStore, save: Save, lexicon: Lexicon
) -> None:
    """A no leaves the record as it was; the name given for one case signs the next."""
    one, two = save(), save()
    talk = desk(store, lexicon)
    talk.open(one)
    assert "Not signed" in told(talk, "agree", "no")
    assert store.events(one)[-1].kind == "verdict"
    told(talk, "agree", "Lee", f"{two}", "agree")
    assert [store.events(case)[-1].who for case in (one, two)] == ["Lee", "Lee"]


def test_the_desk_walks_by_need_and_forgives(store: SqliteStore, save: Save, lexicon: Lexicon) -> None:
    """Next opens what needs eyes most; what is not understood is told and costs nothing."""
    given = {"smell": "rotten_egg", "hazard_context": "no_ventilation"}
    foul = save((("rotten eggs in a closed room", given),))
    talk = desk(store, lexicon)
    talk.open()
    assert "no case is open" in told(talk, "agree").lower()
    assert f"CASE {foul}" in told(talk, "next")
    assert "AS IT STANDS" in told(talk, "what if it did not smell")
    assert "there is no case 99" in told(talk, "99").lower()
    assert told(talk, "help", "path", "leave")
    assert talk.over
    assert store.events(foul)[-1].kind == "verdict"


def test_a_verdict_is_read_as_it_stood(store: SqliteStore, save: Save) -> None:
    """A reading after the fix is shown, but it does not make the verdict of before look wrong."""
    case = save()
    reading = {"id": "concentration", "value": 0.08, "unit": "fraction", "status": "present", "firm": True}
    store.append(case, "said", {"facts": [{**reading, "said": None}]}, "reads 8", time=LATER, who="op")
    opened = open_case(store, case)
    blocks = case_blocks(opened)
    assert not any("judged again it differs" in b.text for b in blocks)
    assert any("strength 8 %" in b.text for b in blocks)
    assert len(opened.judged) == len(opened.state.facts) - 1
