"""Numbers in a line, with the unit and the range around them, before anyone knows what they measure."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from advisor.dialogue.reading.lexicon import Match
from advisor.dialogue.reading.number_words import is_one_of, no_figure, over_and_over
from advisor.dialogue.reading.tokens import Token
from advisor.dialogue.reading.units import SHORT, unit_index
from advisor.quantities import spelling_key
from advisor.unit_table import UNITS

#: Unit spellings of one or two letters that are words or labels unless they touch the number.
_ONLY_GLUED = frozenset({"c", "f", "e", "d", "m", "s", "k", "y", "th", "gr", "g", "h", "us", "x", "mo", "pt"})
_JOINTS = frozenset({"to", "bis", "till", "til", "and", "or", "und", "oder", "auf", "in", "zu"})
_LINKING = frozenset({"is", "at", "of", "was", "=", ":", "ist", "about"})
_ABOUT, _ZEROED = {"about", "around", "maybe", "just"}, {"haerte", "hardness"}
_TIME = frozenset({"day", "h", "min"})


@dataclass(frozen=True, slots=True)
class Measure:
    """A number as it stands in the line.

    Attributes:
        low, high: the number, or the ends of a range; None for an open end.
        first, last: places of its first and last token, unit included.
        unit: spelling key of the unit, "" when none was written.
        per: the unit of time of a rate, "".
        ratio: the two sides of ``1:20``.
        loose: said with doubt.
        change: ``before`` or ``now`` when it is one end of "from 9 to 8".
        share: a plain fraction such as "half" or 3/4.
    """

    low: float | None
    high: float | None
    first: int
    last: int
    unit: str = ""
    per: str = ""
    ratio: tuple[float, float] | None = None
    loose: bool = False
    change: str = ""
    share: bool = False
    whole: bool = True

    @property
    def bare(self) -> bool:
        """Written without a unit."""
        return not self.unit and self.ratio is None

    @property
    def number(self) -> float:
        """The number, or the known end or the middle of a range."""
        if self.low is not None and self.high is not None:
            return (self.low + self.high) / 2
        return float(self.high if self.low is None else self.low)  # type: ignore[arg-type]


def measures(tokens: Sequence[Token], marks: Sequence[Match], blocked: Collection[int]) -> list[Measure]:
    """The measures of a line in order.

    Args:
        tokens: the line.
        marks: matches of the section ``marks``.
        blocked: places of numbers that belong to a phrase ("316 stainless") or name a machine.
    """
    reader = _Reader(tokens, marks, blocked)
    return list(reader.read())


class _Reader:
    def __init__(self, tokens: Sequence[Token], marks: Sequence[Match], blocked: Collection[int]) -> None:
        self.tokens = tokens
        self.blocked = set(blocked)
        self.starts: dict[int, list[Match]] = {}
        self.ends: dict[int, list[Match]] = {}
        for mark in marks:
            self.starts.setdefault(mark.first, []).append(mark)
            self.ends.setdefault(mark.last, []).append(mark)

    def read(self) -> Iterator[Measure]:
        at = 0
        while at < len(self.tokens):
            found = self._single(at)
            if found is None:
                at += 1
                continue
            yield from self._ranged(found)
            at = self.reached

    # ---- one number with its unit

    def _single(self, at: int) -> Measure | None:
        token = self.tokens[at]
        if at in self.blocked:
            return None
        if token.kind == "ratio":
            self.reached = at + 1
            return Measure(None, None, at, at, ratio=token.parts)
        if is_one_of(self.tokens, at):
            self.reached = at + 1
            return Measure(1.0, 1.0, at, at)
        if token.kind == "word" and token.norm in ("a", "an", "ein", "eine", "einer", "einem", "einen"):
            return self._article(at)
        if token.value is None or self._clock(at) or no_figure(self.tokens, at):
            return None
        index = self._index(token)
        if index is not None:
            self.reached = at + 1
            return Measure(index, index, at, at, "brix")
        value, last, share = self._composed(at)
        doubt = self._doubted(last + 1)
        unit, per, last_unit = self._unit(doubt + 1 if doubt else last + 1)
        last = max(last, doubt)
        if token.kind == "word" and not unit and not share and not self._number_word_stands(at, last):
            return None
        if token.norm == "fortnight" and not unit:
            unit, last_unit = "days", last
        self.reached = (last_unit if unit else last) + 1
        whole = token.kind == "number" and "." not in token.text and "," not in token.text
        return Measure(
            value,
            value,
            at,
            self.reached - 1,
            unit,
            per,
            loose=doubt > 0,
            share=share and not unit,
            whole=whole,
        )

    def _index(self, token: Token) -> float | None:
        """The Brix of a refractive index such as 1.3410; None for any other number."""
        decimals = token.text.replace(",", ".").partition(".")[2]
        if len(decimals) < 3 or not 1.333 <= (token.value or 0.0) <= 1.42:
            return None
        from advisor.errors import BadQuantity
        from advisor.quantities import parse

        try:
            return parse(f"n_D {token.text}", "°Bx").value
        except BadQuantity:
            return None

    def _doubted(self, at: int) -> int:
        """Last place of the "ish" right behind a number ("8ish percent"); 0 when there is none."""
        return max((m.last for m in self.starts.get(at, []) if m.target.name == "loose_after"), default=0)

    def _article(self, at: int) -> Measure | None:
        """ "a week" is one week; "a couple of days" two."""
        if at + 1 >= len(self.tokens):
            return None
        unit, per, last = self._unit(at + 1)
        if unit and not unit_index()[unit].isdisjoint({*_TIME, "L"}) and len(unit) > 2:
            more = [t.norm for t in self.tokens[last + 1 : last + 4]] in (["and", "a", "half"],)
            value, last = (1.5, last + 3) if more else (1.0, last)
            self.reached = last + 1
            return Measure(value, value, at, last, unit, per)
        return None

    def _number_word_stands(self, at: int, last: int) -> bool:
        """A number word without a unit counts only where nothing makes it a pronoun ("the other one")."""
        before = self.tokens[at - 1].norm if at else ""
        if self.tokens[at].norm in ("zero", "null"):  # "zero checked with water" is the instrument's zero
            after = self.tokens[at + 1].norm if at + 1 < len(self.tokens) else ""
            return after in _ZEROED or before in _LINKING | {"reads", "to", "shows", "zeigt"}
        if last > at:
            return True  # "one point six"
        if self.tokens[at].norm == "dozen":
            return False
        return self.tokens[at].norm not in ("one", "eins", "ein", "eine", "einer", "second", "no")

    def _composed(self, at: int) -> tuple[float, int, bool]:
        """Value and last place of a number of several words: "three quarters", "ten to the six"."""
        value = float(self.tokens[at].value or 0.0)
        share = "/" in self.tokens[at].text or self.tokens[at].norm in (
            "half",
            "quarter",
            "third",
            "halb",
            "haelfte",
            "viertel",
            "drittel",
        )
        share = share or (
            self.tokens[at].kind == "number" and self.tokens[at].text[-1] in "½¼¾⅓⅔⅛" and value < 1
        )
        last = at
        words = [t.norm for t in self.tokens[at + 1 : at + 5]]
        following = [t.value for t in self.tokens[at + 1 : at + 4]]
        if words[:2] == ["to", "the"] and following[2:] and following[2] is not None:
            return value ** float(following[2]), at + 3, False
        if words and words[0] in ("hoch", "exp") and following[1:] and following[1] is not None:
            return value ** float(following[1]), at + 2, False
        if words[:4] == ["to", "the", "power", "of"] or words[:3] == ["to", "the", "power"]:
            place = at + (5 if words[3:4] == ["of"] else 4)
            power = self.tokens[place].value if place < len(self.tokens) else None
            if power is not None:
                return value**power, place, False
        if words and words[0] in ("quarter", "quarters", "third", "thirds", "viertel", "drittel", "tenths"):
            return value * float(following[0] or 0.25), at + 1, True
        if words and words[0] in ("hundred", "thousand", "million", "hundert", "tausend", "mio", "k"):
            return value * float(following[0] or 1.0), at + 1, False
        if words[:1] in (["point"], ["komma"]) and len(following) > 1 and (following[1] or 10.0) < 10:
            return value + float(following[1] or 0.0) / 10, at + 2, False
        if words[:2] == ["and", "a"] and words[2:3] in (["half"], ["quarter"]):
            return value + (0.5 if words[2] == "half" else 0.25), at + 3, False
        if (
            words and following[0] is not None and self.tokens[at].kind == self.tokens[at + 1].kind == "word"
            and value in (20, 30, 40, 50, 60, 70, 80, 90) and following[0] < 10
        ):  # fmt: skip
            return value + float(following[0]), at + 1, False
        if (share and words[:1] == ["a"]) or words[:1] == ["of"]:
            return value, last, share
        return value, last, share

    def _clock(self, at: int) -> bool:
        """A time of day: "10am", "8 at night"."""
        words = [t.norm for t in self.tokens[at + 1 : at + 3]]
        if words[:1] and words[0] in ("am", "pm", "oclock", "uhr"):
            self.blocked.update((at, at + 1))
            return True
        part = self.tokens[at + 3].norm if at + 3 < len(self.tokens) else ""
        day = words == ["in", "the"] and part in ("morning", "evening", "afternoon", "night")
        if day or words[:2] == ["at", "night"] or words[:1] == ["tonight"]:
            self.blocked.add(at)
            return self.tokens[at].value is not None and self.tokens[at].kind == "number"
        return False

    def _unit(self, at: int) -> tuple[str, str, int]:
        """Unit, unit of time of a rate, and last place; ("", "", at - 1) when none stands at `at`."""
        skip_article = at < len(self.tokens) and self.tokens[at].norm in ("a", "of") and at > 0
        if skip_article and self.tokens[at - 1].norm in ("half", "quarter", "couple", "halb"):
            at += 1
            if at < len(self.tokens) and self.tokens[at].norm == "of":
                at += 1
        for length in (5, 4, 3, 2, 1):
            piece = self.tokens[at : at + length]
            if len(piece) < length or any(t.hard and not self._abbreviation(t, piece) for t in piece):
                continue
            if any(t.kind == "mark" and t.text not in "/.-()" for t in piece) or piece[-1].kind == "mark":
                continue
            if piece[0].kind == "mark" and piece[0].text == "-" and length == 1:
                continue
            if any(at + i in self.blocked for i in range(length)) or any(t.kind == "number" for t in piece):
                continue
            key = spelling_key("".join(t.text for t in piece))
            if (
                key in unit_index()
                and self._unit_stands(key, piece)
                and not (self._names_next(key, at + length) or over_and_over(self.tokens, at))
            ):
                per, last = self._per(at + length)
                return SHORT.get(key, key), per, last if per else at + length - 1
        return "", "", at - 1

    def _names_next(self, key: str, at: int) -> bool:
        """ "target 7 ph 9.0": a name that stands before the next number is not this one's unit."""
        if key not in ("ph", "brix", "bx", "cfu", "kbe", "°bx", "cl"):
            return False
        while at < len(self.tokens) and self.tokens[at].norm in _LINKING:
            at += 1
        return at < len(self.tokens) and self.tokens[at].kind == "number"

    def _abbreviation(self, token: Token, piece: Sequence[Token]) -> bool:
        return token.text == "." and token is not piece[-1] and token is not piece[0]

    def _unit_stands(self, key: str, piece: Sequence[Token]) -> bool:
        if key in ("in", "no", "a", "of", "and", "count", "counts", "bars", "deg", "degree", "degrees", "mg"):
            return key in ("deg", "degree", "degrees", "mg")
        if len(key) <= 2 and key in _ONLY_GLUED and piece[0].text != "h":
            return piece[0].glued or (key in ("c", "f") and piece[0].text.isupper())
        return True

    def _per(self, at: int) -> tuple[str, int]:
        """The "per day" after a volume."""
        words = self.tokens[at : at + 3]
        if not words:
            return "", at
        if words[0].norm in ("daily", "taeglich"):
            return "day", at
        start = (
            1
            if words[0].text == "/" or words[0].norm in ("per", "a", "each", "every", "pro", "am", "je", "an")
            else 0
        )
        if start and len(words) > 1 and words[1].kind == "word":
            key = spelling_key(words[1].text)
            if key in ("shift", "schicht"):
                return "", at
            dated = len(words) > 2 and words[2].norm in ("ago", "back", "later", "earlier")
            if key in UNITS["day"] and (len(key) > 1 or words[0].text == "/") and not dated:
                return key, at + 1
        return "", at

    def _ranged(self, first: Measure) -> Iterator[Measure]:
        at = self.reached
        joint = self.tokens[at].norm if at < len(self.tokens) else ""
        if joint in ("part", "parts", "teil", "teile") and at + 1 < len(self.tokens):
            at, joint = at + 1, self.tokens[at + 1].norm
        if joint in ("down", "up", "back") and at + 1 < len(self.tokens) and self.tokens[at + 1].norm == "to":
            joint = "to"
        sign = self.tokens[at].text if at < len(self.tokens) else ""
        second = None
        guess = joint in ("maybe", "possibly", "perhaps", "vielleicht", "evtl")
        if joint in _JOINTS or guess or (sign in "-–—" and sign):
            between = self._mark_before(first.first, "between")
            if joint not in ("and", "und") or between:
                skip = at + 1
                if self.tokens[at].norm in ("down", "up", "back"):
                    skip += 1
                while skip < len(self.tokens) and self.tokens[skip].norm in _ABOUT:
                    skip += 1
                second = self._single(skip) if skip < len(self.tokens) else None
        if second is not None and guess and not (first.bare and (first.low or 0) < (second.low or 0)):
            second = None  # "5 maybe 6" is a range, "8.5 maybe 3 weeks ago" is none
        if second is None or second.ratio or first.ratio:
            self.reached = first.last + 1
            yield self._limited(first)
            return
        yield from self._pair(first, second, joint)

    def _pair(self, first: Measure, second: Measure, joint: str) -> Iterator[Measure]:
        unit = first.unit or second.unit
        first = replace(first, unit=unit, share=first.share and not unit)
        second = replace(second, unit=second.unit or unit, share=second.share and not unit)
        if joint == "to" and first.bare and second.bare and second.low == 1 and (first.low or 0) >= 4:
            yield Measure(None, None, first.first, second.last, ratio=(float(first.low or 1), 1.0))
            return
        if joint in ("in", "zu"):
            yield from self._one_in(first, second)
            return
        if joint == "to" and first.bare and first.low == 1 and (second.low or 0) >= 4 and second.bare:
            yield Measure(None, None, first.first, second.last, ratio=(1.0, float(second.low or 1)))
            return
        if joint in ("to", "auf", "bis") and (
            joint == "auf" or (first.low or 0) > (second.low or 0) or self._mark_before(first.first, "change")
        ):
            yield replace(first, change="before")
            yield replace(second, change="now")
            return
        low, high = sorted((float(first.low or 0), float(second.low or 0)))
        yield self._limited(replace(second, low=low, high=high, first=first.first))

    def _one_in(self, first: Measure, second: Measure) -> Iterator[Measure]:
        """ "1 in 20" is a ratio; other numbers with "in" between have nothing to do with each other."""
        if first.bare and second.bare and first.low == 1 and (second.low or 0) >= 4:
            yield Measure(None, None, first.first, second.last, ratio=(1.0, float(second.low or 1)))
            return
        self.reached = first.last + 1
        yield self._limited(first)

    def _limited(self, measure: Measure) -> Measure:
        """Applies "under", "over", "ish", "and a bit", "maybe" around a measure."""
        before = {m.target.name for m in self._marks_ending(measure.first)}
        next_at = measure.last + 1
        if next_at < len(self.tokens) and self.tokens[next_at].text == "-":
            next_at += 1
        after = {m.target.name: m for m in self.starts.get(next_at, [])}
        low, high, last, first = measure.low, measure.high, measure.last, measure.first
        loose = measure.loose
        if low == high and low is not None:
            if "under" in before or "or_less" in after:
                low = 0.0
            elif ("over" in before or "or_more" in after) and self._open(measure):
                high = None
        for name in ("or_less", "or_more", "loose_after"):
            if name in after:
                loose = loose or name == "loose_after"
                last = max(last, after[name].last)
        self.reached = max(self.reached, last + 1)
        return replace(measure, low=low, high=high, first=first, last=last, loose=loose)

    def _open(self, measure: Measure) -> bool:
        """ "Over a year" is a year as people mean it; "over 20 ppm" is an open range."""
        units = unit_index().get(measure.unit, frozenset())
        return units.isdisjoint(_TIME)

    def _marks_ending(self, before: int) -> list[Match]:
        at = before - 1
        while at >= 0 and (
            self.tokens[at].norm in ("about", "a", "the", "like") or self.tokens[at].text in "~≈("
        ):
            at -= 1
        return self.ends.get(at, [])

    def _mark_before(self, at: int, name: str) -> bool:
        reach = 8 if at and self.tokens[at - 1].norm == "from" and name == "change" else 5
        for place in range(at - 1, max(-1, at - reach), -1):
            if self.tokens[place].hard:
                return False
            if any(m.target.name == name for m in self.ends.get(place, [])):
                return True
        return False
