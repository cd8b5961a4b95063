"""A logbook in memory: the same interface, nothing on disk."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from advisor.dialogue.events import GENESIS, Event, canonical, chain
from advisor.logbook.port import CaseRow, ShopRow
from advisor.logbook.summary import summarise
from advisor.logbook.tables import check_row_kind, no_such_case


class MemoryStore:
    """A logbook that lasts as long as the program; see `advisor.logbook.port.Store`."""

    def __init__(self, first_case: int = 1) -> None:
        self.notices: list[str] = []
        self._next = first_case
        self._events: dict[int, list[Event]] = {}
        self._words: dict[int, dict[int, str]] = {}
        self._rules: dict[str, bytes] = {}
        self._rows: dict[str, dict[str, ShopRow]] = {}

    def __contains__(self, case: int) -> bool:
        return case in self._events

    def start_case(self, who: str, time: str, opened: Mapping[str, Any]) -> int:
        """Begin a case with its ``opened`` event and return its number."""
        case = self._next
        event = chain(GENESIS, case=case, number=1, kind="opened", data=opened, time=time, who=who)
        self._next += 1
        self.adopt([event], {})
        return case

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
        """Add the next event of a case."""
        last = self._known(case)[-1]
        event = chain(
            last.hash,
            case=case,
            number=last.number + 1,
            kind=kind,
            data=data,
            time=time,
            who=who,
            visit=last.visit if visit is None else visit,
            has_words=words is not None,
        )
        self.adopt([event], {} if words is None else {event.number: words})
        return event

    def adopt(self, events: Sequence[Event], words: Mapping[int, str]) -> None:
        """Take over events made elsewhere; a first event begins its case anew here."""
        for event in events:
            if event.number == 1:
                self.forget(event.case)
            self._events.setdefault(event.case, []).append(event)
            if event.number in words:
                self._words.setdefault(event.case, {})[event.number] = words[event.number]

    def forget(self, case: int) -> None:
        """Let go of a case and its words."""
        self._events.pop(case, None)
        self._words.pop(case, None)

    def events(self, case: int) -> list[Event]:
        """All events of a case in order."""
        return list(self._known(case))

    def words(self, case: int) -> dict[int, str]:
        """The words kept beside a case's events, by event number."""
        return dict(self._words.get(case, {}))

    def erase_words(self, case: int, number: int | None = None) -> int:
        """Erase the words of one event, or of the whole case."""
        kept = self._words.get(case, {})
        gone = [n for n in kept if number is None or n == number]
        for n in gone:
            del kept[n]
        return len(gone)

    def replace_words(self, case: int, number: int, text: str) -> None:
        """Keep other words beside an event."""
        if number in self._words.get(case, {}):
            self._words[case][number] = text

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
        found = [
            row
            for row in map(summarise, self._events.values())
            if sump in (None, row.sump)
            and state in (None, row.state)
            and lead in (None, row.lead)
            and (since is None or row.opened >= since)
            and (until is None or row.opened < until)
        ]
        return last_touched_first(found)[:limit]

    def open_case(self, who: str | None = None) -> int | None:
        """The last case left half finished (of this person, when given), or None."""
        return next((row.id for row in self.cases(state="open") if who in (None, row.who)), None)

    def keep_rule_base(self, rules_hash: str, compiled: bytes) -> None:
        """Keep a compiled rule base under its hash, once."""
        self._rules.setdefault(rules_hash, compiled)

    def rule_base(self, rules_hash: str) -> bytes | None:
        """The compiled rule base kept under a hash, or None."""
        return self._rules.get(rules_hash)

    def rule_bases(self) -> dict[str, bytes]:
        """All rule bases kept here, by hash."""
        return dict(self._rules)

    def put_row(self, kind: str, row_id: str, data: Mapping[str, Any], *, time: str, who: str) -> ShopRow:
        """Write a new version of a shop row; only the present one is kept here."""
        before = self.row(kind, row_id)
        plain = json.loads(canonical(dict(data)))
        row = ShopRow(kind, row_id, before.version + 1 if before else 1, time, who, plain)
        self.adopt_rows([row])
        return row

    def adopt_rows(self, rows: Iterable[ShopRow]) -> None:
        """Take over shop rows made elsewhere."""
        for row in rows:
            self._rows.setdefault(row.kind, {})[row.id] = row

    def row(self, kind: str, row_id: str) -> ShopRow | None:
        """The current version of a shop row, or None."""
        check_row_kind(kind)
        return self._rows.get(kind, {}).get(row_id)

    def rows(self, kind: str) -> list[ShopRow]:
        """The current versions of all rows of a kind, by id."""
        check_row_kind(kind)
        return [row for _, row in sorted(self._rows.get(kind, {}).items())]

    def remove_row(self, kind: str, row_id: str) -> int:
        """Erase a row; how many went."""
        return 0 if self._rows.get(kind, {}).pop(row_id, None) is None else 1

    def close(self) -> None:
        """Nothing to let go of."""

    def _known(self, case: int) -> list[Event]:
        if case not in self._events:
            raise no_such_case(case)
        return self._events[case]


def last_touched_first(rows: Iterable[CaseRow]) -> list[CaseRow]:
    """Cases in the order lists show them."""
    return sorted(rows, key=lambda row: (row.touched, row.id), reverse=True)
