"""An ambiguous word or unit: asked about once, and what the answer settles."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.dialogue.blocks import Block
from advisor.dialogue.understanding import Ambiguity
from advisor.knowledge.facts import Fact
from advisor.quantities import Gallon


@dataclass(frozen=True, slots=True)
class Doubt:
    """A line that could be read in more than one way, and the piece that is in doubt."""

    text: str
    about: Ambiguity

    def blocks(self) -> list[Block]:
        """The question and its choices."""
        choices = "   ".join(f"{i} {text}" for i, text in enumerate(self.about.choices, 1))
        return [Block("ask", f'"{self.about.said}": which is meant?'), Block("answers", choices)]

    def chosen(self, text: str) -> int | None:
        """Index of the choice a line picks: its number, or a word only one choice has."""
        low = text.lower().strip(" .!")
        if low.isdigit() and 1 <= int(low) <= len(self.about.choices):
            return int(low) - 1
        words = set(low.replace("usa", "us").replace("american", "us").replace("uk", "imperial").split())
        hits = [i for i, choice in enumerate(self.about.choices) if words & self._own(i, choice)]
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
