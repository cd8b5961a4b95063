"""Samples for a laboratory: what is tested, until when it must be there, and what the label says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput
from advisor.logbook.moments import days_between, moment, stamp
from advisor.logbook.reading_lines import printable
from advisor.logbook.readings import Record
from advisor.logbook.records import first_number
from advisor.logbook.worklists import worklists

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: Words people use for a test, beside its id and name.
_WORDS = {
    "germs": "bacteria", "germ": "bacteria", "cfu": "bacteria", "mould": "fungi", "yeast": "fungi",
    "hardness": "sump_hardness", "sulphate": "sulfate", "cobalt": "metals", "copper": "metals",
    "lead": "metals", "nickel": "metals", "zinc": "metals", "strength": "titration",
    "concentration": "titration", "oil": "tramp_oil_share", "tramp oil": "tramp_oil_share",
    "reserve": "alkalinity",
}  # fmt: skip
#: A sample without a result is reminded of for this many days; common practice, no source.
REMIND_DAYS = 60


@dataclass(frozen=True, slots=True)
class Asked:
    """One test asked for: its id and name, until when the sample may wait for it, and where that stands."""

    id: str
    name: str
    until: datetime | None
    note: str
    sources: tuple[str, ...]


def named_tests(said: str) -> list[str]:
    """Ids of the tests that a list of words names.

    Raises:
        BadInput: a word that is no test.
    """
    held = worklists()["samples"]["tests"]
    names = {row["name"].casefold(): key for key, row in held.items()}
    found = []
    for part in said.replace(";", ",").split(","):
        word = " ".join(part.split()).casefold()
        if not word:
            continue
        plain = word.replace(" ", "_")
        key = plain if plain in held else names.get(word) or _WORDS.get(word)
        if key is None:
            there = ", ".join(row["name"] for row in held.values())
            raise BadInput(f"{part.strip()!r} is no test", value=part.strip(), right=f"Use some of: {there}.")
        found.append(key)
    if not found:
        raise BadInput("what is it to be tested for?", right='Write --test "pH, germs, nitrite".')
    return list(dict.fromkeys(found))


def asked_of(desk: Desk, row: Record) -> list[Asked]:
    """The tests of a sample, the most urgent first."""
    held = worklists()["samples"]["tests"]
    taken = moment(row.time).astimezone(desk.now.tzinfo)
    made = []
    for key in row.data["tests"]:
        test = held[key]
        hours = test.get("hours")
        until = taken + timedelta(hours=hours) if hours is not None else None
        made.append(Asked(key, test["name"], until, test.get("note", ""), tuple(test["sources"])))
    return sorted(made, key=lambda test: (test.until is None, test.until or taken))


def label(desk: Desk, row: Record) -> list[tuple[str, str]]:
    """What the label says, as names and values."""
    own = desk.shop.sumps.get(row.sump, {})
    product = desk.shop.products.get(own.get("product") or "", {}).get("name", "not entered")
    taken = moment(row.time).astimezone(desk.now.tzinfo)
    to = f" for {row.data['laboratory']}" if row.data.get("laboratory") else ""
    lines = [
        ("sample", f"r{first_number(row)}{to}"),
        ("sump", desk.name(row.sump)),
        ("product", str(product) + (f", lot {row.data['lot']}" if row.data.get("lot") else "")),
        ("taken", f"{taken:%Y-%m-%d %H:%M} by {row.data.get('taken_by', '')}"),
        ("from", str(row.data.get("point") or "not said").replace("_", " ")),
        ("test", "; ".join(f"{t.name}{_until(t, taken)}" for t in asked_of(desk, row))),
        ("keep", worklists()["samples"]["keep"]),
    ]
    if row.data.get("why"):
        lines.append(("why", str(row.data["why"])))
    lines.append(("mind", "Used coolant, not for drinking. Gloves and goggles; data sheet goes along."))
    return [(name, printable(value)) for name, value in lines]


def _until(test: Asked, taken: datetime) -> str:
    if test.until is None:
        return " (soon)"
    hours = (test.until - taken).total_seconds() / 3600
    if hours < 1:
        return f" (within {60 * hours:.0f} min)"
    return f" (by {test.until:%Y-%m-%d %H:%M})" if hours <= 48 else f" (by {test.until:%Y-%m-%d})"


def sources(desk: Desk, row: Record) -> str:
    """Where the times come from, in words."""
    refs = [ref for test in asked_of(desk, row) for ref in test.sources]
    refs += worklists()["samples"]["keep_sources"]
    return f"{worklists()['samples']['note']} [{desk.cite(list(dict.fromkeys(refs)))}]"


def method_of(number: int) -> str:
    """How the method of a laboratory's result names its sample."""
    return f"laboratory, sample r{number}"


def waiting(desk: Desk) -> list[Record]:
    """Samples of the last weeks that no result is in the book of."""
    since = stamp(desk.now - timedelta(days=REMIND_DAYS))
    out = []
    for row in desk.book.records("sample", since=since):
        method = method_of(first_number(row))
        results = desk.book.of(row.sump, since=row.time)
        if not any(r.context.method == method for r in results):
            out.append(row)
    return out


def waiting_lines(desk: Desk, rows: Sequence[Record]) -> list[str]:
    """One line for each sample without a result."""
    held: dict[str, Any] = worklists()["samples"]["tests"]
    made = []
    for row in rows:
        tests = ", ".join(held[key]["name"] for key in row.data["tests"])
        days = days_between(row.time, desk.time)
        ago = "today" if days < 1 else f"{days:.0f} day{'s' if days >= 1.5 else ''} ago"
        made.append(
            f"{desk.name(row.sump)}: sample r{first_number(row)}, {ago}, {tests}: no result yet "
            f'("sumpside log {desk.name(row.sump).casefold()} … --sample r{first_number(row)}")'
        )
    return made
