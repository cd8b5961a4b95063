"""All rows of a logbook from one database to another, as they are: to a copy, from a copy, to a server."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from advisor.logbook.database import Database

#: Every table of a logbook with its columns; each stands after those it refers to.
TABLES = {
    "cases": "id, opened, touched, sump, verdict, run, lead, level, state, who, visit, events, head",
    "events": "case_id, number, kind, schema, time, visit, who, data, words_key, previous, hash",
    "words": "words_key, case_id, number, text",
    "rule_bases": "hash, size, compressed",
    "shop_rows": "kind, id, version, time, who, data",
    "entries": "id, time, who, how, case_id, visit, count, previous, hash",
    "entry_words": "entry, text",
    "reading_contexts": "id, held",
    "readings": "id, entry, sump, observable, time, raw, result, context, mark, corrects, reason",
    "records": "id, entry, kind, sump, time, data, corrects",
    "sump_states": "sump, observable, data",
    "cases_read": "case_id, events",
}
#: Tables whose numbers the database gives: it goes on after the last one copied.
NUMBERED = ("reading_contexts", "readings", "records")

AT_ONCE = 5000


def copy_rows(source: Database, target: Database) -> int:
    """Copy every row into empty tables, in the transactions that are open on both; how many rows."""
    count = 0
    for table, columns in TABLES.items():
        marks = ", ".join("?" * len(columns.split(", ")))
        insert = f"INSERT INTO {table} ({columns}) VALUES ({marks})"
        rows: Iterator[tuple[object, ...]] = map(tuple, source.execute(f"SELECT {columns} FROM {table}"))
        while some := list(islice(rows, AT_ONCE)):
            target.executemany(insert, some)
            count += len(some)
    return count


def empty(db: Database) -> None:
    """Take every row out of a server's tables, in the running transaction."""
    db.execute(f"TRUNCATE {', '.join(TABLES)}")


def go_on_counting(db: Database) -> None:
    """Let a server give the numbers after the last ones there are."""
    for table in NUMBERED:
        last = f"SELECT COALESCE(MAX(id), 0) + 1 FROM {table}"
        db.execute(f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), ({last}), false)")
