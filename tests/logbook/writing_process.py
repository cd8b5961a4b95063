"""A program of its own that appends to a logbook and says each number once it is safe.

``python writing_process.py FOLDER CASE COUNT [resilient]``
"""

from __future__ import annotations

import sys
from pathlib import Path

from advisor.logbook.port import Store
from advisor.logbook.resilient import open_resilient
from advisor.logbook.store import open_store


def main(folder: str, case: str, count: str, kind: str = "plain") -> None:
    """Append `count` events to a case."""
    store: Store = open_resilient(Path(folder)) if kind == "resilient" else open_store(Path(folder))
    for turn in range(int(count)):
        data = {"facts": [{"id": "ph", "value": turn}]}
        event = store.append(int(case), "said", data, f"turn {turn}", time="2025-03-04T12:00:00Z", who="op")
        print(event.number, event.hash, flush=True)
    store.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
