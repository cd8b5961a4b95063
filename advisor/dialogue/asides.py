"""What stands beside the line of questions: a doubt settled, a trial answer, a step ticked, a recheck."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from advisor.dialogue import phrases, policy, procedures
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import SHOP_BOOK, CaseState
from advisor.dialogue.explaining import Explainer
from advisor.dialogue.following import filled_to, recheck_blocks, tick_blocks
from advisor.dialogue.guiding import Guide
from advisor.dialogue.screens import fact_words
from advisor.dialogue.understanding import Understood, understand
from advisor.knowledge.facts import Fact

if TYPE_CHECKING:
    from advisor.dialogue.session import Session


class Asides:
    """Handles one line of one session that is not an answer to its question."""

    def __init__(self, session: Session, state: CaseState) -> None:
        self.session, self.state = session, state

    def first(self, text: str) -> list[Block] | None:
        """What a line means that belongs to a doubt, an open step or a check asked for by name."""
        session, settled = self.session, self.settle(text)
        if settled is not None or session.last_move.name == "emergency":
            return settled
        if procedures.is_step(self.state.expecting):
            led = Guide(session, self.state).answer(text)
            if led is not None:
                return led
        key = procedures.called(session.rules, text)
        return Guide(session, self.state).begin(text, key) if key else None

    def settle(self, text: str) -> list[Block] | None:
        """The answer to what was in doubt, or None when the line is about something else."""
        session, state = self.session, self.state
        asked = session.doubts.open
        picked = session.doubts.settle(text)
        if picked is None:
            kinds = {r.kind for r in session.understood(text).requests} if asked else set()
            if asked and kinds & {"skip", "dont_know"}:
                session.doubts.drop(asked)
                return [Block("text", phrases.DONT_KNOW), *session.go_on()]
            return None
        doubt, index = picked
        gallon = doubt.gallon(index)
        fact = doubt.ratio_fact(index, state.facts)
        if gallon is not None:
            session.shop.gallon = gallon
            record = session.record
            session.store.put_row("shop", "habits", {"gallon": gallon}, time=record.clock(), who=record.who)
            got = understand(doubt.text, lexicon=session.lexicon, gallon=gallon, known=state.facts)
            facts = tuple(f for f in got.facts if f.unit in {"L", "L/day", "L/min", "fraction"})
        elif fact is not None:
            facts = (fact,)
        else:
            got = session.understood(doubt.rewritten(index))
            facts = tuple(f for f in got.facts if f.id == doubt.about.about)
        answered = any(f.id == state.expecting for f in facts)
        return session.take(text, Understood(facts=facts), state, answered=answered)

    def what_if(self, text: str) -> list[Block]:
        """What an answer would change; nothing is recorded."""
        got = self.session.understood(text)
        if not got.facts:
            return [Block("text", f'I could not use "{text[:60]}". Try "what if pH was 8.2".')]
        self.session.trial, self.session.trial_words = list(got.facts), text
        return Explainer(self.session, self.state).compare(list(got.facts))

    def keep_trial(self) -> list[Block]:
        """Take the trial answer into the case."""
        if not self.session.trial:
            return [Block("text", phrases.NOTHING_TO_KEEP)]
        self.session.record.kept(self.session.trial, self.session.trial_words)
        self.session.trial = None
        return [Block("text", phrases.KEPT), *self.session.go_on()]

    def back(self) -> list[Block]:
        """Take back the last line that told something; its words stand ready to be mended."""
        session, state = self.session, self.session.state()
        if not state.told:
            return [Block("text", phrases.NOTHING_TO_UNDO)]
        taken = [f for f in state.facts if f.event == state.told[-1] and f.said != SHOP_BOOK]
        what = phrases.listed([fact_words(f, session.rules, session.shop.system) for f in taken])
        session.edit = session.record.words.get(state.told[-1], "")
        session.record.append("back", {"to": state.told[-1] - 1})
        state = session.state()
        blocks = [Block("text", phrases.TAKEN_BACK.format(what=what or "your last answer"))]
        if state.expecting:
            session.last_move = policy.Move("ask", state.expecting)
            return blocks + session.question()
        return blocks + session.go_on()

    def tick(self) -> list[Block]:
        """Tick the next step of the recipe."""
        blocks, step = tick_blocks(self.state)
        if step is not None:
            self.session.record.append("step_done", {"step": step, "recipe": self.state.recipe_event})
        return blocks

    def skip(self, text: str, kind: str) -> list[Block]:
        """Go on without an answer to the open question."""
        session, state = self.session, self.state
        if not state.expecting:
            return session.repeat()
        session.record.skipped(text, state.expecting)
        told = phrases.SKIPPED if kind == "skip" else phrases.DONT_KNOW
        return [Block("text", told), *session.go_on()]

    def _all_poured(self) -> bool:
        """Whether the steps are all ticked, or none is, which is how most people follow a recipe."""
        steps = (self.state.recipe or {}).get("steps") or []
        return not self.state.steps or len(self.state.steps) >= len(steps) - 1

    def recheck(self, text: str) -> list[Block]:
        """Open a new visit with the reading after the fix, and compare it with the prediction.

        Where the recipe was refused for want of a good reading, the new reading is that reading.
        """
        low = text.lower()
        said = "%" in low or "percent" in low
        read = any(f.id == "refractometer_reading" for f in self.state.facts) or (
            self.session.view(state=self.state).known.choice("factor_applied") == "no"
        )
        factor = self.session.view(state=self.state).known.quantity("refractometer_factor") or 1.0
        on_the_glass = "brix" in low or (read and not said)
        if not said and not on_the_glass and abs(factor - 1) > 0.01:
            number = "".join(c for c in text if c.isdigit() or c in ".,").strip(".,") or "it"
            return [Block("ask", phrases.WHICH_READING.format(number=number))]
        got = self.session.understood(text, "refractometer_reading" if on_the_glass else "concentration")
        if not on_the_glass and any(f.id == "concentration" for f in got.facts):
            settled = Fact("factor_applied", "yes", None, said=text)  # per cent after a fix is the strength
            got = replace(got, facts=(*got.facts, settled))
        record = self.session.record
        if self.state.recipe and self.state.recipe["refused"]:
            rules = self.session.rules
            gone_round = (
                [Fact("circulated", "yes", None, said=text)] if "circulated" in rules.observables else []
            )
            return self.session.take(
                text, replace(got, facts=(*got.facts, *gone_round)), self.state, answered=True
            )
        record.append("recheck", {"recipe": self.state.recipe_event}, visit=self.state.visit + 1)
        if not got.facts:
            return [Block("ask", phrases.READS_NOW)]
        before = self.session.view(state=self.state).strength.value
        filled = filled_to(self.session.view(), self.state.recipe) if self._all_poured() else None
        more = (Fact("sump_fill", filled, "fraction", said=text),) if filled is not None else ()
        record.said(text, replace(got, facts=(*got.facts, *more)), None, answered=True)
        return recheck_blocks(self.session.view(), self.state, before)
