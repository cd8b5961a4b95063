"""What a reading is: the figure, what was really read, how it was got, and the limit in force.

Readings are added, never changed. A correction is a reading of its own that names the one it replaces;
a correction without a result strikes it out. `advisor.logbook.book.ReadingBook` keeps them.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from typing import Any

from advisor.dialogue.events import canonical

#: Marks of a reading. Only unmarked readings and `FIRST_FILL` count as measured.
FIRST_FILL = "first_fill"  # the reference of a new charge; a trend begins anew here
NOT_MEASURED = "not_measured"  # one figure put down for all: kept as said, counts for nothing
MARKS = ("", FIRST_FILL, NOT_MEASURED)


@dataclass(frozen=True, slots=True)
class Context:
    """How a figure was got.

    Attributes:
        who: sign of the person who measured.
        sample_point: nozzle, mid_depth, surface, return, or "".
        method: refractometer, strip, meter, titration, dip slide, as said …, or "".
        instrument: its sign, and `zeroed` when it was last set to zero, ISO-8601 date or time, or "".
        lot: lot of the strip or slide, or "".
        factor: by which the raw reading was multiplied, None when it was not.
        raw_unit: unit of the raw reading.
        low, high: limit in force, in the unit of the result, None where that end is open.
        source: where the limit comes from, or "".
    """

    who: str = ""
    sample_point: str = ""
    method: str = ""
    instrument: str = ""
    zeroed: str = ""
    lot: str = ""
    factor: float | None = None
    raw_unit: str = ""
    low: float | None = None
    high: float | None = None
    source: str = ""

    def held(self) -> str:
        """The one text of this context, which the hash of an entry covers."""
        return _held(self)


@lru_cache(maxsize=4096)
def _held(context: Context) -> str:
    return canonical({key: value for key, value in asdict(context).items() if value not in ("", None)})


@lru_cache(maxsize=4096)
def context_from(held: str) -> Context:
    """The context back from its text; fields of a newer program are passed over."""
    known = set(Context.__slots__)
    return Context(**{key: value for key, value in json.loads(held).items() if key in known})


@dataclass(frozen=True, slots=True)
class Reading:
    """One figure of one sump.

    Attributes:
        sump: id of the sump.
        observable: id of the vocabulary; its canonical unit is the unit of `result`.
        time: when it was measured, ISO-8601 UTC.
        result: the figure, None for one that strikes out another.
        raw: what the instrument showed, None when only the result is known.
        mark: one of `MARKS`.
        corrects: id of the reading it replaces, with the `reason`.
        id, entry: numbers given by the logbook.
    """

    sump: str
    observable: str
    time: str
    result: float | None
    raw: float | None = None
    context: Context = field(default_factory=Context)
    mark: str = ""
    corrects: int | None = None
    reason: str | None = None
    id: int | None = None
    entry: int | None = None

    @property
    def measured(self) -> bool:
        """Whether it counts as a measurement."""
        return self.result is not None and self.mark != NOT_MEASURED


@dataclass(frozen=True, slots=True)
class Record:
    """Something done at a sump or in the shop that is no reading; `kind` and keys are in `records.py`."""

    kind: str
    sump: str
    time: str
    data: dict[str, Any]
    corrects: int | None = None
    id: int | None = None
    entry: int | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One act of writing: who, when, how (line, round, import, case …), and its place in the chain."""

    id: int
    time: str
    who: str
    how: str
    case: int | None
    visit: int | None
    count: int
    previous: str
    hash: str


def number_text(value: float | None) -> str:
    """A figure as the hash covers it: the shortest text that reads back as the same number."""
    return "" if value is None else repr(float(value))


def reading_line(reading: Reading, held: str) -> str:
    """A reading as the hash of its entry covers it; `held` is the text of its context."""
    raw, result = number_text(reading.raw), number_text(reading.result)
    return (
        f"{reading.sump}\x1f{reading.observable}\x1f{reading.time}\x1f{raw}\x1f{result}\x1f{held}\x1f"
        f"{reading.mark}\x1f{reading.corrects or ''}\x1f{reading.reason or ''}"
    )


def record_line(record: Record) -> str:
    """A record as the hash of its entry covers it."""
    data = canonical(record.data)
    return "\x1f".join((record.kind, record.sump, record.time, data, str(record.corrects or "")))
