"""A desk on an empty logbook with a small shop, at a fixed time."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from advisor.logbook.desk import Desk
from advisor.logbook.readings import Context, Reading
from advisor.logbook.shop import shop_from_json
from advisor.logbook.store import SqliteStore

NOW = datetime(2025, 3, 4, 12, 0, tzinfo=UTC)


def made_shop(count: int = 3, region: str = "de", **figures: Any) -> dict[str, Any]:
    """Sumps M1, M2, … of one product (factor 1, 6-10 %, 9.2 when new), 200 L each."""
    product = {"id": "p", "name": "Demo", "figures": {"refractometer_factor": 1.0, "target": [0.06, 0.10],
                                                      "ph_first_fill": [9.2, 9.4], **figures}}  # fmt: skip
    sumps = [{"id": f"m{n}", "name": f"M{n}", "product": "p", "figures": {"sump_volume": 200.0}}
             for n in range(1, count + 1)]  # fmt: skip
    return {"shop": {"name": "A shop", "region": region}, "products": [product], "sumps": sumps}


def desk_at(folder: Path, shop: dict[str, Any] | None = None, now: datetime = NOW) -> Desk:
    """A desk with this shop."""
    return Desk(SqliteStore(folder / "logbook.db"), shop_from_json(shop or made_shop()), now)


def day(number: float) -> str:
    """A time so many days before `NOW`."""
    return datetime.fromtimestamp(NOW.timestamp() - number * 86_400, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def reading(observable: str, result: float, ago: float, sump: str = "m1", **more: Any) -> Reading:
    """A plain reading, so many days ago."""
    return Reading(sump, observable, day(ago), result, result, Context(who="op"), **more)


def keep(desk: Desk, *readings: Reading) -> None:
    """Write readings as one entry."""
    desk.book.enter(readings, time=desk.time, who="op", how="line")
