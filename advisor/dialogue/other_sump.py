"""A line that is about another sump of the shop than the case: asked about, and taken where it belongs.

Figures of one machine must not be kept for another. A machine named only to compare ("same as lathe 2",
"lathe 1 next to it is fine") is no change of machine.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from advisor.dialogue import phrases_led, policy, procedures
from advisor.dialogue.asking import plain_yes
from advisor.dialogue.blocks import Block
from advisor.dialogue.carried import GRAVE
from advisor.dialogue.case import CaseState
from advisor.dialogue.screens import caution_blocks
from advisor.dialogue.understanding import Understood
from advisor.inference.assess import assess

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: Questions that are answered by naming other machines, and what is told of this one by that.
_OF_MACHINES = frozenset({"neighbour", "machines_affected", "machines_total"})
_OF_OTHERS = _OF_MACHINES | {"changed"}
#: The same, and what a machine is: none of it says that a line is about that machine's fluid.
_NO_STATE = _OF_OTHERS | {"operation", "workpiece", "system", "region"}

#: The first word of an answer to the question, with the slips of a hasty hand.
_YES = re.compile(r"y|ye+s+|yea+h*|ye[ps]|yup|ys|yse|ja+|jep|aye", re.I)
_NO = re.compile(r"n|no+|nope|nah|on|nein|nee", re.I)
#: How another sump's name is read where it is only spoken of.
_ANOTHER = "the other machine "


class OtherSump:
    """Whether the present line is about another sump, and the lines that wait for the answer.

    Args:
        session: the conversation.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.name = ""
        self.lines: list[str] = []
        self._here = False

    def as_another(self, text: str) -> str:
        """The line with another sump's name read as "the other machine": a lathe tells of no turning."""
        here = self.session.record.state().sump if self.session.case else None
        name = self.session.shop.sump_named(text) if here else None
        if name is None or name == here:
            return text
        rest = self.session.shop.without_name(text, name)
        at = _parting(text, rest)
        return f"{text[:at]}{_ANOTHER}{rest[at:]}"

    def first(self, text: str, state: CaseState) -> list[Block] | None:
        """What follows from a line that names another sump, or answers whether it does; else None."""
        if self.name:
            return self._answered(text)
        session = self.session
        asked = procedures.asked_for(session.rules, state.expecting) or state.expecting
        alarmed = session.last_move.name == "emergency"
        if state.sump is None or alarmed or self._here or asked == policy.SUMP:
            return None
        name = session.shop.sump_named(text)
        if name is None or name == state.sump:
            return None
        about = self._about(text, name, state, str(asked))
        return None if about is None else self._asks(name, text) if about else self._beside(text, name, state)

    def _about(self, text: str, name: str, state: CaseState, asked: str) -> bool | None:
        """Whether a line tells of that sump, False where it only sets it beside this one; None: neither."""
        session, rest = self.session, self.session.shop.without_name(text, name)
        words: dict[str, list[str]] = session.lexicon.settings["other_sump"]
        before = _words(text[: _parting(text, rest)])
        said = {*_words(rest)} - {*before}
        if {*before} - {*words["lead"]} or session.shop.sump_named(rest) == state.sump:
            return None
        if said & {*words["compared"]}:
            return False
        got = session.understood(rest)
        facts = [f for f in got.facts if f.id not in _NO_STATE]
        figure = any(session.rules.observables[f.id].kind == "quantity" for f in facts) or bool(got.ask)
        plain = bool(said & {*words["as_it_should"]}) or asked in _OF_MACHINES
        if plain and not figure and not self._grave(rest):
            return False
        return True if facts or got.ask or not said else None

    def _beside(self, text: str, name: str, state: CaseState) -> list[Block]:
        """What a line tells of another machine beside this one; no more of it counts here."""
        session = self.session
        got = session.understood(text, "neighbour")
        facts = tuple(f for f in got.facts if f.id in _OF_OTHERS)
        if facts:
            answered = any(f.id == state.expecting for f in facts)
            return session.take(text, Understood(facts=facts), state, answered=answered)
        session.record.said(text, Understood(unused=(text,)), state.expecting, answered=False)
        told = phrases_led.OTHER_BESIDE.format(name=name, sump=state.sump)
        return [Block("text", told), *session.repeat()]

    def _asks(self, name: str, text: str) -> list[Block]:
        """Put the question; what is dangerous in the line is answered first, wherever it is."""
        self.name = name
        return [*self._kept(text), self._question()]

    def _kept(self, text: str) -> list[Block]:
        session = self.session
        self.lines.append(text)
        session.record.said(text, Understood(unused=(text,)), session.state().expecting, answered=False)
        return caution_blocks(session.rules, self._grave(session.shop.without_name(text, self.name)))

    def _grave(self, text: str) -> list[str]:
        """Cautions that stop, of what a line tells by itself."""
        rules, found = self.session.rules, self.session.understood(text).facts
        held = assess(found, rules, questions=False).cautions if found else ()
        return [c for c in held if rules.cautions[c]["level"] in GRAVE]

    def _question(self) -> Block:
        return Block("ask", phrases_led.OTHER_SUMP.format(name=self.name))

    def _answered(self, text: str) -> list[Block]:
        session = self.session
        kinds = {r.kind for r in session.understood(text).requests}
        first = next(iter(_words(text)), "")
        if plain_yes(text) or "yes" in kinds or _YES.fullmatch(first):
            return self._there()
        if "back" in kinds:
            self._forget()
            return [Block("text", phrases_led.OTHER_DROPPED), *session.repeat()]
        if "no" in kinds or _NO.fullmatch(first):
            return self._stays()
        if kinds & {"stop_here", "enough", "skip", "dont_know"}:
            return [*self._stays(), *(session.say(text) if kinds & {"stop_here", "enough"} else [])]
        if not text or kinds:
            return [self._question()]
        return [*self._kept(text), Block("text", phrases_led.OTHER_KEPT), self._question()]

    def _there(self) -> list[Block]:
        """This case stays as it is; another begins at that sump with the lines that waited."""
        from advisor.dialogue.asides import Asides

        session, name, before = self.session, self.name, self.session.case
        line = ". ".join(self.lines)
        session.begin(session.record.clock, session.record.who)
        told = [Block("text", phrases_led.OTHER_BEGUN.format(case=before, name=name))]
        return told + Asides(session, session.state()).choose_sump(name, line)

    def _stays(self) -> list[Block]:
        """It was about this sump all the time: the lines count here, the other machine's name left out."""
        session = self.session
        rest = session.shop.without_name(". ".join(self.lines), self.name).strip(" ,:;.")
        self._forget()
        self._here = True
        told = [Block("text", phrases_led.OTHER_NOT.format(sump=session.state().sump))]
        try:
            return told + (session.say(rest) if re.search(r"\w", rest) else session.repeat())
        finally:
            self._here = False

    def _forget(self) -> None:
        self.name, self.lines = "", []


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.lower().replace("'", ""))


def _parting(text: str, rest: str) -> int:
    """Where a line and the same line without a name part."""
    return next((i for i, (a, b) in enumerate(zip(text, rest, strict=False)) if a != b), len(rest))
