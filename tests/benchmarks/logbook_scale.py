"""Scale of the logbook: import, morning screen, one trend, memory, as the book grows; beside plain sqlite3.

    python tests/benchmarks/logbook_scale.py [rows ...]      default: 10000 100000 1000000

Ten years of daily readings of 1,000 sumps are 3650000. Readings are generated (strength and pH in turn, one
pass of all sumps after the other). The plain program keeps the same figures in one table with the same
index, without chain, states, contexts or checks. Where the machine is busy with other work, read the seconds
of the processor (cpu) and the ratios.
"""

from __future__ import annotations

import csv
import random
import resource
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

from advisor.logbook.desk import Desk
from advisor.logbook.moments import stamp
from advisor.logbook.morning import lines, morning
from advisor.logbook.readings import Context, Reading
from advisor.logbook.series import series
from advisor.logbook.shop import shop_from_json
from advisor.logbook.store import SqliteStore
from advisor.logbook.table_columns import columns
from advisor.logbook.table_import import Taking, read_table, without_known
from advisor.logbook.trend_text import plot, sentences

SUMPS = 1000
NOW = datetime(2025, 3, 4, 12, tzinfo=UTC)
BATCH = 100_000


def shop() -> dict[str, Any]:
    """A shop of many sumps of one product."""
    figures = {"refractometer_factor": 1.0, "target": [0.06, 0.10], "ph_first_fill": [9.2, 9.4]}
    sumps = [{"id": f"m{n}", "name": f"M{n}", "product": "p", "figures": {"sump_volume": 200.0}}
             for n in range(SUMPS)]  # fmt: skip
    product = {"id": "p", "name": "Generated", "figures": figures}
    return {"shop": {"name": "Generated", "region": "de"}, "products": [product], "sumps": sumps}


def figures(count: int, before: int = 0) -> Iterator[tuple[str, str, datetime, float]]:
    """Sump, figure, time, value, so that all sumps are read in each pass; the last pass was yesterday."""
    rng = random.Random(count)
    passes = -(-count // (2 * SUMPS))
    for n in range(count):
        turn, place = divmod(n, 2 * SUMPS)
        when = NOW - timedelta(days=passes - turn + before, minutes=place % 600)
        if place % 2:
            yield f"m{place // 2}", "ph", when, round(rng.gauss(9.1, 0.15), 1)
        else:
            yield f"m{place // 2}", "refractometer_reading", when, round(rng.gauss(7.5, 0.8) * 2) / 2


@dataclass(frozen=True)
class Took:
    """Seconds on the clock, and of the processor."""

    clock: float
    cpu: float

    def __add__(self, other: Took) -> Took:
        return Took(self.clock + other.clock, self.cpu + other.cpu)


NOTHING = Took(0.0, 0.0)


def timed(work: Callable[[], Any], times: int = 1) -> Took:
    """What the middle one of some runs took."""
    taken = []
    for _ in range(times):
        clock, cpu = time.perf_counter(), time.process_time()
        work()
        taken.append(Took(time.perf_counter() - clock, time.process_time() - cpu))
    return sorted(taken, key=lambda took: took.clock)[times // 2]


def fill(desk: Desk, count: int) -> Took:
    """Write generated readings in batches."""
    context = Context(who="op", method="refractometer", factor=1.0, raw_unit="°Bx", low=0.06, high=0.10)
    total = NOTHING
    source = figures(count)
    while rows := list(islice(source, BATCH)):
        batch = []
        for sump, figure, when, value in rows:
            strength = figure != "ph"
            name = "concentration" if strength else "ph"
            result = value / 100 if strength else value
            batch.append(Reading(sump, name, stamp(when), result, value, context))
        batch.sort(key=lambda r: (r.sump, r.observable, r.time))  # as an import does
        total += timed(lambda batch=batch: desk.book.enter(batch, time=desk.time, who="op", how="import"))
    return total


def plain(folder: Path, count: int, table: Path) -> tuple[Took, Took, Took, Took]:
    """With sqlite3 alone: write the same figures, read the last of each, one series, and take the table."""
    db = sqlite3.connect(folder / "plain.db", isolation_level=None)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("CREATE TABLE r (id INTEGER PRIMARY KEY, sump TEXT, figure TEXT, time TEXT, value REAL)")
    db.execute("CREATE INDEX r_sump ON r (sump, figure, time)")
    source = ((s, f, stamp(t), v) for s, f, t, v in figures(count))

    def write(rows: list[tuple[str, str, str, float]]) -> None:
        db.execute("BEGIN")
        db.executemany("INSERT INTO r (sump, figure, time, value) VALUES (?,?,?,?)", rows)
        db.execute("COMMIT")

    def last() -> None:
        query = "SELECT time, value FROM r WHERE sump = ? AND figure = ? ORDER BY time DESC LIMIT 1"
        for n in range(SUMPS):
            for figure in ("ph", "refractometer_reading"):
                db.execute(query, (f"m{n}", figure)).fetchone()

    def one() -> None:
        db.execute("SELECT time, value FROM r WHERE sump = 'm7' AND figure = 'ph' ORDER BY time").fetchall()

    def take() -> None:
        with table.open(newline="") as file:
            rows = csv.reader(file)
            next(rows)
            both = [(s.lower(), f, t, float(v)) for s, t, *values in rows
                    for f, v in zip(("refractometer_reading", "ph"), values, strict=True)]  # fmt: skip
        write(both)

    written = NOTHING
    while rows := list(islice(source, BATCH)):
        written += timed(lambda rows=rows: write(rows))
    made = written, timed(last, 5), timed(one, 5), timed(take)
    db.close()
    return made


def write_table(file: Path, rows: int) -> None:
    """A CSV file of so many rows, each with two figures."""
    with file.open("w") as out:
        out.write("sump,time,brix,ph\n")
        rng = random.Random(1)
        for n in range(rows):
            when = NOW - timedelta(days=4000 + n // SUMPS, minutes=n % 600)
            out.write(f"M{n % SUMPS},{stamp(when)},{rng.gauss(7, 1):.1f},{rng.gauss(9, 0.1):.1f}\n")


def import_table(desk: Desk, file: Path, rows: int) -> Took:
    """A CSV file from file to disk, as ``sumpside import`` does it."""

    def work() -> None:
        table = read_table(file)
        taking = Taking(desk, columns(desk, table.headings, {}), who="op")
        taken = without_known(desk, taking.take(table))
        desk.book.enter(taken.readings, time=desk.time, who="op", how="import")
        assert len(taken.readings) == 2 * rows, taken.bad[:3]

    return timed(work)


def measure(count: int) -> None:
    """One line of the report."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        desk = Desk(SqliteStore(folder / "logbook.db"), shop_from_json(shop()), NOW)
        desk.limits.of("m1", "ph")  # the rule base is loaded before the clock starts
        written = fill(desk, count)
        rows, table = 100_000 if count >= 100_000 else 10_000, folder / "table.csv"
        write_table(table, rows)
        taken = import_table(desk, table, rows)
        screen = timed(lambda: lines(desk, morning(desk)), 5)

        def one_trend() -> None:
            seen = series(desk, "m7", "ph", None)
            assert seen is not None
            plot(desk, seen)
            sentences(desk, seen)

        trend = timed(one_trend, 5)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        size = (folder / "logbook.db").stat().st_size / 1e6
        beside = plain(folder, count, table)
        pairs = zip((written, screen, trend, taken), beside, strict=True)
        parts = [f"{ours.clock:9.3f} s, cpu {ours.cpu:7.3f} s ({ours.cpu / theirs.cpu:4.1f}x)"
                 for ours, theirs in pairs]  # fmt: skip
        print("  ".join([f"{count:>9}", *parts, f"{size:5.0f} MB", f"{peak:4.0f} MB"]), flush=True)


def main() -> None:
    """Print the report."""
    counts = [int(word) for word in sys.argv[1:]] or [10_000, 100_000, 1_000_000]
    print("In brackets: processor time as a multiple of plain sqlite3. morning: all sumps, after the import;")
    print("trend: whole series of one sump, plotted; table: 100,000 rows of two figures (10,000 below")
    print("100,000 readings), from file to disk; memory: the highest so far, generated figures included.")
    heads = ("written", "morning", "one trend", "table")
    print(" readings  " + "  ".join(f"{head:<33}" for head in heads) + "  file    memory")
    for count in counts:
        measure(count)


if __name__ == "__main__":
    main()
