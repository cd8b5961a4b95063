"""Rule bases that judged a case."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from advisor.logbook.revisions.columns import text, whole

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Each is kept once, under its hash."""
    op.create_table(
        "rule_bases",
        text("hash", primary_key=True),
        whole("size"),
        sa.Column("compressed", sa.LargeBinary, nullable=False),
    )
