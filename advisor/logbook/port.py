"""What every logbook store offers, whether on disk, in memory, or both."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from advisor.dialogue.events import Event

# Kinds of shop rows. `person` maps a sign to a name, so that the name can be erased by itself.
ROW_KINDS = ("shop", "sump", "product", "container", "person")


@dataclass(frozen=True, slots=True)
class CaseRow:
    """One case in a list: what a supervisor sees before opening it.

    Attributes:
        id: number of the case.
        opened, touched: time of its first and last event, ISO-8601 UTC.
        sump: id or name of the sump, "" when none was named.
        verdict: named, unsettled, outside, or "" before the first verdict.
        run: run, limits, stop, or "".
        lead: id of the first cause of the standing verdict, or "".
        level: worst caution shown or standing in the verdict: emergency, stop, warn, note, or "".
        state: open or closed.
        who: sign of the person who opened it.
        visit: the visit it stands at.
        events: how many events it has.
        head: hash of the last event.
    """

    id: int
    opened: str
    touched: str
    sump: str
    verdict: str
    run: str
    lead: str
    level: str
    state: str
    who: str
    visit: int
    events: int
    head: str


@dataclass(frozen=True, slots=True)
class ShopRow:
    """One current entry of the shop: a sump, product, container, person, or the shop itself."""

    kind: str
    id: str
    version: int
    time: str
    who: str
    data: dict[str, Any]


class Store(Protocol):
    """A logbook. Every method that writes has written when it returns.

    Raises (all methods): `StoreTrouble` when the logbook cannot be read or written; `BadInput` for a
    case, kind or value that does not exist or cannot be kept.
    """

    @property
    def notices(self) -> list[str]:
        """Sentences for the person about the state of the logbook, oldest first; the reader clears it."""
        ...

    def start_case(self, who: str, time: str, opened: Mapping[str, Any]) -> int:
        """Begin a case with its ``opened`` event and return its number."""
        ...

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
        """Add the next event; `visit` None keeps the case's present one. On return it is safe on disk."""
        ...

    def events(self, case: int) -> list[Event]:
        """All events of a case in order."""
        ...

    def words(self, case: int) -> dict[int, str]:
        """The words kept beside a case's events, by event number; erased ones are missing."""
        ...

    def erase_words(self, case: int, number: int | None = None) -> int:
        """Erase the words of one event, or of the whole case, and return how many were erased."""
        ...

    def replace_words(self, case: int, number: int, text: str) -> None:
        """Keep other words beside an event, for good; nothing where its words were erased."""
        ...

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
        ...

    def open_case(self, who: str | None = None) -> int | None:
        """The last case left half finished (of this person, when given), or None."""
        ...

    def keep_rule_base(self, rules_hash: str, compiled: bytes) -> None:
        """Keep a compiled rule base under its hash, once."""
        ...

    def rule_base(self, rules_hash: str) -> bytes | None:
        """The compiled rule base kept under a hash, or None."""
        ...

    def put_row(self, kind: str, row_id: str, data: Mapping[str, Any], *, time: str, who: str) -> ShopRow:
        """Write a new version of a shop row; earlier versions stay."""
        ...

    def row(self, kind: str, row_id: str) -> ShopRow | None:
        """The current version of a shop row, or None."""
        ...

    def rows(self, kind: str) -> list[ShopRow]:
        """The current versions of all rows of a kind, by id."""
        ...

    def remove_row(self, kind: str, row_id: str) -> int:
        """Erase a row with all its versions (a person's name, a throwaway sump); how many went."""
        ...

    def close(self) -> None:
        """Let go of the file."""
        ...
