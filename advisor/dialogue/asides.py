"""What stands beside the line of questions: a doubt settled, a trial answer, a line taken back."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue import passed, phrases, phrases_asked, policy, procedures
from advisor.dialogue.asked_about import told_to_a_question
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import FROM_FIX, SHOP_BOOK, CaseState
from advisor.dialogue.explaining import Explainer
from advisor.dialogue.guiding import Guide
from advisor.dialogue.hanging import repeated
from advisor.dialogue.reading.settling import no_longer_elsewhere
from advisor.dialogue.rechecks import Follower
from advisor.dialogue.screens import fact_words
from advisor.dialogue.understanding import Understood, understand
from advisor.dialogue.unknown_ideas import answered
from advisor.dialogue.unticking import found_with, unticked

if TYPE_CHECKING:
    from advisor.dialogue.session import Session


class Asides:
    """Handles one line of one session that is not an answer to its question."""

    def __init__(self, session: Session, state: CaseState) -> None:
        self.session, self.state = session, state

    def first(self, text: str) -> list[Block] | None:
        """What a line means that belongs to a doubt, an open step or a check asked for by name."""
        other = self.session.elsewhere.first(text, self.state)
        if other is not None:
            return other
        told = told_to_a_question(self.session, self.state, text)
        if told is not None:
            return told
        without = self.session.names.strike(text)
        if without is not None:
            return [*without, *self.session.repeat()]
        session, settled = self.session, self.settle(text)
        if settled is not None or session.last_move.name == "emergency":
            return settled
        if procedures.is_step(self.state.expecting):
            led = Guide(session, self.state).answer(text)
            if led is not None:
                return led
        if (self.state.expecting or "").startswith(procedures.AGAIN):
            again = repeated(session, self.state, text)
            if again is not None:
                return again
        followed = Follower(session, self.state).answer(text)
        if followed is not None:
            return followed
        key = procedures.called(session.rules, text)
        if key:
            return Guide(session, self.state).begin(text, key)
        return answered(session, text, self.state)

    def settle(self, text: str) -> list[Block] | None:
        """The answer to what was in doubt, or None when the line is about something else."""
        session, state = self.session, self.state
        asked = session.doubts.open
        picked = session.doubts.settle(text)
        if picked is None:
            kinds = {r.kind for r in session.understood(text).requests} if asked else set()
            if asked and kinds & {"skip", "skip_all", "dont_know"}:
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
            session.doubts.add(doubt.rewritten(index), got.ask)  # "5 gal pail": of which gallon?
            # a bare number is about nothing yet: what the choice makes of it counts
            facts = tuple(f for f in got.facts if doubt.about.about in ("", f.id))
        answered = any(f.id == state.expecting for f in facts)
        return session.take(text, Understood(facts=facts), state, answered=answered)

    def what_if(self, text: str) -> list[Block]:
        """What an answer would change; nothing is recorded."""
        got = self.session.understood(text)
        if not got.facts:
            return [Block("text", phrases.WHAT_IF_HOW.format(said=text[:60]))]
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
        tick = unticked(session, state)
        if tick is not None:
            return tick
        if not state.told:
            return [Block("text", phrases.NOTHING_TO_UNDO)]
        derived = {SHOP_BOOK, FROM_FIX}
        taken = [f for f in state.facts if f.event == state.told[-1] and f.said not in derived]
        what = phrases.listed([fact_words(f, session.rules, session.shop.system) for f in taken])
        session.edit = session.record.words.get(state.told[-1], "")
        if found := found_with(session, state.told[-1]):
            session.record.append("retracted", {"events": found})
        session.record.append("back", {"to": state.told[-1] - 1})
        before, state = state, session.state()
        blocks = [Block("text", phrases.TAKEN_BACK.format(what=what or "your last answer"))]
        blocks += passed.not_lifted(session, before, state)
        if state.expecting:
            session.last_move = policy.Move("ask", state.expecting)
            return blocks + session.question()
        return blocks + session.go_on()

    def skip(self, text: str, kind: str) -> list[Block]:
        """Go on without an answer to the open question."""
        session, state = self.session, self.state
        if not state.expecting:
            if kind == "dont_know" and session.last_move.target == policy.COMPLAINT:
                return [Block("ask", phrases_asked.TRY_LOOKING)]
            return session.repeat() if kind == "dont_know" else Follower(session, state).tick(passed=True)
        session.record.skipped(text, state.expecting)
        told = phrases.DONT_KNOW if kind == "dont_know" else phrases.SKIPPED
        return [Block("text", told), *session.go_on()]

    def choose_sump(self, name: str, text: str) -> list[Block]:
        """Take up the sump a line names, with its entry in the shop book and what else the line says."""
        session, state = self.session, self.state
        # a number in the list of machines is no reading, and a misspelt lathe is no turning
        guessed = session.shop.taken_as(text, name)
        near = session.shop.misspelt(text) if guessed else None
        bare = text.strip(" .)").isdigit() or (guessed and near is None)
        got = Understood() if bare else session.understood(session.shop.without_name(text, name))
        rest = [f for f in got.facts if f.id not in {"machines_affected", "machines_total"}]
        told = {f.id for f in rest} - {"target"}  # the shop's window stands; what is said is the aim
        facts = [f for f in session.shop.sump_facts(name, state.facts) if f.id not in told]
        rest += [f for f in no_longer_elsewhere(state.facts) if f not in rest]
        both = Understood(facts=(*facts, *rest), ask=got.ask, wrong=got.wrong)
        answered = state.expecting in (policy.SUMP, policy.COMPLAINT)
        blocks = session.take(text, both, state, answered=answered, sump=name)
        if not guessed:
            return blocks
        said = near[1] if near is not None else text.strip()[:30]
        return [Block("text", phrases.SUMP_TAKEN.format(said=said, name=name)), *blocks]
