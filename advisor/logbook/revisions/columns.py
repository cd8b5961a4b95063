"""Columns and rules that both databases need, each in its own words; for the steps in ``versions``."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

#: The table that says which step a logbook has reached.
TABLE = "logbook_revision"

#: Ordered by its bytes on both, so that lists and times sort alike whatever the server's language.
TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
REAL = sa.REAL().with_variant(sa.Double(), "postgresql")
WHOLE = sa.Integer().with_variant(sa.BigInteger(), "postgresql")


def text(name: str, *, nullable: bool = False, primary_key: bool = False) -> sa.Column[str]:
    """A column of text."""
    return sa.Column(name, TEXT, nullable=nullable, primary_key=primary_key)


def whole(name: str, *more: sa.ForeignKey, nullable: bool = False) -> sa.Column[int]:
    """A column of whole numbers."""
    return sa.Column(name, WHOLE, *more, nullable=nullable)


def real(name: str) -> sa.Column[float]:
    """A column of figures, or of none."""
    return sa.Column(name, REAL, nullable=True)


def number(name: str = "id", *more: sa.ForeignKey, given: bool = False) -> sa.Column[int]:
    """The number rows are known by; `given` when the program, not the database, gives it."""
    return sa.Column(name, WHOLE, *more, primary_key=True, autoincrement=not given)


def never(table: str, *acts: str) -> None:
    """Let the database itself refuse to update or delete the rows of a table."""
    done = {"UPDATE": "changed", "DELETE": "deleted"}
    server = op.get_bind().dialect.name == "postgresql"
    for act in acts:
        name = f"{table}_not_{done[act]}"
        if server:
            op.execute(
                f"CREATE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS "
                f"$$ BEGIN RAISE EXCEPTION '{table} are never {done[act]}' USING ERRCODE = '23001'; END $$"
            )
            rule = f"FOR EACH ROW EXECUTE FUNCTION {name}()"
        else:
            rule = f"BEGIN SELECT RAISE(ABORT, '{table} are never {done[act]}'); END"
        op.execute(f"CREATE TRIGGER {name} BEFORE {act} ON {table} {rule}")
