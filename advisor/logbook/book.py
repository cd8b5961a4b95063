"""The readings and records of a logbook: added in whole entries, chained, never changed."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from advisor.dialogue.events import GENESIS, canonical
from advisor.errors import BadInput
from advisor.logbook.database import Database
from advisor.logbook.readings import (
    MARKS,
    Context,
    Entry,
    Reading,
    Record,
    context_from,
    reading_line,
    record_line,
)
from advisor.logbook.states import State, refresh
from advisor.logbook.tables import TableStore, add_row, storable

_READING = (
    "r.sump, r.observable, r.time, r.result, r.raw, c.held, r.mark, r.corrects, r.reason, r.id, r.entry"
)
_FROM = "FROM readings r JOIN reading_contexts c ON c.id = r.context"
#: A reading that no other corrects, and that is not itself a striking out.
STANDING = "r.result IS NOT NULL AND NOT EXISTS (SELECT 1 FROM readings x WHERE x.corrects = r.id)"
_RECORD = "kind, sump, time, data, corrects, id, entry"
_RECORD_STANDS = "NOT EXISTS (SELECT 1 FROM records x WHERE x.corrects = r.id)"
#: Rows handed over at once; between them the progress of an import is told.
AT_ONCE = 10_000
_ENTRY = "id, time, who, how, case_id, visit, count, previous, hash"


class ReadingBook:
    """Readings and records in the logbook."""

    def __init__(self, store: TableStore) -> None:
        self.store = store

    def enter(
        self,
        readings: Sequence[Reading] = (),
        records: Sequence[Record] = (),
        *,
        time: str,
        who: str,
        how: str,
        words: str | None = None,
        case: int | None = None,
        visit: int | None = None,
        begun: Mapping[str, Mapping[str, Any]] | None = None,
        progress: Callable[[float], None] | None = None,
    ) -> Entry:
        """Write readings and records as one entry, all or none; on return they are safe on disk.

        Args:
            time: when it is written, ISO-8601 UTC; each reading has its own time of measuring.
            how: line, round, import, case, …
            words: what the person typed or a free note, kept outside the hash.
            begun: rows of sumps that the shop does not know yet, by id, kept together with the entry.
            progress: told the share that is written; nothing stands before all of it does.

        Raises:
            BadInput: an unknown mark, a reading corrected twice or not there, or nothing to write.
            StoreTrouble: it cannot be written.
        """
        if not readings and not records:
            raise BadInput("there is nothing to write down", right="Give a reading or a record.")
        for reading in readings:
            if reading.mark not in MARKS:
                raise BadInput(f"no reading is marked {reading.mark!r}", value=reading.mark, right=str(MARKS))
        with self.store.writing() as db:
            self._check_corrections(db, readings, records)
            for sump, row in (begun or {}).items():
                _refuse_taken(db, sump, row)
                add_row(db, "sump", sump, row, time=time, who=who)
            entry = self._open_entry(db, readings, records, (time, who, how, case, visit))
            _insert(db, entry.id, readings, records, progress)
            if words:
                db.execute("INSERT INTO entry_words VALUES (?, ?)", (entry.id, storable(words)))
            refresh(db, {(r.sump, r.observable) for r in readings})
        return entry

    def _check_corrections(
        self, db: Database, readings: Sequence[Reading], records: Sequence[Record]
    ) -> None:
        for table, rows in (("readings", readings), ("records", records)):
            for row in rows:
                if row.corrects is None:
                    continue
                found = db.execute(f"SELECT sump FROM {table} WHERE id = ?", (row.corrects,)).fetchone()
                if found is None or found[0] != row.sump:
                    right = "`sumpside log SUMP` lists what is there."
                    raise BadInput(f"there is no {table[:-1]} {row.corrects} of {row.sump}", right=right)
                query = f"SELECT id FROM {table} WHERE corrects = ?"
                later = db.execute(query, (row.corrects,)).fetchone()
                if later:
                    right = f"Correct {later[0]} instead."
                    raise BadInput(f"{table[:-1]} {row.corrects} is corrected by {later[0]}", right=right)

    def _open_entry(
        self,
        db: Database,
        readings: Sequence[Reading],
        records: Sequence[Record],
        head: tuple[str, str, str, int | None, int | None],
    ) -> Entry:
        last = db.execute("SELECT id, hash FROM entries ORDER BY id DESC LIMIT 1").fetchone() or (0, GENESIS)
        count = len(readings) + len(records)
        digest = entry_hash(last[1], (*head, count), readings, records)
        entry = Entry(last[0] + 1, *head, count, last[1], digest)
        db.execute(
            f"INSERT INTO entries ({_ENTRY}) VALUES (?,?,?,?,?,?,?,?,?)",
            tuple(getattr(entry, name) for name in Entry.__slots__),
        )
        return entry

    # Reading back

    def of(
        self,
        sump: str,
        observable: str | None = None,
        *,
        since: str | None = None,
        until: str | None = None,
        limit: int | None = None,
        all_versions: bool = False,
    ) -> list[Reading]:
        """Readings of a sump, oldest first; `until` is exclusive, `limit` keeps the last ones.

        `all_versions`: also those corrected since, and the strikings out.
        """
        asked: dict[str, Any] = {"r.observable = ?": observable, "r.time >= ?": since, "r.time < ?": until}
        given = {clause: value for clause, value in asked.items() if value is not None}
        where = " AND ".join(["r.sump = ?", *given, *([] if all_versions else [STANDING])])
        most = "" if limit is None else f"LIMIT {int(limit)}"
        query = f"SELECT {_READING} {_FROM} WHERE {where} ORDER BY r.time DESC, r.id DESC {most}"
        with self.store.reading() as db:
            found = db.execute(query, (sump, *given.values())).fetchall()
        return [_reading(row) for row in reversed(found)]

    def reading(self, number: int) -> Reading:
        """One reading by its number. Raises BadInput when there is none."""
        with self.store.reading() as db:
            found = db.execute(f"SELECT {_READING} {_FROM} WHERE r.id = ?", (number,)).fetchone()
        if found is None:
            right = "`sumpside log SUMP` lists them with their numbers."
            raise BadInput(f"there is no reading {number}", value=number, right=right)
        return _reading(found)

    def every(self, since: str | None = None, until: str | None = None) -> Iterator[Reading]:
        """All readings that stand, by sump and time, one after the other."""
        with self.store.reading() as db:
            query = (
                f"SELECT {_READING} {_FROM} WHERE {STANDING} AND r.time >= ? AND r.time < ? "
                "ORDER BY r.sump, r.time, r.id"
            )
            for row in db.stream(query, (since or "", until or "9999")):
                yield _reading(row)

    def records(
        self,
        kind: str | None = None,
        sump: str | None = None,
        *,
        since: str | None = None,
        until: str | None = None,
        all_versions: bool = False,
    ) -> list[Record]:
        """Records that stand, oldest first; `all_versions`: also those corrected since or struck out."""
        asked: dict[str, Any] = {"kind = ?": kind, "sump = ?": sump, "time >= ?": since, "time < ?": until}
        given = {clause: value for clause, value in asked.items() if value is not None}
        where = " AND ".join([*given, "1 = 1" if all_versions else _RECORD_STANDS])
        with self.store.reading() as db:
            query = f"SELECT {_RECORD} FROM records r WHERE {where} ORDER BY time, id"
            found = db.execute(query, tuple(given.values())).fetchall()
        made = [_record(row) for row in found]
        return made if all_versions else [record for record in made if not record.data.get("struck")]

    def record(self, number: int) -> Record:
        """One record by its number. Raises BadInput when there is none."""
        with self.store.reading() as db:
            found = db.execute(f"SELECT {_RECORD} FROM records r WHERE id = ?", (number,)).fetchone()
        if found is None:
            right = "`sumpside audit SUMP` lists them with their numbers."
            raise BadInput(f"there is no record r{number}", value=number, right=right)
        return _record(found)

    def states(self, sump: str | None = None) -> dict[tuple[str, str], State]:
        """The last reading and drift of every sump (or one) and observable."""
        with self.store.reading() as db:
            where, values = ("", ()) if sump is None else ("WHERE sump = ?", (sump,))
            query = f"SELECT sump, observable, data FROM sump_states {where}"
            found = db.execute(query, values).fetchall()
        return {(row[0], row[1]): State(**json.loads(row[2])) for row in found}

    def entries(self) -> list[Entry]:
        """All entries, oldest first."""
        with self.store.reading() as db:
            return [Entry(*row) for row in db.execute(f"SELECT {_ENTRY} FROM entries ORDER BY id")]

    def words(self, entry: int) -> str | None:
        """What was typed or noted with an entry, None when nothing was or it was erased."""
        with self.store.reading() as db:
            found = db.execute("SELECT text FROM entry_words WHERE entry = ?", (entry,)).fetchone()
        return str(found[0]) if found else None

    def replace_words(self, entry: int, text: str) -> None:
        """Keep other words with an entry; what stood there is gone from the logbook for good."""
        with self.store.writing() as db:
            db.execute("UPDATE entry_words SET text = ? WHERE entry = ?", (storable(text), entry))
        with self.store.reading() as db:
            db.forget_deleted()

    def erase_words(self, entry: int) -> int:
        """Erase the words of an entry; how many were erased."""
        with self.store.writing() as db:
            erased = db.execute("DELETE FROM entry_words WHERE entry = ?", (entry,)).rowcount
        with self.store.reading() as db:
            db.forget_deleted()
        return int(erased)

    def check(self) -> list[str]:
        """Check the chain of entries and that each still holds what it was written with."""
        problems: list[str] = []
        previous = GENESIS
        for place, entry in enumerate(self.entries(), start=1):
            readings, records = self._rows_of(entry.id)
            head = (entry.time, entry.who, entry.how, entry.case, entry.visit, entry.count)
            if entry.id != place or entry.previous != previous:
                problems.append(f"entry {entry.id} of the readings is not tied to the one before it")
            if entry.hash != entry_hash(entry.previous, head, readings, records):
                problems.append(f"entry {entry.id} of the readings was changed after it was written")
            previous = entry.hash
        return problems

    def _rows_of(self, entry: int) -> tuple[list[Reading], list[Record]]:
        with self.store.reading() as db:
            readings = db.execute(f"SELECT {_READING} {_FROM} WHERE r.entry = ? ORDER BY r.id", (entry,))
            held = [_reading(row) for row in readings]
            records = db.execute(f"SELECT {_RECORD} FROM records r WHERE entry = ? ORDER BY id", (entry,))
            return held, [_record(row) for row in records]


def entry_hash(
    previous: str, head: Sequence[Any], readings: Sequence[Reading], records: Iterable[Record]
) -> str:
    """SHA-256 (hex) over the entry before, the entry's head and every row of it."""
    digest = hashlib.sha256(canonical([previous, *head]).encode("ascii"))
    held: dict[int, str] = {}  # by identity: the readings of an import share a few contexts
    for reading in readings:
        context = reading.context
        text = held.get(id(context))
        if text is None:
            text = held[id(context)] = context.held()
        digest.update(f"\x1e{reading_line(reading, text)}".encode())
    for record in records:
        digest.update(b"\x1e" + record_line(record).encode())
    return digest.hexdigest()


def _refuse_taken(db: Database, sump: str, row: Mapping[str, Any]) -> None:
    """Refuse to begin a sump under the id that another terminal gave to another sump a moment ago."""
    query = "SELECT data FROM shop_rows WHERE kind = 'sump' AND id = ? ORDER BY version DESC LIMIT 1"
    held = db.execute(query, (sump,)).fetchone()
    if held is not None and json.loads(held[0]).get("name") != row.get("name"):
        right = "Nothing was written. Write the line again."
        raise BadInput(f"{row.get('name')!r} was just begun beside another new sump", right=right)


def _insert(
    db: Database,
    entry: int,
    readings: Sequence[Reading],
    records: Sequence[Record],
    progress: Callable[[float], None] | None,
) -> None:
    numbers: dict[int, int] = {}  # by identity, as in `entry_hash`
    for reading in readings:
        if id(reading.context) not in numbers:
            numbers[id(reading.context)] = _context(db, reading.context)
    for start in range(0, len(readings), AT_ONCE):
        if progress is not None:
            progress(start / len(readings))
        db.executemany(
            "INSERT INTO readings (entry, sump, observable, time, raw, result, context, mark, corrects, "
            "reason) VALUES (?,?,?,?,?,?,?,?,?,?)",
            [
                (entry, r.sump, r.observable, r.time, r.raw, r.result, numbers[id(r.context)], r.mark,
                 r.corrects, r.reason)
                for r in readings[start : start + AT_ONCE]
            ],
        )  # fmt: skip
    db.executemany(
        "INSERT INTO records (entry, kind, sump, time, data, corrects) VALUES (?,?,?,?,?,?)",
        ((entry, r.kind, r.sump, r.time, canonical(r.data), r.corrects) for r in records),
    )


def _context(db: Database, context: Context) -> int:
    """The number of a context, kept once."""
    query = "SELECT id FROM reading_contexts WHERE held = ?"
    held = (context.held(),)
    found = db.execute(query, held).fetchone()
    if found is None:
        db.execute("INSERT INTO reading_contexts (held) VALUES (?)", held)
        found = db.execute(query, held).fetchone()
    return int(found[0])


def _reading(row: Sequence[Any]) -> Reading:
    sump, observable, time, result, raw, held, mark, corrects, reason, number, entry = row
    context = context_from(held)
    return Reading(sump, observable, time, result, raw, context, mark, corrects, reason, number, entry)


def _record(row: Sequence[Any]) -> Record:
    kind, sump, time, text, corrects, number, entry = row
    try:
        data = json.loads(text)
    except ValueError:
        data = {"unreadable": text}
    return Record(kind, sump, time, data, corrects, number, entry)
