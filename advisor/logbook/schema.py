"""Bring a logbook file to the present shape, or say why that cannot be."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from advisor.errors import StoreTrouble
from advisor.logbook.new_book import REVISIONS, STATEMENTS
from advisor.logbook.trouble import newer_schema, not_a_logbook

APPLICATION_ID = 0x53554D50  # marks the SQLite file as a logbook ("SUMP")

NEEDS_ALEMBIC = "The logbook {path} is from an older version; bringing it up to date needs Alembic"


def bring_up_to_date(db: sqlite3.Connection, path: Path) -> None:
    """Set the connection up and run the steps that the file lacks.

    Before an older logbook is changed, a copy is put beside it (``logbook.before-0005.db``).

    Raises:
        StoreTrouble: the file is of a newer shape, or another program's database.
        sqlite3.Error: the file cannot be read or written.
    """
    db.execute("BEGIN")  # one view of the file, though another program may be making it just now
    try:
        found = stored_revision(db, path)
        counted = _counted(db)
    finally:
        if db.in_transaction:
            db.execute("ROLLBACK")
    _prepare(db)
    if counted and found == REVISIONS[-1]:
        return
    if found and found != REVISIONS[-1]:
        keep_copy(db, path.with_name(f"{path.stem}.before-{REVISIONS[-1]}{path.suffix}"))
    db.execute("BEGIN IMMEDIATE")
    try:
        _change(db, path)
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise


def stored_revision(db: sqlite3.Connection, path: Path) -> str:
    """The step the file has reached; "" for an empty file.

    Raises:
        StoreTrouble: a step this program does not know, or not a logbook.
    """
    (mark,) = db.execute("PRAGMA application_id").fetchone()
    if mark != APPLICATION_ID:
        (tables,) = db.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()
        if tables or mark:
            raise not_a_logbook(str(path))
        return ""
    if _counted(db):
        row = db.execute("SELECT version_num FROM logbook_revision").fetchone()
        found = str(row[0]) if row else ""
    else:
        # Before steps were counted by Alembic, their number stood in a table of its own.
        row = db.execute("SELECT value FROM meta WHERE key = 'schema'").fetchone()
        found = f"{int(row[0]):04d}" if row else ""
    if found and found not in REVISIONS:
        raise newer_schema(str(path), found, REVISIONS[-1])
    return found


def keep_copy(db: sqlite3.Connection, target: Path) -> None:
    """A consistent copy of an open database, while others may go on writing to it."""
    copy = sqlite3.connect(target, isolation_level=None)
    try:
        db.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE").fetchone()  # a copy is one file, without a log beside it
    finally:
        copy.close()


def _counted(db: sqlite3.Connection) -> bool:
    query = "SELECT 1 FROM sqlite_master WHERE name = 'logbook_revision'"
    return db.execute(query).fetchone() is not None


def _prepare(db: sqlite3.Connection) -> None:
    if db.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        db.execute("PRAGMA journal_mode = WAL").fetchone()
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA cache_size = -32000")  # at most 32 MB: long imports touch every sump's pages
    db.execute("PRAGMA foreign_keys = ON")
    db.execute("PRAGMA secure_delete = ON").fetchone()


def _change(db: sqlite3.Connection, path: Path) -> None:
    """Make the tables, or run the steps that are missing, in the running transaction."""
    found = stored_revision(db, path)  # again: another program may have been first
    if not found:
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        for statement in STATEMENTS:
            db.execute(statement)
        db.execute("INSERT INTO logbook_revision VALUES (?)", (REVISIONS[-1],))
    elif found != REVISIONS[-1] or not _counted(db):
        _upgrade(db, path, None if _counted(db) else found)


def _upgrade(db: sqlite3.Connection, path: Path, reached: str | None) -> None:
    try:
        from sqlalchemy.exc import DBAPIError

        from advisor.logbook.revisions.run import upgrade_file
    except ImportError as error:
        right = "install it: pip install alembic"
        raise StoreTrouble(NEEDS_ALEMBIC.format(path=path), value="other", right=right) from error
    try:
        upgrade_file(db, reached)
    except DBAPIError as error:
        raise error.orig or error from error
    # A program from before Alembic reads this number, and says that the file is newer than itself.
    if db.execute("SELECT 1 FROM sqlite_master WHERE name = 'meta'").fetchone():
        db.execute("UPDATE meta SET value = ? WHERE key = 'schema'", (str(int(REVISIONS[-1])),))
