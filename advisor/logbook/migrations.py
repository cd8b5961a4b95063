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
    Migration(
        "readings, records and entries",
        (
            # One entry is one act of writing: a line, a round, an import. Its hash covers all its rows and
            # ties it to the entry before; words and notes stand outside the hash, so they can be erased.
            """CREATE TABLE entries (
                id INTEGER PRIMARY KEY, time TEXT NOT NULL, who TEXT NOT NULL, how TEXT NOT NULL,
                case_id INTEGER, visit INTEGER, count INTEGER NOT NULL, previous TEXT NOT NULL,
                hash TEXT NOT NULL)""",
            "CREATE INDEX entries_case ON entries (case_id) WHERE case_id IS NOT NULL",
            """CREATE TABLE entry_words (
                entry INTEGER PRIMARY KEY REFERENCES entries (id), text TEXT NOT NULL)""",
            # How a figure was got is the same for thousands of readings, so it is kept once.
            """CREATE TABLE reading_contexts (
                id INTEGER PRIMARY KEY, held TEXT NOT NULL UNIQUE)""",
            """CREATE TABLE readings (
                id INTEGER PRIMARY KEY, entry INTEGER NOT NULL REFERENCES entries (id),
                sump TEXT NOT NULL, observable TEXT NOT NULL, time TEXT NOT NULL, raw REAL, result REAL,
                context INTEGER NOT NULL REFERENCES reading_contexts (id), mark TEXT NOT NULL,
                corrects INTEGER REFERENCES readings (id), reason TEXT)""",
            "CREATE INDEX readings_sump ON readings (sump, observable, time)",
            "CREATE INDEX readings_entry ON readings (entry)",
            "CREATE UNIQUE INDEX readings_corrects ON readings (corrects) WHERE corrects IS NOT NULL",
            """CREATE TABLE records (
                id INTEGER PRIMARY KEY, entry INTEGER NOT NULL REFERENCES entries (id),
                kind TEXT NOT NULL, sump TEXT NOT NULL, time TEXT NOT NULL, data TEXT NOT NULL,
                corrects INTEGER REFERENCES records (id))""",
            "CREATE INDEX records_kind ON records (kind, sump, time)",
            "CREATE INDEX records_entry ON records (entry)",
            "CREATE UNIQUE INDEX records_corrects ON records (corrects) WHERE corrects IS NOT NULL",
            # Worked out from the readings, so that the morning's list need not read them all.
            """CREATE TABLE sump_states (
                sump TEXT NOT NULL, observable TEXT NOT NULL, data TEXT NOT NULL,
                PRIMARY KEY (sump, observable)) WITHOUT ROWID""",
            "CREATE TABLE cases_read (case_id INTEGER PRIMARY KEY, events INTEGER NOT NULL)",
            *(
                f"""CREATE TRIGGER {table}_not_{done} BEFORE {act} ON {table}
                    BEGIN SELECT RAISE(ABORT, '{table} are never {done}'); END"""
                for table in ("entries", "readings", "records")
                for act, done in (("UPDATE", "changed"), ("DELETE", "deleted"))
            ),
        ),
    ),
)
