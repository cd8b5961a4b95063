"""The shape of the logbook: new, older, newer, and the same however it came about."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path

import pytest

from advisor.dialogue.events import verify
from advisor.errors import StoreTrouble
from advisor.logbook import new_book, schema
from advisor.logbook.book import ReadingBook
from advisor.logbook.copying import TABLES
from advisor.logbook.place import Place
from advisor.logbook.revisions import make_new_book, run
from advisor.logbook.store import open_store
from advisor.logbook.tables import TableStore
from tests.logbook.conftest import NOON, OPENED, ROOT
from tests.logbook.throwaway_server import Books

#: Books written by the program before Alembic looked after them, one for each shape it had.
OLDER = sorted(Path(__file__).with_name("older_books").glob("*.sql"))


def write_older(dump: Path, folder: Path) -> Path:
    """An older logbook in a folder, as its program left it."""
    folder.mkdir(exist_ok=True)
    with closing(sqlite3.connect(folder / "logbook.db")) as db:
        db.executescript(dump.read_text(encoding="utf-8"))
    return folder


def shape(file: Path) -> list[object]:
    """Columns, references, indexes and guards of every table, whatever words made them."""
    asked = ("table_info({})", "foreign_key_list({})", "index_list({})")
    with closing(sqlite3.connect(file)) as db:
        found = [sorted(str(row[1:] if "index" not in question else row[2:]) for row in
                        db.execute("PRAGMA " + question.format(table)))
                 for table in TABLES for question in asked[1:]]  # fmt: skip
        columns = [[(row[1], row[2], row[5]) for row in db.execute(f"PRAGMA table_info({table})")]
                   for table in TABLES]  # fmt: skip
        guards = db.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' ORDER BY name").fetchall()
    return [found, columns, guards]


def test_a_new_file_is_what_the_steps_make() -> None:
    """What a new file is made from was written from the steps as they are now."""
    assert tuple(make_new_book.statements()) == new_book.STATEMENTS
    assert list(new_book.REVISIONS) == run.known_revisions()


@pytest.mark.in_a_file
def test_copies_know_every_column(tmp_path: Path) -> None:
    """What copies take over is every column of every table there is."""
    open_store(tmp_path).close()
    with closing(sqlite3.connect(tmp_path / "logbook.db")) as db:
        names = [row[0] for row in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        held = {name: [row[1] for row in db.execute(f"PRAGMA table_info({name})")] for name in names}
    del held["logbook_revision"]
    assert {table: columns.split(", ") for table, columns in TABLES.items()} == held


@pytest.mark.in_a_file
@pytest.mark.parametrize("dump", OLDER, ids=lambda path: path.stem)
def test_an_older_book_is_carried_over(dump: Path, tmp_path: Path) -> None:
    """A book of each earlier shape keeps its case, words and hashes, and has the shape of a new one."""
    with open_store(write_older(dump, tmp_path / "old")) as store:
        events = store.events(1)
        assert (len(events), verify(events), store.words(1)) == (3, [], {2: "pH 8.9, größer"})
        store.append(1, "recheck", {}, time=NOON, who="op", visit=2)
        assert ReadingBook(store).check() == []
    open_store(tmp_path / "new").close()
    assert shape(tmp_path / "old" / "logbook.db") == shape(tmp_path / "new" / "logbook.db")


@pytest.mark.in_a_file
def test_older_readings_are_all_there(tmp_path: Path) -> None:
    """Readings, their correction, a record and the shop come over from the last shape before."""
    with open_store(write_older(OLDER[-1], tmp_path / "old")) as store:
        book = ReadingBook(store)
        assert [r.result for r in book.of("mill", "ph")] == [9.2]
        assert [r.result for r in book.of("mill", all_versions=True)] == [0.084, 9.1, 9.2]
        assert (book.records()[0].data["litres"], book.words(1)) == (20.0, "mill 7 9.1")
        assert [(row.version, row.data) for row in store.rows("sump")] == [(2, {"volume": 190})]


@pytest.fixture
def one_step_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[Sequence[str]], None]:
    """A program that knows one step more than this one."""

    def more(statements: Sequence[str]) -> None:
        versions = tmp_path / "versions"
        versions.mkdir()
        for file in (ROOT / "advisor/logbook/revisions/versions").glob("*.py"):
            (versions / file.name).write_text(file.read_text())
        lines = "".join(f"    op.execute({text!r})\n" for text in statements)
        head = f"from alembic import op\nrevision = '9999'\ndown_revision = {new_book.REVISIONS[-1]!r}\n"
        (versions / "more.py").write_text(f"{head}def upgrade():\n{lines}")
        monkeypatch.setattr(run, "VERSIONS", versions)
        for module in (schema, sys.modules["advisor.logbook.server"]):
            monkeypatch.setattr(module, "REVISIONS", (*new_book.REVISIONS, "9999"))

    return more


def test_a_step_keeps_every_event(
    tmp_path: Path, kept_in: str, one_step_more: Callable[[Sequence[str]], None]
) -> None:
    """A later program's step changes the book, once; a file is first copied as it was."""
    with open_store(tmp_path / "home") as store:
        case = store.start_case("op", NOON, OPENED)
    one_step_more(["CREATE TABLE trial (x TEXT)"])
    for _ in range(2):
        with open_store(tmp_path / "home") as store:
            assert len(store.events(case)) == 1
            assert store._db.execute("SELECT COUNT(*) FROM trial").fetchone()[0] == 0
    assert (tmp_path / "home/logbook.before-9999.db").is_file() == (kept_in == "file")


def store_at(tmp_path: Path) -> TableStore:
    """The logbook again."""
    return open_store(tmp_path / "home")


def test_a_step_that_breaks_off_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, one_step_more: Callable[[Sequence[str]], None]
) -> None:
    """Half a step is no step: the former program goes on with the book."""
    store_at(tmp_path).close()
    one_step_more(["CREATE TABLE trial (x TEXT)", "NONSENSE"])
    with pytest.raises(StoreTrouble, match=r"cannot be used.*NONSENSE"):
        store_at(tmp_path)
    monkeypatch.setattr(schema, "REVISIONS", new_book.REVISIONS)
    monkeypatch.setattr(sys.modules["advisor.logbook.server"], "REVISIONS", new_book.REVISIONS)
    with store_at(tmp_path) as store:
        assert store.start_case("op", NOON, OPENED) == 1


def test_a_newer_book_is_left_as_it_is(tmp_path: Path) -> None:
    """A step this program does not know: one sentence, and nothing is written."""
    with store_at(tmp_path) as store, store.writing() as db:
        db.execute("UPDATE logbook_revision SET version_num = '0099'")
    with pytest.raises(StoreTrouble, match=r"newer version of this program \(format 0099; this one knows"):
        store_at(tmp_path)


@pytest.mark.in_a_file
def test_another_programs_database_is_left_alone(books: Books, tmp_path: Path) -> None:
    """A server's database with a table of our name but none of our marks is not touched."""
    import psycopg

    address = books.fresh()
    with psycopg.connect(address, autocommit=True) as db:
        db.execute("CREATE TABLE cases (of_wine int)")
        with pytest.raises(StoreTrouble, match="not a logbook"):
            open_store(Place(tmp_path, address))
        assert db.execute("SELECT COUNT(*) FROM pg_tables WHERE schemaname = 'public'").fetchone() == (1,)


@pytest.mark.in_a_file
def test_a_file_needs_neither_alembic_nor_sqlalchemy(tmp_path: Path) -> None:
    """Making a new file and opening it again loads the standard library only."""
    code = (f"import sys, pathlib; from advisor.logbook.resilient import open_resilient\n"
            f"for _ in range(2): open_resilient(pathlib.Path({str(tmp_path)!r})).close()\n"
            f"print(*{{'alembic', 'sqlalchemy', 'psycopg'}}.intersection(sys.modules))")  # fmt: skip
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert (done.stdout, (tmp_path / "logbook.db").is_file()) == ("\n", True)
