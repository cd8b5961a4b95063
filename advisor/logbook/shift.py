"""Between shifts: pails of an open recipe as they go in, and what is handed over."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from advisor.dialogue.case import fold
from advisor.dialogue.following import litres_of_pails, strength_with
from advisor.errors import BadInput
from advisor.logbook.moments import show_day
from advisor.logbook.morning import STOPPED, lines, morning
from advisor.logbook.open_work import OpenAdvice, OpenCase, open_advice, open_cases, recipe_pails
from advisor.logbook.readings import Record
from advisor.logbook.records import record
from advisor.logbook.rights import refuse_without_right
from advisor.mixing.glass import Glass
from advisor.quantities import show

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk


def open_recipe(desk: Desk, sump: str) -> OpenCase | OpenAdvice:
    """The one open recipe of a sump: of a case or of a round, the last one made.

    Raises:
        BadInput: there is none.
    """
    held: list[OpenCase | OpenAdvice] = []
    held += [case for case in open_cases(desk) if case.sump == sump and case.recipe][:1]
    held += [one for one in open_advice(desk) if one.sump == sump]
    if not held:
        right = 'Write what you put in as "sumpside log SUMP added 20 L at 2 %".'
        raise BadInput(f"{desk.name(sump)} has no open recipe", value=sump, right=right)
    return max(held, key=lambda one: one.last)


def pour(
    desk: Desk, sump: str, count: int, approved: str | None = None
) -> tuple[list[Record], OpenCase | OpenAdvice]:
    """The next pails of the open recipe as records, and what they belong to.

    Args:
        approved: sign of who approved it.

    Raises:
        BadInput: there is no open recipe, or not so many pails are left in it.
        Refused: `approved` may not approve.
    """
    held = open_recipe(desk, sump)
    if isinstance(held, OpenAdvice):
        made, belongs = held.made, {"advice": held.id}
    else:
        made, belongs = fold(desk.store.events(held.row.id)).recipe or {}, {"case": held.row.id}
    left = recipe_pails(made)[held.pails_in :]
    if not 1 <= count <= len(left):
        what = f"the recipe of {desk.name(sump)} has {len(left)} of {held.pails} pails left, not {count}"
        right = "Give how many went in just now; what was more is written with `sumpside log SUMP added …`."
        raise BadInput(what, value=count, right=right)
    if approved:
        refuse_without_right(desk.shop, approved, "approve what is poured")
    product = desk.shop.sumps.get(sump, {}).get("product")
    lot = desk.lot(product)
    rows = []
    for litres, strength in left[:count]:
        data = {"litres": litres, "strength": strength, "product": product, "lot": lot if strength else None}
        rows.append(record("addition", sump, desk.time, {**data, **belongs, "approved": approved}))
    return rows, held


def made_by(desk: Desk, held: OpenCase | OpenAdvice, pails: int) -> str:
    """The strength so many pails of the open recipe make, with what the glass shows; "" where unknown."""
    made = held.made if isinstance(held, OpenAdvice) else fold(desk.store.events(held.row.id)).recipe or {}
    strength = strength_with(made, litres_of_pails(made, pails))
    if strength is None:
        return ""
    return show(strength, "fraction") + Glass.of(made.get("glass")).beside(strength)


#: A time of day or a date, as `show_day` writes it: what was 20:59 is "yesterday 20:59" in the morning.
_WHEN = re.compile(r"(?:yesterday )?\d\d:\d\d|\d{4}-\d\d-\d\d")
#: Parts of the morning screen that the next shift has to know; a stop that stands comes before all.
HANDED_OVER = (STOPPED, "UNDER WAY", "OUT OF LIMITS", "pH FALLEN SINCE FIRST FILL", "CASES LEFT OPEN")


def open_now(desk: Desk) -> list[str]:
    """What is open at the sumps now, as sentences, stops that are not put right first."""
    told: list[str] = []
    part = ""
    for line in lines(desk, morning(desk), everything=True)[1:]:
        if line and not line.startswith(" "):
            part = line
        elif line.startswith("      ") and part in HANDED_OVER and told:
            told[-1] += f" {line.strip()}"
        elif line.strip() and part in HANDED_OVER:
            told.append(line.strip())
    return told


def hand_over(desk: Desk) -> tuple[list[str], Record]:
    """What is open now, as sentences, and the record that keeps them."""
    told = open_now(desk)
    return told, record("handover", "", desk.time, {"open": told})


def last_handover(desk: Desk) -> list[str]:
    """The last hand-over as lines (when, by whom, what was open, its note), and what is open besides now.

    A shift that forgot to hand over, or what came up since, is not lost on the next one.
    """
    held = desk.book.records("handover")
    now = open_now(desk)
    if not held:
        made = ['Nothing was handed over yet. "sumpside handover --give" writes down what is open.']
        return [*made, *(["Open now:", *(f"  {line}" for line in now)] if now else [])]
    last = held[-1]
    who = next(e.who for e in reversed(desk.book.entries()) if e.id == last.entry)
    made = [f"Handed over {show_day(last.time, desk.now)} by {who}:"]
    made += [f"  {line}" for line in last.data["open"]] or ["  nothing was open"]
    note = desk.book.words(last.entry or 0)
    made += [f"  Note: {note}"] if note else []
    given = {_WHEN.sub("", line) for line in last.data["open"]}
    fresh = [line for line in now if _WHEN.sub("", line) not in given]
    gone = len(given - {_WHEN.sub("", line) for line in now})
    made += ["Open now besides:", *(f"  {line}" for line in fresh)] if fresh else []
    return made + ([f"No longer so: {gone} of the lines handed over."] if gone else [])
