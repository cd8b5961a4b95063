"""Readings, records and entries."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from advisor.logbook.revisions.columns import never, number, real, text, whole

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """One entry is one act of writing: a line, a round, an import; its hash covers all its rows.

    Words and notes stand outside the hash, so that they can be erased.
    """
    _entries()
    op.create_table(
        "readings",
        number(),
        whole("entry", sa.ForeignKey("entries.id")),
        *map(text, ("sump", "observable", "time")),
        real("raw"),
        real("result"),
        whole("context", sa.ForeignKey("reading_contexts.id")),
        text("mark"),
        whole("corrects", sa.ForeignKey("readings.id"), nullable=True),
        text("reason", nullable=True),
    )
    op.create_index("readings_sump", "readings", ["sump", "observable", "time"])
    op.create_table(
        "records",
        number(),
        whole("entry", sa.ForeignKey("entries.id")),
        *map(text, ("kind", "sump", "time", "data")),
        whole("corrects", sa.ForeignKey("records.id"), nullable=True),
    )
    op.create_index("records_kind", "records", ["kind", "sump", "time"])
    for table in ("readings", "records"):
        op.create_index(f"{table}_entry", table, ["entry"])
        where = sa.text("corrects IS NOT NULL")
        named = {"sqlite_where": where, "postgresql_where": where}
        op.create_index(f"{table}_corrects", table, ["corrects"], unique=True, **named)
    # Worked out from the readings, so that the morning's list need not read them all.
    op.create_table(
        "sump_states",
        *map(text, ("sump", "observable", "data")),
        sa.PrimaryKeyConstraint("sump", "observable"),
        sqlite_with_rowid=False,
    )
    op.create_table("cases_read", number("case_id", given=True), whole("events"))
    for table in ("entries", "readings", "records"):
        never(table, "UPDATE", "DELETE")


def _entries() -> None:
    op.create_table(
        "entries",
        number(given=True),
        *map(text, ("time", "who", "how")),
        whole("case_id", nullable=True),
        whole("visit", nullable=True),
        whole("count"),
        *map(text, ("previous", "hash")),
    )
    some = sa.text("case_id IS NOT NULL")
    op.create_index("entries_case", "entries", ["case_id"], sqlite_where=some, postgresql_where=some)
    op.create_table("entry_words", number("entry", sa.ForeignKey("entries.id"), given=True), text("text"))
    # How a figure was got is the same for thousands of readings, so it is kept once.
    op.create_table("reading_contexts", number(), text("held"), sa.UniqueConstraint("held"))
