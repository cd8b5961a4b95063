"""An ambiguous word or unit: asked about once, and what the answer settles."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.understanding import Ambiguity
from advisor.knowledge.facts import Fact
from advisor.quantities import Gallon

#: Words that may stand around a choice said later: "I meant the imperial gallon".
_AROUND = {"i", "meant", "mean", "it", "was", "is", "the", "a", "an", "ones", "one", "sorry", "that"}
#: What a number alone could have been.
_LONE = {"concentration", "refractometer_reading", "titration", "ph", "sump_fill"}
#: Words of a choice that pick nothing by themselves.
_SMALL = {"a", "in", "of", "the", "an"}


@dataclass(frozen=True, slots=True)
class Doubt:
    """A line that could be read in more than one way, and the piece that is in doubt."""

    text: str
    about: Ambiguity

    def blocks(self) -> list[Block]:
        """The question and its choices."""
        if len(self.about.choices) == 1:
            return [Block("ask", self.words())]
        choices = "   ".join(f"{i} {text}" for i, text in enumerate(self.about.choices, 1))
        asked = phrases.WHICH_MEANT.format(said=self.about.said)
        return [Block("ask", asked), Block("answers", choices)]

    def words(self) -> str:
        """What is unclear and how it may be meant, in one sentence."""
        return phrases.UNCLEAR.format(said=self.about.said, choices=" or ".join(self.about.choices))

    def chosen(self, text: str, *, alone: bool = False) -> int | None:
        """Index of the choice a line picks: its number, or a word only one choice has.

        `alone`: something else was asked meanwhile, so only a line of nothing but the choice picks it.
        """
        if alone:
            if set(re.findall(r"\d+", text)) - set(re.findall(r"\d+", self.about.said)):
                return None  # "4 brix" is a reading of its own, no word on the 2 before
            said = set(re.findall(r"[a-z]+", text.lower())) - _AROUND
            hits = [i for i, c in enumerate(self.about.choices) if said and said <= set(c.lower().split())]
            return hits[0] if len(hits) == 1 else None
        low = text.lower().strip(" .!")
        if low.isdigit() and 1 <= int(low) <= len(self.about.choices):
            return int(low) - 1
        words = set(low.replace("usa", "us").replace("american", "us").replace("uk", "imperial").split())
        known = {w for choice in self.about.choices for w in choice.lower().split()} | _AROUND
        if not words <= known:  # it says more than a choice: "splash in eye" is no strength in %
            return None
        hits = [i for i, choice in enumerate(self.about.choices) if words & self._own(i, choice) - _SMALL]
        return hits[0] if len(hits) == 1 else None

    def _own(self, index: int, choice: str) -> set[str]:
        others = {w for i, c in enumerate(self.about.choices) if i != index for w in c.lower().split()}
        return set(choice.lower().split()) - others

    def gallon(self, index: int) -> Gallon | None:
        """The gallon a choice settles, None when the doubt is about something else."""
        choice = self.about.choices[index].lower()
        if "gallon" not in choice and " oz" not in choice:
            return None
        return "imperial" if "imperial" in choice else "us"

    def ratio_fact(self, index: int, known: list[Fact]) -> Fact | None:
        """The strength of the mix a ratio stands for, once its reading is chosen."""
        if self.about.about != "mix_ratio":
            return None
        parts = next((f.value for f in reversed(known) if f.id == "mix_ratio"), None)
        if not isinstance(parts, float | int):
            return None
        strength = 1 / (1 + parts) if index == 0 else 1 / parts
        return Fact("makeup_strength", strength, "fraction", said=self.about.said)

    def rewritten(self, index: int) -> str:
        """The line with the missing unit written in."""
        return self.text.replace(self.about.said, f"{self.about.said} {self.about.choices[index]}", 1)


class Doubts:
    """What is unclear in a conversation: each asked about once, reminded of once, and kept until settled.

    Attributes:
        held: the doubts not settled yet, oldest first.
        open: the one asked last, while its answer is awaited, or None.
    """

    def __init__(self) -> None:
        self.held: list[Doubt] = []
        self.open: Doubt | None = None
        self._asked: set[Doubt] = set()
        self._reminded: set[Doubt] = set()

    def add(self, text: str, asks: Iterable[Ambiguity], told: Iterable[Fact] = ()) -> None:
        """Take in what a line left unclear; a later doubt about the same thing takes the earlier's place.

        `told`: what the line did say; it settles an earlier doubt about the same thing, or a lone number.
        """
        named = {f.id for f in told}
        self.held = [
            d for d in self.held if d.about.about not in named and not (d.about.about == "" and named & _LONE)
        ]
        for about in asks:
            self.held = [d for d in self.held if d.about.about != about.about]
            self.held.append(Doubt(text, about))

    def next(self) -> Doubt | None:
        """The next doubt to ask about, which is then open."""
        self.open = next((d for d in self.held if d not in self._asked), None)
        if self.open is not None:
            self._asked.add(self.open)
        return self.open

    def settle(self, text: str) -> tuple[Doubt, int] | None:
        """The doubt a line settles and the choice it picks; the open one is closed by any line."""
        first, self.open = self.open, None
        order = [first] if first in self.held else []
        for doubt in [*order, *(d for d in self.held if d is not first)]:
            index = doubt.chosen(text, alone=doubt is not first)
            if index is not None:
                self.held.remove(doubt)
                return doubt, index
        return None

    def drop(self, doubt: Doubt) -> None:
        """The person cannot tell."""
        self.held = [d for d in self.held if d is not doubt]

    def reminded(self, blocks: list[Block]) -> list[Block]:
        """The blocks with one reminder of what was asked and passed over, before the open question."""
        passed = [d for d in self.held if d in self._asked and d not in self._reminded and d is not self.open]
        if not passed:
            return blocks
        self._reminded.add(passed[0])
        at = max((i for i, b in enumerate(blocks) if b.kind == "ask"), default=len(blocks))
        return [*blocks[:at], Block("head", passed[0].words(), phrases.STILL_UNCLEAR), *blocks[at:]]
