"""A program of its own that appends to a logbook and says each number once it is safe.

``python writing_process.py FOLDER CASE COUNT [resilient]``; ``SUMPSIDE_LOGBOOK`` may name a server.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from advisor.logbook.place import Place
from advisor.logbook.port import Store
from advisor.logbook.resilient import open_resilient
from advisor.logbook.store import open_store


def main(folder: str, case: str, count: str, kind: str = "plain") -> None:
    """Append `count` events to a case."""
    place = Place(Path(folder), os.environ.get("SUMPSIDE_LOGBOOK"))
    store: Store = open_resilient(place) if kind == "resilient" else open_store(place)
    for turn in range(int(count)):
        data = {"facts": [{"id": "ph", "value": turn}]}
        event = store.append(int(case), "said", data, f"turn {turn}", time="2025-03-04T12:00:00Z", who="op")
        print(event.number, event.hash, flush=True)
    store.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
