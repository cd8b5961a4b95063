"""What a strength was found with, and number words that count things and are no strength."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue.reading.lexicon import Match
from advisor.dialogue.reading.measured import Reading, fitting_units, is_time
from advisor.dialogue.reading.tokens import Token
from advisor.dialogue.reading.units import unit_index

_GIVES = frozenset(
    {"gives", "gave", "says", "said", "shows", "showed", "reads", "read", "reading", "came", "comes", "back",
     "at", "puts", "put", "makes", "found", "result", "ergab", "ergibt", "zeigt", "sagt"}
)  # fmt: skip
_STRENGTHS = frozenset({"concentration", "reading", "titration", "ph", "refractometer_reading"})
_NO_NOUN = frozenset(
    {"as", "is", "was", "its", "this", "plus", "less", "always", "says", "reads", "shows", "parts"}
)


def by_method(tokens: Sequence[Token], readings: Sequence[Reading], cues: Sequence[Match]) -> None:
    """Gives a strength the method named right behind it, or before it in its clause."""
    _behind(tokens, readings, cues)
    _before(tokens, readings, cues)


def drop_counted_words(tokens: Sequence[Token], readings: Sequence[Reading]) -> None:
    """Takes the quantity from a number word that counts things ("three grinders")."""
    for reading in readings:
        if reading.base in _STRENGTHS and _counts_things(tokens, reading):
            reading.base, reading.places = "", set()


def _behind(tokens: Sequence[Token], readings: Sequence[Reading], cues: Sequence[Match]) -> None:
    """ "Strength 7.2 by titration": the method right behind the number says which strength it is."""
    used = {p for r in readings for p in r.places}
    for reading in readings:
        if reading.base not in ("concentration", "reading") or "target" in reading.frames:
            continue
        for cue in cues:
            between = tokens[reading.measure.last + 1 : cue.first]
            behind = cue.first > reading.measure.last and all(t.filler and t.kind != "mark" for t in between)
            if cue.target.name == "titration" and behind and used.isdisjoint(cue.places):
                reading.base = "titration"
                reading.places.update(cue.places)
                break


def _before(tokens: Sequence[Token], readings: Sequence[Reading], cues: Sequence[Match]) -> None:
    """ "Did a titration and that gives 3.6", "titration done twice says 7.2": the method its clause names."""
    for reading in readings:
        verbal = all(tokens[p].norm in _GIVES for p in reading.places)
        unnamed = reading.base in ("", "reading")
        unnamed = unnamed or (reading.base in ("concentration", "refractometer_reading") and verbal)
        measure = reading.measure
        plain = measure.bare or "fraction" in fitting_units(measure)
        if not unnamed or not plain or measure.share or measure.number > 40:
            continue
        told = [r.measure for r in readings if r.measure.last < measure.first and not is_time(r.measure)]
        start = max((m.last for m in told), default=-1)
        for cue in cues:
            between = tokens[cue.last + 1 : measure.first]
            near = cue.target.name == "titration" and start < cue.first and cue.last < measure.first
            said = {t.norm for t in between} & (_GIVES | {"is", "a", "was"})
            if near and said and len(between) <= 8 and not any(t.hard or t.text == "," for t in between):
                reading.base, reading.distance = "titration", 1.0
                reading.places.update(cue.places)
                break


def _counts_things(tokens: Sequence[Token], reading: Reading) -> bool:
    """ "Same mix in three grinders", "the two neighbours": a number word before things counts them."""
    last = reading.measure.last
    behind = tokens[last + 1] if last + 1 < len(tokens) else None
    worded = reading.measure.bare and all(t.kind == "word" for t in tokens[reading.measure.first : last + 1])
    if not worded or reading.measure.share or behind is None or behind.kind != "word" or behind.filler:
        return False
    noun = behind.norm.endswith("s") and behind.norm not in _NO_NOUN and behind.norm not in unit_index()
    return noun or (behind.norm in ("other", "fresh", "new", "of") and behind.value is None)
