"""The shape of the logbook file, as small named steps. New steps are added at the end; none is changed."""

from __future__ import annotations

from dataclasses import dataclass

APPLICATION_ID = 0x53554D50  # marks the SQLite file as a logbook ("SUMP")


@dataclass(frozen=True, slots=True)
class Migration:
    """One step: a name that is never reused, and its statements, run in one transaction."""

    name: str
    statements: tuple[str, ...]


MIGRATIONS: tuple[Migration, ...] = (
    Migration(
        "cases, events and words",
        (
            """CREATE TABLE cases (
                id INTEGER PRIMARY KEY, opened TEXT NOT NULL, touched TEXT NOT NULL, sump TEXT NOT NULL,
                verdict TEXT NOT NULL, run TEXT NOT NULL, lead TEXT NOT NULL, level TEXT NOT NULL,
                state TEXT NOT NULL, who TEXT NOT NULL, visit INTEGER NOT NULL, events INTEGER NOT NULL,
                head TEXT NOT NULL)""",
            "CREATE INDEX cases_touched ON cases (touched)",
            "CREATE INDEX cases_sump ON cases (sump, opened)",
            """CREATE TABLE events (
                case_id INTEGER NOT NULL REFERENCES cases (id) DEFERRABLE INITIALLY DEFERRED,
                number INTEGER NOT NULL, kind TEXT NOT NULL, schema INTEGER NOT NULL, time TEXT NOT NULL,
                visit INTEGER NOT NULL, who TEXT NOT NULL, data TEXT NOT NULL, words_key TEXT UNIQUE,
                previous TEXT NOT NULL, hash TEXT NOT NULL, PRIMARY KEY (case_id, number))""",
            """CREATE TABLE words (
                words_key TEXT PRIMARY KEY REFERENCES events (words_key) DEFERRABLE INITIALLY DEFERRED,
                case_id INTEGER NOT NULL, number INTEGER NOT NULL, text TEXT NOT NULL)""",
            "CREATE INDEX words_case ON words (case_id, number)",
            """CREATE TRIGGER events_not_changed BEFORE UPDATE ON events
                BEGIN SELECT RAISE(ABORT, 'events are never changed'); END""",
            """CREATE TRIGGER events_not_deleted BEFORE DELETE ON events
                BEGIN SELECT RAISE(ABORT, 'events are never deleted'); END""",
        ),
    ),
    Migration(
        "rule bases that judged a case",
        (
            """CREATE TABLE rule_bases (
                hash TEXT PRIMARY KEY, size INTEGER NOT NULL, compressed BLOB NOT NULL)""",
        ),
    ),
    Migration(
        "shop rows",
        (
            """CREATE TABLE shop_rows (
                kind TEXT NOT NULL, id TEXT NOT NULL, version INTEGER NOT NULL, time TEXT NOT NULL,
                who TEXT NOT NULL, data TEXT NOT NULL, PRIMARY KEY (kind, id, version))""",
        ),
    ),
)
