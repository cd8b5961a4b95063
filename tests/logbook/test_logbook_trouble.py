"""A logbook file that cannot be used says so in one sentence, and the conversation goes on."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from advisor.dialogue.events import verify
from advisor.errors import StoreTrouble
from advisor.logbook.resilient import ResilientStore, open_resilient
from advisor.logbook.store import open_store
from tests.logbook.conftest import NOON, OPENED, judged, said

pytestmark = pytest.mark.in_a_file


def talk(store: ResilientStore, turns: int = 3) -> int:
    """A short conversation, with a verdict."""
    case = store.start_case("op", NOON, OPENED)
    for turn in range(turns):
        store.append(case, "said", said(8.0 + turn / 10), f"turn {turn}", time=NOON, who="op")
    store.append(case, "verdict", judged(), time=NOON, who="op")
    return case


def make_newer(file: Path) -> None:
    """A logbook as a later program would leave it."""
    open_store(file.parent).close()
    with closing(sqlite3.connect(file)) as db, db:
        db.execute("UPDATE logbook_revision SET version_num = '0099'")


def make_corrupt(file: Path) -> None:
    """Something else under the logbook's name."""
    file.write_bytes(b"this is not a database, it is a letter " * 100)


def make_foreign(file: Path) -> None:
    """Another program's database under the logbook's name."""
    with closing(sqlite3.connect(file)) as db:
        db.execute("CREATE TABLE songs (title TEXT)")


def make_folder(file: Path) -> None:
    """A folder where the file should be."""
    file.mkdir()


UNUSABLE = [(make_newer, "newer version.*99"), (make_corrupt, "damaged or not a logbook.*log restore"),
            (make_foreign, "damaged or not a logbook"), (make_folder, "cannot be written")]  # fmt: skip


@pytest.mark.parametrize(("spoil", "sentence"), UNUSABLE)
def test_an_unusable_file_is_left_as_it_is(
    spoil: Callable[[Path], None], sentence: str, tmp_path: Path
) -> None:
    """A newer, damaged or foreign file raises one sentence and is not touched."""
    file = tmp_path / "logbook.db"
    spoil(file)
    before = file.read_bytes() if file.is_file() else b""
    with pytest.raises(StoreTrouble, match=sentence):
        open_store(tmp_path)
    assert (file.read_bytes() if file.is_file() else b"") == before


@pytest.mark.parametrize(("spoil", "sentence"), UNUSABLE)
def test_the_talk_goes_on_and_is_saved_at_the_next_start(
    spoil: Callable[[Path], None], sentence: str, tmp_path: Path
) -> None:
    """With an unusable file, one notice; when the file is put right, the next start finds everything."""
    file = tmp_path / "logbook.db"
    spoil(file)
    store = open_resilient(tmp_path)
    case = talk(store)
    assert len(store.notices) == 1
    made = store.events(case)
    store.close()
    file.rmdir() if file.is_dir() else file.unlink()
    after = open_resilient(tmp_path)
    assert (after.events(case), after.words(case)[2]) == (made, "turn 0")
    assert ["saved to the logbook" in notice for notice in after.notices] == [True]
    assert list(tmp_path.glob("pending-*")) == []
    after.close()


def limit_pages(store: ResilientStore, pages: int) -> None:
    """Let the file grow to so many pages only, as on a full disk."""
    assert store._disk
    store._disk._db.execute(f"PRAGMA max_page_count = {pages}").fetchone()


def test_a_full_disk_loses_nothing(tmp_path: Path) -> None:
    """When the disk fills up in mid-conversation it is said once, and written when there is room."""
    store = open_resilient(tmp_path)
    case = talk(store)
    limit_pages(store, 1)  # SQLite takes the present size as the least
    for turn in range(40):
        store.append(case, "said", said(9.0), f"long {turn} " * 200, time=NOON, who="op")
    assert ("disk is full" in store.notices[0], len(store.notices), store.away) == (True, 1, True)
    made = store.events(case)
    limit_pages(store, 100_000)
    assert (store.flush(), store.unsaved, "saved" in store.notices[1]) == (True, 0, True)
    store.close()
    with open_store(tmp_path) as after:
        assert (after.events(case), verify(made), len(after.words(case))) == (made, [], 43)


@pytest.fixture
def held(tmp_path: Path) -> Iterator[tuple[ResilientStore, sqlite3.Connection]]:
    """A logbook in use, and another program that can hold it."""
    store = ResilientStore(tmp_path, lambda place, _: open_store(place, busy_ms=20))
    with closing(sqlite3.connect(tmp_path / "logbook.db", isolation_level=None)) as other:
        yield store, other
    store.close()


def test_a_held_file_is_written_when_it_is_let_go(held: tuple[ResilientStore, sqlite3.Connection]) -> None:
    """While another program holds the file the talk goes on; afterwards the chain is whole on disk."""
    store, other = held
    case = talk(store)
    store._disk.wait_at_most(20)  # type: ignore[union-attr]
    other.execute("BEGIN IMMEDIATE")
    store.append(case, "said", said(7.9), time=NOON, who="op")
    assert "another program is holding" in store.notices[0].lower()
    other.execute("ROLLBACK")
    store.append(case, "said", said(7.8), time=NOON, who="op")
    assert (store.away, verify(store.events(case)), len(store._disk.events(case))) == (False, [], 7)  # type: ignore[union-attr]


def test_a_case_continued_elsewhere_is_kept_apart(held: tuple[ResilientStore, sqlite3.Connection]) -> None:
    """If another terminal went on with the case meanwhile, both continuations are kept whole."""
    store, other = held
    case = talk(store)
    store._disk.wait_at_most(20)  # type: ignore[union-attr]
    other.execute("BEGIN IMMEDIATE")
    store.append(case, "said", said(7.9), "here", time=NOON, who="op")
    other.execute("ROLLBACK")
    with open_store(store._place.folder) as elsewhere:
        elsewhere.append(case, "said", said(6.0), "there", time=NOON, who="other")
    mine = store.events(case)
    assert (store.words(case)[6], verify(mine), mine[0].case == case) == ("here", [], False)
    assert str(mine[0].case) in store.notices[1]
    assert store._disk.words(case)[6] == "there"  # type: ignore[union-attr]
    store.append(case, "closed", {"how": "finished"}, time=NOON, who="op")
    assert [row.state for row in store.cases()] == ["closed", "open"]


@contextmanager
def bound_by_permissions() -> Iterator[None]:
    """Be a user whom file permissions bind; the superuser is not bound by them."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture(params=["file", "no file", "no folder"])
def read_only(request: pytest.FixtureRequest) -> Iterator[Path]:
    """A folder that cannot be written, with a logbook, without one, or yet to be made."""
    with tempfile.TemporaryDirectory() as parent:
        folder = Path(parent) / "home"
        if request.param != "no folder":
            folder.mkdir()
        if request.param == "file":
            open_store(folder).close()
        for path in (*folder.glob("*"), *folder.parent.glob("home"), folder.parent):
            path.chmod(0o444 if path.is_file() else 0o555)
        yield folder
        for path in (folder.parent, *folder.parent.glob("home")):
            path.chmod(0o755)


def test_a_read_only_folder(read_only: Path) -> None:
    """Without the right to write, one sentence names the way out, and the talk goes on."""
    with bound_by_permissions():
        store = open_resilient(read_only)
        case = talk(store)
        made = store.events(case)
        store.close()
    assert (len(made), verify(made), len(store.notices)) == (5, [], 2)
    assert "read-only. Make the folder writable, or set SUMPSIDE_HOME" in store.notices[0]
    assert store.notices[1].startswith("5 entries could not be saved")


def test_killed_while_away_loses_nothing(tmp_path: Path) -> None:
    """A program killed while the logbook was unusable leaves what it had in a file beside it."""
    make_corrupt(tmp_path / "logbook.db")
    store = open_resilient(tmp_path)
    case = talk(store)
    pending = next(tmp_path.glob("pending-*"))
    pending.write_bytes(pending.read_bytes() + b'{"event": {"case"')  # a line cut short by the kill
    (tmp_path / "logbook.db").unlink()
    after = open_resilient(tmp_path)
    assert after.events(case) == store.events(case)
    assert (verify(after.events(case)), after.open_case()) == ([], case)
    after.close()
    store.close()


def test_a_pending_file_with_a_gap_is_kept(tmp_path: Path) -> None:
    """What follows a missing line is not joined to what stands before it, and not thrown away."""
    make_corrupt(tmp_path / "logbook.db")
    case = talk(open_resilient(tmp_path))
    (pending,) = tmp_path.glob("pending-*.jsonl")
    lines = pending.read_text().splitlines(keepends=True)
    pending.write_text("".join(lines[:2] + lines[3:]))
    (tmp_path / "logbook.db").unlink()
    with closing(open_resilient(tmp_path)) as after:
        assert (len(after.events(case)), verify(after.events(case))) == (2, [])
    assert pending.with_suffix(".unread").read_text().splitlines(keepends=True) == lines[:2] + lines[3:]


def test_a_pending_file_catches_up(tmp_path: Path) -> None:
    """Where not even the pending file could be written at first, it is made whole later."""
    (tmp_path / "a file").write_text("in the way")
    store = open_resilient(tmp_path / "a file" / "home")
    case = talk(store)
    (tmp_path / "a file").unlink()
    (tmp_path / "a file" / "home").mkdir(parents=True)
    make_corrupt(tmp_path / "a file" / "home" / "logbook.db")
    store.append(case, "said", said(9.9), time=NOON, who="op")
    (pending,) = (tmp_path / "a file" / "home").glob("pending-*.jsonl")
    assert len(pending.read_text().splitlines()) == 6


def test_words_erased_while_away_are_gone_everywhere(tmp_path: Path) -> None:
    """Erasing works on what waits, too."""
    make_corrupt(tmp_path / "logbook.db")
    store = open_resilient(tmp_path)
    case = talk(store)
    store.erase_words(case, 2)
    assert "turn 0" not in next(tmp_path.glob("pending-*")).read_text()
    (tmp_path / "logbook.db").unlink()
    assert store.flush()
    store.close()
    with open_store(tmp_path) as after:
        assert set(after.words(case)) == {3, 4}


def test_damage_deep_in_the_file_is_found_in_use(tmp_path: Path) -> None:
    """A file whose first page is whole and the rest is not: said once, and the talk goes on."""
    with closing(open_resilient(tmp_path)) as store:
        talk(store)
    file = tmp_path / "logbook.db"
    whole = file.read_bytes()
    file.write_bytes(whole[:4096] + b"\xa5" * (len(whole) - 4096))
    with closing(open_resilient(tmp_path)) as store:
        assert len(store.events(talk(store))) == 5
        assert ["damaged" in notice for notice in store.notices] == [True]


def test_rules_and_rows_wait_too(tmp_path: Path) -> None:
    """A rule base and a shop row written while away reach the disk later."""
    make_corrupt(tmp_path / "logbook.db")
    store = open_resilient(tmp_path)
    store.keep_rule_base("h", b"rules")
    store.put_row("sump", "mill", {"volume": 200}, time=NOON, who="sup")
    assert (store.rule_base("h"), store.rows("sump")[0].data) == (b"rules", {"volume": 200})
    (tmp_path / "logbook.db").unlink()
    store.close()
    with open_store(tmp_path) as after:
        assert (after.rule_base("h"), after.rows("sump")[0].data) == (b"rules", {"volume": 200})
