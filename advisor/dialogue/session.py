"""The turn handler: a line in, blocks out, every event stored before the answer is shown.

Knows no terminal. The store, the clock and the shop come in from outside.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from advisor import __version__
from advisor.dialogue import phrases, policy
from advisor.dialogue.answer import verdict_json
from advisor.dialogue.asking import answer_by_number, plain_yes, question_blocks, safety_facts
from advisor.dialogue.case import SHOP_BOOK, CaseState, fact_data, fold
from advisor.dialogue.doubts import Doubt
from advisor.dialogue.events import Event, span
from advisor.dialogue.explaining import Explainer
from advisor.dialogue.following import recheck_blocks, tick_blocks
from advisor.dialogue.recipes import recipe
from advisor.dialogue.screens import (
    Block,
    caution_blocks,
    fact_words,
    more_blocks,
    recipe_blocks,
    verdict_blocks,
)
from advisor.dialogue.shop import Shop
from advisor.dialogue.understanding import Lexicon, Understood, understand
from advisor.inference.assess import Assessment, assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase

#: A line longer than this is refused, and nothing entered before is lost.
LONGEST_LINE = 2000
_KEEP = {"keep", "keep it", "keep that"}
_MORE = {"more", "show more", "the rest", "all of it"}
_DEALT = ("dealt with", "safe now", "help is here", "ambulance", "sorted", "they are safe")


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
        self.clock, self.who = clock, who
        self.shop = shop or Shop()
        self.case: int | None = None
        self.events: list[Event] = []
        self.words: dict[int, str] = {}
        self.trial: list[Fact] | None = None
        self.doubt: Doubt | None = None
        self.trial_words = ""
        self.offered: int | None = None
        self.over = False
        self._judged: tuple[object, Assessment] | None = None
        self.last_move = policy.Move("ask", policy.COMPLAINT)

    # -- opening ---------------------------------------------------------------------------------

    def open(self) -> list[Block]:
        """The first screen: who this is, what to type, a caution, and the question."""
        blocks = [
            Block("text", phrases.GREETING),
            Block("text", phrases.HOW_TO_TYPE),
            Block("text", phrases.CARE),
        ]
        held = self.store.open_case(self.who)
        if held is not None and len(self.store.events(held)) > 2:
            self.offered = held
            row = next((r for r in self.store.cases(state="open") if r.id == held), None)
            about = (
                phrases.RESUME_ABOUT.format(sump=row.sump or "no machine named", events=row.events)
                if row
                else ""
            )
            return [*blocks, Block("ask", phrases.HALF_FINISHED.format(case=held, about=about))]
        return [*blocks, Block("ask", phrases.WHAT_DO_YOU_SEE)]

    def resume(self, case: int) -> list[Block]:
        """Take up a case where it was left."""
        self.case = case
        self.events = self.store.events(case)
        self.words = self.store.words(case)
        state = self.state()
        said = [fact_words(f, self.rules, self.shop.system) for f in state.facts if f.said != SHOP_BOOK]
        blocks = [
            Block("text", phrases.RESUMED),
            Block("note", phrases.listed(said) or "nothing noted yet", "Noted"),
        ]
        if state.recipe and not state.recipe["refused"]:
            blocks += recipe_blocks(state.recipe, self.shop.display)
        return blocks + self._go_on()

    # -- state -----------------------------------------------------------------------------------

    def state(self) -> CaseState:
        """The fold of the case so far."""
        return fold(self.events, self.words)

    def view(self, facts: list[Fact] | None = None, state: CaseState | None = None) -> Assessment:
        """The judgement of the case's facts, or of others."""
        state = state or self.state()
        held = tuple(state.facts if facts is None else facts), tuple(sorted(state.skipped))
        if self._judged is None or self._judged[0] != held:
            self._judged = held, assess(held[0], self.rules, skip=held[1])
        return self._judged[1]

    def _append(
        self, kind: str, data: dict[str, Any], words: str | None = None, visit: int | None = None
    ) -> Event:
        if self.case is None:
            opened = {
                "program": __version__,
                "sump": None,
                "product": None,
                "shop": self.shop.as_json(),
                "containers": self.shop.containers,
                "region": self.shop.region,
                "units": self.shop.system,
                "rules": self.rules.hash,
            }
            self.case = self.store.start_case(self.who, self.clock(), opened)
            self.events = self.store.events(self.case)
        event: Event = self.store.append(
            self.case, kind, data, words, time=self.clock(), who=self.who, visit=visit
        )
        self.events.append(event)
        if words:
            self.words[event.number] = words
        return event

    # -- a turn ----------------------------------------------------------------------------------

    def say(self, text: str) -> list[Block]:
        """Take in one line and answer it."""
        text = "".join(c if c.isprintable() else " " for c in text).strip()
        if len(text) > LONGEST_LINE:
            return [
                Block(
                    "text",
                    f"That line is too long ({len(text)} characters). Write the main thing in a "
                    f"sentence or two. Nothing noted before is lost.",
                )
            ]
        if self.offered is not None:
            return self._offer_answered(text)
        if not text:
            return self._repeat()
        state = self.state()
        expecting = state.expecting
        settled = self._settle(text, state)
        if settled is not None:
            return settled
        early = self._special(text, state)
        if early is not None:
            return early
        picked = answer_by_number(self.rules, expecting, text)
        observable = expecting if expecting in self.rules.observables else None
        got = picked or understand(
            text, lexicon=self.lexicon, expecting=observable, gallon=self.shop.gallon, known=state.facts
        )
        return self._answer(text, got, state)

    def _offer_answered(self, text: str) -> list[Block]:
        case, self.offered = self.offered, None
        low = text.lower().strip(" .!")
        if low in {"y", "yes", "yeah", "yep", "ok", "sure", "go on", ""}:
            return self.resume(int(case or 0))
        if case is not None:
            self.store.append(case, "closed", {"how": "replaced"}, time=self.clock(), who=self.who)
        if low in {"n", "no", "nope", "new"}:
            return [Block("text", phrases.FRESH), Block("ask", phrases.WHAT_DO_YOU_SEE)]
        return [Block("text", phrases.FRESH), *self.say(text)]

    def _special(self, text: str, state: CaseState) -> list[Block] | None:
        """Lines that mean something only here: a trial kept, an emergency dealt with, a recheck, a sump."""
        low = text.lower().strip(" .!?")
        if low in _KEEP:
            return self._keep_trial()
        if low in _MORE:
            return more_blocks(self.view(state=state))
        standing = self.last_move
        alarmed = standing.name == "emergency" and standing.target not in state.acknowledged
        if alarmed and any(word in low for word in _DEALT):
            self._append("acknowledged", {"cautions": [standing.target]}, text)
            return self._go_on()
        if state.recipe and low.startswith(("read again", "recheck", "reads now", "now reads")):
            return self._recheck(text, state)
        if state.expecting == policy.SUMP or state.sump is None:
            name = self.shop.sump_named(text, only=state.expecting == policy.SUMP)
            if name:
                return self._choose_sump(name, text, state)
        if state.expecting == policy.SAFETY:
            if plain_yes(text):
                return [Block("ask", phrases.SAFETY_WHICH)]
            facts = safety_facts(self.rules, text)
            if facts is not None:
                return self._take(text, Understood(facts=tuple(facts)), state, answered=True)
        return None

    def _answer(self, text: str, got: Understood, state: CaseState) -> list[Block]:
        explainer = Explainer(self, state)
        if not got.facts:
            for request in got.requests:
                if request.kind == "what_if":
                    return self._what_if(request.text, state)
                if request.kind in {"skip", "dont_know"}:
                    return self._skip(text, state, request.kind)
                if request.kind == "back":
                    return self._back()
                if request.kind == "stop_here":
                    return self._stop_here(text)
                if request.kind == "done":
                    return self._tick(state)
                told = explainer.answer(request)
                if told is not None:
                    return told
        if got.facts or got.ask:
            return self._take(text, got, state, answered=_answers(got, state.expecting))
        if self.last_move.name == "emergency" and self.last_move.target not in state.acknowledged:
            return [Block("emergency", phrases.NOT_YET, "EMERGENCY")]
        return self._not_understood(text, got, state)

    def _take(
        self, text: str, got: Understood, state: CaseState, *, answered: bool, sump: str | None = None
    ) -> list[Block]:
        data: dict[str, Any] = {
            "facts": [fact_data(f, text) for f in got.facts],
            "unused": [span(word, text) for word in got.unused],
            "corrections": [{"id": key} for key in got.corrections],
            "expecting": state.expecting,
            "answered": answered,
        }
        if sump:
            data["sump"], data["copy"] = sump, self.shop.copies.get(sump)
        self._append("said", data, text)
        self.trial = None
        blocks = []
        if sump:
            blocks.append(Block("note", f"{self.shop.summary(sump)}.", "From the shop book"))
        said = [fact_words(f, self.rules, self.shop.system) for f in got.facts if f.said != SHOP_BOOK]
        if said:
            blocks.append(Block("note", "; ".join(said) + ".", "Changed" if got.corrections else "Noted"))
        if got.unused and got.facts:
            blocks.append(
                Block("text", phrases.UNUSED.format(words=", ".join(f'"{w}"' for w in got.unused[:6])))
            )
        if got.ask:
            self.doubt = Doubt(text, got.ask[0])
            return blocks + self.doubt.blocks()
        return blocks + self._go_on()

    def _settle(self, text: str, state: CaseState) -> list[Block] | None:
        """The answer to what was in doubt, or None when the line is about something else."""
        doubt, self.doubt = self.doubt, None
        index = doubt.chosen(text) if doubt else None
        if doubt is None or index is None:
            return None
        gallon = doubt.gallon(index)
        if gallon is not None:
            self.shop.gallon = gallon
            habit = {"gallon": gallon}
            self.store.put_row("shop", "habits", habit, time=self.clock(), who=self.who)
            got = understand(doubt.text, lexicon=self.lexicon, gallon=gallon, known=state.facts)
            facts = tuple(f for f in got.facts if f.unit in {"L", "L/day", "L/min", "fraction"})
            return self._take(text, Understood(facts=facts), state, answered=_answers(got, state.expecting))
        fact = doubt.ratio_fact(index, state.facts)
        if fact is not None:
            return self._take(text, Understood(facts=(fact,)), state, answered=False)
        got = understand(doubt.rewritten(index), lexicon=self.lexicon, gallon=self.shop.gallon, known=state.facts)
        facts = tuple(f for f in got.facts if f.id == doubt.about.about)
        return self._take(text, Understood(facts=facts), state, answered=_answers(got, state.expecting))

    def _not_understood(self, text: str, got: Understood, state: CaseState) -> list[Block]:
        self._append(
            "said",
            {"facts": [], "unused": [[0, len(text)]], "expecting": state.expecting, "answered": False},
            text,
        )
        if state.expecting in (None, policy.COMPLAINT):
            return [Block("text", phrases.SAY_MORE)]
        return [
            Block("text", f'I could not use "{text[:60]}" as an answer.'),
            *question_blocks(self.rules, self.last_move, self.shop, again=True),
        ]

    # -- moves -----------------------------------------------------------------------------------

    def _go_on(self, stop: bool = False) -> list[Block]:
        """Show new cautions, then make moves until the person has to say something."""
        blocks: list[Block] = []
        for _ in range(6):
            state = self.state()
            view = self.view(state=state)
            blocks += self._cautions(state, view)
            state = self.state()
            move = policy.next_move(state, view, sumps=bool(self.shop.sumps), stop=stop)
            self.last_move = move
            if move.name == "verdict":
                blocks += verdict_blocks(view, state.shown, self.shop.system)
                whole = verdict_json(view, show=self.shop.display, aim=self.shop.aim(state.sump))
                whole.pop("unused")
                self._append("verdict", {"verdict": whole, "rules": self.rules.hash, "program": __version__})
                self.store.keep_rule_base(self.rules.hash, self._compiled())
                self._mark_shown([c for c in view.cautions if c not in state.shown])
                continue
            if move.name == "recipe":
                made = recipe(view, str(move.target), self.shop.display, self.shop.aim(state.sump)).as_json()
                self._append("recipe", {"recipe": made, "action": None})
                blocks += recipe_blocks(made, self.shop.display)
                continue
            return blocks + self._last(move, view)
        return blocks

    def _last(self, move: policy.Move, view: Assessment) -> list[Block]:
        if move.name == "emergency":
            return [Block("ask", phrases.EMERGENCY_NEXT)]
        if move.name == "ask":
            self._append("asked", {"move": "ask", "target": move.target})
            return question_blocks(self.rules, move, self.shop)
        return [Block("text", phrases.SAVED_DONE.format(case=self.case)), Block("ask", phrases.ANYTHING_ELSE)]

    def _compiled(self) -> bytes:
        import json

        return json.dumps(self.rules.data, ensure_ascii=False, separators=(",", ":")).encode()

    def _cautions(self, state: CaseState, view: Assessment) -> list[Block]:
        level = {c: self.rules.cautions[c]["level"] for c in view.cautions}
        fresh = [c for c in view.cautions if c not in state.shown and level[c] != "note"]
        self._mark_shown(fresh)
        return caution_blocks(self.rules, fresh)

    def _mark_shown(self, cautions: list[str]) -> None:
        if cautions:
            items = [
                {"id": c, "level": self.rules.cautions[c]["level"], "text": self.rules.cautions[c]["text"]}
                for c in cautions
            ]
            self._append("shown", {"cautions": items})

    # -- what a person may ask for ---------------------------------------------------------------

    def _repeat(self) -> list[Block]:
        if self.last_move.name == "ask":
            return question_blocks(self.rules, self.last_move, self.shop, again=True)
        return [Block("ask", phrases.ANYTHING_ELSE)]

    def question_again(self) -> list[Block]:
        """The open question once more, without the steps of how to look."""
        return question_blocks(self.rules, self.last_move, self.shop, again=True)

    def _choose_sump(self, name: str, text: str, state: CaseState) -> list[Block]:
        facts = self.shop.sump_facts(name, state.facts)
        got = understand(text, lexicon=self.lexicon, gallon=self.shop.gallon, known=state.facts)
        rest = [f for f in got.facts if f.id not in {"machines_affected", "machines_total"}]
        told = {f.id for f in rest}
        facts = [f for f in facts if f.id not in told]
        both = Understood(facts=(*facts, *rest), ask=got.ask)
        return self._take(
            text, both, state, answered=state.expecting in (policy.SUMP, policy.COMPLAINT), sump=name
        )

    def _skip(self, text: str, state: CaseState, kind: str) -> list[Block]:
        if not state.expecting:
            return self._repeat()
        self._append(
            "said",
            {"facts": [], "unused": [], "expecting": state.expecting, "answered": True, "skipped": True},
            text,
        )
        return [Block("text", phrases.SKIPPED if kind == "skip" else phrases.DONT_KNOW), *self._go_on()]

    def _back(self) -> list[Block]:
        state = self.state()
        if not state.said:
            return [Block("text", phrases.NOTHING_TO_UNDO)]
        self._append("back", {"to": state.said[-1] - 1})
        state = self.state()
        blocks = [Block("text", phrases.TAKEN_BACK)]
        if state.expecting:
            self.last_move = policy.Move("ask", state.expecting)
            return blocks + question_blocks(self.rules, self.last_move, self.shop)
        return blocks + self._go_on()

    def _stop_here(self, text: str) -> list[Block]:
        blocks = [] if not policy.told(self.state()) else self._go_on(stop=True)
        if self.last_move.name == "ask":  # a recipe still wants figures: leave it at the verdict
            blocks = [b for b in blocks if b.kind not in {"ask", "answers"}]
        if self.case is not None:
            self._append("closed", {"how": "finished" if self.state().verdict else "stopped"})
            blocks.append(Block("text", phrases.SAVED_DONE.format(case=self.case)))
        self.over = True
        return blocks

    def leave(self) -> list[Block]:
        """Ctrl-D: everything is stored already; say so."""
        self.over = True
        if self.case is None:
            return []
        return [Block("text", phrases.SAVED.format(case=self.case))]

    def _what_if(self, text: str, state: CaseState) -> list[Block]:
        got = understand(text, lexicon=self.lexicon, gallon=self.shop.gallon, known=state.facts)
        if not got.facts:
            return [Block("text", f'I could not use "{text[:60]}". Try "what if pH was 8.2".')]
        self.trial, self.trial_words = list(got.facts), text
        return Explainer(self, state).compare(list(got.facts))

    def _keep_trial(self) -> list[Block]:
        if not self.trial:
            return [Block("text", phrases.NOTHING_TO_KEEP)]
        data = [fact_data(f, self.trial_words) for f in self.trial]
        self._append("kept_what_if", {"facts": data}, self.trial_words)
        self.trial = None
        return [Block("text", phrases.KEPT), *self._go_on()]

    def _tick(self, state: CaseState) -> list[Block]:
        blocks, step = tick_blocks(state)
        if step is not None:
            self._append("step_done", {"step": step, "recipe": state.recipe_event})
        return blocks

    def _recheck(self, text: str, state: CaseState) -> list[Block]:
        got = understand(
            text, lexicon=self.lexicon, expecting="concentration", gallon=self.shop.gallon, known=state.facts
        )
        self._append("recheck", {"recipe": state.recipe_event}, visit=state.visit + 1)
        if not got.facts:
            return [Block("ask", "What does it read now?")]
        self._append(
            "said", {"facts": [fact_data(f, text) for f in got.facts], "unused": [], "expecting": None}, text
        )
        return recheck_blocks(self.view(), state)


def _answers(got: Understood, expecting: str | None) -> bool:
    if expecting in (None, policy.COMPLAINT):
        return True
    return any(f.id == expecting for f in got.facts)
