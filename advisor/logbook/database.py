"""What the logbook asks of a database, whether one file (SQLite) or a server (PostgreSQL).

Statements are written once, in the SQL both understand, with ``?`` for values. Where the two differ
(locking, making tables, copies, what an error means), the difference is a method here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Protocol

from advisor.errors import StoreTrouble

Values = Sequence[Any]


class Rows(Protocol):
    """The answer to one statement."""

    @property
    def rowcount(self) -> int:
        """How many rows the statement changed."""
        ...

    def fetchone(self) -> Any:
        """The next row, None when there is none."""
        ...

    def fetchall(self) -> Any:
        """All rows that are left."""
        ...

    def __iter__(self) -> Iterator[Any]: ...


class Database(Protocol):
    """One open database with the tables of a logbook."""

    @property
    def name(self) -> str:
        """What a person knows it by: the file, or the server's address without its password."""
        ...

    @property
    def errors(self) -> tuple[type[Exception], ...]:
        """What its driver raises."""
        ...

    def trouble(self, error: Exception) -> StoreTrouble:
        """One of `errors` as a sentence."""
        ...

    def execute(self, sql: str, values: Values = ()) -> Rows:
        """Run one statement; outside `begin` and `commit` it stands by itself."""
        ...

    def executemany(self, sql: str, rows: Iterable[Values]) -> object:
        """Run one statement for each row of values."""
        ...

    def stream(self, sql: str, values: Values = ()) -> Iterator[Any]:
        """The rows of a question one after the other, without holding them all."""
        ...

    def begin(self) -> None:
        """Begin a transaction that holds the write lock of the whole logbook from its start."""
        ...

    def commit(self) -> None:
        """End it; on return it is safe on disk."""
        ...

    def rollback(self) -> None:
        """End it with nothing written; without a transaction nothing happens."""
        ...

    def wait_at_most(self, busy_ms: int) -> None:
        """How long `begin` waits for another writer, in milliseconds."""
        ...

    def damage(self) -> list[str]:
        """What the database's own check finds, empty when it is whole."""
        ...

    def forget_deleted(self) -> None:
        """Overwrite what was deleted, wherever the database still holds it."""
        ...

    def copy_to(self, target: Path) -> None:
        """A consistent copy as one logbook file, while others may go on writing; raises `StoreTrouble`."""
        ...

    def close(self) -> None:
        """Let go of it."""
        ...
