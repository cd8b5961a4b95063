"""The logbook in the tables of a database: cases with their events and words, rule bases, the shop.

Every append is one transaction, on disk before it returns, and holds the write lock before it reads the
case, so that several terminals can write at once without loss and without a number given twice.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import astuple
from pathlib import Path
from typing import Any, Self

from advisor.dialogue.events import GENESIS, Event, canonical, chain
from advisor.errors import BadInput
from advisor.logbook.database import Database
from advisor.logbook.port import ROW_KINDS, CaseRow, ShopRow
from advisor.logbook.summary import first_row, next_row, summarise

# Cases begun in memory, while the logbook cannot be used, take their numbers from here on, so that they
# keep them (and their hashes) when they are written later.
FIRST_AWAY = 9_000_000

_CASE_COLUMNS = ", ".join(CaseRow.__slots__)
_EVENT_COLUMNS = "case_id, number, kind, schema, time, visit, who, data, words_key, previous, hash"
_SHOP_COLUMNS = "kind, id, version, time, who, data"


class TableStore:
    """A logbook in one database; see `advisor.logbook.port.Store` for what each method does."""

    def __init__(self, database: Database) -> None:
        self.notices: list[str] = []
        self._db = database

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self._db.close()

    @property
    def name(self) -> str:
        """What a person knows the logbook by: the file, or the server's address."""
        return self._db.name

    def wait_at_most(self, busy_ms: int) -> None:
        """How long to wait for another writer before giving up, in milliseconds."""
        with self._guard():
            self._db.wait_at_most(busy_ms)

    def damage(self) -> list[str]:
        """What the database's own check finds, empty when it is whole."""
        with self._guard():
            return self._db.damage()

    def copy_to(self, target: Path) -> None:
        """A consistent copy as one logbook file, while others may go on writing."""
        self._db.copy_to(target)

    def replace_by(self, copy: Database) -> None:
        """Put the rows of another logbook in the place of all there are, all or nothing."""
        from advisor.logbook.copying import copy_rows, empty, go_on_counting

        with self._writing() as db:
            empty(db)
            copy_rows(copy, db)
            go_on_counting(db)

    # Cases

    def start_case(self, who: str, time: str, opened: Mapping[str, Any]) -> int:
        """Begin a case with its ``opened`` event and return its number."""
        with self._writing() as db:
            (case,) = db.execute(
                "SELECT COALESCE(MAX(id), 0) + 1 FROM cases WHERE id < ?", (FIRST_AWAY,)
            ).fetchone()
            event = chain(GENESIS, case=case, number=1, kind="opened", data=opened, time=time, who=who)
            self._insert_event(event, None)
            self._put_case_row(first_row(event))
        return int(case)

    def append(
        self,
        case: int,
        kind: str,
        data: Mapping[str, Any],
        words: str | None = None,
        *,
        time: str,
        who: str,
        visit: int | None = None,
    ) -> Event:
        """Add the next event of a case; on return it is safe on disk."""
        with self._writing():
            row = self._case_row(case)
            event = chain(
                row.head,
                case=case,
                number=row.events + 1,
                kind=kind,
                data=data,
                time=time,
                who=who,
                visit=row.visit if visit is None else visit,
                has_words=words is not None,
            )
            after = next_row(row, event, lambda: self._read_events(case))
            self._insert_event(event, words)
            self._put_case_row(after)
        return event

    def head(self, case: int) -> str:
        """Hash of a case's last event, `GENESIS` when there is no such case."""
        with self._guard():
            found = self._find_case_row(case)
        return found.head if found else GENESIS

    def absorb(self, events: Sequence[Event], words: Mapping[int, str], base: str) -> bool:
        """Write events made elsewhere (in memory) for one case, as they are, all or none.

        Args:
            base: hash of the event they follow, `GENESIS` for a whole case.

        Returns:
            False, with nothing written, when the case on disk does not end at `base`.
        """
        case = events[0].case
        with self._writing():
            found = self._find_case_row(case)
            if (found.head if found else GENESIS) != base:
                return False
            for event in events:
                self._insert_event(event, words.get(event.number))
            self._put_case_row(summarise(self._read_events(case)))
        return True

    def events(self, case: int) -> list[Event]:
        """All events of a case in order. An unknown case raises `BadInput`."""
        with self._guard():
            self._case_row(case)
            return self._read_events(case)

    def words(self, case: int) -> dict[int, str]:
        """The words kept beside a case's events, by event number; erased ones are missing."""
        with self._guard():
            query = "SELECT number, text FROM words WHERE case_id = ? ORDER BY number"
            return {row[0]: row[1] for row in self._db.execute(query, (case,))}

    def erase_words(self, case: int, number: int | None = None) -> int:
        """Erase words from the file for good, and return how many were erased."""
        where, values = "case_id = ?", [case]
        if number is not None:
            where, values = f"{where} AND number = ?", [case, number]
        with self._writing() as db:
            erased = db.execute(f"DELETE FROM words WHERE {where}", values).rowcount
        with self._guard():
            self._db.forget_deleted()
        return int(erased)

    def replace_words(self, case: int, number: int, text: str) -> None:
        """Keep other words beside an event; what stood there is gone from the database for good."""
        query = "UPDATE words SET text = ? WHERE case_id = ? AND number = ?"
        with self._writing() as db:
            db.execute(query, (storable(text), case, number))
        with self._guard():
            self._db.forget_deleted()

    def cases(
        self,
        *,
        sump: str | None = None,
        state: str | None = None,
        lead: str | None = None,
        since: str | None = None,
        until: str | None = None,
        limit: int | None = None,
    ) -> list[CaseRow]:
        """Cases, the last touched first; `since` and `until` (exclusive) bound the opening time."""
        asked = {"sump = ?": sump, "state = ?": state, "lead = ?": lead}
        asked |= {"opened >= ?": since, "opened < ?": until}
        given = {clause: value for clause, value in asked.items() if value is not None}
        where = f"WHERE {' AND '.join(given)}" if given else ""
        most = "" if limit is None else f"LIMIT {int(limit)}"
        query = f"SELECT {_CASE_COLUMNS} FROM cases {where} ORDER BY touched DESC, id DESC {most}"
        with self._guard():
            return [CaseRow(*row) for row in self._db.execute(query, tuple(given.values()))]

    def open_case(self, who: str | None = None) -> int | None:
        """The last case left half finished (of this person, when given), or None."""
        of_person, values = ("", ()) if who is None else ("AND who = ?", (who,))
        last = "ORDER BY touched DESC, id DESC LIMIT 1"
        query = f"SELECT id FROM cases WHERE state = 'open' {of_person} {last}"
        with self._guard():
            found = self._db.execute(query, values).fetchone()
        return int(found[0]) if found else None

    # Rule bases

    def keep_rule_base(self, rules_hash: str, compiled: bytes) -> None:
        """Keep a compiled rule base under its hash, once."""
        if self.has_rule_base(rules_hash):
            return
        row = (rules_hash, len(compiled), zlib.compress(compiled, 6))
        with self._writing() as db:
            db.execute("INSERT INTO rule_bases VALUES (?, ?, ?) ON CONFLICT DO NOTHING", row)

    def has_rule_base(self, rules_hash: str) -> bool:
        """Whether a rule base is kept under this hash."""
        with self._guard():
            query = "SELECT 1 FROM rule_bases WHERE hash = ?"
            return self._db.execute(query, (rules_hash,)).fetchone() is not None

    def rule_base(self, rules_hash: str) -> bytes | None:
        """The compiled rule base kept under a hash, or None."""
        with self._guard():
            found = self._db.execute(
                "SELECT compressed FROM rule_bases WHERE hash = ?", (rules_hash,)
            ).fetchone()
        return zlib.decompress(found[0]) if found else None

    # Shop

    def put_row(self, kind: str, row_id: str, data: Mapping[str, Any], *, time: str, who: str) -> ShopRow:
        """Write a new version of a shop row; earlier versions stay."""
        with self._writing() as db:
            return add_row(db, kind, row_id, data, time=time, who=who)

    def row(self, kind: str, row_id: str) -> ShopRow | None:
        """The current version of a shop row, or None."""
        return next((row for row in self._shop_rows(kind, row_id)), None)

    def rows(self, kind: str) -> list[ShopRow]:
        """The current versions of all rows of a kind, by id."""
        return self._shop_rows(kind, None)

    def row_versions(self, kind: str, row_id: str) -> list[ShopRow]:
        """Every version of a shop row, the first one first."""
        query = f"SELECT {_SHOP_COLUMNS} FROM shop_rows WHERE kind = ? AND id = ? ORDER BY version"
        with self._guard():
            return [_shop_row(row) for row in self._db.execute(query, (kind, row_id)).fetchall()]

    def remove_row(self, kind: str, row_id: str) -> int:
        """Erase a row with all its versions; how many went."""
        with self._writing() as db:
            gone = db.execute("DELETE FROM shop_rows WHERE kind = ? AND id = ?", (kind, row_id)).rowcount
        with self._guard():
            self._db.forget_deleted()
        return int(gone)

    def _shop_rows(self, kind: str, row_id: str | None) -> list[ShopRow]:
        check_row_kind(kind)
        one, values = ("", (kind,)) if row_id is None else ("AND id = ?", (kind, row_id))
        query = (
            f"SELECT {_SHOP_COLUMNS} FROM shop_rows r WHERE kind = ? {one} AND version = "
            "(SELECT MAX(version) FROM shop_rows x WHERE x.kind = r.kind AND x.id = r.id) ORDER BY id"
        )
        with self._guard():
            found = self._db.execute(query, values).fetchall()
        return [_shop_row(row) for row in found]

    # Rows and transactions

    @contextmanager
    def reading(self) -> Iterator[Database]:
        """The database for reading other tables of the logbook; errors become `StoreTrouble`."""
        with self._guard():
            yield self._db

    @contextmanager
    def writing(self) -> Iterator[Database]:
        """One transaction on other tables of the logbook, all or nothing; errors become `StoreTrouble`."""
        with self._writing() as db:
            yield db

    @contextmanager
    def _guard(self) -> Iterator[None]:
        """Turn an error of the database into `StoreTrouble`."""
        try:
            yield
        except self._db.errors as error:
            raise self._db.trouble(error) from error

    @contextmanager
    def _writing(self) -> Iterator[Database]:
        """One transaction that holds the write lock from its start; all or nothing."""
        with self._guard():
            self._db.begin()
            try:
                yield self._db
                self._db.commit()
            except BaseException:
                self._db.rollback()
                raise

    def _insert_event(self, event: Event, words: str | None) -> None:
        row = event_row(event)
        self._db.execute(f"INSERT INTO events ({_EVENT_COLUMNS}) VALUES (?,?,?,?,?,?,?,?,?,?,?)", row)
        if words is not None and event.words_key is not None:
            row = (event.words_key, event.case, event.number, storable(words))
            self._db.execute("INSERT INTO words VALUES (?, ?, ?, ?)", row)

    def _put_case_row(self, row: CaseRow) -> None:
        marks = ", ".join("?" * len(CaseRow.__slots__))
        fresh = ", ".join(f"{name} = excluded.{name}" for name in CaseRow.__slots__[1:])
        self._db.execute(
            f"INSERT INTO cases ({_CASE_COLUMNS}) VALUES ({marks}) ON CONFLICT (id) DO UPDATE SET {fresh}",
            astuple(row),
        )

    def _find_case_row(self, case: int) -> CaseRow | None:
        found = self._db.execute(f"SELECT {_CASE_COLUMNS} FROM cases WHERE id = ?", (case,)).fetchone()
        return CaseRow(*found) if found else None

    def _case_row(self, case: int) -> CaseRow:
        row = self._find_case_row(case)
        if row is None:
            raise no_such_case(case)
        return row

    def _read_events(self, case: int) -> list[Event]:
        query = f"SELECT {_EVENT_COLUMNS} FROM events WHERE case_id = ? ORDER BY number"
        return [row_event(row) for row in self._db.execute(query, (case,))]


def add_row(
    db: Database, kind: str, row_id: str, data: Mapping[str, Any], *, time: str, who: str
) -> ShopRow:
    """A new version of a shop row, in the running transaction."""
    check_row_kind(kind)
    text = canonical(dict(data))
    query = "SELECT COALESCE(MAX(version), 0) + 1 FROM shop_rows WHERE kind = ? AND id = ?"
    (version,) = db.execute(query, (kind, row_id)).fetchone()
    db.execute("INSERT INTO shop_rows VALUES (?, ?, ?, ?, ?, ?)", (kind, row_id, version, time, who, text))
    return ShopRow(kind, row_id, int(version), time, who, json.loads(text))


def storable(words: str) -> str:
    """Words as both databases can hold them: a terminal can hand over half a character, or none at all."""
    return words.encode("utf-8", "replace").decode("utf-8").replace("\x00", "?")


def event_row(event: Event) -> tuple[Any, ...]:
    """An event as a row of the table."""
    fields = [getattr(event, name) for name in Event.__slots__]
    fields[Event.__slots__.index("data")] = canonical(event.data)
    return tuple(fields)


def row_event(row: Sequence[Any]) -> Event:
    """A row of the table as an event; data that is no longer JSON is kept visible, for `verify`."""
    fields = list(row)
    place = Event.__slots__.index("data")
    try:
        data = json.loads(fields[place])
        fields[place] = data if isinstance(data, dict) else {"unreadable": data}
    except (TypeError, ValueError):
        fields[place] = {"unreadable": str(fields[place])}
    return Event(*fields)


def _shop_row(row: Sequence[Any]) -> ShopRow:
    kind, row_id, version, time, who, text = row
    return ShopRow(kind, row_id, version, time, who, json.loads(text))


def no_such_case(case: int) -> BadInput:
    """The error for a case that is not in the logbook."""
    return BadInput(f"There is no case {case}", value=case, right="`sumpside review` lists the cases.")


def check_row_kind(kind: str) -> None:
    """Refuse a kind of shop row that does not exist."""
    if kind not in ROW_KINDS:
        right = f"Use one of {', '.join(ROW_KINDS)}."
        raise BadInput(f"The shop keeps no {kind!r}", value=kind, right=right)


