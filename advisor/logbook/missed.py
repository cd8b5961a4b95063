"""A check that was not done, with the reason: ``missed nitrite: no strips``."""

from __future__ import annotations

import re

from advisor.errors import BadInput
from advisor.logbook.intervals import intervals
from advisor.logbook.readings import Record
from advisor.logbook.records import record

_MISSED = re.compile(r"missed\b\s*:?\s*(?P<rest>.*)", re.IGNORECASE | re.DOTALL)


def missed(text: str, sump: str, time: str, otherwise: str = "all") -> Record | None:
    """The record of a missed check that a line tells; None when it tells none.

    Args:
        text: such as ``missed nitrite: no strips``, or ``missed: locked out`` for all that was due.
        otherwise: the check meant where none is named.

    Raises:
        BadInput: no reason, or something that is no check.
    """
    found = _MISSED.fullmatch(text.strip())
    if found is None:
        return None
    head, colon, reason = found["rest"].partition(":")
    if not colon:
        head, reason = "", found["rest"]
        named = _check(reason.split(" ")[0]) if reason else None
        if named is not None:
            head, reason = reason.split(" ")[0], " ".join(reason.split(" ")[1:])
    check = _check(head) if head.strip() else otherwise
    if check is None:
        there = ", ".join(row["name"] for row in intervals()["checks"].values())
        raise BadInput(f"{head.strip()!r} is no check", value=head.strip(), right=f"Use one of: {there}.")
    if not reason.strip(" .,"):
        raise BadInput("why was it missed?", right='Write "missed nitrite: no strips".')
    return record("missed", sump, time, {"check": check, "reason": " ".join(reason.split())})


def _check(said: str) -> str | None:
    """The check that a word names, by id or name."""
    word = said.strip().casefold()
    for key, row in intervals()["checks"].items():
        if word in (key, key.replace("_", " "), row["name"].casefold()):
            return str(key)
    return "round" if word == "round" else None
