"""The logbook the conversation talks to: it never stops the talk because of a disk or a network.

While the logbook can be used, everything goes there. When it cannot (full, read-only, held by another
program, damaged, newer, its server not reached), one sentence says so, the conversation goes on in
memory, and what is pending is written as soon as that is possible; until then it is also kept in a file
beside the logbook (with a server: in the user's data folder), where that much can be written.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from time import monotonic
from typing import Any, TypeVar

from advisor.dialogue.events import Event
from advisor.errors import StoreTrouble
from advisor.logbook.memory import MemoryStore, last_touched_first
from advisor.logbook.pending import PendingFile, away_number, take_over, write_case
from advisor.logbook.place import Place, book_place
from advisor.logbook.port import CaseRow, ShopRow
from advisor.logbook.store import BUSY_MS, open_store
from advisor.logbook.tables import TableStore
from advisor.logbook.trouble import BUSY, FULL, UNREACHABLE

T = TypeVar("T")
Opener = Callable[[Place, int], TableStore]
Later = Callable[[TableStore], object]

# Once the file is known to be held by another program, a turn does not wait long for it again.
SHORT_BUSY_MS = 50
# Reaching for a server that does not answer takes seconds; so long it is left alone, in seconds.
LEFT_ALONE_S = 15.0

GOES_ON = "The conversation goes on in memory and is written to the logbook when possible."
BACK = "The logbook can be written again; everything entered meanwhile is saved."
FORKED = "Case {case} was continued elsewhere meanwhile; what was entered here is saved as case {fork}."
ABSORBED = "{count} entries left over from an interrupted conversation were saved to the logbook."
WAITS = "{count} entries wait in {path} and are saved to the logbook at the next start."
LOST = "{count} entries could not be saved: the logbook still cannot be written."


def _open(place: Place, busy_ms: int) -> TableStore:
    return open_store(place, busy_ms=busy_ms)


def open_resilient(where: Path | Place | None = None) -> ResilientStore:
    """Open a logbook (default: the user's own, `book_place`) without ever raising `StoreTrouble`."""
    return ResilientStore(book_place() if where is None else where)


class ResilientStore:
    """A logbook on disk (here or a server's) that goes on in memory; see `advisor.logbook.port.Store`.

    Attributes:
        notices: sentences for the person, oldest first; whoever shows them clears the list.
    """

    def __init__(
        self, where: Path | Place, opener: Opener = _open, clock: Callable[[], float] = monotonic
    ) -> None:
        self.notices: list[str] = []
        self._place = where if isinstance(where, Place) else Place(where)
        self._opener, self._clock = opener, clock
        self._again = 0.0  # when a server that did not answer is tried again
        self._disk: TableStore | None = None
        self._memory = MemoryStore(away_number())
        self._pending = PendingFile(self._place.folder)
        self._behind: dict[int, int] = {}  # case -> number of its first event that is not on disk
        self._later: list[Later] = []  # other writes that wait
        self._moved: dict[int, int] = {}  # case -> the case its events were saved under
        self._trouble: StoreTrouble | None = None
        self._said: set[str] = set()
        if self._reach() is not None:
            self._take_over()

    @property
    def away(self) -> bool:
        """True while the logbook on disk cannot be used."""
        return self._trouble is not None

    @property
    def unsaved(self) -> int:
        """How many events are not in the logbook yet."""
        return sum(len(self._memory.events(case)) - first + 1 for case, first in self._behind.items())

    def flush(self) -> bool:
        """Write what is pending, if that is possible now; True when nothing is left."""
        return self._reach() is not None

    def close(self) -> None:
        """Write what can still be written, say what could not, and let go of the file."""
        if not self.flush() and self._behind:
            sentence = WAITS if self._pending.whole else LOST
            self.notices.append(sentence.format(count=self.unsaved, path=self._pending.path))
        if self._disk is not None:
            self._disk.close()

    def start_case(self, who: str, time: str, opened: Mapping[str, Any]) -> int:
        """Begin a case with its ``opened`` event and return its number."""

        def on_disk(disk: TableStore) -> int:
            case = disk.start_case(who, time, opened)
            self._memory.adopt(disk.events(case), {})
            return case

        def in_memory() -> int:
            case = self._memory.start_case(who, time, opened)
            self._note_behind(self._memory.events(case)[0], None)
            return case

        return self._either(on_disk, in_memory)

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
        """Add the next event of a case, on disk or, when that cannot be, in memory."""

        def on_disk(disk: TableStore) -> Event:
            now = self._moved.get(case, case)
            event = disk.append(now, kind, data, words, time=time, who=who, visit=visit)
            self._mirror(event, words)
            return event

        def in_memory() -> Event:
            now = self._moved.get(case, case)
            if now not in self._memory and self._trouble is not None:
                raise self._trouble
            event = self._memory.append(now, kind, data, words, time=time, who=who, visit=visit)
            self._note_behind(event, words)
            return event

        return self._either(on_disk, in_memory)

    def events(self, case: int) -> list[Event]:
        """All events of a case in order."""
        return self._memory.events(self._case(case))

    def words(self, case: int) -> dict[int, str]:
        """The words kept beside a case's events, by event number."""
        return self._memory.words(self._case(case))

    def erase_words(self, case: int, number: int | None = None) -> int:
        """Erase words in memory and on disk, there as soon as it can be written."""
        now = self._moved.get(case, case)
        here = self._memory.erase_words(now, number)

        def in_memory() -> int:
            self._later.append(lambda disk: disk.erase_words(now, number))
            self._rewrite_pending()
            return here

        return self._either(lambda disk: disk.erase_words(now, number), in_memory)

    def replace_words(self, case: int, number: int, text: str) -> None:
        """Keep other words beside an event, in memory and on disk, there as soon as it can be written."""
        now = self._moved.get(case, case)
        self._memory.replace_words(now, number, text)

        def in_memory() -> None:
            self._later.append(lambda disk: disk.replace_words(now, number, text))
            self._rewrite_pending()

        self._either(lambda disk: disk.replace_words(now, number, text), in_memory)

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
        """Cases on disk, with those in memory in front of what the disk knows of them."""
        asked: dict[str, Any] = {"sump": sump, "state": state, "lead": lead, "since": since, "until": until}
        on_disk = self._read(lambda disk: disk.cases(**asked, limit=limit), list[CaseRow])
        rows = {row.id: row for row in on_disk if row.id not in self._behind}
        here = {row.id: row for row in self._memory.cases(**asked) if row.id in self._behind or self.away}
        return last_touched_first({**rows, **here}.values())[:limit]

    def open_case(self, who: str | None = None) -> int | None:
        """The last case left half finished (of this person, when given), or None."""
        return next((row.id for row in self.cases(state="open") if who in (None, row.who)), None)

    def keep_rule_base(self, rules_hash: str, compiled: bytes) -> None:
        """Keep a compiled rule base under its hash, once."""

        def in_memory() -> None:
            self._memory.keep_rule_base(rules_hash, compiled)
            self._later.append(lambda disk: disk.keep_rule_base(rules_hash, compiled))

        self._either(lambda disk: disk.keep_rule_base(rules_hash, compiled), in_memory)

    def rule_base(self, rules_hash: str) -> bytes | None:
        """The compiled rule base kept under a hash, or None."""
        here = self._memory.rule_base(rules_hash)
        return here or self._read(lambda disk: disk.rule_base(rules_hash), lambda: None)

    def put_row(self, kind: str, row_id: str, data: Mapping[str, Any], *, time: str, who: str) -> ShopRow:
        """Write a new version of a shop row."""

        def on_disk(disk: TableStore) -> ShopRow:
            row = disk.put_row(kind, row_id, data, time=time, who=who)
            self._memory.adopt_rows([row])
            return row

        def in_memory() -> ShopRow:
            row = self._memory.put_row(kind, row_id, data, time=time, who=who)
            self._later.append(lambda disk: disk.put_row(kind, row_id, row.data, time=time, who=who))
            return row

        return self._either(on_disk, in_memory)

    def row(self, kind: str, row_id: str) -> ShopRow | None:
        """The current version of a shop row, or None."""
        return next((row for row in self.rows(kind) if row.id == row_id), None)

    def rows(self, kind: str) -> list[ShopRow]:
        """The current versions of all rows of a kind, by id."""

        if not self._later:
            self._memory.adopt_rows(self._read(lambda disk: disk.rows(kind), list[ShopRow]))
        return self._memory.rows(kind)

    def remove_row(self, kind: str, row_id: str) -> int:
        """Erase a row with all its versions; how many went."""
        here = self._memory.remove_row(kind, row_id)

        def in_memory() -> int:
            self._later.append(lambda disk: disk.remove_row(kind, row_id))
            return here

        return self._either(lambda disk: disk.remove_row(kind, row_id), in_memory)

    # Disk or memory

    def _either(self, on_disk: Callable[[TableStore], T], in_memory: Callable[[], T]) -> T:
        disk = self._reach()
        if disk is not None:
            try:
                return on_disk(disk)
            except StoreTrouble as error:
                self._lose(error)
        return in_memory()

    def _read(self, on_disk: Callable[[TableStore], T], otherwise: Callable[[], T]) -> T:
        """What the disk knows; a full or held file can still be read."""
        disk = self._reach() or self._disk
        if disk is not None:
            try:
                return on_disk(disk)
            except StoreTrouble as error:
                self._lose(error)
        return otherwise()

    def _case(self, case: int) -> int:
        """Bring a case into memory as it now stands, so that the talk can go on from it; its number."""
        self._reach()
        now = self._moved.get(case, case)
        if now not in self._behind:
            known = now in self._memory
            head = self._memory.events(now)[-1].hash if known else ""
            if self._read(lambda disk: disk.head(now) != head, lambda: False):
                self._read(lambda disk: self._memory.adopt(disk.events(now), disk.words(now)), lambda: None)
        if now not in self._memory and self._trouble is not None:
            raise self._trouble
        return now

    def _reach(self) -> TableStore | None:
        """The store on disk with nothing left pending, or None."""
        try:
            if self._disk is None:
                if self._clock() < self._again:
                    return None
                wait = SHORT_BUSY_MS if self.away else BUSY_MS
                self._disk = self._opener(self._place, wait)
            if self.away or self._behind or self._later:
                self._catch_up(self._disk)
        except StoreTrouble as error:
            self._lose(error)
            return None
        return None if self._behind else self._disk

    def _catch_up(self, disk: TableStore) -> None:
        """Write everything that waits; raises `StoreTrouble` where that is still impossible."""
        waited = bool(self._behind or self._later)
        for case in list(self._behind):
            written = write_case(disk, self._memory.events(case), self._memory.words(case))
            if written is None:
                return
            del self._behind[case]
            if written[1] != case:
                self._follow(case, written[1], disk)
        while self._later:
            self._later[0](disk)
            self._later.pop(0)
        disk.wait_at_most(BUSY_MS)
        self._pending.remove()
        if waited:
            self._said.clear()
            self.notices.append(BACK)
        self._trouble = None

    def _follow(self, case: int, fork: int, disk: TableStore) -> None:
        self._moved = {old: fork if new == case else new for old, new in self._moved.items()} | {case: fork}
        self._memory.forget(case)
        self._memory.adopt(disk.events(fork), disk.words(fork))
        self.notices.append(FORKED.format(case=case, fork=fork))

    def _lose(self, error: StoreTrouble) -> None:
        """Say once what is wrong; hold on to the connection only where it may serve again."""
        reason = str(error.value)
        if self._disk is not None:
            if reason in (BUSY, FULL):
                self._disk.wait_at_most(SHORT_BUSY_MS)
            else:
                self._disk.close()
                self._disk = None
        if reason == UNREACHABLE:
            self._again = self._clock() + LEFT_ALONE_S
        self._trouble = error
        if reason not in self._said:
            self._said.add(reason)
            self.notices.append(f"{error.sentence()} {GOES_ON}")

    def _note_behind(self, event: Event, words: str | None) -> None:
        self._behind.setdefault(event.case, event.number)
        if self._pending.whole:
            self._pending.add(event, words)
        else:
            self._rewrite_pending()

    def _rewrite_pending(self) -> None:
        if not self._behind:
            return
        events = [e for case, first in self._behind.items() for e in self._memory.events(case)[first - 1 :]]
        texts = {f"{case}.{n}": text for case in self._behind for n, text in self._memory.words(case).items()}
        self._pending.replace(events, texts)

    def _mirror(self, event: Event, words: str | None) -> None:
        """Keep a copy of what was written, unless another terminal wrote in between."""
        if event.case in self._memory and self._memory.events(event.case)[-1].hash == event.previous:
            self._memory.adopt([event], {} if words is None else {event.number: words})
        else:
            self._memory.forget(event.case)
            self._case(event.case)

    def _take_over(self) -> None:
        """Save what an earlier program left in pending files."""
        if self._disk is None:
            return
        try:
            count = take_over(self._disk, self._place.folder)
        except StoreTrouble as error:
            self._lose(error)
            return
        if count:
            self.notices.append(ABSORBED.format(count=count))
