"""A number that stands alone in a line and need not be what it is taken for: it is asked, not guessed."""

from __future__ import annotations

import re
from dataclasses import replace

from advisor.dialogue import phrases_led
from advisor.dialogue.case import CaseState
from advisor.dialogue.understanding import Ambiguity, Understood
from advisor.errors import BadQuantity
from advisor.knowledge.facts import number
from advisor.quantities import Gallon, parse

VOLUME, PAIL, FILL = "sump_volume", "pail", "sump_fill"
#: Litres up to which a volume may be that of a pail; common practice, no source.
LARGEST_PAIL = 30.0
#: A bare number this low is hardly how full a tank stands, in per cent; common practice, no source.
LOWEST_FILL = 0.2
_BARE = re.compile(r"\d+(?:[.,]\d+)?")


def asked_about(
    text: str, got: Understood, state: CaseState, expecting: str | None, gallon: Gallon | None
) -> Understood:
    """What a line said, with what is in doubt turned into a question.

    Args:
        text: the line.
        got: what was understood of it.
        state: the case, for what is known already.
        expecting: the observable asked for.
        gallon: which gallon a bare one is in this shop.
    """
    if expecting == FILL:
        return _fill(text, got)
    if any(f.id == PAIL for f in state.facts):  # "2 pails": how much one holds is known
        got = replace(got, ask=tuple(a for a in got.ask if a.about != PAIL))
    return _volume(text, got, state, expecting, gallon)


def _fill(text: str, got: Understood) -> Understood:
    """ "3.1" to how full it is may be a reading."""
    said = text.strip(" .!")
    told = next((number(f) for f in got.facts if f.id == FILL and f.status == "present"), None)
    two = any(f.id == FILL and f.said.strip(" .!") != said for f in got.facts)  # the second of two depths
    if told is None or two or not 0.0 < told < LOWEST_FILL or not _BARE.fullmatch(said):
        return got
    return replace(
        got, facts=(), ask=(Ambiguity("", said, (phrases_led.PER_CENT_FULL, phrases_led.ON_GLASS)),)
    )


def _volume(
    text: str, got: Understood, state: CaseState, expecting: str | None, gallon: Gallon | None
) -> Understood:
    """ "10 L" may be the pail, or the sump."""
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
