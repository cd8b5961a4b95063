"""Personal text taken out of a logbook for good: what was typed, notes, a person's row.

Such text stands outside the hashes, so the chains still verify. What stands inside them (a sign, the reason
of a correction) cannot go; it is counted, so that nobody believes it gone.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from advisor.errors import BadInput
from advisor.logbook.book import ReadingBook
from advisor.logbook.tables import TableStore

MARK = "*"
SHORTEST = 2
#: Where text is kept that a hash covers, and in which column.
_HASHED = (
    ("events", "data"), ("events", "who"), ("entries", "who"), ("records", "data"), ("readings", "reason"),
    ("reading_contexts", "held"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Found:
    """One place that holds a text: a case's event, an entry of readings, or a person of the shop.

    Attributes:
        kind: case, entry or person.
        key: number of the case or entry, or id of the person.
        event: number of the event, 0 for the others.
    """

    kind: str
    key: str
    event: int
    text: str

    def place(self) -> str:
        """Where it stands, in words."""
        return f"case {self.key}, line {self.event}" if self.kind == "case" else f"{self.kind} {self.key}"


def find(store: TableStore, text: str) -> list[Found]:
    """Every place outside the hashes that holds a text as words of its own, whatever its capitals.

    Raises:
        BadInput: the text is too short to look for.
    """
    wanted = _pattern(text)
    with store.reading() as db:
        cases = db.stream("SELECT case_id, number, text FROM words ORDER BY case_id, number")
        found = [Found("case", str(row[0]), row[1], row[2]) for row in cases if wanted.search(row[2])]
        entries = db.stream("SELECT entry, text FROM entry_words ORDER BY entry")
        found += [Found("entry", str(row[0]), 0, row[1]) for row in entries if wanted.search(row[1])]
    persons = ((row.id, str(row.data.get("name") or row.id)) for row in store.rows("person"))
    return found + [Found("person", key, 0, name) for key, name in persons if wanted.search(name)]


def covered(store: TableStore, text: str) -> int:
    """In how many places it stands that a hash covers, so that it cannot be taken out."""
    wanted = _pattern(text)
    return sum(1 for held in _hashed(store) if wanted.search(held))


def erase(store: TableStore, found: list[Found], text: str) -> None:
    """Put marks in the place of a text wherever it was found; a person's row goes altogether."""
    wanted, book = _pattern(text), ReadingBook(store)
    for one in found:
        without = wanted.sub(lambda hit: MARK * len(hit.group()), one.text)
        if one.kind == "case":
            store.replace_words(int(one.key), one.event, without)
        elif one.kind == "entry":
            book.replace_words(int(one.key), without)
        else:
            store.remove_row("person", one.key)


def _pattern(text: str) -> re.Pattern[str]:
    wanted = " ".join(text.split())
    if len(wanted) < SHORTEST:
        right = "Give a name of two letters or more, or the number of a case."
        raise BadInput(f"{text!r} is too short to look for", value=text, right=right)
    return re.compile(rf"(?<!\w){re.escape(wanted)}(?!\w)", re.IGNORECASE)


def _hashed(store: TableStore) -> Iterator[str]:
    with store.reading() as db:
        for table, column in _HASHED:
            for row in db.stream(f"SELECT {column} FROM {table} WHERE {column} IS NOT NULL"):
                yield row[0]
