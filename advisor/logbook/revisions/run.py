"""Bring a logbook up to the present step with Alembic."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from alembic.config import Config
    from sqlalchemy import Connection


#: Where the steps are.
VERSIONS = Path(__file__).parent / "versions"


def upgrade(connection: Connection) -> None:
    """Run the steps that are missing, in the connection's own transaction."""
    from alembic import command

    command.upgrade(_config(connection), "head")


def upgrade_file(db: sqlite3.Connection, reached: str | None = None) -> None:
    """Run the steps that are missing on an open SQLite file, in the transaction that is open there.

    Args:
        reached: the step of a file from before steps were counted here, None where the file says it.
    """
    from alembic import command
    from sqlalchemy import create_engine
    from sqlalchemy.pool import StaticPool

    engine = create_engine("sqlite://", creator=lambda: _Lent(db), poolclass=StaticPool)
    with engine.connect() as connection:
        if reached is not None:
            command.stamp(_config(connection), reached)
        upgrade(connection)


def known_revisions() -> list[str]:
    """All steps, oldest first."""
    from alembic.script import ScriptDirectory

    steps = ScriptDirectory.from_config(_config(None)).walk_revisions()
    return [step.revision for step in steps][::-1]


def _config(connection: Connection | None) -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent).replace("%", "%%"))
    config.set_main_option("version_locations", str(VERSIONS).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    config.attributes["connection"] = connection
    return config


class _Lent:
    """The open file, lent for the steps: whoever lent it ends its transaction and closes it."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def __getattr__(self, name: str) -> Any:
        return getattr(self._db, name)

    def commit(self) -> None:
        """Left to the lender."""

    def rollback(self) -> None:
        """Left to the lender."""

    def close(self) -> None:
        """Left to the lender."""
