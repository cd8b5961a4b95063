"""What can be asked of one line on its way from tokens to facts: which words are figures, labels, counts."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from advisor.dialogue.reading.depths import Told, told_depths
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import FAR, Reading
from advisor.dialogue.reading.numbers import measures
from advisor.dialogue.reading.requests import Request
from advisor.dialogue.reading.scope import Scope
from advisor.dialogue.reading.subjects import Subjects
from advisor.dialogue.reading.tokens import Token
from advisor.dialogue.reading.units import unit_index
from advisor.dialogue.reading.vessels_told import without_vessels
from advisor.knowledge.facts import Fact
from advisor.quantities import spelling_key

#: What is wrong with depths that tell no share.
LONE_DEPTH = "{said} alone does not tell how full it is. Type it with the depth when full: 10 of 40 cm."
WRONG_DEPTHS = "{now} now and {full} when full cannot be. Type the depth now and when full: 10 of 40 cm."
MANY_DEPTHS = "{said}: which is now, and which when full? Type the two of them: 10 of 40 cm."
#: Words that put a wish right, not what was measured ("it was 6 percent").
_WISHED = frozenset({"make", "change", "rather", "want", "go", "lieber", "mach"})
#: Marks that only name what is spoken of: their words are used where a finding is made of them.
_NAMING = ("topic_", "state_", "also", "before_series", "first_series")


class LineParts:
    """One line with its tokens, marks and cues; the readings and subjects are filled in as it is read."""

    readings: list[Reading]
    subjects: Subjects
    depths: Told | None

    def __init__(
        self,
        text: str,
        tokens: list[Token],
        lexicon: Lexicon,
        expecting: str | None,
        gallon: str | None,
        known: Sequence[Fact],
        requests: tuple[Request, ...],
        used: Collection[int],
    ) -> None:
        self.text, self.tokens, self.lexicon = text, tokens, lexicon
        self.expecting, self.gallon, self.known = expecting, gallon, known
        self.requests = requests
        self.used: set[int] = set(used)
        self.marks = without_vessels(lexicon.find(tokens, ("marks",)), tokens)
        self.cues = lexicon.find(tokens, ("cues",))
        self.depths = self._depths_told()

    def _depths_told(self) -> Told | None:
        """The depths that tell how full it is, where that was asked."""
        if self.expecting != "sump_fill":
            return None
        told = told_depths(self.tokens, measures(self.tokens, self.marks, self._blocked([])), self.text)
        if told is not None:
            self.used.update(told.places)
        return told

    def _without_depths(self, matches: Sequence[Match]) -> list[Match]:
        """Findings, less those made of the words that say which depth is which ("when full")."""
        places = self.depths.places if self.depths is not None else frozenset()
        return [m for m in matches if places.isdisjoint(m.places)]

    def _depth_numbers(self) -> set[int]:
        return {*self.depths.places} if self.depths is not None else set()

    def _fill_of_depths(self) -> tuple[list[Fact], list[str]]:
        """How full the depths say it is, or what is wrong with them."""
        told = self.depths
        if told is None:
            return [], []
        if told.share is not None:
            return [Fact("sump_fill", told.share, "fraction", "present", not told.loose, told.said)], []
        if told.lone:
            return [], [LONE_DEPTH.format(said=told.lone)]
        now, full = told.wrong or (told.said, "")
        return [], [WRONG_DEPTHS.format(now=now, full=full) if full else MANY_DEPTHS.format(said=now)]

    def _meant(self, matches: Sequence[Match]) -> list[Match]:
        """Without those inside a phrase that only looks like a finding ("turning grey" is no lathe work)."""
        marks = [
            m
            for m in self.marks
            if m.target.name in ("not_meant", "not_meant_first", "not_meant_last", "not_meant_before")
        ]
        labels = [m for m in self.marks if m.target.name == "label" and self.tokens[m.last].kind == "number"]
        openings = {m.first for m in self.marks if m.target.name == "no_opening"}
        return [
            match
            for match in matches
            if not self._figure(match)
            and not (match.target.name == "operation" and self._numbered(match, labels))
            and not self._true_zero(match)
            and not (match.first in openings and match.last > match.first)
            and not any(
                ({*match.places} < {*m.places} and (m.target.name == "not_meant" or m.first in match.places))
                or (m.target.name == "not_meant_last" and m.first == match.last)
                or (m.target.name == "not_meant_before" and m.last == match.first)
                for m in marks
            )
        ]

    def _numbered(self, match: Match, labels: Sequence[Match]) -> bool:
        """ "On mill 3": a machine's name, no word of what is done on it."""
        return any(
            {*match.places} <= {*m.places} and m.last - m.first == 1 and not self._has_unit(m.last + 1)
            for m in labels
        )

    def _true_zero(self, match: Match) -> bool:
        """ "Water reads 0" is a right zero; "zeroed on water and reads 5" says nothing of the water."""
        numbers = [p for p in match.places if self.tokens[p].kind == "number"]
        if match.target.name != "instrument" or match.target.value != "not_zeroed" or not numbers:
            return False
        between = self.tokens[match.first : match.last]
        return (
            self.tokens[numbers[-1]].value == 0.0
            or any(t.norm in ("and", "und") for t in between)
            or (
                self._has_unit(numbers[-1] + 1)
                and "brix" not in self.tokens[min(numbers[-1] + 1, len(self.tokens) - 1)].norm
            )
        )

    def _figure(self, match: Match) -> bool:
        """ "Well is 410": a number behind "is" or "at" is a figure, not the grade of a metal."""
        if match.target.name != "workpiece" or self.tokens[match.first].kind != "number":
            return False
        before = self.tokens[match.first - 1].norm if match.first else ""
        alone = match.first == match.last
        return alone and (
            before in ("is", "was", "at", "to", "reads", "=", ":") or self._has_unit(match.last + 1)
        )

    def _blocked(self, matches: Sequence[Match]) -> set[int]:
        """Numbers inside a phrase, and those that name a machine or a part."""
        taking = [m for m in matches if m.target.name not in self._setting("numbers_free")]
        blocked = {p for m in taking for p in m.places if self.tokens[p].value is not None}
        for match in matches:
            if match.target.value == "run_down":  # "let it run down to half": a plan, no level
                blocked.update(p for p in range(match.first, match.last + 4))
        for mark in self.marks:
            if mark.target.name != "label" or self._has_unit(mark.last + 1):
                continue
            if {*range(mark.first, mark.last + 1)} - {*mark.places} - self._signs(mark):
                continue  # "1 part to 20", "of 14 machines have 3"
            number = self.tokens[mark.last]
            ahead = {t.norm for t in self.tokens[max(0, mark.first - 2) : mark.first]}
            if self.tokens[mark.first].norm in ("sump", "tank") and ahead & {"in", "im"}:
                continue
            if self.tokens[mark.first].norm in ("sump", "tank") and (number.value or 0.0) >= 100:
                continue
            if number.kind == "number" and "." not in number.text and "," not in number.text:
                blocked.add(mark.last)
                self.used.update(mark.places)
        return blocked

    def _signs(self, mark: Match) -> set[int]:
        return {p for p in range(mark.first, mark.last) if self.tokens[p].kind == "mark"}

    def _has_unit(self, at: int) -> bool:
        words = [spelling_key(t.text) for t in self.tokens[at : at + 3]]
        return any("".join(words[:n]) in unit_index() for n in range(1, len(words) + 1))

    def _counted_in(self, match: Match) -> bool:
        """True for a word that only names or belongs to a number ("tramp oil 3 %", "10^3 yeast")."""
        places = set(match.places)
        for reading in self.readings:
            inside = set(range(reading.measure.first, reading.measure.last + 1))
            if reading.base and places <= inside and match.target.name not in self._setting("numbers_free"):
                return True
            zeroed = self.subjects.of(match.first) == "zero" and reading.base == "refractometer_water_reading"
            if match.target.name == "topup" and zeroed:
                return True
            if match.target.name == "hardness_band" and match.last == reading.measure.last + 1:
                return True
            named = bool(reading.base) and places <= reading.places
            if named and match.target.name == "workpiece" and reading.base in self._setting("metals"):
                return True
            beside = match.first <= reading.measure.last + 1 and match.last >= reading.measure.first
            if match.target.value == "acid" and reading.base == "alkalinity" and beside:
                return True  # "alkalinity 3.1 ml acid": the unit, no deed
            if match.target.value == "nitrite_in" and reading.base.startswith("nitrite"):
                return True  # "nitrite in the sump 20": measured, not put in
            sump = reading.base == "sump_hardness" and match.target.name == "hardness_band"
            if sump and not places.isdisjoint(reading.places):
                return True
            if named and match.target.name in self._setting("named_by_numbers"):
                return True
        return False

    def _setting(self, name: str) -> Collection[str]:
        found: Collection[str] = self.lexicon.settings.get(name, ())
        return found

    def _as_held(self, fact: Fact, held: Collection[str]) -> Fact:
        """ "The reading was 6" corrects the reading held, "make that 8 %" a target told last."""
        both = ("concentration", "refractometer_reading")
        if fact.id == both[0] and "target" in held and not any(r.distance < FAR for r in self.readings):
            told = [f.id for f in self.known if f.id in (*both, "titration", "target")]
            if told[-1] == "target" and _WISHED & {t.norm for t in self.tokens}:
                return replace(fact, id="target")
        if fact.id == both[0] and both[0] not in held and both[1] in held and isinstance(fact.value, float):
            return replace(fact, id=both[1], value=fact.value * 100, unit="°Bx")
        return fact

    def _denied_number(self, reading: Reading) -> bool:
        """The 7 of "8, not 7"."""
        before = self.tokens[max(0, reading.measure.first - 1) : reading.measure.first]
        return any(t.norm in ("not", "nicht") for t in before)

    def _opening_answer(self, scope: Scope) -> set[str]:
        """A yes or no that opens the line and denies nothing in it ("no still there")."""
        opening = [
            m
            for m in self.lexicon.find(self.tokens[:1], ("requests",))
            if m.target.name in ("yes", "no") and 0 not in scope.used
        ]
        return {m.target.name for m in opening}

    def _unused(self) -> tuple[str, ...]:
        """Runs of content words that nothing used."""
        spoken = self.lexicon.settings.get("spoken", ())
        for mark in self.marks:
            if mark.target.name != "scope_end" and not mark.target.name.startswith(_NAMING):
                self.used.update(mark.places)
        runs: list[list[Token]] = []
        last = -2
        for at, token in enumerate(self.tokens):
            if at in self.used or token.kind == "mark" or token.filler or token.norm in spoken:
                continue
            if at == last + 1:
                runs[-1].append(token)
            else:
                runs.append([token])
            last = at
        return tuple(self.text[run[0].start : run[-1].end] for run in runs)
