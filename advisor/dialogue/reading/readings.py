"""Facts from numbers: the quantity each became, unit, range, doubt, and what comparisons say of the trend."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

from advisor.dialogue.reading.aimed import on_target
from advisor.dialogue.reading.counts import depth_share
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.limits import wrong_number
from advisor.dialogue.reading.measured import FAR, Reading, fitting_units, to_unit
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.scope import Scope
from advisor.dialogue.reading.tokens import Token, counted
from advisor.knowledge.facts import Fact
from advisor.quantities import VAGUE

#: What a share is of that is too high for a strength: "tank at 75 percent".
_STANDS = {"tank", "sump", "level", "reservoir", "machine", "stand"}
_TRENDED = {"concentration": "trend_concentration", "reading": "trend_concentration", "ph": "trend_ph",
            "refractometer_reading": "trend_concentration"}  # fmt: skip


@dataclass
class Found:
    """Facts from numbers, what to ask about them, and the tokens they used."""

    facts: list[Fact] = field(default_factory=list)
    asks: list[tuple[str, str, tuple[str, ...]]] = field(default_factory=list)
    used: set[int] = field(default_factory=set)
    wrong: list[str] = field(default_factory=list)


def quantities_of(
    readings: Sequence[Reading],
    tokens: Sequence[Token],
    text: str,
    scope: Scope,
    lexicon: Lexicon,
    gallon: str | None,
    symptom: bool,
) -> Found:
    """The facts of assigned readings.

    `symptom` says whether the line speaks of people's health: people are counted only then.
    """
    found = Found()
    settle_names(readings, lexicon)
    pair = pair_of_volumes(readings, {r.base for r in readings})
    for reading in readings:
        if not reading.base:
            continue
        name = _final(reading, readings, lexicon)
        if not name or (name.startswith("people") and not symptom):
            continue
        if pair is not None and reading is pair[1]:
            _fill(pair, tokens, text, lexicon, gallon, found)
            continue
        fact = _fact(name, reading, tokens, text, scope, lexicon, gallon, found)
        if fact is not None:
            found.facts.append(fact)
            found.used.update(range(reading.measure.first, reading.measure.last + 1), reading.places)
    found.facts += on_target(readings, found.facts, tokens)
    found.facts += _nil_before(readings, found, tokens)
    depth = depth_share(tokens, readings)
    if depth is not None and not any(f.id == "sump_fill" for f in found.facts):
        measure, whole, share = depth[0].measure, depth[1].measure, depth[2]
        said = text[tokens[measure.first].start : tokens[measure.last].end]
        found.facts.append(Fact("sump_fill", share, "fraction", "present", not measure.loose, said))
        found.used.update(range(measure.first, whole.last + 1))
    _ratio_question(readings, tokens, text, found)
    return found


_NIL = frozenset({"nil", "zero", "none", "nothing", "nichts", "null", "keins", "keines", "nix"})
_EARLIER = frozenset(
    {"was", "were", "war", "last", "before", "vorher", "frueher", "yesterday", "gestern", "letzte", "letzten",
     "previously", "earlier", "davor", "ago"}
)  # fmt: skip


def _nil_before(readings: Sequence[Reading], found: Found, tokens: Sequence[Token]) -> list[Fact]:
    """ "Nitrite 40, was nil last month": none of it before is a figure too."""
    now = next((r for r in readings if r.base == "nitrite"), None)
    ids = {f.id for f in found.facts}
    if now is None or "nitrite" not in ids or "nitrite_before" in ids:
        return []
    for at, token in enumerate(tokens):
        if token.norm not in _NIL:
            continue
        first, last = at, at
        while first > 0 and tokens[first - 1].kind != "mark":
            first -= 1
        while last + 1 < len(tokens) and tokens[last + 1].kind != "mark":
            last += 1
        apart = not first <= now.measure.first <= last
        if apart and {t.norm for t in tokens[first : last + 1]} & _EARLIER:
            found.used.add(at)
            return [Fact("nitrite_before", 0.0, "mg/L", "present", True, token.text)]
    return []


def pair_of_volumes(readings: Sequence[Reading], seen: Collection[str]) -> tuple[Reading, Reading] | None:
    """(full, now) of "80 gal machine down to 56 gal" or "30 gal down from 45"; None when not said."""
    volumes = [r for r in readings if r.base == "sump_volume"]
    if len(volumes) != 2 or "sump_fill" in seen:
        return None
    one, two = volumes
    for full, now in ((one, two), (two, one)):
        if ("down_to" in now.frames or "before" in full.frames or "now" in now.frames) and (
            full.measure.number >= now.measure.number
        ):
            return full, now
    return None


def as_strength(readings: Sequence[Reading]) -> None:
    """A reading said to be multiplied already is a strength."""
    for reading in readings:
        percent = "fraction" in fitting_units(reading.measure)
        if reading.base in ("reading", "refractometer_reading") and (reading.measure.bare or percent):
            reading.base = "concentration"
    free = [r for r in readings if not r.base and r.measure.bare and not r.measure.share]
    told = any(r.base == "concentration" and "target" not in r.frames for r in readings)
    lone = not told and len(free) == 1 and not free[0].frames & {"target", "before"}
    if lone and 0.5 <= free[0].measure.number <= 25:
        free[0].base = "concentration"  # "that 8 is already multiplied"


def settle_names(readings: Sequence[Reading], lexicon: Lexicon) -> None:
    """A "reading" is off the scale when a factor is spoken of, else a strength; a second water is another."""
    factor = any(r.base in ("refractometer_factor", "refractometer_water_reading") for r in readings)
    for reading in readings:
        if reading.base == "reading":
            raw = factor and not reading.measure.unit and "target" not in reading.frames
            reading.base = "refractometer_reading" if raw else "concentration"
    people = [r for r in readings if r.base.startswith("people")]
    if len(people) == 1 and people[0].base == "people_total" and people[0].distance < 0:
        people[0].base = "people_affected"  # "the hands of two colleagues"
    waters = [r for r in readings if r.base == "water_hardness"]
    for second in waters[1:]:
        if "other_water_hardness" not in {r.base for r in readings}:
            second.base = "other_water_hardness"


def _final(reading: Reading, readings: Sequence[Reading], lexicon: Lexicon) -> str:
    """The quantity after its frames: wanted, before, at first fill, now."""
    base, frames = reading.base, reading.frames
    if base == "ignored":
        return ""
    before: dict[str, str] = lexicon.settings.get("before", {})
    if "target" in frames and base == "concentration" and _about_ph(reading, readings):
        return ""
    if "target" in frames and base in ("concentration", "refractometer_reading", "target"):
        return "target" if reading.measure.unit != "brix" else ""
    if "target" in frames and base in ("ph", "ph_before"):
        return "ph_target"
    if "first_fill" in frames and base == "ph":
        return "ph_first_fill"
    # "The strength was 6 and titrates at 9 now": the method reads the same strength.
    same = {base, "titration"} if base == "concentration" and "was" in frames else {base}
    other_now = any(
        r is not reading and r.base in same and not r.frames & {"before", "was", "target"} for r in readings
    )
    if "before" in frames and "now" not in frames and base != "sump_volume":
        return before.get(base, "" if other_now or base == "refractometer_reading" else base)
    if "was" in frames and other_now and (base in before or base == "alkalinity"):
        return before.get(base, "")
    return base


def _about_ph(reading: Reading, readings: Sequence[Reading]) -> bool:
    """ "pH 8.2, spec says 8.8 to 9.4": a wanted pH, for which there is no id, is no wanted strength."""
    others = {r.base for r in readings if r is not reading}
    alone = "ph" in others and not others & {"concentration", "refractometer_reading", "titration"}
    return alone and reading.measure.bare and 7 <= reading.measure.number <= 11


def _fact(
    name: str,
    reading: Reading,
    tokens: Sequence[Token],
    text: str,
    scope: Scope,
    lexicon: Lexicon,
    gallon: str | None,
    found: Found,
) -> Fact | None:
    measure = reading.measure
    observable = lexicon.observables.get(name)
    if observable is None:
        return None
    said = text[tokens[measure.first].start : tokens[measure.last].end]
    if measure.ratio is not None:
        value = max(measure.ratio) / min(measure.ratio)
        if "target" in reading.frames and {t.norm for t in tokens[measure.first : measure.last]} & {"in"}:
            return Fact("target", 1.0 / value, "fraction", "present", True, said)  # one part in so many
        return Fact(name, value, observable.unit, "present", True, said)
    unit = observable.unit or "1"
    if name in lexicon.settings.get("unit_needed", ()) and measure.bare:
        found.asks.append((name, said, tuple(lexicon.settings["unit_needed"][name])))
        return None
    ends: list[float | None] = []
    assumed = False
    bounds: tuple[float | None, ...] = (measure.low, measure.high)
    bounds = counted(bounds, tokens[measure.first : measure.last + 1]) if unit == "CFU/mL" else bounds
    if name in lexicon.settings.get("thresholds", ()) and (None in bounds or bounds[0] == 0):
        bounds = (measure.high or measure.low,) * 2
    for number in bounds:
        value_in, took = (None, False) if number is None else to_unit(measure, number, unit, gallon)
        ends.append(value_in)
        assumed = assumed or took
    if "down" in reading.frames and "down_to" not in reading.frames and name == "sump_fill":
        ends = [None if e is None else 1.0 - e for e in reversed(ends)]
    if not _within(ends, observable.limits):
        if reading.distance <= 3.0:
            named = sorted({*reading.places, measure.first, measure.last})
            words = text[tokens[named[0]].start : tokens[named[-1]].end] if len(named) < 8 else said
            found.wrong.append(wrong_number(observable, measure, words, gallon) or f"{said} cannot be.")
            found.used.update(range(measure.first, measure.last + 1), reading.places)
        return None
    if assumed:
        found.asks.append((name, said, ("US gallon", "imperial gallon")))
    firm = not (measure.loose or assumed or scope.doubts_place(measure.first, measure.last))
    low, high = ends
    value_out: float | tuple[float | None, float | None]
    value_out = low if low is not None and low == high else (low, high)
    return Fact(name, value_out, observable.unit, "present", firm, said)


def _within(ends: Sequence[float | None], limits: tuple[float, float] | None) -> bool:
    if limits is None:
        return True
    return all(e is None or limits[0] - 1e-9 <= e <= limits[1] + 1e-9 for e in ends)


def _fill(
    pair: tuple[Reading, Reading],
    tokens: Sequence[Token],
    text: str,
    lexicon: Lexicon,
    gallon: str | None,
    found: Found,
) -> None:
    full, now = pair
    whole, _ = to_unit(full.measure, full.measure.number, "L", gallon)
    part, _ = to_unit(now.measure, now.measure.number, "L", gallon)
    if whole <= 0:
        return
    said = text[tokens[now.measure.first].start : tokens[now.measure.last].end]
    found.facts.append(Fact("sump_fill", part / whole, "fraction", "present", not now.measure.loose, said))
    found.used.update(range(now.measure.first, now.measure.last + 1), now.places)


def _ratio_question(readings: Sequence[Reading], tokens: Sequence[Token], text: str, found: Found) -> None:
    for reading in readings:
        ratio = reading.measure.ratio
        if ratio is None or reading.base != "mix_ratio" or any(f.id == "target" for f in found.facts):
            continue
        said = text[tokens[reading.measure.first].start : tokens[reading.measure.last].end]
        part, rest = sorted(ratio)
        found.asks.append(
            ("mix_ratio", said, (f"{part:g} part to {rest:g} of water", f"{part:g} part in {rest:g} in all"))
        )


def unclear(
    readings: Sequence[Reading], facts: Sequence[Fact], tokens: Sequence[Token], text: str
) -> list[tuple[str, str, tuple[str, ...]]]:
    """Questions about numbers that nothing explains: containers of unknown size, a number alone."""
    made: list[tuple[str, str, tuple[str, ...]]] = []
    for reading in readings:
        if reading.base:
            continue
        measure = reading.measure
        said = text[tokens[measure.first].start : tokens[measure.last].end]
        after = [t for t in tokens[measure.last + 1 : measure.last + 4] if not t.filler][:1]
        if measure.bare and after and after[0].norm in VAGUE:
            made.append(("pail", f"{said} {after[0].text}", ("how many litres or gallons it holds",)))
        elif measure.bare and not measure.share and not facts:
            made.append(("", said, ("a strength in %", "a refractometer reading", "a pH")))
    return made


def unnamed_share(
    readings: Sequence[Reading], tokens: Sequence[Token], text: str, above: float
) -> list[tuple[Measure, tuple[str, str, tuple[str, ...]]]]:
    """A percentage without a name that is too high to be taken for a strength; its reading is set aside."""
    made: list[tuple[Measure, tuple[str, str, tuple[str, ...]]]] = []
    for reading in readings:
        measure = reading.measure
        cue = reading.distance < FAR and not all(tokens[p].filler for p in reading.places)
        named = reading.base != "reading" and (reading.base != "concentration" or cue)
        high = "fraction" in fitting_units(measure) and measure.number > 100 * above
        if high and reading.base == "concentration" and _STANDS & {tokens[p].norm for p in reading.places}:
            reading.base = "sump_fill"
        if named or not high:
            continue
        reading.base = ""
        said = text[tokens[measure.first].start : tokens[measure.last].end]
        made.append((measure, ("concentration", said, ("strength", "full"))))
    return made


def trends_of(
    readings: Sequence[Reading],
    cues: Sequence[Match],
    marks: Sequence[Match],
    facts: Sequence[Fact],
    tokens: Sequence[Token],
    text: str,
    scope: Scope,
    lexicon: Lexicon,
    taken: Collection[int],
) -> list[Fact]:
    """Trends said in words ("keeps dropping") or by two readings of different times.

    `taken` holds the words that findings use: "foam is dropping" says nothing of a strength.
    """
    made: dict[str, Fact] = {}
    planned = [m.first for m in marks if m.target.name == "proposal"]
    for mark in marks:
        direction = mark.target.name.removeprefix("trend_")
        if direction == mark.target.name:
            continue
        onward = tokens[mark.last + 1].norm if mark.last + 1 < len(tokens) else ""
        if (mark.first and tokens[mark.first - 1].norm in ("to", "zu")) or onward in ("about", "around"):
            continue  # "vinegar to drop the pH": a purpose
        trend = _subject(mark, readings, cues, tokens)
        if trend and not set(taken).issuperset(mark.places) and not any(p < mark.first for p in planned):
            said = text[tokens[mark.first].start : tokens[mark.last].end]
            firm = not scope.doubts_place(mark.first, mark.last)
            made[trend] = Fact(trend, direction, None, "present", firm, said)
    spent = [r for r in readings if r.base == "alkalinity"]
    if len(spent) == 2 and spent[0].frames & {"was", "before"} and "trend_alkalinity" in lexicon.observables:
        one, two = (r.measure.number for r in spent)
        direction = "falling" if two < one else "rising" if two > one else "stable"
        made["trend_alkalinity"] = Fact("trend_alkalinity", direction, None, "present", True, "alkalinity")
    for base, trend in (("concentration", "trend_concentration"), ("ph", "trend_ph")):
        pair = _compared(base, facts)
        if pair is not None and trend not in made:
            direction = "falling" if pair[1] < pair[0] else "rising" if pair[1] > pair[0] else "stable"
            said = next(f.said for f in facts if f.id == base)
            made[trend] = Fact(trend, direction, None, "present", True, said)
    return [f for f in made.values() if f.id in lexicon.observables]


def _compared(base: str, facts: Sequence[Fact]) -> tuple[float, float] | None:
    now = next((f.value for f in facts if f.id == base and isinstance(f.value, float)), None)
    earlier = [f for i in ("before", "first_fill") for f in facts if f.id == f"{base}_{i}"]
    before = next((f.value for f in earlier if isinstance(f.value, float)), None)
    return None if now is None or before is None else (before, now)


def _subject(mark: Match, readings: Sequence[Reading], cues: Sequence[Match], tokens: Sequence[Token]) -> str:
    """The trend a word speaks of: that of the nearest reading or cue of its sentence."""
    best: tuple[float, str] = (99.0, "")
    for reading in readings:
        if reading.base in ("ph", "concentration") and not reading.places.isdisjoint(mark.places):
            return _TRENDED[reading.base]  # "has slid to 8.5" of what was found to be the pH
    spots = [(r.measure.first, r.measure.last, r.base) for r in readings if r.base]
    spots += [(c.first, c.last, c.target.name) for c in cues]
    for first, last, base in spots:
        if set(range(first, last + 1)) & set(mark.places):
            far = 0.0
        elif last < mark.first:
            far = sum(0.0 if t.filler else 1.0 for t in tokens[last + 1 : mark.first])
            hard = any(t.hard for t in tokens[last + 1 : mark.first])
            far += 99.0 if hard else 0.0
        else:
            far = 2.5 + sum(0.0 if t.filler else 1.0 for t in tokens[mark.last + 1 : first])
            far += 99.0 if any(t.hard for t in tokens[mark.last + 1 : first]) else 0.0
        if far < best[0]:
            best = (far, base)
    return _TRENDED.get(best[1], "") if best[0] <= 9 else ""
