"""How a line begins and what it is about as a whole: a bare no, a correction, a count of people."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import BARE_REACH, Reading
from advisor.dialogue.reading.tokens import Token


def bare_no(tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """False when a leading "no" goes on with a statement of its own ("no, the line is sharp")."""
    leading = next(iter(lexicon.find(tokens[:1], ("requests",))), None)
    if leading is None or leading.target.name != "no":
        return True
    settings = lexicon.settings
    again = {*settings.get("no_again", ()), *settings.get("polite", ())}
    for token in tokens[1:]:
        if token.hard or token.norm in settings.get("no_and", ()):
            return True
        if token.kind != "mark" and not token.filler and token.norm not in again:
            return False
    return True


def corrects_another(
    expecting: str | None,
    readings: Sequence[Reading],
    tokens: Sequence[Token],
    marks: Sequence[Match],
    lexicon: Lexicon,
) -> bool:
    """True for "no, it was 5.5", "I meant 8.5": a number given before is put right, none is answered."""
    weak = {*lexicon.settings.get("weak_correction", ())}
    strong = any(
        m.target.name == "correction" and not {tokens[p].norm for p in m.places} <= weak for m in marks
    )
    named = any(r.base == expecting and r.distance < BARE_REACH for r in readings)
    return strong and not named


def people_counted(readings: Sequence[Reading], tokens: Sequence[Token], marks: Sequence[Match]) -> bool:
    """True for "2 people have it", and for a line that is nothing but the count."""
    if any(m.target.name == "people_counted" for m in marks):
        return True
    counting = [r for r in readings if r.base == "people_affected"]
    content = [t for t in tokens if t.kind != "mark" and not t.filler]
    return len(counting) == 1 and len(content) == 2
