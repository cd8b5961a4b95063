"""Where each sump stands, kept beside the readings and made anew whenever they change.

A state is only a shortcut: it holds nothing that the readings do not say.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from advisor.logbook.database import Database
from advisor.logbook.drift import LOOK_BACK, drift
from advisor.logbook.readings import FIRST_FILL, NOT_MEASURED

#: What a hand instrument wanders by itself (standard deviation, canonical units), and the least change
#: worth a word: half a point of strength, one step of a narrow strip (rules/bands: trend_concentration,
#: trend_ph). Strength: common practice, no source. pH strips: DGUV Regel 109-003, 7.1.
WANDER = {"concentration": 0.002, "refractometer_reading": 0.2, "ph": 0.1, "nitrite": 2.0}
WORTH_A_WORD = {"concentration": 0.005, "refractometer_reading": 0.5, "ph": 0.2, "nitrite": 5.0}


@dataclass(frozen=True, slots=True)
class State:
    """The last reading of one sump and observable, and what the last ones do.

    Attributes:
        time, result: of the last reading that was measured.
        reading: its number.
        first: reading of the first fill of this charge, None when none was marked.
        filled: when that was, or "".
        recent: the last few results, oldest first.
        slope: per day, 0 where too few readings tell one; `change` over the days from `since`.
        drifting: rising, falling, or "".
        jumped: time of the first reading at a new level, or "".
        count: how many readings the drift stands on.
    """

    time: str
    result: float
    reading: int
    first: float | None
    filled: str
    recent: list[float]
    slope: float
    change: float
    since: str
    drifting: str
    jumped: str
    count: int


def refresh(db: Database, touched: Iterable[tuple[str, str]]) -> None:
    """Make the states of these sumps and observables anew, inside the running transaction."""
    rows = []
    gone = []
    for sump, observable in touched:
        state = _state(observable, _last(db, sump, observable), _fill(db, sump, observable))
        if state is None:
            gone.append((sump, observable))
        else:
            rows.append((sump, observable, json.dumps({key: getattr(state, key) for key in State.__slots__})))
    db.executemany("DELETE FROM sump_states WHERE sump = ? AND observable = ?", gone)
    db.executemany(
        "INSERT INTO sump_states VALUES (?, ?, ?) "
        "ON CONFLICT (sump, observable) DO UPDATE SET data = excluded.data",
        rows,
    )


def _last(db: Database, sump: str, observable: str) -> list[tuple[str, float, int, str]]:
    """The last measured readings, oldest first, from the last first fill on: time, result, id, mark."""
    found = db.execute(
        "SELECT time, result, id, mark FROM readings r WHERE sump = ? AND observable = ? "
        "AND result IS NOT NULL AND mark <> ? "
        "AND NOT EXISTS (SELECT 1 FROM readings x WHERE x.corrects = r.id) "
        "ORDER BY time DESC, id DESC LIMIT ?",
        (sump, observable, NOT_MEASURED, LOOK_BACK),
    ).fetchall()
    kept = []
    for row in found:
        kept.append(row)
        if row[3] == FIRST_FILL:
            break
    return kept[::-1]


def _fill(db: Database, sump: str, observable: str) -> tuple[str, float] | None:
    found = db.execute(
        # the mark stands in the words of the question, so that its index is used
        f"SELECT time, result FROM readings r WHERE sump = ? AND observable = ? AND mark = '{FIRST_FILL}' "
        "AND result IS NOT NULL AND NOT EXISTS (SELECT 1 FROM readings x WHERE x.corrects = r.id) "
        "ORDER BY time DESC, id DESC LIMIT 1",
        (sump, observable),
    ).fetchone()
    return (found[0], found[1]) if found else None


def _state(
    observable: str, last: Sequence[tuple[str, float, int, str]], fill: tuple[str, float] | None
) -> State | None:
    if not last:
        return None
    times, values = [row[0] for row in last], [row[1] for row in last]
    found = drift(days_of(times), values, WANDER.get(observable, 0.0))
    worth = WORTH_A_WORD.get(observable, 0.0)
    drifting, jumped = "", ""
    if found is not None:
        if found.sure and abs(found.change) > worth:
            drifting = "rising" if found.change > 0 else "falling"
        jumped = "" if found.jump is None else times[found.jump]
    return State(
        time=times[-1],
        result=values[-1],
        reading=last[-1][2],
        first=fill[1] if fill else None,
        filled=fill[0] if fill else "",
        recent=values[-5:],
        slope=found.slope if found else 0.0,
        change=found.change if found else 0.0,
        since=times[0],
        drifting=drifting,
        jumped=jumped,
        count=found.count if found else 0,
    )


def days_of(times: Sequence[str]) -> list[float]:
    """ISO-8601 UTC times as days from the first."""
    if not times:
        return []
    moments = [datetime.fromisoformat(time) for time in times]
    return [(moment - moments[0]).total_seconds() / 86_400 for moment in moments]
