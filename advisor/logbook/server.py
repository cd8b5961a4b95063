"""The logbook on a PostgreSQL server, for a plant or several: SQLAlchemy with psycopg, by one address.

Writers take turns by one advisory lock of the database, as they do by SQLite's write lock; each commit is
on the server's disk before it returns.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import StoreTrouble
from advisor.logbook.database import Rows, Values
from advisor.logbook.new_book import REVISIONS
from advisor.logbook.trouble import OTHER, newer_schema, not_a_logbook, server_trouble

if TYPE_CHECKING:
    from sqlalchemy import URL, Connection

#: The number of the advisory lock that writers take turns by ("SUMP").
TURN = 0x53554D50
#: How long to try to reach the server, in whole seconds; PostgreSQL takes 2 as the least.
REACH_S = 3
FORM = "Write it like postgresql://user@server/database."


class Server:
    """One connection to a server; see `advisor.logbook.database.Database`."""

    def __init__(self, address: str, busy_ms: int) -> None:
        try:
            import sqlalchemy
            from psycopg import Error
            from sqlalchemy.exc import SQLAlchemyError
            from sqlalchemy.pool import NullPool
        except ImportError as error:
            raise _not_installed() from error
        url = _url(address)
        self.name = server_name(address)
        self.errors: tuple[type[Exception], ...] = (SQLAlchemyError, Error)
        reach = {"connect_timeout": REACH_S, "application_name": "sumpside"} | dict(url.query)
        self._engine = sqlalchemy.create_engine(
            url.set(query={}), poolclass=NullPool, isolation_level="AUTOCOMMIT", connect_args=reach
        )
        try:
            self._connection: Connection = self._engine.connect()
            self.wait_at_most(busy_ms)
            self.execute("SET synchronous_commit = on")
            self._bring_up_to_date()
        except self.errors as error:
            raise self.trouble(error) from error

    def trouble(self, error: Exception) -> StoreTrouble:
        """An error of the server or its driver as a sentence."""
        cause = getattr(error, "orig", None) or error
        state = getattr(cause, "sqlstate", None)
        lost = getattr(error, "connection_invalidated", False) or type(cause).__name__ == "OperationalError"
        first = str(cause).strip().partition("\n")[0]
        return server_trouble(state or (None if lost else "?"), first, self.name)

    def execute(self, sql: str, values: Values = ()) -> Rows:
        """Run one statement."""
        rows: Rows = self._connection.exec_driver_sql(_marked(sql), tuple(values))
        return rows

    def executemany(self, sql: str, rows: Iterable[Values]) -> None:
        """Run one statement for each row of values."""
        listed = [tuple(row) for row in rows]
        if listed:
            self._connection.exec_driver_sql(_marked(sql), listed)

    def stream(self, sql: str, values: Values = ()) -> Iterator[Any]:
        """The rows of a question, a few thousand at a time, by a connection of their own."""
        with self._engine.connect().execution_options(isolation_level="REPEATABLE READ") as connection:
            rows = connection.execution_options(stream_results=True, max_row_buffer=2000)
            yield from rows.exec_driver_sql(_marked(sql), tuple(values))

    def begin(self) -> None:
        """Begin a transaction, as the only writer."""
        self.execute("BEGIN ISOLATION LEVEL READ COMMITTED")
        try:
            self.execute("SELECT pg_advisory_xact_lock(?)", (TURN,))
        except self.errors:
            self.rollback()
            raise

    def commit(self) -> None:
        """End it, on the server's disk."""
        self.execute("COMMIT")

    def rollback(self) -> None:
        """End it with nothing written; a connection that was lost has done so."""
        with suppress(*self.errors):
            self.execute("ROLLBACK")

    def wait_at_most(self, busy_ms: int) -> None:
        """How long to wait for another writer before giving up, in milliseconds."""
        self.execute(f"SET lock_timeout = {max(1, int(busy_ms))}")

    def damage(self) -> list[str]:
        """What reading every row finds: the server checks each page it reads, where it was set up so."""
        from advisor.logbook.copying import TABLES

        found = []
        for table in TABLES:
            try:
                self.execute(f"SELECT COUNT(t.*) FROM {table} t").fetchone()
            except self.errors as error:
                problem = self.trouble(error)
                if problem.value != "damaged":
                    raise
                found.append(f"the table {table} is damaged: {str(error).partition(chr(10))[0]}")
        return found

    def forget_deleted(self) -> None:
        """Write the tables that hold personal text anew, without what was deleted.

        Where somebody else is using them, the server's own clean-up does it later.
        """
        with suppress(*self.errors):
            for table in ("words", "entry_words", "shop_rows"):
                self.execute(f"VACUUM (FULL) {table}")

    def copy_to(self, target: Path) -> None:
        """A consistent copy as one logbook file."""
        from sqlite3 import Error

        from advisor.logbook.copying import copy_rows
        from advisor.logbook.sqlite_file import SqliteFile

        file = SqliteFile(target, 0)
        try:
            self.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
            file.begin()
            copy_rows(self, file)
            file.commit()
            file.execute("PRAGMA journal_mode = DELETE").fetchone()
        except self.errors as error:
            raise self.trouble(error) from error
        except Error as error:
            raise file.trouble(error) from error
        finally:
            file.close()
            self.rollback()

    def close(self) -> None:
        """Let go of the server."""
        with suppress(*self.errors):
            self._connection.close()
        self._engine.dispose()

    def _bring_up_to_date(self) -> None:
        found = self._reached()
        if found and found not in REVISIONS:
            raise newer_schema(self.name, found, REVISIONS[-1])
        if found == REVISIONS[-1]:
            return
        self.begin()
        try:
            if not found and self._there("cases") and not self._reached():
                raise not_a_logbook(self.name)
            from advisor.logbook.revisions.run import upgrade

            upgrade(self._connection)
            self.commit()
        except BaseException:
            self.rollback()
            raise

    def _reached(self) -> str:
        if not self._there("logbook_revision"):
            return ""
        row = self.execute("SELECT version_num FROM logbook_revision").fetchone()
        return str(row[0]) if row else ""

    def _there(self, table: str) -> bool:
        return bool(self.execute("SELECT to_regclass(?) IS NOT NULL", (table,)).fetchone()[0])


def server_name(address: str) -> str:
    """An address as it may be shown: without a password. Raises StoreTrouble when it is none."""
    shown = str(_url(address).render_as_string(hide_password=True))
    return shown.replace("+psycopg", "").replace(":***@", "@")


@lru_cache(maxsize=512)
def _marked(sql: str) -> str:
    """A statement with the marks psycopg wants for values."""
    return sql.replace("%", "%%").replace("?", "%s")


def _url(address: str) -> URL:
    """The address, with the driver we use. It may hold a password, so no error repeats it."""
    try:
        from sqlalchemy import make_url
        from sqlalchemy.exc import ArgumentError
    except ImportError as error:
        raise _not_installed() from error
    try:
        url = make_url(address)
    except (ArgumentError, ValueError):
        what = "SUMPSIDE_LOGBOOK names no database"
        raise StoreTrouble(what, value=OTHER, right=FORM) from None
    kind = url.drivername.partition("+")[0]
    if kind not in ("postgresql", "postgres"):
        what = f"SUMPSIDE_LOGBOOK names a database of the kind {kind!r}, which cannot hold a logbook"
        raise StoreTrouble(what, value=OTHER, right=FORM)
    return url.set(drivername="postgresql+psycopg")


def _not_installed() -> StoreTrouble:
    what = "A logbook on a server needs SQLAlchemy and psycopg, which are not installed"
    return StoreTrouble(what, value=OTHER, right='Install them: pip install "sumpside[postgres]".')
