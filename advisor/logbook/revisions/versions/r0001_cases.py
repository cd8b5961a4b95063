"""Cases, events and words."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from advisor.logbook.revisions.columns import never, number, text, whole

revision = "0001"
down_revision: str | None = None


def upgrade() -> None:
    """A case is a row and its events; words stand beside, so that they can be erased."""
    op.create_table(
        "cases",
        number(given=True),
        *map(text, ("opened", "touched", "sump", "verdict", "run", "lead", "level", "state", "who")),
        whole("visit"),
        whole("events"),
        text("head"),
    )
    op.create_index("cases_touched", "cases", ["touched"])
    op.create_index("cases_sump", "cases", ["sump", "opened"])
    later = {"deferrable": True, "initially": "DEFERRED"}
    op.create_table(
        "events",
        whole("case_id", sa.ForeignKey("cases.id", **later)),
        whole("number"),
        text("kind"),
        whole("schema"),
        text("time"),
        whole("visit"),
        *map(text, ("who", "data")),
        text("words_key", nullable=True),
        *map(text, ("previous", "hash")),
        sa.PrimaryKeyConstraint("case_id", "number"),
        sa.UniqueConstraint("words_key"),
    )
    op.create_table(
        "words",
        text("words_key", primary_key=True),
        whole("case_id"),
        whole("number"),
        text("text"),
        sa.ForeignKeyConstraint(["words_key"], ["events.words_key"], **later),
    )
    op.create_index("words_case", "words", ["case_id", "number"])
    never("events", "UPDATE", "DELETE")
