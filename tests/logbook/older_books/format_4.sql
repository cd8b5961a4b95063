PRAGMA application_id = 1398099280;
BEGIN TRANSACTION;
CREATE TABLE cases (
                id INTEGER PRIMARY KEY, opened TEXT NOT NULL, touched TEXT NOT NULL, sump TEXT NOT NULL,
                verdict TEXT NOT NULL, run TEXT NOT NULL, lead TEXT NOT NULL, level TEXT NOT NULL,
                state TEXT NOT NULL, who TEXT NOT NULL, visit INTEGER NOT NULL, events INTEGER NOT NULL,
                head TEXT NOT NULL);
INSERT INTO "cases" VALUES(1,'2025-03-04T12:00:00Z','2025-03-04T12:00:00Z','mill','','','','','closed','op',1,3,'cc13ed5fcd178a0ad9a0a2af6ab5b9a991224a71ecc4bb968bee862a4cc8c965');
CREATE TABLE cases_read (case_id INTEGER PRIMARY KEY, events INTEGER NOT NULL);
CREATE TABLE entries (
                id INTEGER PRIMARY KEY, time TEXT NOT NULL, who TEXT NOT NULL, how TEXT NOT NULL,
                case_id INTEGER, visit INTEGER, count INTEGER NOT NULL, previous TEXT NOT NULL,
                hash TEXT NOT NULL);
INSERT INTO "entries" VALUES(1,'2025-03-04T12:00:00Z','op','line',NULL,NULL,2,'0000000000000000000000000000000000000000000000000000000000000000','57430e3cd8243d33837aaf4c12f3fe555e0bc5c3d279c4c448dff89a82ccfb26');
INSERT INTO "entries" VALUES(2,'2025-03-04T12:00:00Z','op','line',NULL,NULL,2,'57430e3cd8243d33837aaf4c12f3fe555e0bc5c3d279c4c448dff89a82ccfb26','530fb34433e4c5d4953a5038ed723fdb2e5f3ede8c595e3137111e5597679e79');
CREATE TABLE entry_words (
                entry INTEGER PRIMARY KEY REFERENCES entries (id), text TEXT NOT NULL);
INSERT INTO "entry_words" VALUES(1,'mill 7 9.1');
CREATE TABLE events (
                case_id INTEGER NOT NULL REFERENCES cases (id) DEFERRABLE INITIALLY DEFERRED,
                number INTEGER NOT NULL, kind TEXT NOT NULL, schema INTEGER NOT NULL, time TEXT NOT NULL,
                visit INTEGER NOT NULL, who TEXT NOT NULL, data TEXT NOT NULL, words_key TEXT UNIQUE,
                previous TEXT NOT NULL, hash TEXT NOT NULL, PRIMARY KEY (case_id, number));
INSERT INTO "events" VALUES(1,1,'opened',1,'2025-03-04T12:00:00Z',1,'op','{"program":"0.1.0","region":"eu","sump":{"id":"mill"},"units":"metric"}',NULL,'0000000000000000000000000000000000000000000000000000000000000000','d03b18ee790479e15082dfd17ef53291e5b8639021f723adee3b1b3c0bd1d700');
INSERT INTO "events" VALUES(1,2,'said',1,'2025-03-04T12:00:00Z',1,'op','{"facts":[{"id":"ph","unit":"pH","value":8.9}]}','1.2','d03b18ee790479e15082dfd17ef53291e5b8639021f723adee3b1b3c0bd1d700','031a64dad663f761931efe078edff0febf712627a2e08732583e28c7a459c70f');
INSERT INTO "events" VALUES(1,3,'closed',1,'2025-03-04T12:00:00Z',1,'op','{"how":"finished"}',NULL,'031a64dad663f761931efe078edff0febf712627a2e08732583e28c7a459c70f','cc13ed5fcd178a0ad9a0a2af6ab5b9a991224a71ecc4bb968bee862a4cc8c965');
CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL);
INSERT INTO "meta" VALUES('migration 1','cases, events and words');
INSERT INTO "meta" VALUES('migration 2','rule bases that judged a case');
INSERT INTO "meta" VALUES('migration 3','shop rows');
INSERT INTO "meta" VALUES('migration 4','readings, records and entries');
INSERT INTO "meta" VALUES('schema','4');
CREATE TABLE reading_contexts (
                id INTEGER PRIMARY KEY, held TEXT NOT NULL UNIQUE);
INSERT INTO "reading_contexts" VALUES(1,'{"factor":1.2,"high":0.1,"low":0.06,"method":"refractometer","raw_unit":"\u00b0Bx","who":"op"}');
INSERT INTO "reading_contexts" VALUES(2,'{"who":"op"}');
CREATE TABLE readings (
                id INTEGER PRIMARY KEY, entry INTEGER NOT NULL REFERENCES entries (id),
                sump TEXT NOT NULL, observable TEXT NOT NULL, time TEXT NOT NULL, raw REAL, result REAL,
                context INTEGER NOT NULL REFERENCES reading_contexts (id), mark TEXT NOT NULL,
                corrects INTEGER REFERENCES readings (id), reason TEXT);
INSERT INTO "readings" VALUES(1,1,'mill','concentration','2025-03-04T12:00:00Z',7.0,0.084,1,'',NULL,NULL);
INSERT INTO "readings" VALUES(2,1,'mill','ph','2025-03-04T12:00:00Z',9.1,9.1,2,'',NULL,NULL);
INSERT INTO "readings" VALUES(3,2,'mill','ph','2025-03-04T12:00:00Z',9.2,9.2,2,'',2,'misread');
CREATE TABLE records (
                id INTEGER PRIMARY KEY, entry INTEGER NOT NULL REFERENCES entries (id),
                kind TEXT NOT NULL, sump TEXT NOT NULL, time TEXT NOT NULL, data TEXT NOT NULL,
                corrects INTEGER REFERENCES records (id));
INSERT INTO "records" VALUES(1,2,'addition','mill','2025-03-04T12:00:00Z','{"litres":20.0,"strength":0.02}',NULL);
CREATE TABLE rule_bases (
                hash TEXT PRIMARY KEY, size INTEGER NOT NULL, compressed BLOB NOT NULL);
INSERT INTO "rule_bases" VALUES('abc',25,X'789C2B2ACD492D56C84F5348CC53C8CF49492D522828CA4F2F4ACC0500784A095E');
CREATE TABLE shop_rows (
                kind TEXT NOT NULL, id TEXT NOT NULL, version INTEGER NOT NULL, time TEXT NOT NULL,
                who TEXT NOT NULL, data TEXT NOT NULL, PRIMARY KEY (kind, id, version));
INSERT INTO "shop_rows" VALUES('sump','mill',1,'2025-03-04T12:00:00Z','sup','{"volume":200}');
INSERT INTO "shop_rows" VALUES('sump','mill',2,'2025-03-04T12:00:00Z','sup','{"volume":190}');
CREATE TABLE sump_states (
                sump TEXT NOT NULL, observable TEXT NOT NULL, data TEXT NOT NULL,
                PRIMARY KEY (sump, observable)) WITHOUT ROWID;
INSERT INTO "sump_states" VALUES('mill','concentration','{"time": "2025-03-04T12:00:00Z", "result": 0.084, "reading": 1, "first": null, "filled": "", "recent": [0.084], "slope": 0.0, "change": 0.0, "since": "2025-03-04T12:00:00Z", "drifting": "", "jumped": "", "count": 0}');
INSERT INTO "sump_states" VALUES('mill','ph','{"time": "2025-03-04T12:00:00Z", "result": 9.2, "reading": 3, "first": null, "filled": "", "recent": [9.2], "slope": 0.0, "change": 0.0, "since": "2025-03-04T12:00:00Z", "drifting": "", "jumped": "", "count": 0}');
CREATE TABLE words (
                words_key TEXT PRIMARY KEY REFERENCES events (words_key) DEFERRABLE INITIALLY DEFERRED,
                case_id INTEGER NOT NULL, number INTEGER NOT NULL, text TEXT NOT NULL);
INSERT INTO "words" VALUES('1.2',1,2,'pH 8.9, größer');
CREATE INDEX cases_touched ON cases (touched);
CREATE INDEX cases_sump ON cases (sump, opened);
CREATE INDEX words_case ON words (case_id, number);
CREATE TRIGGER events_not_changed BEFORE UPDATE ON events
                BEGIN SELECT RAISE(ABORT, 'events are never changed'); END;
CREATE TRIGGER events_not_deleted BEFORE DELETE ON events
                BEGIN SELECT RAISE(ABORT, 'events are never deleted'); END;
CREATE INDEX entries_case ON entries (case_id) WHERE case_id IS NOT NULL;
CREATE INDEX readings_sump ON readings (sump, observable, time);
CREATE INDEX readings_entry ON readings (entry);
CREATE UNIQUE INDEX readings_corrects ON readings (corrects) WHERE corrects IS NOT NULL;
CREATE INDEX records_kind ON records (kind, sump, time);
CREATE INDEX records_entry ON records (entry);
CREATE UNIQUE INDEX records_corrects ON records (corrects) WHERE corrects IS NOT NULL;
CREATE TRIGGER entries_not_changed BEFORE UPDATE ON entries
                    BEGIN SELECT RAISE(ABORT, 'entries are never changed'); END;
CREATE TRIGGER entries_not_deleted BEFORE DELETE ON entries
                    BEGIN SELECT RAISE(ABORT, 'entries are never deleted'); END;
CREATE TRIGGER readings_not_changed BEFORE UPDATE ON readings
                    BEGIN SELECT RAISE(ABORT, 'readings are never changed'); END;
CREATE TRIGGER readings_not_deleted BEFORE DELETE ON readings
                    BEGIN SELECT RAISE(ABORT, 'readings are never deleted'); END;
CREATE TRIGGER records_not_changed BEFORE UPDATE ON records
                    BEGIN SELECT RAISE(ABORT, 'records are never changed'); END;
CREATE TRIGGER records_not_deleted BEFORE DELETE ON records
                    BEGIN SELECT RAISE(ABORT, 'records are never deleted'); END;
COMMIT;
