"""Change a logbook behind the program's back, with its guards taken off, on both kinds of database."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from advisor.logbook.server import Server
from advisor.logbook.tables import TableStore

GUARDED = ("events", "entries", "readings", "records")


def change(store: TableStore, statement: str, values: Sequence[Any] = ()) -> None:
    """Run a statement that the program itself would never run."""
    with store.writing() as db:
        for table in GUARDED:
            if isinstance(db, Server):
                db.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
            else:
                db.execute(f"DROP TRIGGER IF EXISTS {table}_not_changed")
                db.execute(f"DROP TRIGGER IF EXISTS {table}_not_deleted")
        db.execute(statement, values)
        if isinstance(db, Server):  # the next test is guarded again
            for table in GUARDED:
                db.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")
