"""Short answers to the question just asked: a bare number, a yes or no, one of the offered words."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from advisor.dialogue.reading.lexicon import Lexicon
from advisor.dialogue.reading.measured import Reading, fitting_units, to_unit
from advisor.dialogue.reading.numbers import Measure
from advisor.dialogue.reading.scope import Scope
from advisor.dialogue.reading.tokens import Token, counted
from advisor.knowledge.facts import Fact

#: Units of what no instrument shows.
_NOT_READ = {"day", "h", "min", "L", "L/day", "L/min"}


def number_answer(
    expecting: str,
    readings: Sequence[Reading],
    tokens: Sequence[Token],
    text: str,
    scope: Scope,
    lexicon: Lexicon,
    gallon: str | None,
) -> tuple[Fact, Reading] | None:
    """The expected quantity from the first number nothing else claimed by name."""
    observable = lexicon.observables[expecting]
    if observable.kind != "quantity" or observable.unit is None:
        return None
    earlier = [r for r in readings if r.frames & {"before", "was"}]
    for reading in sorted(readings, key=lambda r: r in earlier):
        measure = reading.measure
        if "target" in reading.frames and expecting != "target" and observable.unit != "pH":
            continue  # "target 7" says what it should be, whatever was asked
        if (
            reading.base
            and reading.distance <= 1.5
            and reading.base not in (expecting, "reading", "concentration")
        ):
            continue
        if reading.base == "reading" and reading.distance <= 3.0 and observable.unit in _NOT_READ:
            continue  # "reads 2.1" is no age and no volume
        if measure.unit and observable.unit not in fitting_units(measure):
            continue
        if measure.ratio is not None and expecting not in ("mix_ratio",):
            continue
        fact = _number_fact(expecting, measure, tokens, text, scope, lexicon, gallon)
        if fact is not None:
            return fact, reading
    return None


def _number_fact(
    expecting: str,
    measure: Measure,
    tokens: Sequence[Token],
    text: str,
    scope: Scope,
    lexicon: Lexicon,
    gallon: str | None,
) -> Fact | None:
    observable = lexicon.observables[expecting]
    unit = observable.unit or "1"
    said = text[tokens[measure.first].start : tokens[measure.last].end]
    if measure.ratio is not None:
        return Fact(expecting, max(measure.ratio) / min(measure.ratio), unit, "present", True, said)
    bounds: tuple[float | None, ...] = (measure.low, measure.high)
    bounds = counted(bounds, tokens[measure.first : measure.last + 1]) if unit == "CFU/mL" else bounds
    ends = [None if n is None else to_unit(measure, n, unit, gallon) for n in bounds]
    values = [None if e is None else e[0] for e in ends]
    assumed = any(e is not None and e[1] for e in ends)
    limits = observable.limits
    if limits and any(v is not None and not limits[0] <= v <= limits[1] for v in values):
        return None
    firm = not (measure.loose or assumed or scope.doubts_place(measure.first, measure.last))
    low, high = values
    return Fact(
        expecting, low if low is not None and low == high else (low, high), unit, "present", firm, said
    )


def needs_unit(expecting: str, readings: Sequence[Reading], lexicon: Lexicon) -> bool:
    """True when the only answer is a number without the unit this question cannot do without."""
    needed = lexicon.settings.get("unit_needed", {})
    return expecting in needed and bool(readings) and all(r.measure.bare and not r.base for r in readings)


def worded_answer(
    expecting: str, tokens: Sequence[Token], text: str, kinds: Collection[str], lexicon: Lexicon
) -> list[Fact]:
    """The expected choice from an offered word, a short phrase or a plain yes or no."""
    observable = lexicon.observables[expecting]
    said = text.strip()
    if observable.kind == "quantity":
        words = [m for m in lexicon.find(tokens, ("short",)) if m.target.name == expecting]
        return [
            Fact(expecting, float(m.target.value), observable.unit, "present", True, said) for m in words[:1]
        ]
    named = [a for a in observable.answers if _same(a, text)]
    if named:
        return [Fact(expecting, named[0], None, "present", True, said)]
    short = [m for m in lexicon.find(tokens, ("short",)) if m.target.name == expecting]
    if short:
        best = max(short, key=lambda m: (len(m.places), m.target.value == "-"))
        if best.target.value == "-":
            return [Fact(expecting, None, None, "ruled_out", True, said)]
        return [Fact(expecting, best.target.value, None, "present", True, said)]
    for kind in ("yes", "no"):
        if kind in kinds:
            return _plain_answer(expecting, kind, said, lexicon)
    return []


def _same(answer: str, text: str) -> bool:
    return "".join(c for c in answer.casefold() if c.isalnum()) == "".join(
        c for c in text.casefold() if c.isalnum()
    )


def _plain_answer(expecting: str, kind: str, said: str, lexicon: Lexicon) -> list[Fact]:
    """What yes or no means for this question; nothing where the question has no such answer."""
    observable = lexicon.observables[expecting]
    if kind in observable.answers:
        return [Fact(expecting, kind, None, "present", True, said)]
    meaning = lexicon.settings.get("plain_answers", {}).get(expecting, {}).get(kind)
    if (
        meaning is None
        and kind == "no"
        and observable.role in ("sign", "safety")
        and observable.kind == "any_of"
    ):
        meaning = "whole"
    if meaning is None:
        return []
    if meaning == "whole":
        return [Fact(expecting, None, None, "ruled_out", True, said)]
    return [Fact(expecting, str(meaning), None, "present", True, said)]


def firmed(facts: Sequence[Fact], doubtful: bool) -> list[Fact]:
    """The facts, loose when the whole answer was doubtful."""
    return [replace(f, firm=False) for f in facts] if doubtful else list(facts)
