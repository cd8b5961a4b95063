"""A person's line as facts, corrections and requests, with what was not used said openly.

`understand` is pure: the same line, lexicon and known facts give the same answer. It derives nothing but
what the line says; strength from reading and factor and the like are computed elsewhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor.dialogue.reading.acts import sort_acts
from advisor.dialogue.reading.amended import amended, shares_of_vessels, withdrawn
from advisor.dialogue.reading.answers import needs_unit, number_answer, worded_answer
from advisor.dialogue.reading.asked import undenied
from advisor.dialogue.reading.assign import assign
from advisor.dialogue.reading.clauses import Clauses
from advisor.dialogue.reading.composed import Composer, misplaced
from advisor.dialogue.reading.contrast import likened, over
from advisor.dialogue.reading.findings import facts_of, standing, told
from advisor.dialogue.reading.judged import called_right
from advisor.dialogue.reading.leading import bare_no, corrects_another, people_counted
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.limits import named_wrong, wrong_number
from advisor.dialogue.reading.line_parts import LineParts
from advisor.dialogue.reading.measured import Reading
from advisor.dialogue.reading.numbers import measures
from advisor.dialogue.reading.people import COUNT, added_up, in_one_line
from advisor.dialogue.reading.readings import as_strength, quantities_of, trends_of, unclear, unnamed_share
from advisor.dialogue.reading.requests import Request, requests_of
from advisor.dialogue.reading.scope import Scope
from advisor.dialogue.reading.settling import (
    at_a_sump_after_all,
    changes,
    elsewhere,
    implied,
    not_repeated,
    parented,
    together,
)
from advisor.dialogue.reading.subjects import (
    Subjects,
    drop_other_shares,
    give_temperatures,
    move_numbers,
)
from advisor.dialogue.reading.taken_up import taken_up
from advisor.dialogue.reading.vessels_told import doubtful_sizes, name_vessels
from advisor.dialogue.reading.whose import (
    added_when,
    drop_counted_things,
    drop_next_door,
    drop_other_ages,
    of_the_water,
    one_person,
)
from advisor.knowledge.facts import Fact

#: What people suffer from; those who do are counted only where it was spoken of.
ILL = ("skin", "breathing", "eyes_nose")

__all__ = ["Ambiguity", "Lexicon", "Request", "Understood", "load_phrases", "understand"]


@dataclass(frozen=True, slots=True)
class Ambiguity:
    """Something that can be read in more than one way and has to be asked about.

    Attributes:
        about: id of the quantity concerned.
        said: the words in question.
        choices: the possible readings, in words.
    """

    about: str
    said: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Understood:
    """What one line said.

    Attributes:
        facts: what it tells about the sump, in the order said.
        corrections: ids of known facts that the person took back or replaced.
        requests: what it asks of the tool.
        ask: what must be asked about before it is believed.
        unused: words that carried meaning and were not used; never guessed at.
        wrong: a sentence on each number that cannot be, with the limits it should lie in.
    """

    facts: tuple[Fact, ...] = ()
    corrections: tuple[str, ...] = ()
    requests: tuple[Request, ...] = ()
    ask: tuple[Ambiguity, ...] = ()
    unused: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()


def load_phrases(folder: Path) -> dict[str, Any]:
    """The compiled phrase lists of ``<folder>/<language>/*.yaml``, ready for JSON and for `Lexicon`.

    Used when the rules are built, not when the program starts. Raises BadRules for a list that is wrong.
    """
    from advisor.knowledge.yaml_source import read
    from advisor.phrasing import compile_phrases

    raw: dict[str, dict[str, Any]] = {}
    for file in sorted(folder.glob("*/*.yaml")):
        raw.setdefault(file.parent.name, {})[file.stem] = read(file).data
    return compile_phrases(raw)


def understand(
    text: str,
    *,
    lexicon: Lexicon,
    expecting: str | None = None,
    gallon: str | None = None,
    known: Sequence[Fact] = (),
) -> Understood:
    """Reads one line.

    Args:
        text: the line as typed, at most a few sentences.
        lexicon: phrases and vocabulary.
        expecting: id of the question just asked, so that "8.6", "yes" or "no" answer it.
        gallon: ``us`` or ``imperial`` when the shop's gallon is known.
        known: facts already held, for corrections such as "no, I meant 8".
    """
    tokens = lexicon.tokens(text)
    if not tokens:
        return Understood()
    expecting = expecting if expecting in lexicon.observables else None
    requests, used, whole = requests_of(tokens, text, lexicon)
    if whole and requests[0].kind in ("what_if", "why_not"):
        # A side branch records nothing, but a dangerous idea in it still gets its caution.
        read = _Line(text, tokens, lexicon, None, gallon, known, requests, ()).read()
        return Understood(
            tuple(f for f in read.facts if f.id in lexicon.settings["heard_always"]), (), requests
        )
    if whole and not (expecting and requests[0].kind in ("yes", "no")):
        told = requests[0].kind == "no" and len(tokens) > 1
        read = _Line(text, tokens, lexicon, None, gallon, known, (), ()).read() if told else Understood()
        return read if read.facts else Understood(requests=requests)  # "not the well" is more than a no
    return _Line(text, tokens, lexicon, expecting, gallon, known, requests, used).read()


class _Line(LineParts):
    """One line on its way from tokens to `Understood`."""

    def read(self) -> Understood:
        lexicon = self.lexicon
        short = [m for m in lexicon.find(self.tokens, ("short",)) if m.target.name == self.expecting]
        matches = [
            m
            for m in self._without_depths(self._meant(lexicon.find(self.tokens, ("facts",))))
            if m.target.name == self.expecting or not any({*m.places} <= {*s.places} for s in short)
        ]
        composer = Composer(self.tokens, self.marks, lexicon, matches)
        barred = misplaced(matches, composer.clauses, lexicon) + likened(matches, self.tokens, lexicon)
        matches = [m for m in matches if m not in barred] + composer.found
        matches = standing(matches, self.tokens, lexicon)
        ended = over(matches, composer.clauses, self.marks, lexicon)
        matches = [m for m in matches if m not in ended]
        matches = withdrawn(matches, self.tokens, self.marks, lexicon)
        acts = sort_acts(told(matches, self.tokens, lexicon), self.tokens, self.marks, lexicon)
        matches = taken_up(acts, self.marks, self.tokens, composer.clauses.spans)
        near = lexicon.settings.get("near", ())
        scope = Scope(self.tokens, self.marks, matches, near, composer.idle)
        for match in matches:
            self.used.update(match.places)
        numbers = self._numbers(matches, scope)
        matches = [m for m in matches if not self._counted_in(m)]
        facts = facts_of(matches, scope, self.text, self.tokens, lexicon, self.subjects)
        ids = {f.id for f in facts}
        facts += [f for f in numbers if f.id not in ids or not f.id.startswith("trend")]
        facts = undenied(facts, self.tokens)
        facts = changes(together(facts, lexicon), self.marks, lexicon)
        facts = in_one_line(facts, self.tokens)
        several = people_counted(self.readings, self.tokens, self.marks)
        facts = not_repeated(facts, lexicon, self.expecting, several, self.known)
        facts += one_person(facts, self.tokens, lexicon) + added_when(facts, self.tokens)
        facts = parented(facts, self.known, lexicon, self.expecting, scope.before_ids)
        facts = elsewhere(facts, self.known, self.tokens, lexicon)
        facts = implied(facts, numbers, lexicon) + self._called_right(facts)
        corrections, facts = self._corrected(facts)
        facts = added_up(facts, self.known, self.tokens, self.marks, lexicon, self.expecting == COUNT)
        facts += at_a_sump_after_all(self.known, self.tokens, lexicon)
        answered = self._answered(facts, scope)
        facts = [*facts, *answered]
        self.used |= scope.used
        if not self.asks and not self.wrong and self.expecting is None:
            self.asks += unclear(self.readings, facts, self.tokens, self.text)
        asks = tuple(Ambiguity(*a) for a in self.asks)
        settled = bool(answered or corrections) or (
            self.expecting is not None and not bare_no(self.tokens, self.lexicon)
        )
        requests = tuple(r for r in self.requests if r.kind not in ("yes", "no") or not settled)
        return Understood(tuple(facts), corrections, requests, asks, self._unused(), tuple(self.wrong))

    def _called_right(self, facts: Sequence[Fact]) -> list[Fact]:
        right, places = called_right(self.readings, facts, self.tokens)
        self.used |= places
        return right

    # ---- numbers

    def _named_numbers(self, matches: Sequence[Match]) -> list[Reading]:
        """Every number of the line with the quantity it is, as far as the line tells."""
        found = measures(self.tokens, self.marks, self._blocked(matches) | self._depth_numbers())
        found, vessels = shares_of_vessels(self.tokens, amended(self.tokens, found))
        readings = assign(self.tokens, found, self.cues, self.marks, self.lexicon)
        self.idle = name_vessels(self.tokens, readings, self.marks, self.gallon)
        self.subjects = Subjects(self.tokens, self.marks, [m.first for m in found])
        readings += [Reading(v, "pail", distance=0.0) for v in vessels]
        multiplied = any(m.target.name == "factor_applied" and m.target.value == "yes" for m in matches)
        if multiplied:
            as_strength(readings)
        move_numbers(readings, self.subjects, self.lexicon)
        clauses = Clauses(self.tokens, self.marks)
        give_temperatures(readings, clauses)
        drop_other_shares(readings, clauses)
        drop_other_ages(readings, clauses)
        drop_next_door(readings, clauses, self.lexicon)
        of_the_water(readings, self.marks, self.tokens)
        drop_counted_things(readings, self.tokens, self._setting("spoken"))
        return readings

    def _numbers(self, matches: Sequence[Match], scope: Scope) -> list[Fact]:
        readings = self.readings = self._named_numbers(matches)
        self.asks: list[tuple[str, str, tuple[str, ...]]] = []
        made, self.wrong = self._fill_of_depths()
        self._doubt_sizes(readings)
        self.answering: Reading | None = None
        if (
            self.expecting
            and self.depths is None
            and not any(m.target.name == self.expecting for m in matches)
            and not corrects_another(self.expecting, readings, self.tokens, self.marks, self.lexicon)
        ):
            asked = [r for r in readings if r not in self.idle]
            if needs_unit(self.expecting, asked, self.lexicon):
                said = self.text.strip()
                choices = tuple(self.lexicon.settings["unit_needed"][self.expecting])
                self.asks.append((self.expecting, said, choices))
                self.used.update(range(len(self.tokens)))
                return []
            answer = number_answer(
                self.expecting, asked, self.tokens, self.text, scope, self.lexicon, self.gallon
            )
            if answer is not None:
                fact, reading = answer
                self.answering = reading
                reading.base = ""
                if self.expecting in self._setting("before"):
                    for other in readings:
                        if not other.base and other.measure.bare and other.frames & {"before", "was"}:
                            other.base = self.expecting
                made.append(fact)
                self.used.update(range(reading.measure.first, reading.measure.last + 1))
            else:
                self._wrong_answer(asked)
        return self._numbers_told(matches, readings, scope, made)

    def _numbers_told(
        self, matches: Sequence[Match], readings: list[Reading], scope: Scope, made: list[Fact]
    ) -> list[Fact]:
        """The facts of every number that is not the answer to the open question, and the trends they show."""
        self._wrong_names(readings)
        symptom = any(m.target.name in ILL for m in matches)
        symptom = symptom or any(f.id in ILL and f.status == "present" for f in self.known)
        symptom = symptom or people_counted(readings, self.tokens, self.marks)
        if self.expecting != "concentration":
            above = float(self.lexicon.settings.get("strength_asked_above", 1.0))
            for measure, ask in unnamed_share(readings, self.tokens, self.text, above):
                self.asks.append(ask)
                self.used.update(range(measure.first, measure.last + 1))
        result = quantities_of(readings, self.tokens, self.text, scope, self.lexicon, self.gallon, symptom)
        self.asks += result.asks
        self.wrong += result.wrong
        self.used |= result.used
        made += [f for f in result.facts if not any(f.id == m.id for m in made)]
        taken = {p for m in matches for p in m.places if not m.target.name.startswith("trend")}
        trends = trends_of(
            readings, self.cues, self.marks, made, self.tokens, self.text, scope, self.lexicon, taken
        )
        return made + trends

    def _doubt_sizes(self, readings: Sequence[Reading]) -> None:
        """Sizes of a sump that may be a thousandfold larger are asked for again."""
        for reading, sentence in doubtful_sizes(readings, self.tokens, self.text, self.expecting):
            self.wrong.append(sentence)
            self.idle.append(reading)
            self.used.update(range(reading.measure.first, reading.measure.last + 1))

    def _wrong_answer(self, readings: Sequence[Reading]) -> None:
        """A bare number that the quantity asked about cannot be."""
        observable = self.lexicon.observables[self.expecting or ""]
        bare = [r.measure for r in readings if r.measure.bare and not r.base]
        if observable.kind == "quantity" and observable.unit and len(bare) == 1:
            said = self.text[self.tokens[bare[0].first].start : self.tokens[bare[0].last].end]
            sentence = wrong_number(observable, bare[0], said, self.gallon)
            if sentence:
                self.wrong.append(sentence)
                self.used.update(range(bare[0].first, bare[0].last + 1))

    def _wrong_names(self, readings: Sequence[Reading]) -> None:
        if self.wrong:
            return
        for sentence, places in named_wrong(
            readings, self.cues, self.tokens, self.text, self.lexicon, self.gallon
        ):
            self.wrong.append(sentence)
            self.used |= places

    # ---- the line as a whole

    def _corrected(self, facts: list[Fact]) -> tuple[tuple[str, ...], list[Fact]]:
        """Ids taken back by "no, I meant 8": those named anew, else the one a bare number can only be."""
        marks = [m for m in self.marks if m.target.name == "correction"]
        if not marks or not self.known:
            return (), facts
        for mark in marks:
            self.used.update(mark.places)
        held = {f.id: f for f in self.known}
        facts = [self._as_held(f, held) for f in facts]
        named = tuple(dict.fromkeys(f.id for f in facts if f.id in held))
        if named:
            return named, facts
        free = [
            r
            for r in self.readings
            if not (r.base or r in self.idle or r is self.answering or self._denied_number(r))
        ]
        for fact in reversed(self.known):
            observable = self.lexicon.observables.get(fact.id)
            if observable is None or observable.kind != "quantity" or not free:
                continue
            if fact.id in self._setting("unit_needed") and free[-1].measure.bare:
                continue
            scope = Scope(self.tokens, self.marks, [], ())
            answer = number_answer(
                fact.id, free[-1:], self.tokens, self.text, scope, self.lexicon, self.gallon
            )
            if answer is not None:
                self.used.update(range(answer[1].measure.first, answer[1].measure.last + 1))
                return (fact.id,), [*facts, answer[0]]
        return (), facts

    def _answered(self, facts: Sequence[Fact], scope: Scope) -> list[Fact]:
        told = self.depths is not None or any(f.id == self.expecting for f in facts)
        if self.expecting is None or told:
            return []
        signs = self.lexicon.settings["implied_yes"].get(self.expecting, ())
        implied = [f for f in facts if f.status == "present" and f.id in signs]
        if implied:
            return [Fact(self.expecting, "yes", None, "present", implied[0].firm, implied[0].said)]
        kinds = {r.kind for r in self.requests} | self._opening_answer(scope)
        if not bare_no(self.tokens, self.lexicon):
            kinds -= {"no"}
        if any(m.target.name == "correction" and m.first <= 2 for m in self.marks):
            if facts:  # "no i meant no one is ill": it puts right what was said before
                return []
            kinds -= {"yes", "no"}
        answer = worded_answer(self.expecting, self.tokens, self.text, kinds, self.lexicon)
        if answer and not self.requests:
            self.used.update(range(len(self.tokens)))
        return answer
