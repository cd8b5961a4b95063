"""What is told only when asked for: the rest of a verdict, every step, the whole recipe, all cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue import phrases, phrases_led, policy
from advisor.dialogue.acting import told
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.glance import in_parts
from advisor.dialogue.passed import still_blocks
from advisor.dialogue.recipe_screens import handling_blocks, listed_steps, recipe_blocks
from advisor.dialogue.recipes import needs, shut_by
from advisor.dialogue.screens import caution_blocks, run_because, run_words, step_blocks

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: The words that ask for each page; the whole line is one of them.
WORDS = {
    "more": {"more", "show more", "the rest", "all of it", "show me more", "tell me more"},
    "steps": {"steps", "all steps", "show steps", "show the steps", "the steps", "every step"},
    "recipe": {"recipe", "the recipe", "show recipe", "show the recipe", "whole recipe", "the whole recipe"},
    "run": {
        "can i run", "can it run", "can i run it", "can we run", "may i run", "is it ok to run",
        "kann ich laufen lassen",
    },
    "cautions": {"cautions", "all cautions", "caution", "warnings", "dangers", "show cautions"},
}


class Pages:
    """The pages of one session; remembers how far "more" has come."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._part = 0
        self._of: int | None = None

    def answer(self, line: str, state: CaseState) -> list[Block] | None:
        """The page a line asks for, or None when it asks for none."""
        page = next((name for name, words in WORDS.items() if line in words), None)
        if page is None:
            return None
        work = {"more": self.more, "steps": self.steps, "recipe": self.recipe}
        return (work | {"cautions": self.cautions, "run": self.run})[page](state)

    def more(self, state: CaseState) -> list[Block]:
        """The next part of the verdict; after the last one the first again."""
        parts = in_parts(self.session.view(state=state))
        if self._of != len(state.told):  # something was said since: from the beginning
            self._part, self._of = 0, len(state.told)
        if not parts:
            return [Block("text", phrases.NOTHING_MORE)]
        blocks = parts[self._part % len(parts)][1]
        self._part = (self._part + 1) % len(parts)
        if self._part == 0:
            return [*blocks, Block("text", phrases.LAST_PART)]
        return [*blocks, Block("ask", phrases.NEXT_PART.format(what=parts[self._part][0]))]

    def steps(self, state: CaseState) -> list[Block]:
        """Every step of the recipe, the ticked ones marked; without a recipe, what to do in order."""
        if state.recipe and not state.recipe["refused"]:
            steps = listed_steps(state.recipe, state.steps)
            rules = self.session.rules
            return [*handling_blocks(rules, state.recipe), Block("head", "", "RECIPE, STEP BY STEP"), *steps]
        view = self.session.view(state=state)
        listed = told(state, view) if state.verdict else None
        return step_blocks(view, told=listed, acts=state.acts) or [Block("text", phrases.NOTHING_MORE)]

    def recipe(self, state: CaseState) -> list[Block]:
        """The whole recipe with its steps, other ways and what was taken for granted."""
        view = self.session.view(state=state)
        kind = policy.recipe_kind(view)
        shut = shut_by(view, kind) if not state.recipe or state.recipe["refused"] else None
        if shut:
            return still_blocks(self.session.rules, [shut], phrases_led.NONE_WHILE)
        if not state.recipe:
            missing = [f"{need.why}." for need in needs(view, kind)] if kind else []
            return [Block("text", " ".join([phrases.NO_RECIPE, *map(phrases.sentence, missing)]))]
        handling = handling_blocks(self.session.rules, state.recipe) if not state.recipe["refused"] else []
        return handling + recipe_blocks(state.recipe, self.session.shop.display)

    def run(self, state: CaseState) -> list[Block]:
        """Whether the machine may run by what is known so far, and why."""
        view = self.session.view(state=state)
        return [Block("head", " ".join([run_words(view), *run_because(view)[:1]]), "CAN IT RUN?")]

    def cautions(self, state: CaseState) -> list[Block]:
        """Every caution that stands, whole."""
        standing = self.session.view(state=state).cautions
        return caution_blocks(self.session.rules, standing) or [Block("text", phrases.NO_CAUTIONS)]
