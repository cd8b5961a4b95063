"""A table of readings (CSV) into the book: good rows in one entry, bad rows left out with their reason."""

from __future__ import annotations

import codecs
import csv
import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from operator import attrgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput, SumpsideError
from advisor.logbook.cell_numbers import cell_number
from advisor.logbook.line import READ
from advisor.logbook.moments import read_time
from advisor.logbook.readings import MARKS, Context, Reading
from advisor.logbook.table_columns import HOW, Column
from advisor.quantities import parse

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

LARGEST = 200_000_000
HELD = "SELECT time, result FROM readings WHERE sump = ? AND observable = ? AND time BETWEEN ? AND ?"
_time = attrgetter("time")
EVERY = 5000
#: Unit of what is counted whole.
COUNTED = "CFU/mL"


@dataclass(frozen=True, slots=True)
class Bad:
    """A row that was left out: its line in the file, why, and its cells."""

    line: int
    why: str
    cells: list[str]


@dataclass(slots=True)
class Taken:
    """What a table came to, before it is written."""

    rows: int = 0
    readings: list[Reading] = field(default_factory=list)
    bad: list[Bad] = field(default_factory=list)
    known: int = 0
    empty: int = 0


@dataclass(frozen=True, slots=True)
class Table:
    """A CSV file: its headings, how many lines it has, and its rows with their line numbers."""

    headings: list[str]
    lines: int
    rows: Iterator[tuple[int, list[str]]]
    separator: str = ","


def read_table(file: Path) -> Table:
    """Read a CSV file; separator and encoding are found.

    Raises:
        BadInput: the file cannot be read, is empty, or holds no table.
    """
    try:
        if file.stat().st_size > LARGEST:
            raise BadInput(f"{file} is larger than {LARGEST // 1_000_000} MB", right="Split it.")
        data = file.read_bytes()
    except OSError as error:
        what = f"{file} cannot be read ({error.strerror})"
        raise BadInput(what, value=str(file), right="Name a CSV file.") from error
    text = _decoded(data)
    text = text.replace("\x00", "")
    head = text.partition("\n")[0]
    separator = max(";\t,", key=head.count)
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    headings = [plain_cell(cell) for cell in next(rows, [])]
    if len(headings) < 2:
        right = "The first line must hold the headings, separated by comma, semicolon or tab."
        raise BadInput(f"{file} holds no table", value=str(file), right=right)
    double = next((h for h in headings if headings.count(h) > 1), None)
    if double is not None:
        right = "Give each column its own heading."
        raise BadInput(f"the heading {double!r} is there twice", value=double, right=right)
    return Table(headings, text.count("\n"), ((rows.line_num, row) for row in rows), separator)


def _decoded(data: bytes) -> str:
    """The text of a file in one of the encodings spreadsheets write."""
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def plain_cell(cell: str) -> str:
    """A cell without control characters, and without the sign that keeps spreadsheets from computing it."""
    plain = cell if cell.isprintable() else "".join(c if c.isprintable() else " " for c in cell)
    text = plain.strip()
    return text[1:] if len(text) > 1 and text[0] == "'" and text[1] in "=+-@" else text


_Span = tuple[float, float]
#: Who measured, then the fields of `HOW`; as written in the row.
_How = tuple[str, ...]
#: What readings of one sump, figure and way of measuring share: figure kept, context, factor, limits of
#: raw and result.
_Kept = tuple[str, Context, float, _Span, _Span]


class Taking:
    """Turns rows into readings; what repeats (times, contexts, sumps) is worked out once."""

    def __init__(
        self, desk: Desk, columns: Sequence[Column], *, who: str, new: bool = False, day_first: bool = True
    ) -> None:
        self.desk, self.columns, self.who, self.new, self.day_first = desk, columns, who, new, day_first
        self.begun: list[str] = []  # sumps the shop does not hold yet
        self._times: dict[str, str] = {}
        self._sumps: dict[str, str] = {}
        self._kept: dict[tuple[str, str, _How], _Kept] = {}
        self._contexts: dict[Context, Context] = {}  # equal ones are one, so that they are kept once
        self._places = {c.meaning: n for n, c in enumerate(columns) if c.meaning != "skip"}
        self._told = tuple(name for name in HOW if name in self._places)
        self._long_form = "figure" in self._places
        self._comma_table = True
        self._figures = [(n, c) for n, c in enumerate(columns) if c.meaning in READ]
        self._limits = {
            key: desk.rules.observables[key].limits or (float("-inf"), float("inf")) for key in READ
        }

    def take(self, table: Table, progress: Callable[[float], None] | None = None) -> Taken:
        """Read all rows; nothing is written. `progress` is told the share that is read."""
        taken = Taken()
        self._comma_table = table.separator == ","
        for line, cells in table.rows:
            if not "".join(cells).strip():
                continue
            taken.rows += 1
            if progress is not None and taken.rows % EVERY == 0:
                progress(min(1.0, line / (table.lines or 1)))
            try:
                made = self._row(cells)
            except SumpsideError as error:
                taken.bad.append(Bad(line, error.sentence(), cells))
                continue
            if made:
                taken.readings += made
            else:
                taken.empty += 1
        return taken

    def _row(self, cells: list[str]) -> list[Reading]:
        if len(cells) > len(self.columns) and any(cell.strip() for cell in cells[len(self.columns) :]):
            what = f"the row has {len(cells)} cells, the table {len(self.columns)} columns"
            raise BadInput(what, right="Put text with separators in quotes.")
        sump = self._sump(self._cell(cells, "sump"))
        time = self._time(cells)
        how = (self._cell(cells, "who") or self.who, *(self._cell(cells, name) for name in self._told))
        made = []
        for place, column in self._figures:
            cell = plain_cell(cells[place]) if place < len(cells) else ""
            if cell:
                made.append(self._reading(sump, time, how, column, cell))
        if self._long_form and self._cell(cells, "value"):
            made.append(self._long(sump, time, how, cells))
        mark = self._cell(cells, "mark")
        if not mark:
            return made
        if mark not in MARKS:
            raise BadInput(f"no reading is marked {mark!r}", value=mark, right=f"Use {', '.join(MARKS[1:])}.")
        return [replace(reading, mark=mark) for reading in made]

    def _cell(self, cells: list[str], meaning: str) -> str:
        place = self._places.get(meaning)
        return plain_cell(cells[place]) if place is not None and place < len(cells) else ""

    def _sump(self, called: str) -> str:
        found = self._sumps.get(called)
        if found is None:
            if not called:
                raise BadInput("no sump is named", right="Fill in the sump.")
            try:
                found, rest = self.desk.sump_of(called.split())
                if rest:
                    raise BadInput(f"no sump is called {called!r}", value=called, right="Check its name.")
            except SumpsideError:
                if not self.new:
                    raise
                found = self.desk.new_sump(called)
                self.begun.append(found)
            self._sumps[called] = found
        return found

    def _time(self, cells: list[str]) -> str:
        text = self._cell(cells, "time")
        if not text:
            parts = (self._cell(cells, "date"), self._cell(cells, "clock"))
            text = " ".join(part for part in parts if part)
        found = self._times.get(text)
        if found is None:
            if not text:
                raise BadInput("no time is given", right="Fill in when it was measured.")
            found = self._times[text] = self._read_time(text)
        return found

    def _read_time(self, text: str) -> str:
        if len(text) == 20 and text[10] == "T" and text[-1] == "Z":  # as this program writes it
            try:
                if datetime.fromisoformat(text) <= self.desk.now:
                    return text
            except ValueError:
                pass
        return read_time(text, self.desk.now, day_first=self.day_first)

    def _reading(self, sump: str, time: str, how: _How, column: Column, cell: str) -> Reading:
        number = self._number(column, cell)
        if number is None:
            raw = parse(cell, column.unit, gallon=self.desk.gallon).value
        else:
            raw = number * column.scale + column.offset
        return self._made(sump, time, how, column.meaning, raw)

    def _number(self, column: Column, cell: str) -> float | None:
        """The bare number of a cell, None where more stands in it."""
        low, high = self._limits[column.meaning]

        def possible(value: float) -> bool:
            return low <= value * column.scale + column.offset <= high

        whole = column.unit == COUNTED
        return cell_number(cell, possible, whole=whole, comma_table=self._comma_table)

    def _long(self, sump: str, time: str, how: _How, cells: list[str]) -> Reading:
        """A row that holds one figure, named in the row."""
        figure = self._cell(cells, "figure").casefold().replace(" ", "_")
        if figure not in READ:
            what = f"{figure!r} is no figure of a sump"
            raise BadInput(what, value=figure, right=f"Such as {', '.join(sorted(READ)[:5])}.")
        unit = self.desk.rules.observables[figure].unit or ""
        cell, said = self._cell(cells, "value"), self._cell(cells, "unit")
        number = self._number(Column("", figure, unit), cell) if said in ("", unit) else None
        if number is not None:
            return self._made(sump, time, how, figure, number)
        value = parse(f"{cell} {said}", unit, gallon=self.desk.gallon).value
        return self._made(sump, time, how, figure, value)

    def _made(self, sump: str, time: str, how: _How, observable: str, raw: float) -> Reading:
        """A reading as `line.finish` makes it, with what repeats taken from before."""
        key = (sump, observable, how)
        held = self._kept.get(key)
        if held is None:
            held = self._kept[key] = self._first(sump, time, observable, raw, how)
        kind, context, scale, (low, high), (least, most) = held
        if not low <= raw <= high:  # also refuses nan
            self._refuse(observable, raw)
        result = raw * scale
        if not least <= result <= most:
            self._refuse(kind, result)
        return Reading(sump, kind, time, result, raw, context)

    def _first(self, sump: str, time: str, observable: str, raw: float, how: _How) -> _Kept:
        """What all readings of this sump, figure and way of measuring have in common."""
        from advisor.logbook.line import finish

        low, high = self._limits[observable]
        if not low <= raw <= high:
            self._refuse(observable, raw)
        unit = self.desk.rules.observables[observable].unit or ""
        told: dict[str, Any] = dict(zip(self._told, how[1:], strict=True))
        got = Context(who=how[0], **told)
        one = finish(self.desk, sump, time, observable, raw, unit, got)
        scale = one.context.factor / 100.0 if one.context.factor is not None else 1.0
        context = self._contexts.setdefault(one.context, one.context)
        return (one.observable, context, scale, (low, high), self._limits[one.observable])

    def _refuse(self, observable: str, value: float) -> None:
        from advisor.logbook.plausible import refuse_impossible

        refuse_impossible(self.desk, observable, value)


def without_known(desk: Desk, taken: Taken) -> Taken:
    """What the book does not hold yet: the same figure of the same sump and moment is taken once.

    What is left is put in the order of sump, figure and time, which is how the book finds it again.
    """
    groups: dict[tuple[str, str], list[Reading]] = {}
    for reading in taken.readings:
        groups.setdefault((reading.sump, reading.observable), []).append(reading)
    fresh: list[Reading] = []
    with desk.store.reading() as db:
        for key in sorted(groups):
            group = sorted(groups[key], key=_time)
            seen = {(row[0], row[1]) for row in db.execute(HELD, (*key, group[0].time, group[-1].time))}
            for reading in group:
                moment = (reading.time, reading.result)
                if moment not in seen:
                    seen.add(moment)
                    fresh.append(reading)
    taken.known = len(taken.readings) - len(fresh)
    taken.readings = fresh
    return taken
