"""Bring a logbook file to the present format, or say why that cannot be."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from advisor.logbook.migrations import APPLICATION_ID, MIGRATIONS
from advisor.logbook.trouble import newer_schema, not_a_logbook


def bring_up_to_date(db: sqlite3.Connection, path: Path) -> None:
    """Set the connection up and run the migrations the file lacks.

    Before an older logbook is changed, a copy is put beside it (``logbook.before-2.db``).

    Raises:
        StoreTrouble: the file is of a newer format, or another program's database.
        sqlite3.Error: the file cannot be read or written.
    """
    db.execute("BEGIN")  # one view of the file, though another program may be making it just now
    try:
        found = stored_schema(db, path)
    finally:
        if db.in_transaction:
            db.execute("ROLLBACK")
    _prepare(db)
    if found == len(MIGRATIONS):
        return
    if 0 < found < len(MIGRATIONS):
        keep_copy(db, path.with_name(f"{path.stem}.before-{len(MIGRATIONS)}{path.suffix}"))
    db.execute("BEGIN IMMEDIATE")
    try:
        _migrate(db, stored_schema(db, path))
        db.execute("COMMIT")
    except BaseException:
        if db.in_transaction:
            db.execute("ROLLBACK")
        raise


def stored_schema(db: sqlite3.Connection, path: Path) -> int:
    """The number of migrations the file has had; 0 for an empty file.

    Raises:
        StoreTrouble: more than this program knows, or not a logbook.
    """
    (mark,) = db.execute("PRAGMA application_id").fetchone()
    (tables,) = db.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()
    if mark != APPLICATION_ID:
        if tables or mark:
            raise not_a_logbook(path)
        return 0
    row = db.execute("SELECT value FROM meta WHERE key = 'schema'").fetchone()
    found = int(row[0]) if row else 0
    if found > len(MIGRATIONS):
        raise newer_schema(path, found, len(MIGRATIONS))
    return found


def keep_copy(db: sqlite3.Connection, target: Path) -> None:
    """A consistent copy of an open database, while others may go on writing to it."""
    copy = sqlite3.connect(target, isolation_level=None)
    try:
        db.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE").fetchone()  # a copy is one file, without a log beside it
    finally:
        copy.close()


def _prepare(db: sqlite3.Connection) -> None:
    if db.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        db.execute("PRAGMA journal_mode = WAL").fetchone()
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA cache_size = -32000")  # at most 32 MB: long imports touch every sump's pages
    db.execute("PRAGMA foreign_keys = ON")
    db.execute("PRAGMA secure_delete = ON").fetchone()


def _migrate(db: sqlite3.Connection, done: int) -> None:
    if done == 0:
        db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        db.execute("CREATE TABLE IF NOT EXISTS meta (key TEXT PRIMARY KEY, value TEXT NOT NULL)")
    for number, migration in enumerate(MIGRATIONS[done:], start=done + 1):
        for statement in migration.statements:
            db.execute(statement)
        db.execute("INSERT INTO meta VALUES (?, ?)", (f"migration {number}", migration.name))
    db.execute("INSERT OR REPLACE INTO meta VALUES ('schema', ?)", (str(len(MIGRATIONS)),))
