"""Rows of the shop: sumps, products, containers, people."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from advisor.logbook.revisions.columns import text, whole

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Every version of a row is kept."""
    op.create_table(
        "shop_rows",
        *map(text, ("kind", "id")),
        whole("version"),
        *map(text, ("time", "who", "data")),
        sa.PrimaryKeyConstraint("kind", "id", "version"),
    )
