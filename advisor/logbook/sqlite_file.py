"""The logbook in one SQLite file: standard library only, safe against a power cut.

Every commit is on disk before it returns (write-ahead log, ``synchronous=FULL``), and a transaction takes
the write lock at its start, so that several terminals can write at once without loss.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from advisor.errors import StoreTrouble
from advisor.logbook.database import Values
from advisor.logbook.schema import bring_up_to_date, keep_copy
from advisor.logbook.trouble import trouble


class SqliteFile:
    """One open file; see `advisor.logbook.database.Database`."""

    errors = (sqlite3.Error,)

    def __init__(self, path: Path, busy_ms: int) -> None:
        self.path = path
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._db = sqlite3.connect(path, timeout=busy_ms / 1000, isolation_level=None)
        except (OSError, sqlite3.Error) as error:
            raise trouble(error, path) from error
        try:
            bring_up_to_date(self._db, path)
        except BaseException as error:
            self._db.close()
            if isinstance(error, sqlite3.Error):
                raise trouble(error, path) from error
            raise

    @property
    def name(self) -> str:
        """The file."""
        return str(self.path)

    def trouble(self, error: Exception) -> StoreTrouble:
        """An error of SQLite as a sentence."""
        assert isinstance(error, sqlite3.Error)
        return trouble(error, self.path)

    def execute(self, sql: str, values: Values = ()) -> sqlite3.Cursor:
        """Run one statement."""
        return self._db.execute(sql, values)

    def executemany(self, sql: str, rows: Iterable[Values]) -> sqlite3.Cursor:
        """Run one statement for each row of values."""
        return self._db.executemany(sql, rows)

    def stream(self, sql: str, values: Values = ()) -> Iterator[Any]:
        """The rows of a question; SQLite reads on as they are taken."""
        return self._db.execute(sql, values)

    def begin(self) -> None:
        """Begin a transaction that holds the write lock."""
        self._db.execute("BEGIN IMMEDIATE")

    def commit(self) -> None:
        """End it, on disk."""
        self._db.execute("COMMIT")

    def rollback(self) -> None:
        """End it with nothing written."""
        if self._db.in_transaction:  # SQLite itself has rolled back after some errors
            self._db.execute("ROLLBACK")

    def wait_at_most(self, busy_ms: int) -> None:
        """How long to wait for another writer before giving up, in milliseconds."""
        self._db.execute(f"PRAGMA busy_timeout = {int(busy_ms)}")

    def damage(self) -> list[str]:
        """What SQLite's own check of the file finds, empty when it is whole."""
        found = [str(row[0]) for row in self._db.execute("PRAGMA integrity_check(20)")]
        return [] if found == ["ok"] else [f"the file {self.path} is damaged: {line}" for line in found]

    def forget_deleted(self) -> None:
        """Deleted bytes are overwritten (secure_delete), but old pages also stand in the write-ahead log."""
        self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()

    def copy_to(self, target: Path) -> None:
        """A consistent copy of the file. Raises StoreTrouble, naming the copy, when it cannot be written."""
        try:
            keep_copy(self._db, target)
        except sqlite3.Error as error:
            raise trouble(error, target) from error

    def close(self) -> None:
        """Let go of the file."""
        self._db.close()
