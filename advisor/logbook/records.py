"""Kinds of records: what is done at a sump or in the shop and is no reading.

``look``      ``facts``*: list of ``{"id", "value", "status"}``; empty when all looked well.
``addition``  ``litres``*, ``strength`` (fraction; 0 is water, 1 neat concentrate, None not said),
              ``product``, ``lot``, ``case``, ``advice`` (number of the advice it follows), ``approved``.
``delivery``  ``litres``* of concentrate, ``product``*, ``lot``.
``price``     ``product``*, ``per_litre``* in the shop's ``currency``, ``said``; holds from its time on.
``drum``      a new drum checked: ``product``*, ``lot``*, ``outcome``* (use, aside), ``findings``, and what
              was looked at and read (see `drums.py`).
``sample``    for a laboratory: ``tests``*, ``point``, ``taken_by``, ``why``, ``laboratory``.
``changeover``  ``phase``* (planned, step, answer, finished, dropped), see `changeover.py`.
``zeroed``    ``instrument``*, ``shows`` (what it showed on plain water before, °Bx).
``advice``    ``recipe``*: what a round advised, as ``mix`` gives it.
``spill``     ``litres``, ``what``*, ``where``*, ``to_drain``*, ``cleaned_by``, ``told``.
``waste``     ``litres``*, ``code``, ``container``, ``document``, ``carrier``, ``what``.
``handover``  ``open``*: list of sentences that were open at the change of shift.
``idle``      ``days``*: planned standing time from the record's time on; ``steps``.
``restart``   nothing: the sump runs again.
``missed``    ``check``*, ``reason``*: a check that was not done.

A correction also holds ``reason`` (why) and ``first`` (number of the first version); one with ``struck``
strikes out what it corrects.
``*`` = required. Litres are litres, strengths fractions.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from advisor.errors import BadInput
from advisor.logbook.readings import Record

REQUIRED: dict[str, tuple[str, ...]] = {
    "look": ("facts",),
    "addition": ("litres",),
    "delivery": ("litres", "product"),
    "price": ("product", "per_litre"),
    "drum": ("product", "lot", "outcome"),
    "sample": ("tests",),
    "changeover": ("phase",),
    "zeroed": ("instrument",),
    "advice": ("recipe",),
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
        right = f"Give {', '.join('--' + key.replace('_', '-') for key in missing)}."
        raise BadInput(f"the record of a {kind} lacks {', '.join(missing)}", place=kind, right=right)
    litres = data.get("litres")
    if litres is not None and not 0.0 <= litres < 1e7:
        right = "Give 0 L or more."
        raise BadInput(f"{litres:g} L is not possible", value=litres, place=kind, right=right)
    kept = {key: value for key, value in data.items() if value is not None}
    return Record(kind, sump, time, kept, corrects)


def record_number(said: str) -> int:
    """The number of a record as a person writes it: ``r12`` or ``12``.

    Raises:
        BadInput: it is none.
    """
    found = re.fullmatch(r"\s*[rR]?\s*(\d{1,9})\s*", said)
    if found is None:
        right = 'Write it like r12; "sumpside audit SUMP" lists them.'
        raise BadInput(f"{said!r} is no number of a record", value=said, right=right)
    return int(found[1])


def corrected(old: Record, kind: str, sump: str, changes: Mapping[str, Any], reason: str | None) -> Record:
    """A record that takes the place of another: what is not given stays as it was.

    Args:
        kind, sump: what the correction is about; it must be what the old record is about.
        changes: keys given now, None where nothing was.
        reason: why, in a few words.

    Raises:
        BadInput: the old record is of another kind or sump, or the changed one cannot be.
    """
    if (old.kind, old.sump) != (kind, sump):
        what = f"record r{old.id} is a {old.kind}" + (f" of {old.sump}" if old.sump else "")
        raise BadInput(what, value=old.id, right=f"Give the number of a {kind} of this sump.")
    given = {key: value for key, value in changes.items() if value is not None}
    data = {**old.data, **given, "reason": reason, "first": first_number(old)}
    return record(kind, sump, old.time, data, corrects=old.id)


def first_number(row: Record) -> int:
    """The number a record was first written under; corrections keep it, as labels and papers carry it."""
    return int(row.data.get("first") or row.id or 0)


def struck(old: Record, reason: str | None) -> Record:
    """A record that strikes out another."""
    data = {**old.data, "struck": True, "reason": reason}
    return record(old.kind, old.sump, old.time, data, corrects=old.id)
