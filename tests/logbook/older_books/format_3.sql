PRAGMA application_id = 1398099280;
BEGIN TRANSACTION;
CREATE TABLE cases (
                id INTEGER PRIMARY KEY, opened TEXT NOT NULL, touched TEXT NOT NULL, sump TEXT NOT NULL,
                verdict TEXT NOT NULL, run TEXT NOT NULL, lead TEXT NOT NULL, level TEXT NOT NULL,
                state TEXT NOT NULL, who TEXT NOT NULL, visit INTEGER NOT NULL, events INTEGER NOT NULL,
                head TEXT NOT NULL);
INSERT INTO "cases" VALUES(1,'2025-03-04T12:00:00Z','2025-03-04T12:00:00Z','mill','','','','','closed','op',1,3,'cc13ed5fcd178a0ad9a0a2af6ab5b9a991224a71ecc4bb968bee862a4cc8c965');
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
INSERT INTO "meta" VALUES('schema','3');
CREATE TABLE rule_bases (
                hash TEXT PRIMARY KEY, size INTEGER NOT NULL, compressed BLOB NOT NULL);
INSERT INTO "rule_bases" VALUES('abc',25,X'789C2B2ACD492D56C84F5348CC53C8CF49492D522828CA4F2F4ACC0500784A095E');
CREATE TABLE shop_rows (
                kind TEXT NOT NULL, id TEXT NOT NULL, version INTEGER NOT NULL, time TEXT NOT NULL,
                who TEXT NOT NULL, data TEXT NOT NULL, PRIMARY KEY (kind, id, version));
INSERT INTO "shop_rows" VALUES('sump','mill',1,'2025-03-04T12:00:00Z','sup','{"volume":200}');
INSERT INTO "shop_rows" VALUES('sump','mill',2,'2025-03-04T12:00:00Z','sup','{"volume":190}');
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
COMMIT;
