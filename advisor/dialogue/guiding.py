"""One line of a person who is being led through a check: done, a number, cannot, will not."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from advisor.dialogue import phrases, phrases_led, policy, procedures
from advisor.dialogue.asking import plain_no, plain_yes
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import LEFT, CaseState, fact_data
from advisor.dialogue.rechecks import settle
from advisor.dialogue.shortening import first_sentence
from advisor.dialogue.ticking import ALL, told_done
from advisor.dialogue.understanding import Understood
from advisor.inference.assess import Assessment
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.quantities import System, show

if TYPE_CHECKING:
    from advisor.dialogue.session import Session


#: At a step these say that all that is left of the order is done; those say only that it was heard.
_ALL_DONE = {"all", "all of it", "all of them", "everything"}
#: Requests that leave the rest of a check.
LEAVES = {"skip_all", "enough"}
_HEARD = {"ok", "okay", "k", "right", "got it", "will do", "alright"}


class Guide:
    """Handles the lines of one session while a step of a procedure is open."""

    def __init__(self, session: Session, state: CaseState) -> None:
        self.session, self.state = session, state
        self.rules = session.rules

    def answer(self, text: str) -> list[Block] | None:
        """What follows from a line, or None when it is about something else."""
        key, step = procedures.find(self.rules, self.state.expecting)
        if step["id"] == procedures.LIST:
            return self._listed(text, key)
        got = self.session.understood(text, self.state.expecting)
        kinds = {r.kind for r in got.requests}
        if kinds & LEAVES and not got.facts:
            return self._leave(text, key)
        if "skip" in kinds and not got.facts:
            return self._pass(text, phrases.SKIPPED)
        asks = step.get("asks", [])
        if any(f.id in asks and f.status == "present" for f in got.facts):
            return self._number(text, step, got)
        low = f" {' '.join(text.lower().strip(' .!').split())} "
        if {f.key for f in got.facts if f.status == "present"} & {*step.get("fails", ())} or any(
            f" {word} " in low for word in step.get("fail_words", ())
        ):
            facts = tuple(procedures.made(self.rules, step.get("fails", ())[:1], text))
            return self._passed(text, replace(got, facts=got.facts or facts))
        if "dont_know" in kinds or plain_no(text):
            return self._pass(text, phrases_led.PASSED)
        if (low.strip() in _ALL_DONE or told_done(text) == ALL) and self.rules.procedures[key][
            "kind"
        ] == "order":
            return self._all_done(text, key)
        if low.strip() in _HEARD:
            return [Block("ask", phrases_led.TYPE_IT if asks else phrases_led.STEP_DONE_YET)]
        if "done" in kinds or plain_yes(text):
            return [Block("ask", phrases_led.TYPE_IT)] if asks else self._done(text, step, Understood())
        said = "done" in text.lower().split() or told_done(text) or procedures.says_done(text, step)
        return self._done(text, step, got) if said and not asks else None

    def _all_done(self, text: str, key: str) -> list[Block]:
        """Every step of an order that is left is done already, as in its list."""
        steps = procedures.untold(self.state, self.session.view(state=self.state), key)
        leaves = [leaf for step in steps for leaf in step["makes"]]
        return self._record(text, Understood(facts=tuple(procedures.made(self.rules, leaves, text))))

    def begin(self, text: str, key: str) -> list[Block]:
        """Begin the check a person asks for by name."""
        state, view = self.state, self.session.view(state=self.state)
        if key in state.concluded or procedures.begun(state, key):
            self.session.record.append("concluded", {"procedure": key, "end": "anew"}, text)
        state = self.session.state()
        move = policy.lead(state, view, key)
        self.session.last_move = move
        self.session.record.append("asked", {"move": "ask", "target": move.target})
        return led_blocks(self.rules, state, view, move)

    def _listed(self, text: str, key: str) -> list[Block] | None:
        steps = procedures.untold(self.state, self.session.view(state=self.state), key)
        which = procedures.picked(text, len(steps))
        if which is not None:
            leaves = [leaf for i in sorted(which) for leaf in steps[i]["makes"]]
            return self._record(text, Understood(facts=tuple(procedures.made(self.rules, leaves, text))))
        if not any(c.isalpha() for c in text):
            return [Block("text", phrases_led.LIST_WRONG.format(last=len(steps)))]
        told = self._told_in_words(text, steps)
        if told:
            return self._record(text, told)
        kinds = {r.kind for r in self.session.understood(text).requests}
        if kinds & LEAVES:
            return self._leave(text, key)
        vague = told_done(text) is not None or "both" in text.lower().split()
        return [Block("ask", phrases_led.LIST_WHICH.format(last=len(steps)))] if vague else None

    def _told_in_words(self, text: str, steps: list[procedures.Step]) -> Understood | None:
        """What a line says about the listed steps, each read as the answer to a question about it."""
        got = self.session.understood(text)
        about = {leaf.removeprefix("not ").partition(":")[0] for step in steps for leaf in step["makes"]}
        held = {f.key: f for f in got.facts}
        for part in re.split(r"[,;.]|\band\b|\bund\b", text):
            for observable in sorted(about):
                if not part.strip() or (plain_no(part) and got.facts):
                    continue  # the "no" of "no, tank at 75 percent" is about another answer
                read = self.session.understood(part, observable).facts
                held |= {f.key: replace(f, said=text) for f in read if f.id == observable}
        if not {f.id for f in held.values()} & about:
            return None
        return replace(got, facts=tuple(held.values()), ask=())

    def _number(self, text: str, step: procedures.Step, got: Understood) -> list[Block]:
        """A reading that was asked for, worked back to the whole sample where it was thinned."""
        zero = self.session.view(state=self.state).known.quantity("refractometer_water_reading") or 0.0
        facts, told = [], []
        for fact in got.facts:
            whole = procedures.multiplied_back(step, fact, zero) if fact.id in step["asks"] else fact
            if whole is not fact and isinstance(fact.value, float) and isinstance(whole.value, float):
                unit = fact.unit or "1"
                both = phrases_led.DOUBLED.format(read=show(fact.value, unit), whole=show(whole.value, unit))
                told.append(Block("text", both))
            facts.append(whole)
        return told + self._done(text, step, replace(got, facts=tuple(facts)))

    def _done(self, text: str, step: procedures.Step, got: Understood) -> list[Block]:
        made = tuple(procedures.made(self.rules, step.get("makes", ()), text))
        return self._record(text, replace(got, facts=(*got.facts, *made)))

    def _passed(self, text: str, got: Understood) -> list[Block]:
        return self._record(text, got)

    def _record(self, text: str, got: Understood) -> list[Block]:
        """Store a step's answer and go on, without saying back what the step itself said."""
        self.session.record.said(text, got, self.state.expecting, answered=True)
        return self.session.go_on()

    def _pass(self, text: str, told: str) -> list[Block]:
        """This one step stays undone; the check goes on."""
        self.session.record.skipped(text, str(self.state.expecting))
        return [Block("text", told), *self.session.go_on()]

    def _leave(self, text: str, key: str) -> list[Block]:
        """The person will not be led: what then holds is kept, and the check is not offered again."""
        facts = list(procedures.made(self.rules, self.rules.procedures[key].get("leaves", ()), text))
        data = {"procedure": key, "end": LEFT, "facts": [fact_data(f, text) for f in facts]}
        self.session.record.skipped(text, str(self.state.expecting))
        if self.rules.procedures[key]["kind"] == "miss":  # then the one reading has to do
            return [Block("text", phrases_led.LEFT_REST), *settle(self.session), *self.session.go_on()]
        self.session.record.append("concluded", data)
        return [Block("text", phrases_led.LEFT if facts else phrases_led.LEFT_REST), *self.session.go_on()]


def led_blocks(rules: RuleBase, state: CaseState, view: Assessment, move: policy.Move) -> list[Block]:
    """A step put before the person; on the first one, what it is about and how to answer."""
    key, step = procedures.find(rules, move.target)
    item = rules.procedures[key]
    if step["id"] == procedures.LIST:
        return _list_blocks(state, view, key, short=move.lead_in == policy.HANGS_ON)
    first = not procedures.begun(state, key)
    blocks = []
    if first and item.get("opens"):
        blocks.append(Block("warn", item["opens"], phrases_led.CAREFUL))
    blocks += [Block("text", text) for text in _instead(state, view, key, step)]
    number, total = procedures.counted(state, view, key)
    blocks.append(Block("ask", phrases_led.STEP.format(number=number, total=total, text=step["do"])))
    if not state.asked.keys() & {f"{key}/{s['id']}" for s in item["steps"]}:  # a list may have come before
        blocks.append(Block("text", phrases_led.HOW_NUMBER if step.get("asks") else phrases_led.HOW_STEP))
    return blocks


def _instead(state: CaseState, view: Assessment, key: str, step: procedures.Step) -> list[str]:
    """What is said in place of a barred step right before this one."""
    steps = view.known.rules.procedures[key]["steps"]
    at = next(i for i, s in enumerate(steps) if s["id"] == step["id"])
    told = []
    for earlier in reversed(steps[:at]):
        if f"{key}/{earlier['id']}" in state.answered:
            break
        if procedures.barred(view, earlier):
            told.append(str(earlier["instead"]))
    return told


def _list_blocks(state: CaseState, view: Assessment, key: str, *, short: bool) -> list[Block]:
    """Which steps of an order are done: a list to pick from, or in one row where little room is left."""
    steps = procedures.untold(state, view, key)
    if short:
        words = phrases.listed([str(step.get("word", step["short"])) for step in steps])
        ask = Block("ask", phrases_led.WAS_IT.format(words=words))
        return [ask, Block("text", phrases_led.HOW_ROW)]
    shorts = "   ".join(f"{i} {step['short']}" for i, step in enumerate(steps, 1))
    ask = Block("ask", phrases_led.LIST if len(steps) > 1 else phrases_led.LIST_ONE)
    return [ask, Block("answers", shorts), Block("text", phrases_led.HOW_LIST)]


def conclude(session: Session, key: str) -> list[Block]:
    """Store and tell what a procedure that is through came to."""
    if session.rules.procedures[key]["kind"] == "miss":
        return settle(session)
    view = session.view(state=session.state())
    end = procedures.end_of(view, key)
    facts: list[Fact] = list(procedures.made(session.rules, end.get("makes", ()), "")) if end else []
    data = {
        "procedure": key,
        "end": end["id"] if end else "through",
        "facts": [fact_data(f, "") for f in facts],
    }
    session.record.append("concluded", data)
    return end_blocks(session, end) if end else []


def end_blocks(session: Session, end: dict[str, Any]) -> list[Block]:
    """What came of a check, in its own words, with the figures in force."""
    view = session.view(state=session.state())
    text = filled(str(end["text"]), view, session.shop.system)
    blocks = [Block("head", text, phrases_led.CAME_TO, briefs=(first_sentence(text),))]
    return blocks + [Block("item", text, f"{i}") for i, text in enumerate(end.get("do", ()), 1)]


def filled(text: str, view: Assessment, system: System = "metric") -> str:
    """A sentence of the rules with ``{strength}`` or ``{observable}`` filled in; unknown ones left out."""

    def value(found: re.Match[str]) -> str:
        key = found.group(1)
        unit = "fraction" if key == "strength" else view.known.rules.observables[key].unit or "1"
        held = view.strength.value if key == "strength" else view.known.quantity(key)
        return f"{found.group(0).partition('{')[0]}{show(held, unit, system)}" if held is not None else ""

    return re.sub(r",? ?\{(\w+)\}", value, text)
