"""Kinds of records: what is done at a sump or in the shop and is no reading.

``look``      ``facts``*: list of ``{"id", "value", "status"}``; empty when all looked well.
``addition``  ``litres``*, ``strength`` (fraction; 0 is water, 1 neat concentrate, None not said),
              ``product``, ``lot``, ``why``.
``delivery``  ``litres``* of concentrate, ``product``*, ``lot``.
``spill``     ``litres``, ``what``*, ``where``*, ``to_drain``*, ``cleaned_by``, ``told``.
``waste``     ``litres``*, ``code``, ``container``, ``document``, ``carrier``, ``what``.
``handover``  ``open``*: list of sentences that were open at the change of shift.
``idle``      ``days``*: planned standing time from the record's time on; ``steps``.
``restart``   nothing: the sump runs again.
``missed``    ``check``*, ``reason``*: a check that was not done.

``*`` = required. Litres are litres, strengths fractions.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from advisor.errors import BadInput
from advisor.logbook.readings import Record

REQUIRED: dict[str, tuple[str, ...]] = {
    "look": ("facts",),
    "addition": ("litres",),
    "delivery": ("litres", "product"),
    "spill": ("what", "where", "to_drain"),
    "waste": ("litres",),
    "handover": ("open",),
    "idle": ("days",),
    "restart": (),
    "missed": ("check", "reason"),
}


def record(
    kind: str, sump: str, time: str, data: Mapping[str, Any], *, corrects: int | None = None
) -> Record:
    """A record, checked.

    Raises:
        BadInput: an unknown kind, a key missing, or an amount below zero.
    """
    if kind not in REQUIRED:
        right = f"Use one of {', '.join(REQUIRED)}."
        raise BadInput(f"no record is called {kind!r}", value=kind, right=right)
    missing = [key for key in REQUIRED[kind] if key not in data]
    if missing:
        raise BadInput(f"the record of a {kind} lacks {', '.join(missing)}", place=kind, right="Give it.")
    litres = data.get("litres")
    if litres is not None and not 0.0 <= litres < 1e7:
        right = "Give 0 L or more."
        raise BadInput(f"{litres:g} L is not possible", value=litres, place=kind, right=right)
    kept = {key: value for key, value in data.items() if value is not None}
    return Record(kind, sump, time, kept, corrects)
