"""Numbers that explain each other or a deed: "4 of 6", "15 cm out of 30", "an hour ago", 10^6."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from advisor.dialogue.reading.lexicon import Match
from advisor.dialogue.reading.measured import Reading, fitting_units, is_time
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.tokens import Token

_MACHINES = frozenset({"machines", "mills", "lathes", "grinders", "sumps", "saws", "maschinen", "anlagen"})


def count_out_of(tokens: Sequence[Token], readings: Sequence[Reading]) -> None:
    """ "4 of the 6" counts those affected among all; people unless machines are named right behind."""
    for one, two in itertools.pairwise(readings):
        between = {t.norm for t in tokens[one.measure.last + 1 : two.measure.first]}
        if (
            not between
            or not between <= {"of", "the", "out", "our", "von", "den"}
            or "of" not in between | {"of"}
        ):
            continue
        if not (one.measure.bare and two.measure.bare and one.measure.number <= two.measure.number):
            continue
        counted = {"", "people_affected", "people_total", "machines_affected", "machines_total"}
        if one.measure.share or two.base not in counted:
            continue
        named = {t.norm for t in tokens[two.measure.last + 1 : two.measure.last + 3]}
        kind = "machines" if two.base == "machines_affected" or named & _MACHINES else "people"
        one.base, two.base = f"{kind}_affected", f"{kind}_total"


def time_since_added(tokens: Sequence[Token], readings: Sequence[Reading], marks: Sequence[Match]) -> None:
    """ "Put 20 litres in an hour ago": the time since something was added."""
    added = [m.first for m in marks if m.target.name == "poured"]
    for reading in readings:
        after = tokens[reading.measure.last + 1 : reading.measure.last + 2]
        if not (is_time(reading.measure) and after and after[0].norm == "ago"):
            continue
        near = [
            p
            for p in added
            if p < reading.measure.first and not any(t.hard for t in tokens[p : reading.measure.first])
        ]
        volume = any("L" in fitting_units(r.measure) for r in readings)
        if near and volume:
            reading.base, reading.distance = "since_addition", 1.0


def time_since_done(tokens: Sequence[Token], readings: Sequence[Reading], cues: Sequence[Match]) -> None:
    """ "Filled the 55 gallon sump two months back": a time ago belongs to the deed of its sentence."""
    for reading in readings:
        at = reading.measure.last + 1
        if reading.base or not is_time(reading.measure) or at >= len(tokens):
            continue
        if tokens[at].norm not in ("ago", "back"):
            continue
        for cue in cues:
            inside = cue.last < reading.measure.first and not any(
                t.hard for t in tokens[cue.last : reading.measure.first]
            )
            if inside and cue.target.name in ("fluid_age", "since_clean_out"):
                reading.base, reading.distance = cue.target.name, 1.0
                reading.places.update(cue.places)
                break


def is_poured(tokens: Sequence[Token], measure: Measure, marks: Sequence[Match]) -> bool:
    """A volume that was put in ("topped up with 30 L premix") is not the size of the sump."""
    if "L" not in fitting_units(measure):
        return False
    behind = tokens[measure.last + 1].norm if measure.last + 1 < len(tokens) else ""
    if behind in ("went", "got", "leaked", "ran", "came", "spilled", "poured", "tipped", "lost"):
        return True
    window = range(max(0, measure.first - 4), measure.first)
    return any(m.target.name == "poured" and m.last in window for m in marks)


def depth_share(tokens: Sequence[Token], readings: Sequence[Reading]) -> tuple[Reading, float] | None:
    """How full "15 cm of fluid out of 30" is: the reading of the smaller depth, and the share."""
    for one, two in itertools.pairwise(readings):
        if "length" not in fitting_units(one.measure):
            continue
        if two.measure.unit and "length" not in fitting_units(two.measure):
            continue
        between = {t.norm for t in tokens[one.measure.last + 1 : two.measure.first]}
        words = between & {"out", "full", "total", "deep", "von", "gesamt"}
        joined = between in ({"of"}, {"of", "a"}) or bool(between & {"of", "from", "von"} and words)
        if joined and 0 < one.measure.number <= two.measure.number:
            return one, one.measure.number / two.measure.number
    return None


def is_power(tokens: Sequence[Token], measure: Measure) -> bool:
    """True for 10^6, "10 hoch 5", "ten to the six": a count of germs when nothing else is named."""
    words = tokens[measure.first : measure.last + 1]
    if any("^" in t.text or "**" in t.text for t in words):
        return True
    return any(t.norm in ("hoch", "power") for t in words) or [t.norm for t in words[1:3]] == ["to", "the"]
