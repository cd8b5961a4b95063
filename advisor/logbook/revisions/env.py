"""Run by Alembic: the steps on the connection that the logbook hands over, inside its transaction."""

from __future__ import annotations

from alembic import context

from advisor.logbook.revisions.columns import TABLE

context.configure(connection=context.config.attributes["connection"], version_table=TABLE)
context.run_migrations()
