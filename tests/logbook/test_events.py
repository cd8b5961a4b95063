"""Events and their chain."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import Any

import pytest

from advisor.dialogue import events as ev
from advisor.errors import BadInput
from tests.logbook.conftest import NOON, OPENED, judged, said


def case_of(*later: tuple[str, dict[str, Any]]) -> list[ev.Event]:
    """A case with these events after its opening."""
    made: list[ev.Event] = []
    for number, (kind, data) in enumerate([("opened", OPENED), *later], start=1):
        head = made[-1].hash if made else ev.GENESIS
        made.append(ev.chain(head, case=7, number=number, kind=kind, data=data, time=NOON, who="op"))
    return made


SAID = ("said", said(8.9))


def test_hash_is_sha256_of_sorted_json() -> None:
    """Anyone can compute the hash again with a JSON and a SHA-256 of their own."""
    event = case_of(SAID)[1]
    fields = {name: getattr(event, name) for name in ev.Event.__slots__ if name != "hash"}
    text = json.dumps(fields, sort_keys=True, separators=(",", ":"))
    assert event.hash == hashlib.sha256(text.encode()).hexdigest()


def test_a_whole_chain_has_no_problems() -> None:
    """What `chain` made, `verify` accepts."""
    assert ev.verify(case_of(SAID, ("verdict", judged()), SAID)) == []


@pytest.mark.parametrize(
    ("field", "value"),
    [("time", "2025-03-04T12:00:01Z"), ("who", "other"), ("visit", 2), ("kind", "shown"), ("data", said(7.1)),
     ("words_key", "7.2"), ("schema", 0), ("number", 9), ("case", 8), ("previous", "0" * 64)],
)  # fmt: skip
def test_a_changed_field_shows(field: str, value: Any) -> None:
    """No field of an event can be changed without `verify` naming that event."""
    chain = case_of(SAID, SAID)
    chain[1] = replace(chain[1], **{field: value})
    assert any(problem.number == chain[1].number for problem in ev.verify(chain))


@pytest.mark.parametrize("gone", [0, 1, 2])
def test_a_missing_event_shows(gone: int) -> None:
    """An event taken out of the middle or the beginning is missed."""
    chain = case_of(SAID, SAID, SAID)
    del chain[gone]
    assert ev.verify(chain)


def test_swapped_events_show() -> None:
    """The order is part of the record."""
    chain = case_of(("said", said(8.0)), ("said", said(9.0)))
    chain[1], chain[2] = chain[2], chain[1]
    assert ev.verify(chain)


def test_a_noted_hash_shows_a_chain_made_anew() -> None:
    """A chain computed again as a whole holds in itself, but not against a hash noted on paper."""
    noted = case_of(("said", said(8.9)))[-1].hash
    anew = case_of(("said", said(6.0)))
    assert ev.verify(anew) == []
    assert "noted hash" in str(ev.verify(anew, printed=noted)[0])


def test_a_newer_event_is_named_as_such() -> None:
    """An event of a later format is not called forged."""
    chain = case_of(SAID)
    chain[1] = ev._signed(replace(chain[1], schema=ev.SCHEMA + 1))
    assert [p.what for p in ev.verify(chain)] == [
        "was written by a newer program (event schema 2, this one knows 1)"
    ]


@pytest.mark.parametrize(
    ("kind", "data", "time"),
    [("sang", {}, NOON), ("said", {}, NOON), ("opened", OPENED, NOON), ("said", said(float("nan")), NOON),
     ("said", {"facts": {1, 2}}, NOON), ("said", said(9), "2025-03-04 12:00"),
     ("said", said(9), "2025-03-04T12:00:00+01:00"), ("said", said(9), "2025-13-04T12:00:00Z")],
)  # fmt: skip
def test_what_cannot_be_an_event_is_refused(kind: str, data: dict[str, Any], time: str) -> None:
    """Unknown kind, missing data, wrong place, NaN, a set, a time that is not UTC."""
    with pytest.raises(BadInput):
        ev.chain(ev.GENESIS, case=1, number=2, kind=kind, data=data, time=time, who="op")


def test_an_event_survives_json() -> None:
    """An event written out and read back is the same event."""
    for event in case_of(SAID, ("verdict", judged())):
        assert ev.event_from_json(json.loads(json.dumps(ev.event_json(event)))) == event


def numbers(*later: tuple[str, dict[str, Any]]) -> list[int]:
    """The numbers of the events that stand."""
    return [event.number for event in ev.standing(case_of(*later))]


def test_back_undoes_down_to_the_event_it_names() -> None:
    """After `back` to 2, what was said at 3 and 4 no longer counts."""
    assert numbers(SAID, SAID, SAID, ("back", {"to": 2}), SAID) == [1, 2, 6]


def test_back_over_a_back_brings_back_what_stood() -> None:
    """Going back to before an undo restores the state of that moment."""
    assert numbers(SAID, SAID, ("back", {"to": 2}), ("back", {"to": 3})) == [1, 2, 3]


def test_retracted_takes_out_single_events() -> None:
    """A retraction leaves what was said later."""
    assert numbers(SAID, SAID, SAID, ("retracted", {"events": [3]})) == [1, 2, 4]


def test_what_happened_cannot_be_undone() -> None:
    """Cautions shown, steps done, reviews and closing stand whatever is taken back."""
    done = [("shown", {"cautions": []}), ("step_done", {"step": 0}), ("review", {"agrees": True})]
    assert numbers(SAID, *done, ("back", {"to": 1})) == [1, 3, 4, 5]


def test_a_tick_can_be_retracted_and_other_happenings_not() -> None:
    """A slip of the finger comes out by its number; a caution shown stays."""
    ticks = [("step_done", {"step": 0}), ("action_done", {"action": "a"}), ("shown", {"cautions": []})]
    assert numbers(*ticks, ("retracted", {"events": [2, 3, 4]})) == [1, 4]


def test_a_fact_points_into_the_words() -> None:
    """The stored fact holds no words, and shows them again while they are there."""
    words = "well, it stinks and pH is 8.2"
    kept = ev.hide_said({"id": "ph", "value": 8.2, "said": "pH is 8.2"}, words)
    assert kept == {"id": "ph", "value": 8.2, "said": [20, 29]}
    assert ev.show_said(kept["said"], words) == "pH is 8.2"
    assert ev.show_said(kept["said"], None) == ""


def test_rechained_events_are_the_same_case_under_another_number() -> None:
    """Only number, keys and hashes change, and the new chain holds."""
    old = case_of(SAID, ("verdict", judged()))
    new = ev.rechain(old, 9)
    assert ev.verify(new) == []
    assert [(e.case, e.number, e.kind, e.data) for e in new] == [(9, e.number, e.kind, e.data) for e in old]
