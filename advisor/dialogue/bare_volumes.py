"""A volume that stands alone in a line: the pail or the sump may be meant, and it is asked, not guessed."""

from __future__ import annotations

from dataclasses import replace

from advisor.dialogue import phrases_led
from advisor.dialogue.case import CaseState
from advisor.dialogue.understanding import Ambiguity, Understood
from advisor.errors import BadQuantity
from advisor.knowledge.facts import number
from advisor.quantities import Gallon, parse

VOLUME, PAIL = "sump_volume", "pail"
#: Litres up to which a volume may be that of a pail; common practice, no source.
LARGEST_PAIL = 30.0


def asked_about(
    text: str, got: Understood, state: CaseState, expecting: str | None, gallon: Gallon | None
) -> Understood:
    """What a line said, its lone volume turned into a question where it need not be the sump's.

    Args:
        text: the line.
        got: what was understood of it.
        state: the case, for a volume that is known already.
        expecting: the observable asked for.
        gallon: which gallon a bare one is in this shop.
    """
    told = next((f for f in got.facts if f.id == VOLUME and f.status == "present"), None)
    if told is None or expecting == VOLUME or VOLUME in got.corrections or len(got.facts) > 1:
        return got
    try:
        parse(text.strip(" .!"), "L", gallon=gallon)
    except BadQuantity:  # it says more than a volume: whose it is stands beside it
        return got
    held = any(f.id == VOLUME and f.status == "present" for f in state.facts)
    if not held and (number(told) or 0.0) > LARGEST_PAIL:
        return got
    ask = Ambiguity("", told.said or text.strip(), (phrases_led.THE_PAIL, phrases_led.THE_SUMP))
    return replace(got, facts=(), ask=(ask, *(a for a in got.ask if a.about != VOLUME)))
