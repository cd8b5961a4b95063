"""Short exercises beside the drills: pails of mix by head or calculator, and the same sample read twice."""

from __future__ import annotations

import re
from abc import ABC, abstractmethod
from dataclasses import dataclass, field
from random import Random

from advisor.dialogue.blocks import Block
from advisor.dialogue.leaving import leaves
from advisor.errors import BadQuantity
from advisor.mixing.balance import amount_kept, blend, make_up_strength
from advisor.quantities import parse

#: An answer within this share of the right one is right: a cup cannot be read closer.
NEAR = 0.05
#: Two people's readings of one sample agree within this much on the glass: one division of the usual
#: hand instrument (common practice, no source).
AGREE = 0.2
QUESTIONS = 5
EXERCISES = ("pails", "repeat", "trust")


@dataclass(frozen=True, slots=True)
class Question:
    """One question with its right answer in a canonical unit (``L`` or ``fraction``)."""

    text: str
    unit: str
    right: float
    how: str


def questions(seed: int) -> list[Question]:
    """Questions about mixing, the same for the same seed; every answer follows from the mass balance."""
    chance = Random(f"pails {seed}")
    made: list[Question] = []
    for kind in (_pail, _after, _make_up, _kept, _pail)[:QUESTIONS]:
        made.append(kind(chance))
    return made


def _pail(chance: Random) -> Question:
    pail, percent = chance.choice((10.0, 12.0, 20.0)), chance.choice((1.0, 3.0, 5.0, 6.0, 8.0))
    return Question(
        f"A pail takes {pail:g} L of mix. How much concentrate goes into a full pail of {percent:g} %?",
        "L",
        pail * percent / 100,
        f"{pail:g} L x {percent:g} / 100",
    )


def _after(chance: Random) -> Question:
    volume, now = chance.choice((100.0, 150.0, 200.0)), chance.choice((10.0, 12.0, 14.0))
    added, mix = chance.choice((20.0, 40.0, 50.0)), chance.choice((0.0, 1.0, 2.0))
    what = f"{mix:g} % mix" if mix else "plain water"
    return Question(
        f"{volume:g} L stand at {now:g} %. {added:g} L of {what} go in. What strength is that?",
        "fraction",
        blend([(volume, now / 100), (added, mix / 100)]),
        f"({volume:g} x {now:g} + {added:g} x {mix:g}) / {volume + added:g}",
    )


def _make_up(chance: Random) -> Question:
    fill, now = chance.choice((50.0, 60.0, 75.0)), chance.choice((4.0, 5.0, 6.0))
    target = now + chance.choice((1.0, 2.0))
    return Question(
        f"A sump is {fill:g} % full at {now:g} %. It is filled to the mark and shall stand at {target:g} %. "
        f"How strong must the mix be that goes in?",
        "fraction",
        make_up_strength(target / 100, fill / 100, now / 100),
        f"({target:g} - {fill / 100:g} x {now:g}) / {1 - fill / 100:g}",
    )


def _kept(chance: Random) -> Question:
    volume, now, target = chance.choice((100.0, 200.0, 400.0)), chance.choice((13.0, 16.0, 19.0)), 7.0
    return Question(
        f"{volume:g} L stand at {now:g} %. Some comes out and 1 % mix fills it up again, to end at "
        f"{target:g} %. How much of the old fluid stays in?",
        "L",
        amount_kept(volume, now / 100, 0.01, target / 100),
        f"{volume:g} x ({target:g} - 1) / ({now:g} - 1)",
    )


_ENDS = {"done", "finished", "end", "score", "that is all", "that's all", "thats all"}
_HELPS = {"help", "?", "h", "hlep", "hepl", "what now"}


@dataclass(slots=True)
class Exercise(ABC):
    """A short exercise: one answer after the other, with a way out of it at any time.

    Attributes:
        left: true once the person has left it without a score.
    """

    left: bool = field(default=False, kw_only=True)

    @property
    @abstractmethod
    def over(self) -> bool:
        """True when it is scored or left."""

    @abstractmethod
    def how(self) -> str:
        """How an answer is written."""

    @abstractmethod
    def take(self, text: str) -> list[Block]:
        """Take one answer; what cannot be read costs nothing."""

    @abstractmethod
    def finish(self) -> list[Block]:
        """Score it as it stands."""

    def say(self, text: str) -> list[Block]:
        """Take one line: an answer, or a way out."""
        low = " ".join(text.lower().split()).strip(" .!")
        if leaves(text):
            return self.leave()
        if low in _ENDS:
            return self.finish()
        if not low or low in _HELPS:
            told = f'{self.how()} "done" ends it with a score, "q" leaves without one.'
            return [Block("text", told), *self.again()]
        return self.take(text)

    def again(self) -> list[Block]:
        """What is asked just now, put once more."""
        return []

    def leave(self) -> list[Block]:
        """End it without a score."""
        self.left = True
        return [Block("text", "Left without a score; nothing is kept.")]


@dataclass(slots=True)
class Pails(Exercise):
    """The exercise: one question after the other, each answered once."""

    asked: list[Question]
    right: list[bool] = field(default_factory=list)

    @property
    def over(self) -> bool:
        """True when every question has been answered."""
        return self.left or len(self.right) == len(self.asked)

    @property
    def points(self) -> int:
        """Share of right answers, out of 100."""
        return round(100 * sum(self.right) / max(1, len(self.asked)))

    def open(self) -> list[Block]:
        """The first question."""
        head = f'{len(self.asked)} questions. "help" shows how, "q" leaves.'
        return [Block("head", head, "PAILS"), self._question()]

    def how(self) -> str:
        """How an answer is written."""
        return 'Answer with a number and its unit, such as "1.2 L", "1200 mL" or "4.5 %".'

    def again(self) -> list[Block]:
        """The open question."""
        return [self._question()]

    def _question(self) -> Block:
        return Block("ask", f"{len(self.right) + 1}. {self.asked[len(self.right)].text}")

    def take(self, text: str) -> list[Block]:
        """Take one answer; a bare number is in the unit that was asked for."""
        now = self.asked[len(self.right)]
        unit = "%" if now.unit == "fraction" else now.unit
        bare = re.fullmatch(r"\s*\d+(?:[.,]\d+)?\s*", text)
        try:
            value = parse(f"{text.strip()} {unit}" if bare else text, now.unit).value
        except BadQuantity as trouble:
            return [Block("text", _other_kind(text, now.unit) or trouble.sentence()), self._question()]
        good = abs(value - now.right) <= NEAR * abs(now.right)
        self.right.append(good)
        shown = f"{now.right:.2g} L" if now.unit == "L" and now.right < 10 else _shown(now)
        taken = f" (yours taken in {unit})" if bare else ""
        blocks = [Block("item", f"{'right' if good else 'no'}: {shown}, {now.how}{taken}", "-")]
        if self.over:
            return [*blocks, Block("head", f"{self.points} of 100", "SCORE")]
        return [*blocks, self._question()]

    def finish(self) -> list[Block]:
        """Questions left unanswered count as wrong."""
        open_ = len(self.asked) - len(self.right)
        self.right += [False] * open_
        return [Block("head", f"{self.points} of 100{_counted(open_, 'question')}", "SCORE")]


def _other_kind(text: str, unit: str) -> str:
    """What to say where a volume was given for a strength, or a strength for a volume; "" for neither."""
    try:
        parse(text, "fraction" if unit == "L" else "L")
    except BadQuantity:
        return ""
    if unit == "L":
        return 'That is a strength. How many litres is asked for, such as "1.2 L".'
    return 'That is a volume. A strength is asked for, such as "4.5 %".'


def _counted(open_: int, what: str) -> str:
    """What was not answered, and that it counts."""
    if not open_:
        return ""
    return f"; {open_} {what}{'s' * (open_ != 1)} not answered count{'s' * (open_ == 1)} as wrong"


def _shown(question: Question) -> str:
    if question.unit == "L":
        return f"{question.right:.0f} L"
    return f"{100 * question.right:.1f} %"


@dataclass(slots=True)
class Repeat(Exercise):
    """Two people read one sample by turns and write it down unseen; each line holds both readings.

    Their agreement says how far a reading can be trusted, not who is right.
    """

    pairs: list[tuple[float, float]] = field(default_factory=list)
    wanted: int = 3
    ended: bool = False

    @property
    def over(self) -> bool:
        """True after the wanted number of samples."""
        return self.left or self.ended or len(self.pairs) >= self.wanted

    @property
    def points(self) -> int:
        """Share of samples on which both agree, out of 100."""
        agree = sum(abs(a - b) <= AGREE + 1e-9 for a, b in self.pairs)
        return round(100 * agree / max(1, self.wanted))

    def open(self) -> list[Block]:
        """What to do."""
        return [
            Block("head", f"{self.wanted} samples, two people, unseen", "REPEAT READING"),
            Block("text", f'Zero on plain water, read, wipe, hand over. {self.how()} "q" leaves.'),
        ]

    def how(self) -> str:
        """How an answer is written."""
        return 'Type both readings of one sample: "6.2 6.4".'

    def take(self, text: str) -> list[Block]:
        """Take one sample's two readings."""
        found = re.findall(r"\d+(?:[.,]\d+)?", text)
        if len(found) != 2:
            return [Block("text", f"That is not two readings. {self.how()}")]
        one, two = (float(f.replace(",", ".")) for f in found)
        if max(one, two) > 95:
            return [Block("text", "A glass reads 0 to 95. Type what it shows.")]
        self.pairs.append((one, two))
        apart = abs(one - two)
        how = (
            "agree" if apart <= AGREE + 1e-9 else f"differ by {apart:.1f}: zero again and read both once more"
        )
        blocks = [Block("item", how, f"sample {len(self.pairs)}")]
        if self.over:
            return [*blocks, Block("head", f"{self.points} of 100", "SCORE")]
        return [*blocks, Block("ask", f"Sample {len(self.pairs) + 1} of {self.wanted}: both readings?")]

    def finish(self) -> list[Block]:
        """Samples not read count as not agreeing."""
        self.ended = True
        open_ = self.wanted - len(self.pairs)
        return [Block("head", f"{self.points} of 100{_counted(open_, 'sample')}", "SCORE")]
