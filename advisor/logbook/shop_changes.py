"""Who changed which entry of a sump or its product, and when: an auditor asks who moved a limit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.port import ShopRow


@dataclass(frozen=True, slots=True)
class Change:
    """One entry that was changed.

    Attributes:
        time, who: when, and the sign that changed it.
        name: of the sump or product.
        key: which entry, such as ``window``.
        old, new: as written, "" where it was not entered.
    """

    time: str
    who: str
    name: str
    key: str
    old: str
    new: str


def begun(desk: Desk, sump: str) -> str:
    """When the shop first held a sump: its first row or its first reading; "" where neither is there."""
    versions = desk.store.row_versions("sump", sump)
    with desk.store.reading() as db:
        (first,) = db.execute("SELECT MIN(time) FROM readings WHERE sump = ?", (sump,)).fetchone()
    return min([row.time for row in versions[:1]] + ([first] if first else []), default="")


def changes(desk: Desk, sump: str, since: str, until: str) -> list[Change]:
    """What was changed in a stretch of time in the rows of a sump and of the products it held."""
    rows = desk.store.row_versions("sump", sump)
    products = dict.fromkeys(row.data["product"] for row in rows if row.data.get("product"))
    histories = [rows, *(desk.store.row_versions("product", product) for product in products)]
    found = [one for history in histories for one in _changed(history)]
    return sorted((one for one in found if since <= one.time < until), key=lambda one: one.time)


def _changed(history: Sequence[ShopRow]) -> Iterator[Change]:
    for old, new in pairwise(history):
        before, after = _written(old.data), _written(new.data)
        name = str(new.data.get("name") or new.id)
        for key in sorted({*before, *after}):
            if before.get(key) != after.get(key):
                yield Change(new.time, new.who, name, key, _text(before.get(key)), _text(after.get(key)))


def _written(data: Mapping[str, Any]) -> Mapping[str, Any]:
    held: Mapping[str, Any] = data.get("written") or {}
    return held


def _text(value: Any) -> str:
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_text(item)}" for key, item in value.items())
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value if value is not None else "")
