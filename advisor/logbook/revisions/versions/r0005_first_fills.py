"""First fills are found at once, however many readings a sump has."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """An index of the few readings that begin a charge."""
    where = sa.text("mark = 'first_fill'")
    columns = ["sump", "observable", "time"]
    op.create_index("readings_fill", "readings", columns, sqlite_where=where, postgresql_where=where)
