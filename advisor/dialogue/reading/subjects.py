"""What a stretch of a line speaks of when it is not the sump: fresh mix in a jar, a shaken bottle, the water.

A mark ``subject_X`` in the phrase lists names such a subject. It reaches forward to the next subject or the
end of the sentence, and back to the start of its own clause when it closes that clause ("1 on plain water").
Findings and numbers inside its reach then belong to the ids that the settings ``moves`` and
``numbers_moved`` give for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from advisor.dialogue.reading.clauses import Clauses
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import Reading, fitting_units, inherited
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact

#: A mark that opens with one of these may close its clause: what it speaks of stands before it.
_CLOSING = frozenset({"in", "on", "of", "with", "from", "for", "im", "mit", "auf", "vom", "an", "in der"})
#: A clause that opens with one of these still speaks of the same thing ("with plain water, reads 0.3").
_GOING_ON = frozenset({"reads", "reading", "shows", "showed", "showing", "gives", "gave", "zeigt", "says"})
#: Subjects that reach no further than their own clause.
_CLAUSE_ONLY = frozenset({"water", "zero"})


@dataclass(frozen=True, slots=True)
class Subject:
    """A subject's name and the places it governs, ends included; `closing` when it stands behind them."""

    name: str
    first: int
    last: int
    closing: bool
    places: tuple[int, ...]


class Subjects:
    """The subjects of a line."""

    def __init__(self, tokens: Sequence[Token], marks: Sequence[Match], numbers: Sequence[int] = ()) -> None:
        self.tokens = tokens
        found = [m for m in marks if m.target.name.startswith("subject_")]
        kept = [m for m in found if not any(_within(m, o) for o in found)]
        kept.sort(key=lambda m: (m.first, -len(m.places)))
        self.all: list[Subject] = []
        for at, mark in enumerate(kept):
            following = next((m.first for m in kept[at + 1 :] if m.first > mark.last), len(tokens))
            earlier = max((m.last for m in kept[:at]), default=-1)
            self.all.append(self._reach(mark, earlier, following, numbers))

    def _reach(self, mark: Match, earlier: int, following: int, numbers: Sequence[int]) -> Subject:
        name = mark.target.name.removeprefix("subject_")
        if name == "jar" and any(s.name == "fresh" for s in self.all):
            name = "fresh"  # "a jar of fresh mix split. The jar read 5.1"
        carries = name.removesuffix("_on")
        first = mark.first
        while first > earlier + 1 and not self._clause_ends(first - 1):
            first -= 1
        opens = self.tokens[mark.first].norm in _CLOSING or (
            mark.first > 0 and self.tokens[mark.first - 1].norm in _CLOSING
        )
        behind = any(first <= n < mark.first for n in numbers)
        closing = opens and behind
        inside = [n for n in numbers if first <= n < mark.first]
        if closing and earlier >= 0 and len(inside) > 1:
            first = inside[-1]  # "jar 1.9 mS against 4.4 in the sump": the first number is the jar's
        last = mark.last
        while last + 1 < following and not self.tokens[last + 1].hard:
            goes_on = last + 2 < len(self.tokens) and self.tokens[last + 2].norm in _GOING_ON
            if (name in _CLAUSE_ONLY or closing) and self._clause_ends(last + 1) and not goes_on:
                break
            last += 1
        if name == "jar" and opens and self._ends_sentence(mark.last) and earlier < 0:
            first = 0  # "oil up top, clear water under it in the jar"
        return Subject(carries, first if opens else mark.first, last, closing, mark.places)

    def _ends_sentence(self, at: int) -> bool:
        rest = self.tokens[at + 1 :]
        return all(t.filler or t.hard for t in rest) and not any(t.hard for t in self.tokens[:at])

    def _clause_ends(self, at: int) -> bool:
        token = self.tokens[at]
        return token.hard or token.text in ",;(" or token.norm in ("but", "aber", "so", "while")

    def of(self, place: int) -> str:
        """The subject that governs a place; "" where none does."""
        for subject in reversed(self.all):
            if subject.first <= place <= subject.last:
                return subject.name
        return ""

    def of_number(self, first: int, last: int) -> str:
        """The subject that governs a number: one that closes its clause governs those before it alone."""
        for subject in reversed(self.all):
            if subject.closing and subject.first <= first and last < min(subject.places):
                return subject.name
            if not subject.closing and min(subject.places) <= last <= subject.last:
                return subject.name
        return ""


def _within(mark: Match, other: Match) -> bool:
    """True for "jar" inside "fresh mix in a jam jar"."""
    if {*mark.places} < {*other.places}:
        return True
    wider = other.last - other.first > mark.last - mark.first
    return wider and other.first <= mark.first and mark.last <= other.last


def moved_fact(fact: Fact, subject: str, moves: Mapping[str, Mapping[str, str]]) -> Fact | None:
    """The fact as it holds for `subject`; None when it says nothing there."""
    rules = moves.get(subject, {})
    denied = "not " if fact.status == "ruled_out" else ""
    for key in (f"{denied}{fact.id}: {fact.value}", f"{denied}{fact.id}"):
        if key in rules:
            if not rules[key]:
                return None
            said = rules[key].removeprefix("not ")
            name, _, value = said.partition(": ")
            there = replace(fact, id=name, value=value, status="present")
            return there if said == rules[key] else replace(there, status="ruled_out")
    return fact


def move_numbers(readings: Sequence[Reading], subjects: Subjects, lexicon: Lexicon) -> None:
    """Gives numbers inside a subject's reach the quantity they are of it, and short ones their quantity."""
    rules: dict[str, dict[str, str]] = lexicon.settings.get("numbers_moved", {})
    elliptic = set(lexicon.settings.get("elliptic", ()))
    zeroed = any(t.norm in ("zeroed", "genullt", "zero", "nulled") for t in subjects.tokens)
    previous: Reading | None = None
    dropped: set[str] = set()
    for reading in readings:
        measure = reading.measure
        subject = subjects.of_number(measure.first, measure.last)
        short = subject and previous is not None and measure.bare and previous.base in elliptic
        # "Makeup 12", "the sump is 8.4": such a cue names the place here, no quantity of its own.
        if short and previous is not None and reading.base in ("", "makeup_strength", "sump_fill"):
            inherited(reading, previous, lexicon)
        if reading.base:
            previous = replace(reading)
        if not subject or subject in dropped or subject not in rules or not reading.base:
            continue
        if reading.base not in rules[subject]:
            if subject != "sump" and reading.base in ("concentration", "ph", "refractometer_reading"):
                dropped.add(subject)
            continue
        if subject == "zero" and measure.number > 1.0 and zeroed:
            continue  # "zeroed it on tap water, reads 6.1"
        name = rules[subject][reading.base]
        unit = lexicon.observables[name].unit if name else None
        if name and measure.unit and unit not in fitting_units(measure):
            name = ""
        reading.base = name
        if name and previous is not None and name in elliptic:
            previous = replace(reading)


_WEATHER = frozenset(
    {"heat", "heatwave", "hot", "summer", "warm", "degrees", "hitze", "heiss", "hitzewelle", "sommer", "grad",
     "boiling", "baking", "scorching", "sweltering", "chiller", "cooler"}
)  # fmt: skip


def drop_other_shares(readings: Sequence[Reading], clauses: Clauses) -> None:
    """ "Tool life is down by a third" fills no sump: share and time are of what its clause names."""
    drop_other_times(readings, clauses)
    for reading in readings:
        measure = reading.measure
        if reading.base != "sump_fill" or not (measure.share or measure.unit):
            continue
        said = clauses.said_of(measure.first, measure.last)
        if said and not {m.target.name for m in said} & _FILLED:
            reading.base = ""


_FILLED = frozenset(
    {"topic_fluid", "topic_tank", "topic_machine", "topic_pump", "topic_refill", "topic_scale",
     "topic_time_off", "topic_drum", "topic_foam", "topic_water", "topic_oil"}
)  # fmt: skip


_STILL = frozenset(
    {"topic_skimmer", "topic_extraction", "topic_filter", "topic_strips", "topic_meter", "topic_drum",
     "topic_person", "topic_nozzle"}
)  # fmt: skip


def drop_other_times(readings: Sequence[Reading], clauses: Clauses) -> None:
    """ "The skimmer has been off a month": no machine has stood still for that."""
    for reading in readings:
        if reading.base != "idle_time":
            continue
        there = clauses.within(clauses.of(reading.measure.first))
        before = [m for m in there if m.last < reading.measure.first]
        if (before[-1:] or there[:1]) and (before or there)[-1 if before else 0].target.name in _STILL:
            reading.base = ""


def give_temperatures(readings: Sequence[Reading], clauses: Clauses) -> None:
    """ "Sump's at 38" in a heat wave is a temperature, and the 3 degrees of a drum are the concentrate's."""
    tokens = clauses.tokens
    weather = any(t.norm in _WEATHER for t in tokens) or any(r.base == "ignored" for r in readings)
    named = any(t.norm.startswith(("temp", "degree", "grad")) for t in tokens)
    for reading in readings:
        measure = reading.measure
        if reading.base == "conductivity" and measure.number < 150 and _pure(clauses):
            reading.base = "water_conductivity"  # no emulsion is as pure as that
        words = {tokens[p].norm for p in reading.places}
        unnamed = reading.base in ("", "sump_fill", "concentration") and words.isdisjoint(_STRENGTH)
        before = tokens[measure.first - 1].norm if measure.first else ""
        least = 5 if named else 25
        if weather and unnamed and measure.bare and least < measure.number <= 60 and before in _AT:
            reading.base = "fluid_temperature"
        if reading.base != "fluid_temperature":
            continue
        said = clauses.said_of(measure.first, measure.last, _WARM, carry=True)
        if (
            said
            and said[0].target.name == "topic_water"
            and not {t.norm for t in tokens}.isdisjoint(_HARDNESS)
        ):
            reading.base, reading.measure = "water_hardness", replace(measure, unit="dh")
            continue
        if said and said[0].target.name == "topic_drum":
            reading.base = "concentrate_temperature"


def _pure(clauses: Clauses) -> bool:
    """True where the line speaks of water, or of what makes it pure."""
    words = {t.norm for t in clauses.tokens}
    return bool(
        words & {"ro", "di", "demin", "deionised", "osmosis", "osmose", "osmosewasser", "water", "wasser"}
    )


_HARDNESS = frozenset(
    {"hard", "soft", "hardness", "hart", "weich", "haerte", "wasserhaerte", "kalk", "kalkhaltig"}
)
_STRENGTH = frozenset({"strength", "concentration", "staerke", "konzentration", "full", "voll", "percent"})
_AT = frozenset({"at", "on", "to", "is", "bei", "auf", "hat", "ist", "reads", "hit", "s"})
_WARM = frozenset({"topic_drum", "topic_fluid", "topic_tank", "topic_machine", "topic_water"})
