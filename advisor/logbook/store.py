"""Open the logbook: a file by default, a database server where one is named."""

from __future__ import annotations

from pathlib import Path

from advisor.logbook.place import FILE_NAME, Place, book_place
from advisor.logbook.sqlite_file import SqliteFile
from advisor.logbook.tables import TableStore

BUSY_MS = 3000


class SqliteStore(TableStore):
    """A logbook in one SQLite file."""

    def __init__(self, path: Path, *, busy_ms: int = BUSY_MS) -> None:
        self.path = path
        super().__init__(SqliteFile(path, busy_ms))


def open_store(where: Path | Place | None = None, *, busy_ms: int = BUSY_MS) -> TableStore:
    """Open a logbook, making it on first use.

    Args:
        where: a folder, or a place; the user's own (`book_place`) when left out.
        busy_ms: how long to wait for another writer, in milliseconds.

    Raises:
        StoreTrouble: it cannot be made, read or written, is damaged, or of a newer shape.
    """
    if where is None:
        where = book_place()
    if isinstance(where, Path):
        return SqliteStore(where / FILE_NAME, busy_ms=busy_ms)
    if where.server is None:
        return SqliteStore(where.folder / FILE_NAME, busy_ms=busy_ms)
    from advisor.logbook.server import Server

    return TableStore(Server(where.server, busy_ms))


def place_name() -> str:
    """Where the user's logbook is, as a person may see it: a folder, or a server without its password."""
    place = book_place()
    if place.server is None:
        return str(place.folder)
    from advisor.logbook.server import server_name

    return server_name(place.server)
