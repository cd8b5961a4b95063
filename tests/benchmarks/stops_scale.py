"""Scale of the morning's list of stops: many sumps with some hundred cases each.

    python tests/benchmarks/stops_scale.py [cases a sump ...]      default: 100 300

One case in twenty was one that stopped the machine; nine in ten of those were put right in their own case.
Rows are written past the chain, which the list does not look at.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from advisor.logbook.desk import Desk
from advisor.logbook.shop import shop_from_json
from advisor.logbook.stops import stops
from advisor.logbook.store import SqliteStore

SUMPS, GRAVE_IN, PUT_RIGHT = 1000, 20, 0.9
NOW = datetime(2025, 3, 4, 12, tzinfo=UTC)
WHEN = "2024-05-05T06:00:00Z"
STOP = {"id": "acid_in_the_sump", "level": "stop", "text": "Acid went in. Keep back."}


def events(case: int, sump: str, grave: bool, right: bool) -> Iterator[tuple[str, dict[str, Any]]]:
    """What a case of the usual length holds."""
    filler = {"causes": [{"id": "lean_mix", "for": ["reading below the window"] * 40}], "verdict": "named"}
    told = [STOP] if grave else []
    yield "opened", {"program": "0"}
    yield "said", {"facts": [], "sump": sump}
    yield "shown", {"cautions": told}
    yield "asked", {"move": "ask", "target": "safety"}
    yield "said", {"facts": []}
    yield "verdict", {"verdict": {**filler, "cautions": told}, "rules": "", "program": "0"}
    if grave and right:
        yield "acknowledged", {"cautions": [STOP["id"]], "put_right": [STOP["id"]]}
    yield "closed", {"how": "finished"}


def fill(store: SqliteStore, cases: int) -> int:
    """Write the cases of all sumps; how many stops stand."""
    rng, standing = random.Random(1), 0
    with store.writing() as db:
        for case in range(1, SUMPS * cases + 1):
            sump, grave, right = f"M{case % SUMPS}", rng.randrange(GRAVE_IN) == 0, rng.random() < PUT_RIGHT
            standing += grave and not right
            level = "stop" if grave else "warn"
            row = (case, WHEN, WHEN, sump, "named", "run", "lean_mix", level, "closed", "op", 1, 8, "")
            db.execute("INSERT INTO cases VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?)", row)
            for number, (kind, data) in enumerate(events(case, sump, grave, right), start=1):
                held = (case, number, kind, 1, WHEN, 1, "op", json.dumps(data), None, "", "")
                db.execute("INSERT INTO events VALUES (?,?,?,?,?,?,?,?,?,?,?)", held)
    return standing


def measure(cases: int) -> None:
    """One line of the report."""
    with tempfile.TemporaryDirectory() as name:
        sumps = [{"id": f"m{n}", "name": f"M{n}"} for n in range(SUMPS)]
        shop = shop_from_json({"shop": {"name": "Generated"}, "products": [], "sumps": sumps})
        desk = Desk(SqliteStore(Path(name) / "logbook.db"), shop, NOW)
        desk.rules.cautions  # noqa: B018  loaded before the clock starts
        standing = fill(desk.store, cases)
        clock, cpu = time.perf_counter(), time.process_time()
        found = len(stops(desk))
        took, worked = time.perf_counter() - clock, time.process_time() - cpu
        assert found == standing, (found, standing)
        print(f"{SUMPS * cases:>9} cases  {found:>6} stand  {took:7.2f} s, cpu {worked:7.2f} s", flush=True)


if __name__ == "__main__":
    for count in [int(word) for word in sys.argv[1:]] or [100, 300]:
        measure(count)
