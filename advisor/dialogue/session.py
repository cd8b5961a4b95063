"""The turn handler: a line in, blocks out, every event stored before the answer is shown.

Knows no terminal. The store, the clock and the shop come in from outside.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from advisor.dialogue import (  # fmt: skip
    acting,
    carried,
    lifting,
    lone_numbers,
    new_cautions,
    passed,
    phrases,
    phrases_led,
    policy,
    procedures,
    put_right,
)
from advisor.dialogue.answer import verdict_json
from advisor.dialogue.asides import Asides
from advisor.dialogue.asking import (
    answer_by_number,
    answer_by_yes_or_no,
    answers,
    plain_yes,
    question_blocks,
    safety_facts,
    uncrossed,
    why_unusable,
)
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.coming_back import offer_answered, take_up
from advisor.dialogue.dealt_with import says_dealt_with
from advisor.dialogue.doubts import Doubts
from advisor.dialogue.explaining import Explainer
from advisor.dialogue.following import POURED, RECHECK, begun, is_closed, is_spent, outdated
from advisor.dialogue.glance import in_short, verdict_at_a_glance, with_question, with_recipe
from advisor.dialogue.guiding import conclude, led_blocks
from advisor.dialogue.hanging import again_blocks, once_more
from advisor.dialogue.names import Names
from advisor.dialogue.one_depth import other_asked, still_asked, with_the_first
from advisor.dialogue.opening import first_screen
from advisor.dialogue.other_sump import OtherSump
from advisor.dialogue.pages import Pages
from advisor.dialogue.poured import ask_blocks
from advisor.dialogue.rechecks import READ_AGAIN, Follower, recipe_anew
from advisor.dialogue.recorder import Recorder
from advisor.dialogue.said_back import said_back
from advisor.dialogue.screens import caution_blocks
from advisor.dialogue.shop import Shop
from advisor.dialogue.understanding import Lexicon, Understood, understand
from advisor.inference.assess import Assessment, assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase

#: A line longer than this is refused, and nothing entered before is lost.
LONGEST_LINE = 2000
#: How soon "Saved as case 3." makes room: the bottom line says it as well.
SAVED_RANK = 3
_KEEP = {"keep", "keep it", "keep that"}
_LEAVE = {"back", "stop here", "help", "undo"}


class Session:
    """One conversation about one sump.

    Args:
        rules, lexicon: knowledge, and how people say it.
        store: a logbook (`advisor.logbook.port.Store`).
        clock: gives the present time as ISO-8601 UTC text.
        who: sign or role of the person.
        shop: the shop book; an empty one when nothing is set up.
    """

    def __init__(
        self,
        rules: RuleBase,
        lexicon: Lexicon,
        store: Any,
        *,
        clock: Callable[[], str],
        who: str = "operator",
        shop: Shop | None = None,
    ) -> None:
        self.rules, self.lexicon, self.store = rules, lexicon, store
        self.shop = shop or Shop()
        self.begin(clock, who)

    def begin(self, clock: Callable[[], str], who: str) -> None:
        """Nothing is said yet: the next line opens a case of its own."""
        self.record = Recorder(self.store, self.rules, clock, who, self.shop)
        self.trial: list[Fact] | None = None
        self.trial_words, self.doubts = "", Doubts()
        self.offered: int | None = None
        self.over = False
        self.edit = ""  # the answer taken back, to be mended rather than typed again
        self.current_action = ""  # the step of what to do that was put before the person last
        self.pages = Pages(self)
        self.names = Names(self.record)
        self.elsewhere = OtherSump(self)
        self._judged: dict[object, Assessment] = {}  # the last few: a turn looks before and after a line
        self.last_move = policy.Move("ask", policy.COMPLAINT)

    # -- opening ---------------------------------------------------------------------------------

    def open(self) -> list[Block]:
        """The first screen: who this is, what to type, a caution, and the question."""
        blocks, self.offered = first_screen(self.store, self.record.who)
        return blocks

    def resume(self, case: int) -> list[Block]:
        """Take up a case where it was left."""
        return take_up(self, case)

    # -- state -----------------------------------------------------------------------------------

    @property
    def case(self) -> int | None:
        """Number of the case, None before the first line."""
        return self.record.case

    def state(self) -> CaseState:
        """The fold of the case so far; at rest no question is open, though one may have been passed over."""
        state = self.record.state()
        if self.last_move.name == "rest":
            state.expecting = None
        return state

    def understood(self, text: str, expecting: str | None = None) -> Understood:
        """What a line says, read with the shop's habits and what is known."""
        expecting = procedures.asked_for(self.rules, expecting)
        return understand(
            with_the_first(self, self.elsewhere.as_another(text), expecting),
            lexicon=self.lexicon,
            expecting=expecting if expecting in self.rules.observables else None,
            gallon=self.shop.gallon,
            known=self.state().facts,
        )

    def view(self, facts: list[Fact] | None = None, state: CaseState | None = None) -> Assessment:
        """The judgement of the case's facts, or of others."""
        state = state or self.state()
        known = self.shop.ruled(state.sump, state.facts if facts is None else facts)
        stays = passed.held(state, self.rules)
        held = tuple(known), tuple(sorted(state.skipped)), tuple(c for _, c in state.carried), stays
        if held not in self._judged:
            judged = assess(held[0], self.rules, skip=held[1], carried=held[2], held=stays)
            self._judged = {**dict([*self._judged.items()][-3:]), held: judged}
        return self._judged[held]

    # -- a turn ----------------------------------------------------------------------------------

    def say(self, text: str) -> list[Block]:
        """Take in one line and answer it."""
        blocks = self._turn(text)
        return blocks if self.over else self.doubts.reminded(blocks)

    def _turn(self, text: str) -> list[Block]:
        text = "".join(c if c.isprintable() else " " for c in text).strip()
        if len(text) > LONGEST_LINE:
            return [Block("text", phrases.TOO_LONG.format(count=len(text)))]
        if self.offered is not None:
            return offer_answered(self, text)
        if not text:
            return self.repeat()
        state = self.state()
        expecting = procedures.asked_for(self.rules, state.expecting)
        aside = Asides(self, state).first(text)
        if aside is not None:
            return aside
        early = self._special(text, state)
        if early is not None:
            return early
        listed = None if (state.expecting or "").startswith(procedures.AGAIN) else expecting
        picked = answer_by_number(self.rules, listed, text) or answer_by_yes_or_no(
            self.rules, expecting, text
        )
        got = picked or uncrossed(self.understood(text, expecting), expecting)
        if expecting and not (got.facts or got.ask or got.requests or got.wrong):
            got = self.understood(text)  # "6.2", of what?
        got = got if picked else lone_numbers.asked_about(text, got, state, expecting, self.shop.gallon)
        return self._answer(text, got, state)

    def _special(self, text: str, state: CaseState) -> list[Block] | None:
        """Lines that mean something only here: a trial kept, an emergency dealt with, a recheck, a sump."""
        low = text.lower().strip(" .!?")
        if low in _KEEP:
            return Asides(self, state).keep_trial()
        page = self.pages.answer(low, state) or other_asked(self, state, text)
        if page is not None:
            return page
        standing = self.last_move
        alarmed = standing.name == "emergency" and standing.target not in state.acknowledged
        brought = not alarmed or any(c == standing.target for _, c in state.carried)
        if (lifted := lifting.dealt_with(self, state, text) if brought else None) is not None:
            return lifted
        if alarmed and not brought and says_dealt_with(text, self.lexicon):
            self.record.append("acknowledged", {"cautions": [standing.target]}, text)
            return self.go_on()
        if alarmed and not self.understood(text).facts and low not in _LEAVE:
            return [*caution_blocks(self.rules, [str(standing.target)]), Block("ask", phrases.NOT_YET)]
        if state.recipe and low.startswith(READ_AGAIN):
            return Follower(self, state).recheck(text)
        if state.expecting == policy.SUMP or state.sump is None:
            name = self.shop.sump_named(text, only=state.expecting == policy.SUMP)
            if name:
                return Asides(self, state).choose_sump(name, text)
            if state.expecting == policy.SUMP and self.shop.another(text):
                self.record.skipped(text, policy.SUMP)
                return [Block("text", phrases.ANOTHER_SUMP), *self.go_on()]
        if state.expecting == policy.SAFETY:
            if plain_yes(text):
                return [Block("ask", phrases.SAFETY_WHICH)]
            facts = safety_facts(self.rules, text, state.facts)
            if facts is not None:
                return self.take(text, Understood(facts=tuple(facts)), state, answered=True)
        return None

    def _answer(self, text: str, got: Understood, state: CaseState) -> list[Block]:
        explainer = Explainer(self, state)
        if not got.facts:
            for request in got.requests:
                if request.kind == "what_if":
                    return Asides(self, state).what_if(request.text)
                if request.kind in {"skip", "skip_all", "dont_know"}:
                    return Asides(self, state).skip(text, request.kind)
                if request.kind == "back":
                    return Asides(self, state).back()
                if request.kind in {"stop_here", "enough"}:
                    return self._stop_here()
                if request.kind == "done":
                    return Follower(self, state).tick()
                told = explainer.answer(request)
                if told is not None:
                    return told
        lifted = put_right.gone(self, state, got)
        if lifted:
            return put_right.told(self, state, got, lifted, text)
        if got.facts or got.ask:
            asked = procedures.asked_for(self.rules, state.expecting) or state.expecting
            return self.take(text, got, state, answered=answers(got, asked))
        if self.last_move.name == "emergency" and self.last_move.target not in state.acknowledged:
            again = caution_blocks(self.rules, [str(self.last_move.target)])
            return [*again, Block("ask", phrases.NOT_YET)]
        return self._not_understood(text, got, state)

    def take(
        self, text: str, got: Understood, state: CaseState, *, answered: bool, sump: str | None = None
    ) -> list[Block]:
        """Store what a line said, say it back, and go on."""
        self.record.said(text, got, state.expecting, answered=answered, sump=sump)
        acting.found_out(self, state, got)
        self.trial = None
        blocks = carried.take_over(self, sump) if sump else []
        blocks += said_back(self, got, state, sump)
        blocks += self.names.offer(text, got)
        self.doubts.add(text, got.ask, got.facts)
        before, state = state, self.state()
        blocks += passed.not_lifted(self, before, state)
        fresh = new_cautions.fresh(state, self.view(state=state))
        urgent = any(self.rules.cautions[c]["level"] in {"emergency", "stop"} for c in fresh)
        doubt = None if urgent else self.doubts.next()
        if doubt is None:
            return blocks + self.go_on()
        return blocks + new_cautions.told(self) + doubt.blocks()

    def _not_understood(self, text: str, got: Understood, state: CaseState) -> list[Block]:
        self.record.said(text, Understood(unused=(text,)), state.expecting, answered=False)
        if got.wrong:
            return [*(Block("text", why) for why in got.wrong), *self.repeat()]
        first = passed.said_again(self, state, self.view(state=state))
        if state.expecting in (None, policy.COMPLAINT):
            if state.verdict is None:
                return [*first, Block("text", phrases.SAY_MORE)]
            return [*first, Block("text", phrases.NOT_USED.format(said=text[:60])), self.rest()]
        asked = procedures.asked_for(self.rules, state.expecting) or ""
        return [*first, Block("text", why_unusable(self.rules, asked, text)), *self.question(again=True)]

    # -- moves -----------------------------------------------------------------------------------

    def go_on(self, stop: bool = False) -> list[Block]:
        """Show new cautions, then make moves until the person has to say something."""
        blocks: list[Block] = []
        for _ in range(6):
            state = self.state()
            view = self.view(state=state)
            shown, new = new_cautions.blocks(state, view)
            self.record.shown(shown)
            state = self.state()
            move = policy.next_move(state, view, sumps=bool(self.shop.sumps), stop=stop)
            move = move if stop else once_more(self, state, view, move)
            self.last_move = move
            if move.name == "verdict":
                blocks += verdict_at_a_glance(view, new, shown, before=state.verdict)
                whole = verdict_json(view, show=self.shop.display, aim=self.shop.aim(state.sump, state.facts))
                whole.pop("unused")
                self.record.verdict(whole)
                continue
            if move.name == "emergency" and move.target not in shown:
                new = [*passed.in_a_line(self.rules, str(move.target)), *new]
            blocks += new
            if move.name == "conclude":
                blocks += conclude(self, str(move.target))
                continue
            if move.name == "recipe":
                blocks = with_recipe(blocks, recipe_anew(self, state, view, move.target))
                continue
            return with_question(blocks + in_short(view, blocks), self._last(move, view))
        return blocks

    def _last(self, move: policy.Move, view: Assessment) -> list[Block]:
        if move.name == "emergency":
            return [Block("ask", phrases.EMERGENCY_NEXT)]
        if move.name == "ask":
            also = policy.while_there(self.state(), view, move)
            blocks = self.question()
            self.record.append("asked", {"move": "ask", "target": move.target})
            lead_in = {
                policy.RECIPE_NEEDS: phrases.FOR_THE_RECIPE,
                policy.HANGS_ON: phrases_led.FOR_THE_VERDICT,
            }.get(move.lead_in or "")
            if lead_in:
                blocks[0] = Block("ask", lead_in.format(question=blocks[0].text))
            told = [str(self.rules.observables[key].question) for key in also]
            return (
                [*blocks, Block("text", phrases.WHILE_THERE.format(also=" ".join(told)))] if told else blocks
            )
        state = self.state()
        same = state.told and self.record.events[-1].kind == "said"
        first = Block("text", self._saved(), rank=SAVED_RANK)
        if same:
            old = begun(state) and outdated(state, view, policy.recipe_kind(view))
            first = Block("text", phrases_led.UNDER_WAY if old else phrases.SAME_VERDICT)
        walk = Follower(self, state).going_on()
        return [first, *walk] if walk and walk[-1].kind == "ask" else [first, *walk, self.rest()]

    def rest(self) -> Block:
        """What is said where no question is open: what to type next."""
        state = self.state()
        if is_closed(state):
            return Block("ask", phrases_led.CLOSED)
        if state.carried:
            return Block("ask", phrases_led.STILL_REST)
        open_recipe = state.recipe is not None and not state.recipe["refused"] and not is_spent(state)
        if open_recipe:
            return Block("ask", phrases.AFTER_THE_FIX, briefs=(phrases.AFTER_THE_FIX_SHORT,))
        return Block("ask", phrases.ANYTHING_ELSE, briefs=(phrases.ANYTHING_SHORT,))

    # -- what a person may ask for ---------------------------------------------------------------

    def repeat(self) -> list[Block]:
        """The open question again, or what can be said when none is open."""
        if self.last_move.name == "ask":
            return self.question(again=True)
        return [self.rest()]

    def question(self, *, again: bool = False) -> list[Block]:
        """The open question; `again` leaves out the steps of how to look."""
        if self.last_move.target == RECHECK:
            return [Block("ask", phrases_led.AFTER_ALL)]
        if self.last_move.target == POURED:
            return ask_blocks(self.state().recipe or {}, self.shop.display)
        if (self.last_move.target or "").startswith(procedures.AGAIN):
            return again_blocks(self, str(self.last_move.target))
        if other := still_asked(self):
            return other
        if procedures.is_step(self.last_move.target):
            state = self.state()
            return led_blocks(self.rules, state, self.view(state=state), self.last_move)
        return question_blocks(self.rules, self.last_move, self.shop, again=again)

    def _stop_here(self) -> list[Block]:
        state = self.state()
        answered = state.rechecking or state.gone  # after a recheck the fix has its own answer
        settled = answered or not policy.told(state)
        blocks = [] if settled else self.go_on(stop=True)
        told = [b for b in blocks if b.kind not in {"ask", "answers"} and b.text != self._saved()]
        blocks = [b for b in told if not b.label.startswith(phrases.STEP)]
        if self.case is not None:
            how = {"how": "finished" if self.state().verdict else "stopped", **passed.left_standing(self)}
            self.record.append("closed", how)
            blocks.append(Block("text", self._saved()))
        self.over = True
        return blocks

    def _saved(self) -> str:
        return phrases.SAVED_DONE.format(case=self.case)

    def leave(self) -> list[Block]:
        """Ctrl-D: everything is stored already; say so."""
        self.over = True
        if self.case is None:
            return []
        return [Block("text", phrases.SAVED.format(case=self.case))]
