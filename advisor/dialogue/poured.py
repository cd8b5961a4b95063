"""A reading that missed while steps are not ticked: what went in is asked for before the miss is believed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from advisor.dialogue import following, phrases_led, policy
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import FROM_FIX, CaseState
from advisor.dialogue.understanding import Understood
from advisor.errors import BadQuantity
from advisor.knowledge.facts import Fact
from advisor.mixing.display import Display
from advisor.mixing.glass import Glass
from advisor.quantities import Gallon, parse, show

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: Litres by which two amounts are the same one.
SAME_L = 0.05
_ALL = {"all", "all of it", "everything", "the lot", "yes", "y", "done", "whole", "all done", "alles", "ja"}
_NOTHING = {
    "none", "nothing", "no", "n", "nothing yet", "not yet", "none yet", "none of it", "zero", "0", "nichts",
    "nein", "havent started", "haven't started", "not started",
}  # fmt: skip
_SHARES = {"half": 0.5, "half of it": 0.5, "two thirds": 2 / 3, "a third": 1 / 3, "one third": 1 / 3}
_PAILS = re.compile(
    r"(?:about |only |just )?(\d+)(?: of \d+)?(?: ?(?:pails?|buckets?|eimer))?(?: (?:of \d+|in|so far))?"
)


def ask_blocks(made: Mapping[str, Any], display: Display) -> list[Block]:
    """The question for what went in, with the ways to say it."""
    pails = sum(row["count"] for row in made["pails"])
    how = phrases_led.HOW_POURED.format(pails=max(1, pails // 2), litres=display.volume(made["add_l"] / 2))
    return [Block("ask", phrases_led.WHAT_WENT_IN), Block("text", how)]


def litres_in(text: str, made: Mapping[str, Any], gallon: Gallon | None = None) -> float | None:
    """Litres of the recipe that a line says went in; None when it says nothing of the kind.

    Args:
        text: "all", "nothing", "half", "3 pails", "25 L".
        made: the recipe as kept.
        gallon: which gallon a bare one is here.
    """
    low = " ".join(text.lower().strip(" .!").split())
    whole = float(made["add_l"])
    if low in _ALL:
        return whole
    if low in _NOTHING:
        return 0.0
    if low in _SHARES:
        return whole * _SHARES[low]
    found = _PAILS.fullmatch(low)
    if found:
        return min(whole, following.litres_of_pails(made, int(found[1])))
    try:
        return min(whole, parse(low, "L", gallon=gallon).value)
    except BadQuantity:
        return None


def expected_with(
    state: CaseState, last: Mapping[str, Any], litres: float, volume_l: float
) -> dict[str, float]:
    """The strength so much of the recipe leads to, and its range, as wide as that of the whole."""
    made = state.recipe or {}
    strength = following.strength_with(made, litres, volume_l) or last["predicted"]
    below, above = last["predicted"] - last["low"], last["high"] - last["predicted"]
    return {"predicted": strength, "low": max(0.0, strength - below), "high": strength + above}


def counted(session: Session, made: Mapping[str, Any], said: str) -> list[Block]:
    """What strength the pails counted so far have made, to hold a reading against."""
    litres = litres_in(said.removesuffix(" in"), made, session.shop.gallon)
    if litres is None and (found := re.search(r"\d+", said)):
        litres = following.litres_of_pails(made, int(found[0]))
    strength = following.strength_with(made, litres or 0.0)
    if not litres or strength is None:
        return [Block("text", phrases_led.COUNTED_LATER)]
    told = show(strength, "fraction") + Glass.of(made.get("glass")).beside(strength)
    return [Block("text", phrases_led.COUNTED.format(litres=session.shop.display.volume(litres), told=told))]


def answered(session: Session, state: CaseState, text: str) -> list[Block] | None:
    """What follows from what went in; None when the line is about something else."""
    made, last = state.recipe or {}, dict(state.results[-1])
    requests = {r.kind for r in session.understood(text).requests}
    if requests & {"skip", "skip_all", "dont_know"}:  # then it is judged as if all of it went in
        litres: float | None = last["poured_l"]
    else:
        litres = litres_in(text, made, session.shop.gallon)
    if litres is None:
        return None
    volume = session.view(state=state).known.quantity("sump_volume")
    point = dict(last)
    if volume and made.get("strength_before") is not None and litres < last["poured_l"] - SAME_L:
        point |= expected_with(state, last, litres, volume)
    result = _result(last["strength"], litres, last["poured_l"], point)
    said_in = last.pop("event")
    data = {**last, **point, "result": result, "poured_l": litres, "of": said_in, "asked": False}
    data.pop("event", None)
    session.record.append("recheck", data)
    fill = following.fill_after(made, litres, volume) if litres > SAME_L else None
    level = (Fact("sump_fill", fill, "fraction", said=FROM_FIX),) if fill is not None else ()
    session.record.said(text, Understood(facts=level), state.expecting, answered=True)
    told = _told(session.shop.display, data, litres, Glass.of(made.get("glass")))
    kind = (made.get("basis") or {}).get("kind")
    return told + (_the_rest(session, kind) if kind and result == following.PART_IN else session.go_on())


def _the_rest(session: Session, kind: str) -> list[Block]:
    """The recipe for what is left, from the reading and the level now; no other question comes between."""
    from advisor.dialogue.rechecks import recipe_anew

    state = session.state()
    session.last_move = policy.Move("rest")
    return [*recipe_anew(session, state, session.view(state=state), kind), session.rest()]


def _result(value: float, litres: float, due_l: float, point: Mapping[str, Any]) -> str:
    if litres <= SAME_L:
        return following.NOTHING_IN
    inside = point["low"] <= value <= point["high"]
    return following.PART_IN if inside and litres < due_l - SAME_L else following.MISSED


def _told(display: Display, data: Mapping[str, Any], litres: float, glass: Glass) -> list[Block]:
    if data["result"] == following.MISSED:
        return []
    label, text = phrases_led.RESULTS[data["result"]]
    span = f"{data['low'] * 100:.1f} to {data['high'] * 100:.1f} %"
    span += "" if glass.plain else f" ({glass.between(data['low'], data['high'])})"
    got = show(data["strength"], "fraction") + glass.beside(data["strength"])
    return [Block("head", text.format(got=got, span=span, litres=display.volume(litres)), label)]
