"""What a supervisor says in plain words: other answers on trial, agreeing, overruling, signing."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from advisor.dialogue.carried import of_sump
from advisor.dialogue.understanding import Lexicon
from advisor.errors import BadInput, Refused
from advisor.knowledge.rulebase import RuleBase
from advisor.logbook.store import SqliteStore
from advisor.reports import review
from advisor.reports.case_screen import case_blocks
from advisor.reports.cases import open_case
from advisor.reports.review_talk import ReviewTalk
from advisor.reports.signing import cause_called, changes, overruling
from advisor.showing import local_time

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
        ("overule its hard water build up becuase lime sits in the pipes", "hard_water_build_up"),
        ("no, it was the wrong product because of the drum", "mixed_or_wrong_product"),
    ],
)
def test_an_overruling_in_a_sentence(rules: RuleBase, text: str, cause: str) -> None:
    """Cause and reason are found in what a person would write."""
    found, reason = overruling(rules, text)
    assert found == cause
    assert reason


def test_what_could_be_several_is_asked_and_nothing_is_guessed(rules: RuleBase) -> None:
    """Oil alone is more than one cause; nonsense is none."""
    with pytest.raises(BadInput, match="could be several"):
        cause_called(rules, "oil")
    with pytest.raises(BadInput, match="no cause is called"):
        cause_called(rules, "gremlins in the drive")


@pytest.mark.parametrize(
    "line",
    [
        "no i think wrong, it was tramp oil",
        "wrong it was tramp oli",
        "i dont agree its tramp oil",
        "overule tramp oil",
        "I think it was tramp oil",
    ],
)
def test_a_cause_named_without_a_reason_is_offered_and_the_reason_asked(
    store: SqliteStore, save: Save, lexicon: Lexicon, line: str
) -> None:
    """However it is said, the cause is said back and why is asked; the answer is the reason signed."""
    case = save()
    talk = desk(store, lexicon)
    talk.open(case)
    assert "overrule with Machine oil has got into the coolant" in told(talk, line)
    assert "needs a reason" in told(talk, "because")
    told(talk, "the jar showed oil", "Kim")
    event = store.events(case)[-1]
    assert (event.data["cause"], event.data["reason"]) == ("tramp_oil", "the jar showed oil")


def test_an_answer_is_tried_and_never_taken_for_a_cause(
    store: SqliteStore, save: Save, lexicon: Lexicon
) -> None:
    """What is said in the same words as an overruling, but is an answer, is judged on trial."""
    talk = desk(store, lexicon)
    talk.open(save())
    for line in ("it was 6.5 percent", "no it did not smell", "no, the ph was 8.2"):
        assert "AS IT STANDS" in told(talk, line), line
        assert talk.waiting is None


@pytest.mark.parametrize("line", ["overrule", "no", "i think its wrong", "I disagree."])
def test_whoever_disagrees_is_asked_for_the_cause(
    store: SqliteStore, save: Save, lexicon: Lexicon, line: str
) -> None:
    """Likely causes are offered by number; a name in plain words will do, and so will no."""
    case = save()
    talk = desk(store, lexicon)
    talk.open(case)
    first = talk.case.view().causes if talk.case else ()
    assert "Which cause is right?" in told(talk, line)
    assert "overrule with" in told(talk, "1")
    assert talk.waiting is not None
    assert talk.waiting.cause in {judged.id for judged in first[1:]}
    assert "Not signed" in told(talk, "no")
    told(talk, line, "tramp oli", "the jar showed it", "Kim")
    assert store.events(case)[-1].data["cause"] == "tramp_oil"


@pytest.mark.parametrize(
    "line", ["agree", "overrule", "it was tramp oil", "it was tramp oil because of the jar"]
)
def test_a_case_without_a_verdict_is_refused_before_anything_is_asked(
    store: SqliteStore, save: Save, lexicon: Lexicon, line: str
) -> None:
    """There is nothing to agree with or to overrule."""
    talk = desk(store, lexicon)
    talk.open(save(verdict=False))
    assert "no verdict to sign" in told(talk, line)
    assert talk.waiting is None


def test_a_mind_may_change_before_it_is_signed(store: SqliteStore, save: Save, lexicon: Lexicon) -> None:
    """An overruling typed where the name was asked for takes the agreement's place."""
    case = save()
    talk = desk(store, lexicon)
    talk.open(case)
    told(talk, "agree", "wrong, it was tramp oil because the reading was wrong", "Kim")
    (event,) = [e for e in store.events(case) if e.kind == "review"]
    assert (event.data["cause"], event.data["reason"]) == ("tramp_oil", "the reading was wrong")


@pytest.mark.parametrize("line", ["waht if it did not smell", "if the strength was 6", "try no smell"])
def test_a_trial_is_heard_however_it_is_typed(
    store: SqliteStore, save: Save, lexicon: Lexicon, line: str
) -> None:
    """The words before a trial answer may be short or slipped."""
    talk = desk(store, lexicon)
    talk.open(save())
    assert "AS IT STANDS" in told(talk, line)


def test_why_shows_how_it_was_decided(store: SqliteStore, save: Save, lexicon: Lexicon) -> None:
    """Why and path are the same page."""
    talk = desk(store, lexicon)
    talk.open(save())
    assert told(talk, "why?") == told(talk, "pth") != ""


@pytest.mark.parametrize(
    ("word", "shown"),
    [("answers", "ANSWERS"), ("how sure", "VERDICT"), ("cautions", "STOP"), ("recipe", "no recipe yet"),
     ("back", "SAVED CASES"), ("hepl", "opens case 12")],
)  # fmt: skip
def test_the_pages_of_a_case(
    store: SqliteStore, save: Save, lexicon: Lexicon, word: str, shown: str
) -> None:
    """Each word shows its page and signs nothing; what is none points to help."""
    given = {"smell": "rotten_egg", "hazard_context": "no_ventilation"}
    case = save((("rotten eggs in a closed room", given),))
    talk = desk(store, lexicon)
    talk.open(case)
    assert shown in told(talk, word)
    assert '"help" shows' in told(talk, "who said that")
    assert store.events(case)[-1].kind == "verdict"


def test_a_second_signature_shows_the_first_and_is_added(
    store: SqliteStore, save: Save, lexicon: Lexicon
) -> None:
    """Signed otherwise a second time, the first is shown, it is asked, and both stand in the record."""
    case = save()
    talk = desk(store, lexicon)
    talk.open(case)
    told(talk, "agree", "Kim")
    asked = told(talk, "overrule it was tramp oil because of the jar")
    assert "SIGNED ALREADY agreed by Kim" in asked
    assert "would say otherwise" in asked
    assert "Not signed" in told(talk, "no")
    told(talk, "overrule it was tramp oil because of the jar", "perhaps", "yes")
    assert [e.data["agrees"] for e in store.events(case) if e.kind == "review"] == [True, False]


def test_two_signatures_that_differ_need_eyes(store: SqliteStore, save: Save, lexicon: Lexicon) -> None:
    """An agreement after an overruling does not take the case off the list; both are named."""
    case = save()
    for who, line in (("Kim", "it was tramp oil because of the jar"), ("Lee", "agree")):
        talk = desk(store, lexicon, who=who)
        talk.open(case)
        told(talk, line, "yes")
    (row,) = review.list_json(store)
    assert row["reasons"][0]["id"] == "overruled"
    assert "overruled by Kim: tramp oil; agreed by Lee" in row["reasons"][0]["text"]


def test_somebody_who_signs_meanwhile_is_shown_before_it_is_written(
    store: SqliteStore, save: Save, lexicon: Lexicon
) -> None:
    """A signature that came while the name was asked is shown, and asked about, too."""
    case = save()
    one, other = desk(store, lexicon), desk(store, lexicon)
    for talk in (one, other):
        talk.open(case)
        told(talk, "agree")
    told(other, "Lee")
    assert "agreed by Lee" in told(one, "Kim")
    assert [e.who for e in store.events(case) if e.kind == "review"] == ["Lee"]
    told(one, "yes")
    assert [e.who for e in store.events(case) if e.kind == "review"] == ["Lee", "Kim"]


@pytest.mark.parametrize("word", ["agree", "yes", "ok", "next", "what if ph was 8", "12", "why?", "overrule"])
def test_what_is_no_name_does_not_sign(store: SqliteStore, save: Save, lexicon: Lexicon, word: str) -> None:
    """A word of the desk, an answer or a number is told to be no name, and the name is asked for again."""
    case = save()
    talk = desk(store, lexicon)
    talk.open(case)
    assert "not a name to sign with" in told(talk, "agree", word)
    assert store.events(case)[-1].kind == "verdict"
    told(talk, "I. Berg-Øst")
    assert store.events(case)[-1].who == "I. Berg-Øst"


@pytest.mark.parametrize("word", ["q", "quit", "Exit", "leave", "bye"])
def test_every_word_that_leaves_leaves_at_any_question(
    store: SqliteStore, save: Save, lexicon: Lexicon, word: str
) -> None:
    """At the list and at the question who signs, leaving signs nothing."""
    case = save()
    for lines in ((), (f"{case}", "agree"), (f"{case}", "it was tramp oil")):
        talk = desk(store, lexicon)
        talk.open()
        assert "signed" in told(talk, *lines, word)
        assert talk.over
    assert store.events(case)[-1].kind == "verdict"


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
    assert f"by kim, {local_time(LATER)}" in told(talk, "")
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


ACID = (("i poured vinegar in", {"event": "acid_added"}),)


def test_a_signed_agreement_lifts_the_stop_of_its_case(
    store: SqliteStore, lexicon: Lexicon, rules: RuleBase, save: Save
) -> None:
    """Who, when and what are in the signature; a plain agreement lifts nothing."""
    case = save(ACID, sump="Mill 9")
    talk = desk(store, lexicon)
    assert "NOT PUT RIGHT" in " ".join(b.label for b in talk.open(case))
    told(talk, "agree", "K. Berg")
    assert of_sump(store, "Mill 9", rules)

    told(talk, "put right", "yes")

    signed = store.events(case)[-1]
    assert (signed.kind, signed.who, signed.time) == ("review", "K. Berg", LATER)
    assert "acid_in_the_sump" in signed.data["put_right"]
    assert of_sump(store, "Mill 9", rules) == []


@pytest.mark.parametrize("said", ["i think it is put right", "should be sorted", "not put right yet"])
def test_a_doubt_signs_nothing_as_put_right(
    store: SqliteStore, lexicon: Lexicon, rules: RuleBase, save: Save, said: str
) -> None:
    """The line is answered with what would be right, and nothing is asked for."""
    talk = desk(store, lexicon, who="K. Berg")
    talk.open(save(ACID, sump="Mill 9"))

    assert "doubt lifts no stop" in told(talk, said)
    assert talk.waiting is None
    assert of_sump(store, "Mill 9", rules)


def test_who_may_not_lift_a_stop_signs_nothing(
    store: SqliteStore, lexicon: Lexicon, rules: RuleBase, save: Save
) -> None:
    """The sign is checked before anything is written."""
    case = save(ACID, sump="Mill 9")

    def may_lift(who: str) -> None:
        raise Refused(f"{who!r} may not", value=who, right="A supervisor can.")

    talk = ReviewTalk(store, lexicon, lambda: LATER, who="op", may_lift=may_lift)
    talk.open(case)

    assert "may not" in told(talk, "put right")
    assert store.events(case)[-1].kind != "review"
    assert of_sump(store, "Mill 9", rules)
