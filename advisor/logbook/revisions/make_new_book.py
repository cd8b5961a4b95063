"""Write ``advisor/logbook/new_book.py`` from the steps: what a new file is made from.

    python -m advisor.logbook.revisions.make_new_book

A new file is made, and a present one recognised, at every first start; loading Alembic for that would
cost more than the rest of the start.
"""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

from advisor.logbook.revisions.run import known_revisions, upgrade_file

HEAD = '''"""Made by ``python -m advisor.logbook.revisions.make_new_book``; not edited by hand."""

from __future__ import annotations

#: Every step a logbook can have reached, oldest first; the last is the present shape.
REVISIONS = {revisions}

#: The present shape as SQLite makes it.
STATEMENTS = (
{statements}
)
'''


def statements() -> list[str]:
    """What SQLite holds after all steps, in the order they made it."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as db:
        upgrade_file(db)
        rows = db.execute("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY rowid")
        return [re.sub(r"\s+", " ", row[0]).strip() for row in rows]


def source() -> str:
    """The text of the module."""
    listed = "\n".join(f"    {_folded(text)}," for text in statements())
    revisions = "(" + ", ".join(f'"{r}"' for r in known_revisions()) + ",)"
    return HEAD.format(revisions=revisions, statements=listed)


def _folded(text: str) -> str:
    """A statement as one or more literals that fit the line."""
    lines, line = [], ""
    for word in text.split(" "):
        if len(line) + len(word) > 95:
            lines.append(line)
            line = ""
        line += word + " "
    lines.append(line.rstrip())
    quoted = [f'"{part.replace(chr(34), chr(92) + chr(34))}"' for part in lines]
    return quoted[0] if len(quoted) == 1 else "\n    ".join(["(" + quoted[0], *quoted[1:]]) + ")"


if __name__ == "__main__":
    Path(__file__).parents[1].joinpath("new_book.py").write_text(source(), encoding="utf-8")
