"""Readings out of the book: CSV that no spreadsheet computes, JSON, Parquet."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from advisor.errors import BadInput
from advisor.logbook.reading_lines import printable, reading_json
from advisor.logbook.readings import Reading

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

COLUMNS = (
    "sump", "name", "time", "observable", "result", "unit", "raw", "raw_unit", "factor", "low", "high",
    "source", "method", "sample_point", "instrument", "zeroed", "lot", "who", "mark", "corrects", "reason",
    "id", "entry",
)  # fmt: skip
#: Rows of a Parquet file held in memory at once.
ROWS_AT_ONCE = 20_000
#: A cell that begins so is computed by spreadsheets (OWASP, CSV Injection; from memory, unverified).
COMPUTED = ("=", "+", "-", "@", "\t", "\r")


def rows(desk: Desk, readings: Iterable[Reading]) -> Iterator[dict[str, Any]]:
    """Readings as rows with all `COLUMNS`."""
    units = {key: item.unit for key, item in desk.rules.observables.items()}
    for reading in readings:
        held = reading_json(reading)
        held |= {"name": desk.name(reading.sump), "unit": units.get(reading.observable)}
        yield {column: held.get(column) for column in COLUMNS}


def safe_cell(value: Any) -> Any:
    """A cell that a spreadsheet takes as text or number, never as a formula; no control characters."""
    if not isinstance(value, str):
        return "" if value is None else value
    computed = value.startswith(COMPUTED)
    text = printable(value)
    return f"'{text}" if computed or text.lstrip().startswith(COMPUTED) else text


def write_csv(desk: Desk, readings: Iterable[Reading], out: TextIO) -> int:
    """Write a CSV table; how many rows."""
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    count = 0
    for row in rows(desk, readings):
        writer.writerow([safe_cell(row[column]) for column in COLUMNS])
        count += 1
    return count


def write_json(desk: Desk, readings: Iterable[Reading], out: TextIO) -> int:
    """Write a JSON list, one object to a line; how many."""
    count = 0
    out.write("[")
    for row in rows(desk, readings):
        out.write(",\n" if count else "\n")
        out.write(json.dumps(row, ensure_ascii=False))
        count += 1
    out.write("\n]\n")
    return count


def write_parquet(desk: Desk, readings: Iterable[Reading], file: Path) -> int:
    """Write a Parquet file; how many rows.

    Raises:
        BadInput: pyarrow is not installed.
    """
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError:
        right = "Install pyarrow (the extra \"tables\"), or export CSV or JSON."
        raise BadInput("Parquet needs pyarrow, which is not installed", right=right) from None
    numbers = {**dict.fromkeys(("result", "raw", "factor", "low", "high"), pyarrow.float64()),
               **dict.fromkeys(("corrects", "id", "entry"), pyarrow.int64())}  # fmt: skip
    schema = pyarrow.schema([(name, numbers.get(name, pyarrow.string())) for name in COLUMNS])
    count = 0
    made = rows(desk, readings)
    try:
        with pyarrow.parquet.ParquetWriter(file, schema) as writer:
            while group := list(islice(made, ROWS_AT_ONCE)):
                writer.write_table(pyarrow.Table.from_pylist(group, schema=schema))
                count += len(group)
    except OSError as error:
        what, right = f"{file} cannot be written ({error})", "Name a file that can be."
        raise BadInput(what, value=str(file), right=right) from error
    return count
