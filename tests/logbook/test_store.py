"""The logbook file: what is written is there, in order, by many at once."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.dialogue.events import GENESIS, chain, verify
from advisor.errors import BadInput, StoreTrouble
from advisor.logbook.memory import MemoryStore
from advisor.logbook.port import Store
from advisor.logbook.store import open_store
from advisor.logbook.summary import first_row, next_row, summarise
from advisor.logbook.tables import TableStore
from tests.logbook.behind import change
from tests.logbook.conftest import NOON, OPENED, judged, said


def opened_case(store: Store, who: str = "op", time: str = NOON, **more: Any) -> int:
    """A new case."""
    return store.start_case(who, time, {**OPENED, **more})


@pytest.mark.parametrize("kind", ["disk", "memory"])
def test_events_and_words_come_back(kind: str, tmp_path: Path) -> None:
    """A case read again is the case that was written, on disk and in memory."""
    store: Store = MemoryStore() if kind == "memory" else open_store(tmp_path)
    case = opened_case(store)
    made = store.append(case, "said", said(8.9), "pH 8.9, größer", time=NOON, who="op")
    assert store.events(case)[1] == made
    assert store.words(case) == {2: "pH 8.9, größer"}
    assert verify(store.events(case)) == []
    store.close()


def test_a_case_is_there_after_reopening(tmp_path: Path) -> None:
    """Another program finds the case, its number, and that it is not finished."""
    with open_store(tmp_path) as store:
        case = opened_case(store)
        store.append(case, "said", said(8.9), time=NOON, who="op")
    with open_store(tmp_path) as store:
        assert store.open_case() == case
        assert [event.number for event in store.events(case)] == [1, 2]


@pytest.mark.in_a_file
@pytest.mark.parametrize(
    ("pragma", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("secure_delete", 1),
     ("busy_timeout", 3000)],
)  # fmt: skip
def test_the_file_is_set_up_for_a_power_cut(pragma: str, value: object, store: TableStore) -> None:
    """Write-ahead log, every commit forced to disk (2 is FULL), deleted words overwritten."""
    assert store._db.execute(f"PRAGMA {pragma}").fetchone() == (value,)


def test_cases_count_from_one(store: TableStore) -> None:
    """Case numbers are small and follow each other."""
    assert [opened_case(store) for _ in range(3)] == [1, 2, 3]


def test_a_closed_case_is_not_offered_again(store: TableStore) -> None:
    """The last open case of a person is offered, not a closed one."""
    first, second = opened_case(store), opened_case(store)
    store.append(second, "closed", {"how": "finished"}, time=NOON, who="op")
    assert store.open_case() == first
    assert store.open_case("someone else") is None
    store.append(second, "recheck", {}, time=NOON, who="op", visit=2)
    assert store.cases(state="open")[0].visit == 2


@pytest.mark.in_a_file
def test_erased_words_leave_a_whole_chain(store: TableStore) -> None:
    """Words can be erased for good: not a byte is left in the folder, and the chain verifies."""
    case = opened_case(store)
    store.append(case, "said", said(8.9), "my name is Quendolin", time=NOON, who="op")
    before = store.events(case)
    assert store.erase_words(case, 2) == 1
    assert (store.events(case), store.words(case), verify(before)) == (before, {}, [])
    assert all(b"Quendolin" not in file.read_bytes() for file in store.path.parent.iterdir())


def test_events_refuse_to_be_changed(store: TableStore) -> None:
    """The database itself forbids changing or deleting an event."""
    case = opened_case(store)
    for statement in ("UPDATE events SET who = 'x'", "DELETE FROM events"):
        with pytest.raises(StoreTrouble, match="events are never"), store.writing() as db:
            db.execute(statement)
    assert len(store.events(case)) == 1


@pytest.mark.parametrize(
    ("column", "value"),
    [("data", '{"facts":[]}'), ("data", "not json"), ("data", "[1]"), ("who", "x"), ("number", 3)],
)
def test_a_tampered_row_is_found(store: TableStore, column: str, value: Any) -> None:
    """A row changed behind the program's back is named by `verify`."""
    case = opened_case(store)
    store.append(case, "said", said(8.9), time=NOON, who="op")
    change(store, f"UPDATE events SET {column} = ? WHERE number = 2", (value,))
    assert {problem.number for problem in verify(store.events(case))} == {3 if column == "number" else 2}


def test_a_refused_event_leaves_nothing(store: TableStore) -> None:
    """Data that cannot be kept changes neither the case nor the next number."""
    case = opened_case(store)
    with pytest.raises(BadInput):
        store.append(case, "said", said(float("inf")), "words", time=NOON, who="op")
    assert store.append(case, "said", said(9.0), time=NOON, who="op").number == 2
    assert store.words(case) == {}


def test_an_unknown_case_says_what_is_right(store: TableStore) -> None:
    """A case number that does not exist gets a sentence, for reading and for writing."""
    with pytest.raises(BadInput, match=r"no case 5.*lists the cases"):
        store.events(5)
    with pytest.raises(BadInput, match="no case 5"):
        store.append(5, "said", said(9.0), time=NOON, who="op")


def test_half_characters_are_kept_readable(store: TableStore) -> None:
    """Half a character from a broken terminal does not lose the answer."""
    case = opened_case(store)
    store.append(case, "said", said(9.0), "pH \udcff9", time=NOON, who="op")
    assert store.words(case) == {2: "pH ?9"}


def test_the_list_of_cases_can_be_narrowed(store: TableStore) -> None:
    """By sump, lead, state and time of opening."""
    old = opened_case(store, time="2025-01-01T08:00:00Z", sump={"id": "saw"})
    new = opened_case(store)
    store.append(new, "verdict", judged(lead="rich_mix", level="stop"), time=NOON, who="op")
    assert [row.id for row in store.cases()] == [new, old]
    assert [row.id for row in store.cases(sump="saw")] == [old]
    assert [row.id for row in store.cases(since="2025-02-01T00:00:00Z")] == [new]
    assert [row.id for row in store.cases(until="2025-02-01T00:00:00Z")] == [old]
    assert [(row.lead, row.level, row.run) for row in store.cases(lead="rich_mix")] == [
        ("rich_mix", "stop", "limits")
    ]


def test_a_verdict_taken_back_is_not_the_last(store: TableStore) -> None:
    """The list shows the verdict that stands; the worst caution ever shown stays."""
    case = opened_case(store)
    store.append(case, "verdict", judged(lead="lean_mix"), time=NOON, who="op")
    store.append(case, "verdict", judged(lead="rich_mix", level="stop"), time=NOON, who="op")
    store.append(case, "back", {"to": 2}, time=NOON, who="op")
    row = store.cases()[0]
    assert (row.lead, row.level) == ("lean_mix", "stop")


STEPS = st.lists(
    st.sampled_from(
        [("said", said(8.0)), ("verdict", judged()), ("verdict", judged("unsettled", "rich_mix", "stop")),
         ("shown", {"cautions": [{"id": "x", "level": "emergency"}]}), ("back", {"to": 1}),
         ("back", {"to": 2}), ("retracted", {"events": [2]}),
         ("closed", {"how": "finished"}), ("recheck", {})]
    ), max_size=12,
)  # fmt: skip


@settings(deadline=None)
@given(STEPS)
def test_the_row_kept_is_the_fold(steps: list[tuple[str, dict[str, Any]]]) -> None:
    """The row kept up event by event equals the one folded from all events."""
    made = [chain(GENESIS, case=1, number=1, kind="opened", data=OPENED, time=NOON, who="op")]
    row = first_row(made[0])
    for number, (kind, data) in enumerate(steps, start=2):
        event = chain(made[-1].hash, case=1, number=number, kind=kind, data=data, time=NOON, who="op")
        row = next_row(row, event, lambda: made)
        made.append(event)
    assert row == summarise(made)


def test_a_rule_base_is_kept_once(store: TableStore) -> None:
    """The rule base that judged a case comes back byte for byte, stored once and compressed."""
    compiled = b'{"causes":[]}' * 500
    store.keep_rule_base("h1", compiled)
    store.keep_rule_base("h1", b"other")
    assert store.rule_base("h1") == compiled
    assert store.rule_base("h2") is None
    assert len(store._db.execute("SELECT compressed FROM rule_bases").fetchone()[0]) < len(compiled) / 10


def test_shop_rows_keep_their_versions(store: TableStore) -> None:
    """The newest version counts; a person's row can be erased with all versions."""
    store.put_row("sump", "mill", {"volume": 200.0}, time=NOON, who="sup")
    store.put_row("sump", "mill", {"volume": 190.0}, time=NOON, who="sup")
    store.put_row("sump", "lathe", {"volume": 80.0}, time=NOON, who="sup")
    assert [(row.id, row.version, row.data) for row in store.rows("sump")] == [
        ("lathe", 1, {"volume": 80.0}), ("mill", 2, {"volume": 190.0})
    ]  # fmt: skip
    assert store.row("product", "x") is None
    assert store.remove_row("sump", "mill") == 2


def test_an_unknown_kind_of_row_is_refused(store: TableStore) -> None:
    """The shop keeps only what it is made for."""
    with pytest.raises(BadInput, match="Use one of shop, sump"):
        store.put_row("spaceship", "x", {}, time=NOON, who="sup")
