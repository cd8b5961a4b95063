"""Short exercises beside the drills: pails of mix by head or calculator, and the same sample read twice."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from random import Random

from advisor.dialogue.blocks import Block
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
    return Question(
        f"{volume:g} L stand at {now:g} %. {added:g} L of {mix:g} % mix go in. What strength is that?",
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


@dataclass(slots=True)
class Pails:
    """The exercise: one question after the other, each answered once."""

    asked: list[Question]
    right: list[bool] = field(default_factory=list)

    @property
    def over(self) -> bool:
        """True when every question has been answered."""
        return len(self.right) == len(self.asked)

    @property
    def points(self) -> int:
        """Share of right answers, out of 100."""
        return round(100 * sum(self.right) / max(1, len(self.asked)))

    def open(self) -> list[Block]:
        """The first question."""
        return [Block("head", f"{len(self.asked)} questions; answer with a unit", "PAILS"), self._question()]

    def _question(self) -> Block:
        return Block("ask", f"{len(self.right) + 1}. {self.asked[len(self.right)].text}")

    def say(self, text: str) -> list[Block]:
        """Take one answer; what cannot be read costs nothing."""
        now = self.asked[len(self.right)]
        try:
            value = parse(text, now.unit).value
        except BadQuantity as trouble:
            return [Block("text", trouble.sentence()), self._question()]
        good = abs(value - now.right) <= NEAR * abs(now.right)
        self.right.append(good)
        shown = f"{now.right:.2g} L" if now.unit == "L" and now.right < 10 else _shown(now)
        blocks = [Block("item", f"{'right' if good else 'no'}: {shown}, {now.how}", "-")]
        if self.over:
            return [*blocks, Block("head", f"{self.points} of 100", "SCORE")]
        return [*blocks, self._question()]

    def finish(self) -> list[Block]:
        """Questions left unanswered count as wrong."""
        self.right += [False] * (len(self.asked) - len(self.right))
        return [Block("head", f"{self.points} of 100", "SCORE")]


def _shown(question: Question) -> str:
    if question.unit == "L":
        return f"{question.right:.0f} L"
    return f"{100 * question.right:.1f} %"


@dataclass(slots=True)
class Repeat:
    """Two people read one sample by turns and write it down unseen; each line holds both readings.

    Their agreement says how far a reading can be trusted, not who is right.
    """

    pairs: list[tuple[float, float]] = field(default_factory=list)
    wanted: int = 3

    @property
    def over(self) -> bool:
        """True after the wanted number of samples."""
        return len(self.pairs) >= self.wanted

    @property
    def points(self) -> int:
        """Share of samples on which both agree, out of 100."""
        agree = sum(abs(a - b) <= AGREE + 1e-9 for a, b in self.pairs)
        return round(100 * agree / max(1, self.wanted))

    def open(self) -> list[Block]:
        """What to do."""
        return [
            Block("head", f"{self.wanted} samples, two people, unseen", "REPEAT READING"),
            Block("text", 'Zero on plain water, read, wipe, hand over. Type both readings: "6.2 6.4".'),
        ]

    def say(self, text: str) -> list[Block]:
        """Take one sample's two readings."""
        found = re.findall(r"\d+(?:[.,]\d+)?", text)
        if len(found) != 2:
            return [Block("text", 'Type two readings, such as "6.2 6.4".')]
        one, two = (float(f.replace(",", ".")) for f in found)
        if max(one, two) > 95:
            return [Block("text", "A glass reads 0 to 95. Type what it shows.")]
        self.pairs.append((one, two))
        apart = abs(one - two)
        how = (
            "agree" if apart <= AGREE + 1e-9 else f"differ by {apart:.1f}: zero again and read both once more"
        )
        blocks = [Block("item", how, f"sample {len(self.pairs)}")]
        return [*blocks, Block("head", f"{self.points} of 100", "SCORE")] if self.over else blocks

    def finish(self) -> list[Block]:
        """Samples not read count as not agreeing."""
        return [Block("head", f"{self.points} of 100", "SCORE")]
