"""Numbers that cannot be: what was said, and between what their quantity lies."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue.reading.lexicon import Lexicon, Match, Observable
from advisor.dialogue.reading.measured import Reading, to_unit
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.tokens import Token

#: Units in which a bare number is understood, so that one beyond its limits is known to be wrong.
_BARE = frozenset({"pH", "fraction", "°Bx"})


def wrong_number(observable: Observable, measure: Measure, said: str, gallon: str | None) -> str:
    """One sentence when `measure` lies outside the limits of `observable`; "" when it does not."""
    unit, limits = observable.unit or "1", observable.limits
    if limits is None or measure.ratio is not None or measure.share:
        return ""
    ends = [to_unit(measure, n, unit, gallon)[0] for n in (measure.low, measure.high) if n is not None]
    if all(limits[0] - 1e-9 <= e <= limits[1] + 1e-9 for e in ends):
        return ""
    from advisor.showing import show

    low, high = (show(limit, unit) for limit in limits)
    return f"{said} cannot be: the {observable.name} lies between {low} and {high}. Please give it again."


def named_wrong(
    readings: Sequence[Reading],
    cues: Sequence[Match],
    tokens: Sequence[Token],
    text: str,
    lexicon: Lexicon,
    gallon: str | None,
) -> list[tuple[str, set[int]]]:
    """Sentences on bare numbers right behind the name of a quantity they cannot be ("pH 27"), and places."""
    made: list[tuple[str, set[int]]] = []
    for reading in readings:
        measure = reading.measure
        if reading.base or not measure.bare:
            continue
        for cue in cues:
            observable = lexicon.observables.get(cue.target.name)
            if observable is None or observable.unit not in _BARE or cue.target.general:
                continue
            between = tokens[cue.last + 1 : measure.first]
            if not cue.last < measure.first or any(t.kind == "mark" or not t.filler for t in between):
                continue
            said = text[tokens[cue.first].start : tokens[measure.last].end]
            sentence = wrong_number(observable, measure, said, gallon)
            if sentence:
                made.append((sentence, {*cue.places, *range(measure.first, measure.last + 1)}))
                break
    return made
