"""Whether to trust a reading: sumps whose glass may be wrong, found out by cheap checks before a recipe.

Half of the sumps are sound, so that doubting everything is no way through. What is wrong with the others
follows from how the glass works: oil in the sample and a zero that is off both shift the reading, while a
titration does not see them (DGUV Regel 109-003, 7.1 and Annex 3).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import get_close_matches
from random import Random

from advisor.dialogue.blocks import Block
from advisor.drills.exercises import Exercise
from advisor.drills.hidden import OILY
from advisor.errors import BadQuantity
from advisor.quantities import parse

SUMPS = 4
#: A strength told within half a point is right, as a hand instrument reads (common practice, no source).
NEAR = 0.005
#: Points of each part for one sump: judging the reading, the strength, and not wasting effort.
_JUDGED, _STRENGTH, _EFFORT = 50, 40, 10
#: Minutes of checks within which nothing is lost (judgement, common practice, no source).
_FREE = 8.0
_TITRATION_H = 24.0


@dataclass(frozen=True, slots=True)
class Glass:
    """One sump behind its glass.

    Attributes:
        true: strength, a fraction; factor: of the product; fault: ``sound``, ``oil`` or ``zero``.
        shift: what plain water reads, Brix; oily: whether some oil floats, which alone proves nothing.
    """

    true: float
    factor: float
    fault: str
    shift: float = 0.0
    oily: bool = False

    @property
    def reading(self) -> float:
        """What the glass shows, Brix."""
        clean = 100 * self.true / self.factor
        return round(clean * (OILY if self.fault == "oil" else 1.0) + self.shift, 1)

    @property
    def skimmed(self) -> float:
        """What it shows after the oil has been skimmed and the sample has stood, Brix."""
        return round(100 * self.true / self.factor + self.shift, 1)


def glasses(seed: int) -> list[Glass]:
    """Sumps for one exercise, the same for the same seed; half of them sound."""
    chance = Random(f"trust {seed}")
    faults = ["sound", "sound", "oil", "zero"]
    chance.shuffle(faults)
    made = []
    for fault in faults:
        true, factor = chance.randint(8, 20) / 200, chance.choice((1.0, 1.2, 1.5, 2.0))
        shift = chance.choice((-0.8, 0.8, 1.2)) if fault == "zero" else 0.0
        oily = fault == "oil" or chance.random() < 0.4
        made.append(Glass(true, factor, fault, shift, oily))
    return made


_CHECKS = (
    ("water", re.compile(r"\b(water|zero)\b", re.I), 1.0),
    ("titrate", re.compile(r"\btitrat\w*", re.I), 15.0),
    ("skim", re.compile(r"\b(skim\w*|stand\w*|again|stood)\b", re.I), 6.0),
    ("line", re.compile(r"\b(line|blur\w*|fuzzy|sharp)\b", re.I), 0.5),
    ("surface", re.compile(r"\b(surface|oil|top|look)\b", re.I), 1.0),
)
_VERDICT = re.compile(
    r"^\s*(?:i |we |its |it's |it is |that's |thats |the glass is )?(?:would )?"
    r"(don'?t trust|do not trust|not right|distrust|mistrust|trust|believe|ok|good"
    r"|doubt|wrong|right)\w*[\s,:;]*(?:it|that|the glass)?[\s,:;]*(?:strength)?\s*(?:is)?\s*(.*)",
    re.I,
)
_JUDGEMENT = {True: "You judged it right", False: "You judged it wrong"}
_TRUSTED = {"trust", "believe", "ok", "good", "right"}


#: Words a slip of the pen is mended to, and how close it must be (judgement, common practice, no source).
_WORDS, _CLOSE = ("surface", "line", "water", "titrate", "skim", "trust", "doubt", "right", "wrong"), 0.75
_LONG = 4


def _mended(text: str) -> str:
    """The line with slips in the words of this exercise mended."""

    def mend(found: re.Match[str]) -> str:
        word = found[0].lower()
        known = any(pattern.search(word) for _, pattern, _ in _CHECKS) or _VERDICT.match(word)
        close = [] if known or len(word) < _LONG else get_close_matches(word, _WORDS, 1, _CLOSE)
        return close[0] if close else word

    return re.sub(r"[A-Za-z]+", mend, text)


@dataclass(slots=True)
class Trust(Exercise):
    """The exercise: check what seems needed, then say ``trust`` or ``doubt`` and the true strength."""

    sumps: list[Glass]
    points_of: list[int] = field(default_factory=list)
    spent: float = 0.0
    run: list[str] = field(default_factory=list)

    @property
    def over(self) -> bool:
        """True when every sump has been judged."""
        return self.left or len(self.points_of) >= len(self.sumps)

    @property
    def points(self) -> int:
        """Mean over the sumps, out of 100."""
        return round(sum(self.points_of) / max(1, len(self.sumps)))

    def open(self) -> list[Block]:
        """What to do, and the first sump."""
        return [
            Block("head", f"{len(self.sumps)} sumps; is the glass right?", "READING TRUST"),
            Block("text", "Check what you need: the surface, the line, plain water, skim and read again, "
                  "titrate. Each costs minutes. Then say \"trust 6.5 %\" or \"doubt 5 %\", with the strength "
                  "you hold for true. \"q\" leaves."),
            *self._sump(),
        ]  # fmt: skip

    def again(self) -> list[Block]:
        """The sump that is to be judged."""
        return self._sump()

    def _sump(self) -> list[Block]:
        now = self.sumps[len(self.points_of)]
        told = f"the glass shows {now.reading:g} Brix, the product's factor is {now.factor:g}"
        return [Block("head", f"{told}. What do you do?", f"SUMP {len(self.points_of) + 1}")]

    def how(self) -> str:
        """How an answer is written."""
        return (
            "Check the surface, the line, plain water, skim and read again, or titrate. "
            'Then say "trust 6 %" or "doubt 5 %".'
        )

    def take(self, text: str) -> list[Block]:
        """Take one check or one judgement."""
        text = _mended(text)
        found = _VERDICT.match(text)
        if found:
            return self._judge(found[1].lower(), found[2])
        for name, pattern, minutes in _CHECKS:
            if pattern.search(text):
                self.spent += minutes
                self.run.append(name)
                wait = f", result after {_TITRATION_H:g} hours" if name == "titrate" else ""
                return [Block("item", f"{self._check(name)} ({minutes:g} min{wait})", "-")]
        return [Block("text", f"I did not get that. {self.how()}")]

    def _check(self, name: str) -> str:
        now = self.sumps[len(self.points_of)]
        if name == "water":
            return f"Plain water reads {now.shift:g} Brix."
        if name == "titrate":
            return f"Titrated: {100 * now.true:.1f} %."
        if name == "skim":
            return f"Skimmed, the sample left to stand, read again: {now.skimmed:g} Brix."
        if name == "line":
            return "The line is blurred." if now.fault == "oil" else "The line is sharp."
        return "Some oil floats on it." if now.oily else "The surface is clean."

    def _judge(self, word: str, rest: str) -> list[Block]:
        rest = rest.strip(" .!")
        if re.fullmatch(r"\d+(?:[.,]\d+)?", rest):
            rest += " %"  # a strength is spoken of in per cent
        try:
            said = parse(rest, "fraction").value
        except BadQuantity as trouble:
            return [Block("text", f'{trouble.sentence()} Say it with the strength: "trust 6.5 %".')]
        now = self.sumps[len(self.points_of)]
        trusted, sound = word in _TRUSTED, now.fault == "sound"
        near = abs(said - now.true) <= NEAR + 1e-9
        effort = max(0.0, 1 - max(0.0, self.spent - _FREE) / 20) if trusted == sound else 0.0
        self.points_of.append(
            round(_JUDGED * (trusted == sound) + _STRENGTH * near + _EFFORT * effort)
        )
        blocks = [
            Block("item", f"{_JUDGEMENT[trusted == sound]}: {self._why(now)}.", "the glass"),
            Block("item", f"{100 * now.true:.1f} %, you said {100 * said:.1f} %", "strength"),
            Block("item", f"{self.points_of[-1]} of 100", "points"),
        ]
        self.spent = 0.0
        if self.over:
            return [*blocks, Block("head", f"{self.points} of 100", "SCORE")]
        return [*blocks, *self._sump()]

    def _why(self, now: Glass) -> str:
        clean = 100 * now.true / now.factor
        if now.fault == "oil":
            lifted = f"from {clean:.1f} to {now.reading:g} Brix"
            return f"oil in the sample lifts it {lifted}; a blurred line shows it"
        if now.fault == "zero":
            return f"plain water reads {now.shift:g}, so {now.reading:g} Brix means {clean:.1f}"
        some = "; oil on top alone does not make it wrong, the line is sharp" if now.oily else ""
        return f"it is sound, {now.reading:g} Brix x {now.factor:g} is the strength{some}"

    def finish(self) -> list[Block]:
        """Sumps not judged count for nothing."""
        open_ = len(self.sumps) - len(self.points_of)
        self.points_of += [0] * open_
        told = f"; {open_} not judged count{'s' * (open_ == 1)} for nothing" if open_ else ""
        return [Block("head", f"{self.points} of 100{told}", "SCORE")]
