"""Between shifts: pails of an open recipe as they go in, and what is handed over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue.case import fold
from advisor.errors import BadInput
from advisor.logbook.moments import show_day
from advisor.logbook.morning import lines, morning
from advisor.logbook.open_work import OpenCase, open_cases, recipe_pails
from advisor.logbook.readings import Record
from advisor.logbook.records import record

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk


def open_recipe(desk: Desk, sump: str) -> OpenCase:
    """The one open recipe of a sump: of several cases, the last touched.

    Raises:
        BadInput: there is none.
    """
    held = [case for case in open_cases(desk) if case.sump == sump and case.recipe]
    if not held:
        right = 'Write what you put in as "sumpside log SUMP added 20 L at 2 %".'
        raise BadInput(f"{desk.name(sump)} has no open recipe", value=sump, right=right)
    return held[0]


def pour(desk: Desk, sump: str, count: int) -> tuple[list[Record], OpenCase]:
    """The next pails of the open recipe as records, and the case they belong to.

    Raises:
        BadInput: there is no open recipe, or not so many pails are left in it.
    """
    case = open_recipe(desk, sump)
    made = fold(desk.store.events(case.row.id)).recipe or {}
    left = recipe_pails(made)[case.pails_in :]
    if not 1 <= count <= len(left):
        what = f"the recipe of {desk.name(sump)} has {len(left)} of {case.pails} pails left, not {count}"
        right = "Give how many went in just now; what was more is written with `sumpside log SUMP added …`."
        raise BadInput(what, value=count, right=right)
    product = desk.shop.sumps.get(sump, {}).get("product")
    lot = desk.lot(product)
    rows = [
        record("addition", sump, desk.time, {"litres": litres, "strength": strength, "product": product,
                                             "case": case.row.id, "lot": lot if strength else None})
        for litres, strength in left[:count]
    ]  # fmt: skip
    return rows, case


def hand_over(desk: Desk) -> tuple[list[str], Record]:
    """What is open now, as sentences, and the record that keeps them."""
    seen = morning(desk)
    wanted = {"UNDER WAY", "OUT OF LIMITS", "pH FALLEN SINCE FIRST FILL", "CASES LEFT OPEN"}
    told: list[str] = []
    keep = False
    for line in lines(desk, seen, everything=True)[1:]:
        if line and not line.startswith(" "):
            keep = line in wanted
        elif line.startswith("      ") and keep and told:
            told[-1] += f" {line.strip()}"
        elif line.strip() and keep:
            told.append(line.strip())
    return told, record("handover", "", desk.time, {"open": told})


def last_handover(desk: Desk) -> list[str]:
    """The last hand-over as lines: when, by whom, what was open, and the note beside it."""
    held = desk.book.records("handover")
    if not held:
        return ['Nothing was handed over yet. "sumpside handover --give" writes down what is open.']
    last = held[-1]
    who = next(e.who for e in reversed(desk.book.entries()) if e.id == last.entry)
    made = [f"Handed over {show_day(last.time, desk.now)} by {who}:"]
    made += [f"  {line}" for line in last.data["open"]] or ["  nothing was open"]
    note = desk.book.words(last.entry or 0)
    return made + ([f"  Note: {note}"] if note else [])
