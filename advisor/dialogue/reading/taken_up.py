"""What an "it" takes up from earlier in the line: oil that floats, metal that goes dark, one more dose."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue.reading.lexicon import Match, Target
from advisor.dialogue.reading.tokens import Token

_OILS = frozenset({"topic_oil", "topic_way_oil", "topic_hydraulics", "topic_other_oil"})
#: A finding that names oil as surely as the word does.
_OILY = frozenset({"event: hydraulic_leak", "event: way_oil_leak", "incoming_parts: oily"})
_DARKENS = {"aluminium": "aluminium_dark", "copper": "copper_dark", "brass": "brass_dark",
            "bronze": "brass_dark"}  # fmt: skip
_SLIMY = ("slim", "snot", "jelly", "fung", "mould", "leather", "hair")
#: How soon a metal goes dark is told in hours; a fluid darkens over weeks.
_SOON = frozenset(
    {"minute", "minutes", "hour", "hours", "overnight", "day", "night", "minuten", "stunde", "stunden"}
)


def taken_up(
    matches: Sequence[Match],
    marks: Sequence[Match],
    tokens: Sequence[Token],
    spans: Sequence[tuple[int, int]],
) -> list[Match]:
    """The findings, with those of an "it" said of the thing it stands for."""
    kept = _floating([m for m in matches if not _no_rust_after_all(m, tokens)], marks, tokens)
    if any(f"{m.target.name}: {m.target.value}" == "machine_oil: holding" for m in matches):
        kept = [m for m in kept if not _only_names_oil(m, tokens)]
    kept = _darkened(kept, tokens, spans)
    return _once_more(kept, marks)


def _only_names_oil(match: Match, tokens: Sequence[Token]) -> bool:
    """ "We checked way lube and hydraulics, both hold": named, and no leak."""
    leak = (match.target.name, match.target.value) == ("event", "way_oil_leak")
    return leak and {tokens[p].norm for p in match.places} <= {"way", "oil", "lube", "slideway", "slide"}


def _no_rust_after_all(match: Match, tokens: Sequence[Token]) -> bool:
    """ "The customer says corroded. It's white spots, no red rust": what was called so is none."""
    if match.target.name != "rust" or match.target.value == "-":
        return False
    own = [tokens[p].norm for p in match.places]
    if not any(w.startswith(("corro", "korro")) for w in own) or any(w.startswith("rust") for w in own):
        return False
    for at in range(match.last + 1, len(tokens) - 1):
        ahead = {t.norm for t in tokens[max(0, at - 2) : at]}
        if tokens[at].norm in ("rust", "rost") and ahead & {"no", "not", "kein", "without", "nor"}:
            return True
    return False


def _floating(matches: list[Match], marks: Sequence[Match], tokens: Sequence[Token]) -> list[Match]:
    """ "A hose burst and there's an inch floating on the tank": what floats is the oil named before."""
    layers = [m for m in marks if m.target.name == "floats_it"]
    if any(t.norm.startswith(_SLIMY) for t in tokens):
        return matches
    for layer in layers:
        oil = [m.first for m in marks if m.target.name in _OILS]
        oil += [m.first for m in matches if f"{m.target.name}: {m.target.value}" in _OILY]
        if not any(p < layer.first for p in oil):
            continue
        matches = [
            m for m in matches if m.target.value != "slime_mat" or {*m.places}.isdisjoint(layer.places)
        ]
        held = [m for m in matches if not m.target.only_denied]
        if not any((m.target.name, m.target.value) == ("surface", "oil_layer") for m in held):
            matches.append(Match(Target("facts", "surface", "oil_layer"), layer.places, True, True))
    return matches


def _darkened(
    matches: list[Match], tokens: Sequence[Token], spans: Sequence[tuple[int, int]]
) -> list[Match]:
    """ "We cut 7075 now and it goes dark within an hour": the metal does, not the fluid."""
    metals = {m.target.value for m in matches if m.target.name == "workpiece"} & set(_DARKENS)
    if len(metals) != 1 or any(m.target.name == "stain" for m in matches):
        return matches
    stain = _DARKENS[metals.pop()]
    made = []
    for match in matches:
        last = next((b for a, b in spans if a <= match.first <= b), match.last)
        behind = {t.norm for t in tokens[match.last + 1 : last + 1]}
        dark = match.target.name == "colour" and match.target.value in ("darker", "black", "grey")
        if dark and behind & _SOON:
            match = Match(Target("facts", "stain", stain), match.places, match.joined, True)
        made.append(match)
    return made


def _once_more(matches: list[Match], marks: Sequence[Match]) -> list[Match]:
    """ "... dosed biocide on Monday. He wants to give it another litre": one more of what went in."""
    more = [m for m in marks if m.target.name == "another_dose"]
    dosed = [m for m in matches if (m.target.name, m.target.value) == ("event", "biocide_dosed")]
    asked = [m for m in marks if m.target.name == "proposal"]
    for mark in more:
        before = any(m.first < mark.first for m in dosed)
        if before and any(m.first < mark.first <= m.last + 6 for m in asked):
            matches.append(Match(Target("facts", "proposed_action", "more_biocide"), mark.places))
            break
    return matches
