"""Numbers that explain each other or a deed: "4 of 6", "15 cm out of 30", "an hour ago", 10^6."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace

from advisor.dialogue.reading.lexicon import Match
from advisor.dialogue.reading.measured import Reading, fitting_units, is_time
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.tokens import Token

_MACHINES = frozenset(
    {"machine", "machines", "mill", "mills", "lathe", "lathes", "grinder", "grinders", "sump", "sumps",
     "saw", "saws", "tanks", "centres", "presses", "drills", "cells", "stations", "maschine", "maschinen",
     "anlage", "anlagen", "fraesen", "drehmaschinen", "drehbaenke", "fraesmaschinen", "schleifmaschinen",
     "saegen", "baz", "bearbeitungszentren", "becken", "tank"}
)  # fmt: skip
_PEOPLE = frozenset(
    {"people", "person", "men", "man", "women", "lads", "lad", "guys", "guy", "blokes", "bloke",
     "operators", "operator", "workers", "colleagues", "setters", "staff", "us", "chaps", "apprentices",
     "fellas", "hands", "machinists", "leute", "leuten", "kollegen", "mitarbeiter", "mitarbeitern", "mann",
     "maenner", "personen", "bediener", "bedienern", "beschaeftigte", "beschaeftigten", "dreher", "fraeser"}
)  # fmt: skip
_PLACES = frozenset({"on", "at", "in", "from", "an", "am", "im", "bei", "auf"})
_COMPLAINTS = frozenset(
    {"hands", "hand", "skin", "arms", "forearms", "fingers", "wrists", "rash", "rashes", "blisters", "itch",
     "itchy", "cough", "coughing", "wheeze", "chest", "eyes", "fever", "eczema", "dermatitis", "chapped",
     "haut", "haende", "haenden", "ausschlag", "husten", "fieber", "augen", "unterarme", "blasen"}
)  # fmt: skip
_OF = frozenset({"of", "out", "von", "aus"})
_THEM = frozenset({"them", "those", "these", "em", "which", "denen", "ihnen", "whom"})
_BESIDE = frozenset(
    {"the", "our", "a", "den", "unseren", "unserer", "der", "insgesamt", "thats", "that", "is", "all",
     "total", ",", "in", "on", "ca", "about", "my", "day", "night", "other"}
)  # fmt: skip
_NONE = frozenset({"none", "nobody", "noone", "keiner", "niemand", "no"})
_COUNTED = frozenset(
    {"", "people_affected", "people_total", "machines_affected", "machines_total", "reading"}
)


def count_out_of(tokens: Sequence[Token], readings: list[Reading]) -> None:
    """ "4 of the 6", "six mills, two of them", "von 6 Leuten 2": those affected, and all of them.

    They are people unless machines are named beside either number.
    """
    counts = [r for r in readings if _is_count(r)]
    for one, two in itertools.pairwise(counts):
        if any(t.hard for t in tokens[one.measure.last : two.measure.first]):
            continue
        part, whole = one, two
        if _of_them(tokens, two) or (_all_of(tokens, one) and not _of_them(tokens, one)):
            part, whole = two, one
        elif not _out_of(tokens, one, two):
            if not _has_it(tokens, one, two):
                continue
            part, whole = two, one
        if part.measure.number > whole.measure.number:
            continue
        kinds = {_noun(tokens, part), _noun(tokens, whole)} - {""}
        machines = "machines" in kinds or whole.base.startswith("machines")
        hurt = not kinds and _hurt(tokens, two)
        kind = "machines" if machines and "people" not in kinds and not hurt else "people"
        part.base, whole.base = f"{kind}_affected", f"{kind}_total"
        part.distance = whole.distance = 0.0
    _others(tokens, counts)
    for reading in counts:
        out_of = [t.norm for t in tokens[max(0, reading.measure.first - 2) : reading.measure.first]]
        if reading.base == "people_total" and out_of == ["out", "of"]:
            reading.distance = 0.0  # "one operator out of six"
        ahead = [t.norm for t in tokens[max(0, reading.measure.first - 1) : reading.measure.first]]
        if reading.base == "machines_affected" and ahead in (["with"], ["mit"], ["for"], ["fuer"], ["feeds"]):
            reading.base = "machines_total"
        if reading.base == "machines_total" and _all_of_them(tokens, reading) and len(counts) == 1:
            readings.append(replace(reading, base="machines_affected", places=set()))
            break
        if reading.base.endswith("_affected") and _none_of(tokens, reading):
            reading.base = reading.base.replace("affected", "total")


def _others(tokens: Sequence[Token], counts: Sequence[Reading]) -> None:
    """ "One has a rash, the three others have nothing": the others and those affected are all of them."""
    part = next((r for r in counts if r.base == "people_affected"), None)
    one = any(a.norm == "one" and b.norm in _PEOPLE for a, b in itertools.pairwise(tokens))
    if not (part or one) or any(r.base == "people_total" for r in counts):
        return
    for reading in counts:
        ahead = tokens[reading.measure.first - 1].norm if reading.measure.first else ""
        behind = [t.norm for t in tokens[reading.measure.last + 1 : reading.measure.last + 2]]
        if reading is not part and (behind == ["others"] or ahead in ("other", "anderen")):
            both = (part.measure.number if part else 1.0) + reading.measure.number
            reading.base, reading.distance = "people_total", 0.0
            reading.measure = replace(reading.measure, low=both, high=both)
            return


def _is_count(reading: Reading) -> bool:
    measure = reading.measure
    ends = [measure.low, measure.high]
    whole = measure.bare and not measure.share and all(n is not None and n < 500 and n % 1 == 0 for n in ends)
    return whole and reading.base in _COUNTED


def _noun(tokens: Sequence[Token], reading: Reading) -> str:
    """What is counted: the first noun for people or machines within two words behind the number."""
    for token in tokens[reading.measure.last + 1 : reading.measure.last + 4]:
        if token.kind == "mark" or token.value is not None or token.norm in _PLACES:
            return ""  # "four of five on this mill": the mill is where they are
        if token.norm in _MACHINES:
            return "machines"
        if token.norm in _PEOPLE:
            return "people"
    return ""


def _hurt(tokens: Sequence[Token], reading: Reading) -> bool:
    """ "One of eight on the mill line gets itchy blisters": those counted have what only people have."""
    for token in tokens[reading.measure.last + 1 :]:
        if token.hard:
            return False
        if token.norm in _COMPLAINTS:
            return True
    return False


def _behind(tokens: Sequence[Token], reading: Reading) -> list[str]:
    """Words behind a number, its own noun left out."""
    words = [t.norm for t in tokens[reading.measure.last + 1 : reading.measure.last + 5]]
    return words[1:] if words and words[0] in _MACHINES | _PEOPLE else words


def _of_them(tokens: Sequence[Token], reading: Reading) -> bool:
    """ "Four of them", "5 davon", "von denen 2"."""
    words = _behind(tokens, reading)
    if words[:1] in (["davon"], ["hiervon"], ["darunter"]):
        return True
    if words[:1] and words[0] in _OF and words[1:2] and words[1] in _THEM:
        return True
    ahead = [t.norm for t in tokens[max(0, reading.measure.first - 2) : reading.measure.first]]
    return ahead[-1:] in (["davon"], ["darunter"]) or ahead in (
        ["of", "which"],
        ["of", "those"],
        ["of", "them"],
        ["von", "denen"],
    )


def _all_of(tokens: Sequence[Token], reading: Reading) -> bool:
    """ "Of the eight people on nights ...": the number that the part is told of, named first."""
    at = reading.measure.first - 1
    while at >= 0 and tokens[at].norm in _BESIDE and tokens[at].kind == "word":
        at -= 1
    opens = at >= 0 and tokens[at].norm in ("of", "von")
    before = tokens[at - 1] if at > 0 else None
    lone = before is None or (
        before.value is None and before.norm not in _MACHINES | _PEOPLE | _THEM | _OF | {"none", "all"}
    )
    return opens and lone


def _out_of(tokens: Sequence[Token], one: Reading, two: Reading) -> bool:
    """ "3 of our 15", "five blokes out of twelve", "3 of them, out of nine"."""
    words = {t.norm for t in tokens[one.measure.last + 1 : two.measure.first]}
    ahead = [t.norm for t in tokens[two.measure.first - 2 : two.measure.first]]
    if ahead[-1:] in (["among"], ["amongst"]) or ahead == ["out", "of"]:
        return True
    return bool(words & _OF) and words <= _OF | _THEM | _BESIDE | _MACHINES | _PEOPLE


def _all_of_them(tokens: Sequence[Token], reading: Reading) -> bool:
    """ "14 machines, all of them foam"."""
    words = [t.norm for t in tokens[reading.measure.last + 1 :]]
    return any(words[i : i + 3] == ["all", "of", "them"] for i in range(len(words))) or "allesamt" in words


_HAVE = frozenset(
    {"have", "has", "had", "got", "are", "show", "with", "do", "haben", "hat", "sind", "mit", "zeigen",
     "smell", "foam", "rust", "stink", "complain", "cough"}
)  # fmt: skip


def _has_it(tokens: Sequence[Token], one: Reading, two: Reading) -> bool:
    """ "4 mills on one tank, two have the smell": all are named, then those that have it."""
    behind = [t.norm for t in tokens[two.measure.last + 1 : two.measure.last + 2]]
    named = _noun(tokens, one) or one.base.endswith("_total")
    return bool(named and behind and behind[0] in _HAVE and not _noun(tokens, two))


def _none_of(tokens: Sequence[Token], reading: Reading) -> bool:
    """ "12 men on the line, none of them has it": all are counted, and none is affected."""
    at = reading.measure.last + 1
    while at < len(tokens) and not tokens[at].hard:
        if tokens[at].norm in _NONE:
            return True
        at += 1
    return False


def times_factor(tokens: Sequence[Token], readings: Sequence[Reading]) -> None:
    """ "Brix 3.2 x 2.1": what a reading is multiplied by is the factor."""
    for one, two in itertools.pairwise(readings):
        between = [t.norm for t in tokens[one.measure.last + 1 : two.measure.first]]
        scale = one.base in ("refractometer_reading", "reading") or one.measure.unit == "brix"
        fits = two.measure.bare and 0.5 <= two.measure.number <= 5
        if scale and fits and between in (["x"], ["*"], ["mal"], ["times"]):
            two.base, two.distance = "refractometer_factor", 1.0


def points(tokens: Sequence[Token], readings: Sequence[Reading]) -> None:
    """ "Down about half a point from last month": by how much it moved, no figure of its own."""
    for reading in readings:
        words = [t.norm for t in tokens[reading.measure.last + 1 : reading.measure.last + 3]]
        if words[:1] in (["point"], ["points"]) or words == ["a", "point"]:
            reading.base = "ignored"


def jug_of(tokens: Sequence[Token], readings: Sequence[Reading], marks: Sequence[Match]) -> None:
    """ "Topped up 50 L of water and a 5 L jug of neat": what the jug held went in."""
    poured = [m.first for m in marks if m.target.name == "poured"]
    for reading in readings:
        words = [t.norm for t in tokens[reading.measure.last + 1 : reading.measure.last + 4]]
        went = [p for p in poured if p < reading.measure.first]
        if "L" not in fitting_units(reading.measure) or len(words) < 3 or words[1] != "of" or not went:
            continue
        if words[0] in _JUGS and not any(t.hard for t in tokens[went[-1] : reading.measure.first]):
            name = {"neat": "concentrate_added", "concentrate": "concentrate_added", "water": "water_added"}
            reading.base = name.get(words[2], reading.base)


_JUGS = frozenset({"jug", "can", "pail", "bucket", "tin", "tub", "drum", "bottle", "container", "jerrycan"})


def per_day(tokens: Sequence[Token], readings: Sequence[Reading], cues: Sequence[Match]) -> None:
    """ "Every day we top up 40 litres": a volume put in by the day, the word standing apart from it."""
    days = [c for c in cues if c.target.name == "daily_loss" and tokens[c.first].norm in _DAILY]
    for reading in readings:
        measure = reading.measure
        if "L" not in fitting_units(measure) or reading.base not in ("", "sump_volume", "water_added"):
            continue
        for cue in days:
            first, last = sorted((cue.last, measure.first)) if cue.last < measure.first else (
                measure.last,
                cue.first,
            )
            apart = any(t.hard or t.text == "," for t in tokens[first:last])
            if not apart and last - first <= 7:
                reading.base, reading.measure = "daily_loss", replace(measure, per="day")
                reading.places.update(cue.places)
                break


_DAILY = frozenset({"daily", "every", "each", "per", "a", "taeglich", "pro", "am", "jeden", "je"})


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


#: Words behind a volume that say it moved ("30 L leaked", "20 L over from mill 1").
_MOVED = frozenset(
    {"went", "got", "leaked", "ran", "came", "spilled", "poured", "tipped", "lost", "over", "across"}
)


def is_poured(tokens: Sequence[Token], measure: Measure, marks: Sequence[Match]) -> bool:
    """A volume that was put in ("topped up with 30 L premix") is not the size of the sump."""
    if "L" not in fitting_units(measure):
        return False
    behind = tokens[measure.last + 1].norm if measure.last + 1 < len(tokens) else ""
    if behind in _MOVED:
        return True
    last = tokens[measure.last + 1] if measure.last + 1 < len(tokens) else None
    alone = (
        (last is None or last.kind == "mark") and measure.first > 0 and tokens[measure.first - 1].text == ","
    )
    window = range(max(0, measure.first - (9 if alone else 4)), measure.first)
    return any(m.target.name == "poured" and m.last in window for m in marks)


def depth_share(
    tokens: Sequence[Token], readings: Sequence[Reading]
) -> tuple[Reading, Reading, float] | None:
    """How full "15 cm of fluid out of 30" is: the readings of both depths, and the share."""
    for one, two in itertools.pairwise(readings):
        if "length" not in fitting_units(one.measure):
            continue
        if two.measure.unit and "length" not in fitting_units(two.measure):
            continue
        between = {t.norm for t in tokens[one.measure.last + 1 : two.measure.first]}
        words = between & {"out", "full", "total", "deep", "von", "gesamt"}
        joined = between in ({"of"}, {"of", "a"}) or bool(between & {"of", "from", "von"} and words)
        if joined and 0 < one.measure.number <= two.measure.number:
            return one, two, one.measure.number / two.measure.number
    return None


def is_power(tokens: Sequence[Token], measure: Measure) -> bool:
    """True for 10^6, "10 hoch 5", "ten to the six": a count of germs when nothing else is named."""
    words = tokens[measure.first : measure.last + 1]
    if any("^" in t.text or "**" in t.text for t in words):
        return True
    return any(t.norm in ("hoch", "power") for t in words) or [t.norm for t in words[1:3]] == ["to", "the"]
