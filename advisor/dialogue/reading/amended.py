"""What a line puts right within itself ("230, no wait 320"), and shares of a vessel it names."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import fitting_units
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.tokens import Token

#: Words that take back what was said just before; "not" is none, it denies what follows ("8, not 7").
_TAKES_BACK = frozenset(
    [
        "no",
        "nope",
        "wait",
        "sorry",
        "oops",
        "scratch",
        "rather",
        "eher",
        "nein",
        "nee",
        "quatsch",
        "falsch",
        "meine",
        "meinte",
        "korrektur",
        "mean",
        "hang",
        "make",
        "meant",
    ]
)
#: Words that may stand beside them without naming anything else.
_BESIDE = frozenset(
    [
        "i",
        "that",
        "hang",
        "on",
        "make",
        "actually",
        "it",
        "its",
        "is",
        "was",
        "the",
        "sorry",
        "well",
        "hold",
        "up",
        "make",
        "ich",
        "doch",
        "warte",
        "stimmt",
        "nicht",
        "es",
        "war",
        "ist",
        "sondern",
        "now",
        "then",
        "um",
        "er",
        "erm",
    ]
)
_VESSELS = frozenset(
    [
        "pail",
        "pails",
        "bucket",
        "buckets",
        "can",
        "jug",
        "drum",
        "drums",
        "canister",
        "jerrycan",
        "tub",
        "eimer",
        "kanister",
        "fass",
        "kanne",
    ]
)
_FROM, _TO = frozenset({"from", "von", "vom"}), frozenset({"to", "onto", "auf", "zu", "zum", "zur"})
_OF = frozenset({"a", "an", "of", "our", "the", "one"})


def amended(tokens: Sequence[Token], found: Sequence[Measure]) -> list[Measure]:
    """The measures without those taken back in the same breath; the later number keeps the earlier unit.

    A number put right spans both places, so that what named the first one names it.
    """
    made: list[Measure] = []
    for measure in found:
        if made and _takes_back(tokens, made[-1], measure):
            earlier = made.pop()
            measure = replace(measure, first=earlier.first, unit=measure.unit or earlier.unit)
        made.append(measure)
    return made


def _takes_back(tokens: Sequence[Token], one: Measure, two: Measure) -> bool:
    if one.ratio is not None or two.ratio is not None or one.change or two.change:
        return False
    if two.unit and one.unit and fitting_units(two).isdisjoint(fitting_units(one)):
        return False
    between = tokens[one.last + 1 : two.first]
    words = {t.norm for t in between if t.kind != "mark"}
    return bool(words & _TAKES_BACK) and words <= _TAKES_BACK | _BESIDE and len(between) <= 6


def shares_of_vessels(
    tokens: Sequence[Token], found: Sequence[Measure]
) -> tuple[list[Measure], list[Measure]]:
    """ "Half a 5 gal pail": the amount as one measure, and the size of each vessel named so."""
    made: list[Measure] = []
    vessels: list[Measure] = []
    for measure in found:
        behind = [t.norm for t in tokens[measure.last + 1 : measure.last + 2]]
        earlier = made[-1] if made else None
        if (
            earlier is not None
            and earlier.share
            and earlier.bare
            and earlier.low is not None
            and measure.low is not None
            and "L" in fitting_units(measure)
            and behind
            and behind[0] in _VESSELS
            and {t.norm for t in tokens[earlier.last + 1 : measure.first]} <= _OF
        ):
            made.pop()
            vessels.append(measure)
            share = earlier.low * measure.low
            measure = replace(measure, low=share, high=share, first=earlier.first, last=measure.last + 1)
        made.append(measure)
    return made, vessels


def withdrawn(
    matches: Sequence[Match], tokens: Sequence[Token], marks: Sequence[Match], lexicon: Lexicon
) -> list[Match]:
    """Findings without those a correction in mid-line replaces ("blocked, no wait, just a weak flow")."""
    kept = list(matches)
    for mark in marks:
        words = {tokens[p].norm for p in mark.places}
        if mark.target.name != "correction" or mark.first == 0 or not words & (_TAKES_BACK - {"no", "nee"}):
            continue
        after = {m.target.name: m for m in kept if m.first > mark.last and m.first <= mark.last + 5}
        kept = [
            m
            for m in kept
            if m.last >= mark.first
            or m.target.name not in after
            or after[m.target.name].target.value == m.target.value
            or lexicon.observables[m.target.name].kind == "quantity"
        ]
    return [m for m in kept if not _left_behind(m, kept, tokens, lexicon)]


def _left_behind(match: Match, kept: Sequence[Match], tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """The tap of "from the tap to the borehole": of a choice only what it came to holds now."""
    if lexicon.observables[match.target.name].kind != "one_of":
        return False
    return _behind(match, tokens) in _FROM and any(
        m.target.name == match.target.name
        and m.target.value != match.target.value
        and match.last < m.first <= match.last + 4
        and _behind(m, tokens) in _TO
        for m in kept
    )


def _behind(match: Match, tokens: Sequence[Token]) -> str:
    """The word in front of a match, articles left out."""
    at = match.first - 1
    while at >= 0 and tokens[at].norm in ("the", "a", "our", "dem", "der", "den", "das"):
        at -= 1
    return tokens[at].norm if at >= 0 else ""
