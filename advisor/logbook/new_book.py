"""Made by ``python -m advisor.logbook.revisions.make_new_book``; not edited by hand."""

from __future__ import annotations

#: Every step a logbook can have reached, oldest first; the last is the present shape.
REVISIONS = ("0001", "0002", "0003", "0004", "0005",)

#: The present shape as SQLite makes it.
STATEMENTS = (
    ("CREATE TABLE logbook_revision ( version_num VARCHAR(32) NOT NULL, CONSTRAINT "
    "logbook_revision_pkc PRIMARY KEY (version_num) )"),
    ("CREATE TABLE cases ( id INTEGER NOT NULL, opened TEXT NOT NULL, touched TEXT NOT NULL, sump "
    "TEXT NOT NULL, verdict TEXT NOT NULL, run TEXT NOT NULL, lead TEXT NOT NULL, level TEXT NOT "
    "NULL, state TEXT NOT NULL, who TEXT NOT NULL, visit INTEGER NOT NULL, events INTEGER NOT NULL, "
    "head TEXT NOT NULL, PRIMARY KEY (id) )"),
    "CREATE INDEX cases_touched ON cases (touched)",
    "CREATE INDEX cases_sump ON cases (sump, opened)",
    ("CREATE TABLE events ( case_id INTEGER NOT NULL, number INTEGER NOT NULL, kind TEXT NOT NULL, "
    "schema INTEGER NOT NULL, time TEXT NOT NULL, visit INTEGER NOT NULL, who TEXT NOT NULL, data "
    "TEXT NOT NULL, words_key TEXT, previous TEXT NOT NULL, hash TEXT NOT NULL, PRIMARY KEY "
    "(case_id, number), UNIQUE (words_key), FOREIGN KEY(case_id) REFERENCES cases (id) DEFERRABLE "
    "INITIALLY DEFERRED )"),
    ("CREATE TABLE words ( words_key TEXT NOT NULL, case_id INTEGER NOT NULL, number INTEGER NOT "
    "NULL, text TEXT NOT NULL, PRIMARY KEY (words_key), FOREIGN KEY(words_key) REFERENCES events "
    "(words_key) DEFERRABLE INITIALLY DEFERRED )"),
    "CREATE INDEX words_case ON words (case_id, number)",
    ("CREATE TRIGGER events_not_changed BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are "
    "never changed'); END"),
    ("CREATE TRIGGER events_not_deleted BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are "
    "never deleted'); END"),
    ("CREATE TABLE rule_bases ( hash TEXT NOT NULL, size INTEGER NOT NULL, compressed BLOB NOT NULL, "
    "PRIMARY KEY (hash) )"),
    ("CREATE TABLE shop_rows ( kind TEXT NOT NULL, id TEXT NOT NULL, version INTEGER NOT NULL, time "
    "TEXT NOT NULL, who TEXT NOT NULL, data TEXT NOT NULL, PRIMARY KEY (kind, id, version) )"),
    ("CREATE TABLE entries ( id INTEGER NOT NULL, time TEXT NOT NULL, who TEXT NOT NULL, how TEXT NOT "
    "NULL, case_id INTEGER, visit INTEGER, count INTEGER NOT NULL, previous TEXT NOT NULL, hash TEXT "
    "NOT NULL, PRIMARY KEY (id) )"),
    "CREATE INDEX entries_case ON entries (case_id) WHERE case_id IS NOT NULL",
    ("CREATE TABLE entry_words ( entry INTEGER NOT NULL, text TEXT NOT NULL, PRIMARY KEY (entry), "
    "FOREIGN KEY(entry) REFERENCES entries (id) )"),
    ("CREATE TABLE reading_contexts ( id INTEGER NOT NULL, held TEXT NOT NULL, PRIMARY KEY (id), "
    "UNIQUE (held) )"),
    ("CREATE TABLE readings ( id INTEGER NOT NULL, entry INTEGER NOT NULL, sump TEXT NOT NULL, "
    "observable TEXT NOT NULL, time TEXT NOT NULL, raw REAL, result REAL, context INTEGER NOT NULL, "
    "mark TEXT NOT NULL, corrects INTEGER, reason TEXT, PRIMARY KEY (id), FOREIGN KEY(entry) "
    "REFERENCES entries (id), FOREIGN KEY(context) REFERENCES reading_contexts (id), FOREIGN "
    "KEY(corrects) REFERENCES readings (id) )"),
    "CREATE INDEX readings_sump ON readings (sump, observable, time)",
    ("CREATE TABLE records ( id INTEGER NOT NULL, entry INTEGER NOT NULL, kind TEXT NOT NULL, sump "
    "TEXT NOT NULL, time TEXT NOT NULL, data TEXT NOT NULL, corrects INTEGER, PRIMARY KEY (id), "
    "FOREIGN KEY(entry) REFERENCES entries (id), FOREIGN KEY(corrects) REFERENCES records (id) )"),
    "CREATE INDEX records_kind ON records (kind, sump, time)",
    "CREATE INDEX readings_entry ON readings (entry)",
    "CREATE UNIQUE INDEX readings_corrects ON readings (corrects) WHERE corrects IS NOT NULL",
    "CREATE INDEX records_entry ON records (entry)",
    "CREATE UNIQUE INDEX records_corrects ON records (corrects) WHERE corrects IS NOT NULL",
    ("CREATE TABLE sump_states ( sump TEXT NOT NULL, observable TEXT NOT NULL, data TEXT NOT NULL, "
    "PRIMARY KEY (sump, observable) ) WITHOUT ROWID"),
    ("CREATE TABLE cases_read ( case_id INTEGER NOT NULL, events INTEGER NOT NULL, PRIMARY KEY "
    "(case_id) )"),
    ("CREATE TRIGGER entries_not_changed BEFORE UPDATE ON entries BEGIN SELECT RAISE(ABORT, 'entries "
    "are never changed'); END"),
    ("CREATE TRIGGER entries_not_deleted BEFORE DELETE ON entries BEGIN SELECT RAISE(ABORT, 'entries "
    "are never deleted'); END"),
    ("CREATE TRIGGER readings_not_changed BEFORE UPDATE ON readings BEGIN SELECT RAISE(ABORT, "
    "'readings are never changed'); END"),
    ("CREATE TRIGGER readings_not_deleted BEFORE DELETE ON readings BEGIN SELECT RAISE(ABORT, "
    "'readings are never deleted'); END"),
    ("CREATE TRIGGER records_not_changed BEFORE UPDATE ON records BEGIN SELECT RAISE(ABORT, 'records "
    "are never changed'); END"),
    ("CREATE TRIGGER records_not_deleted BEFORE DELETE ON records BEGIN SELECT RAISE(ABORT, 'records "
    "are never deleted'); END"),
    "CREATE INDEX readings_fill ON readings (sump, observable, time) WHERE mark = 'first_fill'",
)
