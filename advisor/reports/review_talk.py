"""The supervisor's desk as a conversation: open a case, try another answer, agree or overrule, go on.

Knows no terminal; it writes nothing but signatures.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.leaving import leaves
from advisor.dialogue.understanding import Lexicon
from advisor.errors import BadInput, SumpsideError
from advisor.inference.evidence import NOTHING_WRONG
from advisor.reports import review
from advisor.reports.case_screen import (
    answers_blocks,
    case_blocks,
    cautions_page,
    more_blocks,
    recipe_page,
    verdict_page,
)
from advisor.reports.cases import Opened, open_case
from advisor.reports.eyes import cause_title, signature_words, signatures
from advisor.reports.path import cause_words, path_blocks, verdict_words
from advisor.reports.putting_right import right_words, signed_right, standing_blocks
from advisor.reports.signing import changes, disputes, nearly_called, overruling, signed_data
from advisor.showing import local_time

HELP = (
    ("12", "opens case 12"),
    ("next", "opens the case that needs eyes most after this one"),
    ("what if strength was 6.5", "judges the case again with that answer; nothing is recorded"),
    ("path", "how it was decided, answer by answer"),
    ("answers", 'every answer in full; "cautions" and "recipe" show those in full'),
    ("agree", "signs that the verdict is right"),
    ("put right", "signs that too, and that the case's stop is put right"),
    ("overrule it was tramp oil because ...", "signs that another cause is right"),
    ("list", "what needs eyes first"),
    ("q", "leaves; so do quit, exit and Ctrl-D"),
)
WHAT_NOW = 'Type a number, "next", or "help". "q" leaves.'
_TRY = re.compile(r"^\s*(?:(?:w\w{1,4} )?if|what about|try|change|suppose)\s*[:,]?\s+(.+)", re.I)
_AGREE = {
    "agree", "agreed", "i agree", "right", "correct", "sign", "yes agree", "i agree with that", "its right",
    "it's right", "that is right", "that's right", "thats right", "looks right",
}  # fmt: skip
#: Said in passing; it is asked what is meant, for nothing is signed by chance.
_FINE = {"ok", "okay", "fine", "good", "yes", "y", "thanks", "fair enough"}
_PAGES: dict[str, Callable[[Opened], list[Block]]] = {
    **dict.fromkeys(("path", "why", "how", "show path", "the path", "why that", "explain"), path_blocks),
    **dict.fromkeys(("more", "the rest"), more_blocks),
    **dict.fromkeys(("answers", "all answers", "facts", "so far"), answers_blocks),
    **dict.fromkeys(("verdict", "how sure", "what would change it", "evidence"), verdict_page),
    **dict.fromkeys(("cautions", "all cautions", "caution", "dangers"), cautions_page),
    **dict.fromkeys(("recipe", "whole recipe", "the recipe", "steps"), recipe_page),
}
_YES = {"yes", "y", "yes please", "sure"}
_NO = {"no", "n", "nope", "cancel", "not", "don't", "dont", "no thanks"}
_PLAIN = ("help", "list", "next", "path", "answers", "cautions", "recipe", "agree", "leave")
_NUMBER = re.compile(r"(?:(?:o\w{2,3}|case|show|see|number|no|go to|look at) *)?#? *(\d{1,9})")
#: A slip of the pen in a word of the desk (judgement, common practice, no source).
_CLOSE = 0.75
#: A line that says no more than that the verdict is wrong, and how many likely causes are offered then.
_WRONG = re.compile(
    r"(?:(?:no|i|that|this|it|thats|that's|its|it's|is|think)[ ,]+)*"
    r"(?:overr?ul\w*|wrong|disagree|not right|incorrect)"
)
_OFFERED = 4
#: A line that overrules anew, where a name or a reason was asked for.
_ANEW = re.compile(r"^\s*(?:wrong|overr?ul\w*|no,? i think)\W+\w+", re.I)
_NO_REASON = re.compile(r"^\W*(?:because|why|none|no reason|dunno|don't know|just so)?\W*$", re.I)


@dataclass(slots=True)
class Waiting:
    """What is to be signed, and what is still asked before it is.

    Attributes:
        asks: ``cause``, ``reason``, ``again`` or ``who``.
        cause: the cause held for right, None to agree; reason: why; rivals: causes offered by number.
        right: stops that are signed to be put right.
        shown: numbers of the earlier signatures that the person has been shown.
    """

    asks: str
    cause: str | None
    reason: str = ""
    rivals: tuple[str, ...] = ()
    right: tuple[str, ...] = ()
    shown: set[int] = field(default_factory=set)


class ReviewTalk:
    """One supervisor looking through saved cases.

    Args:
        store: the logbook.
        lexicon: the phrases in which another answer may be given.
        clock: the time now, as events keep it.
        suggested: a name to be offered for the signature, "" for none.
        who: the name that signs, "" while it is not known.
        may_lift: raises `Refused` for a sign that may not say that a stop is put right.
    """

    def __init__(
        self, store: Any, lexicon: Lexicon, clock: Callable[[], str], *, suggested: str = "", who: str = "",
        may_lift: Callable[[str], None] = lambda _: None,
    ) -> None:  # fmt: skip
        self.store, self.lexicon, self.clock = store, lexicon, clock
        self.suggested, self.who, self.may_lift = suggested, who, may_lift
        self.case: Opened | None = None
        self.waiting: Waiting | None = None
        self.over = False
        self.results: review.Results = review.no_results
        self.one_line = False  # said once and ended: nothing further is offered

    def open(self, number: int | None = None) -> list[Block]:
        """The list, or one case."""
        if number is not None:
            return self._case(number)
        return self._list()

    def say(self, text: str) -> list[Block]:
        """Take one line and answer it; what cannot be done is told and changes nothing."""
        text = "".join(c if c.isprintable() else " " for c in text).strip()[:600]
        try:
            return self._say(text)
        except SumpsideError as trouble:
            return [Block("text", trouble.sentence())]

    def leave(self) -> list[Block]:
        """End it; what was not signed stays unsigned."""
        self.over = True
        left = "Nothing was signed." if self.waiting else "Nothing more was signed."
        self.waiting = None
        return [Block("text", left)]

    def _say(self, text: str) -> list[Block]:
        low = text.lower().strip(" .!?")
        if leaves(text) or (low == "done" and self.waiting is None):
            return self.leave()
        if self.waiting is not None:
            return self._go_on(text, low)
        if not low:
            return [Block("text", WHAT_NOW)]
        if low.isalpha() and low not in _AGREE and len(low) > 2:
            low = next(iter(get_close_matches(low, _PLAIN, 1, _CLOSE)), low)
        if low in {"help", "?", "h"}:
            return [Block("item", what, label) for label, what in HELP]
        if low in {"list", "back"}:
            return self._list()
        if low == "next":
            return self._next()
        number = _NUMBER.fullmatch(low)
        return self._case(int(number[1])) if number else self._about(text, low)

    def _about(self, text: str, low: str) -> list[Block]:
        """Something about the case that is open."""
        case = self._opened()
        if low in _PAGES:
            return _PAGES[low](case)
        if low in _AGREE:
            return self._sign(Waiting("who", None))
        if low in _FINE:
            return [Block("text", 'Type "agree" to sign that the verdict is right, or "next".')]
        tried = _TRY.match(text)
        if tried:
            return review.changed_blocks(case, changes(case, [tried[1]], self.lexicon))
        if low in _NO or _WRONG.fullmatch(low):
            return self._ask_cause()
        disputed = disputes(text)
        right = None if disputed else signed_right(case, text, self.lexicon)
        if right:
            return self._sign(Waiting("who", None, right=right))
        held = None if disputed is False else self._held(text, sure=disputed is True)
        if held:
            return held
        try:
            return review.changed_blocks(case, changes(case, [text], self.lexicon))
        except BadInput as trouble:
            raise BadInput(trouble.sentence(), right='"help" shows what else can be typed') from None

    def _opened(self) -> Opened:
        if self.case is None:
            raise BadInput("no case is open", right="type its number first")
        return self.case

    def _list(self) -> list[Block]:
        return [*review.listed_blocks(self.store, self.results), Block("ask", WHAT_NOW)]

    def _case(self, number: int) -> list[Block]:
        self.case = open_case(self.store, number)
        told = 'Type "agree", "overrule it was ... because ...", "what if ...", "next", or "help" for more.'
        came = [one.block() for one in self.results([number]).get(number, ())]
        return [*case_blocks(self.case), *standing_blocks(self.case), *came, Block("ask", told)]

    def _next(self) -> list[Block]:
        numbers = review.in_need(self.store, self.results)
        here = self.case.number if self.case else None
        at = numbers.index(here) + 1 if here in numbers else 0
        if at >= len(numbers):
            return [Block("text", "No further case needs eyes.")]
        return self._case(numbers[at])

    def _held(self, text: str, *, sure: bool) -> list[Block] | None:
        """Offer to overrule with the cause a line names; None where it may be no overruling after all.

        Raises:
            BadInput: it is one, and names no cause or several.
        """
        rules = self._opened().rules
        try:
            cause, reason = overruling(rules, text)
        except BadInput:
            if not sure and self._answers(text):
                return None
            near = nearly_called(rules, text)
            if near is None and sure:
                raise
            if near is None:
                return None
            cause, reason = near, ""
        return self._sign(Waiting("who", cause, reason)) if reason else self._ask_why(cause)

    def _ask_cause(self) -> list[Block]:
        """Ask which cause is right, with the next likely ones by number."""
        signed_data(self._opened(), None)  # a case without a verdict is refused before anything is asked
        view = self._opened().view()
        others = [j.id for j in view.causes if j.id not in (NOTHING_WRONG, view.lead)]
        self.waiting = Waiting("cause", None, rivals=tuple(others[:_OFFERED]))
        told = [f"{i} {cause_title(view.known.rules, c)}" for i, c in enumerate(self.waiting.rivals, 1)]
        asks = Block("ask", 'Which cause is right? Name it or type its number; "no" signs nothing.')
        return [asks, Block("answers", "   ".join(told))] if told else [asks]

    def _ask_why(self, cause: str) -> list[Block]:
        signed_data(self._opened(), cause)
        self.waiting = Waiting("reason", cause)
        rules = self._opened().rules
        return [
            Block("note", f"{phrases.sentence(cause_words(rules, cause))}", "You would overrule with"),
            Block("ask", 'Why? Type the reason in a few words, or "no" to sign nothing.'),
        ]

    def _answers(self, text: str) -> bool:
        """Whether a line tells an answer that can be tried."""
        try:
            return bool(changes(self._opened(), [text], self.lexicon))
        except SumpsideError:
            return False

    # -- signing -----------------------------------------------------------------------------------

    def _go_on(self, text: str, low: str) -> list[Block]:
        """The answer to what is still asked before it is signed."""
        waiting = self.waiting
        assert waiting is not None
        if low in _NO:
            self.waiting = None
            return [Block("text", "Not signed.")]
        if _ANEW.match(text):  # another mind, before anything is signed
            self.waiting = None
            return self._held(text, sure=True) or []
        if waiting.asks == "cause":
            if low.isdecimal() and 1 <= int(low) <= len(waiting.rivals):
                return self._ask_why(waiting.rivals[int(low) - 1])
            return self._held(text, sure=True) or []
        if waiting.asks == "reason":
            if _NO_REASON.match(text) or low in _PLAIN or low in _AGREE:
                right = 'Type why in a few words, such as "oil lay on the jar", or "no".'
                return [Block("text", f"An overruling needs a reason. {right}")]
            waiting.reason = re.sub(r"^\s*because\s+", "", text, flags=re.I).strip(" .")
            return self._sign(waiting)
        if waiting.asks == "again":
            if low not in _YES:
                return [Block("text", 'Type "yes" to sign besides, or "no" to leave it as it is.')]
            return self._ask_who(waiting)
        if not text and self.suggested:
            text = self.suggested
        self.who = signer(text)
        return self._written(waiting)

    def sign(self, cause: str | None, reason: str, shown: set[int]) -> list[Block]:
        """Sign the open case as if it had been said.

        Args:
            cause: the one held for right, None to agree; reason: why.
            shown: numbers of the earlier signatures that the person knows of.
        """
        return self._sign(Waiting("who", cause, reason, shown=set(shown)))

    def _sign(self, waiting: Waiting) -> list[Block]:
        """Show earlier signatures of the same verdict, ask who signs, or sign where all that is known."""
        case = self.case = open_case(self.store, self._opened().number)
        signed_data(case, waiting.cause, waiting.reason)
        self.waiting = waiting
        fresh = [e for e in signatures(case.events) if e.number not in waiting.shown]
        if not fresh:
            return self._ask_who(waiting)
        waiting.asks, waiting.shown = "again", waiting.shown | {e.number for e in fresh}
        return [
            *signed_already(case, fresh, waiting.cause),
            Block("ask", "Sign again? Yours is added; the one before stays. Type yes or no."),
        ]

    def _ask_who(self, waiting: Waiting) -> list[Block]:
        waiting.asks = "who"
        if self.who:
            return self._written(waiting)
        offered = f' Enter signs as "{self.suggested}".' if self.suggested else ""
        return [
            Block("note", f"{self._what(waiting)}.", "You sign"),
            Block("ask", f'Who signs? Type your name, or "no".{offered}'),
        ]

    def _written(self, waiting: Waiting) -> list[Block]:
        case = open_case(self.store, self._opened().number)
        if any(e.number not in waiting.shown for e in signatures(case.events)):
            return self._sign(waiting)  # somebody else has signed meanwhile
        if waiting.right:
            self.may_lift(self.who)
        data, self.waiting = signed_data(case, waiting.cause, waiting.reason, waiting.right), None
        event = self.store.append(case.number, "review", data, time=self.clock(), who=self.who)
        self.case = open_case(self.store, case.number)
        told = signed_blocks(event, self._what(waiting))
        further = Block("text", '"next" opens the next case that needs eyes; "q" leaves.')
        return told if self.one_line else [*told, further]

    def _what(self, waiting: Waiting) -> str:
        case, right = self._opened(), waiting.right
        said = what_is_signed(case, signed_data(case, waiting.cause, waiting.reason))
        return said.rstrip(".") + right_words(case, right)


def signed_already(case: Opened, earlier: list[Any], cause: str | None) -> list[Block]:
    """The signatures a verdict has already, and whether the new one (None: agreed) says otherwise."""
    blocks = [Block("head", signature_words(event, case.rules), "SIGNED ALREADY") for event in earlier]
    if any(event.data.get("cause") != cause for event in earlier):
        blocks.append(Block("warn", "Your signature would say otherwise. Both would stand.", "TAKE CARE"))
    return blocks


def what_is_signed(case: Opened, data: dict[str, Any]) -> str:
    """What a signature says, in words."""
    verdict = verdict_words(case.view())
    if data["agrees"]:
        return f"case {case.number} is right: {verdict}"
    named = data["cause"] in case.rules.causes
    held = cause_words(case.rules, data["cause"]) if named else data["cause"]
    return f"case {case.number} is wrong ({verdict}): {held}, because {data['reason']}"


#: Words that answer or ask something; nobody is called so.
_NO_NAME = {
    *_AGREE, *_YES, *_NO, *_PLAIN, *_FINE, "what", "why", "who", "me", "i", "name", "my name", "overrule",
    "wrong", "done", "back", "operator", "supervisor", "nobody", "anyone", "test", "because", "what if",
    "the supervisor",
}  # fmt: skip
#: A line that goes on with the work instead of giving a name.
_SAID = re.compile(
    r"^(?:what|why|how|overr?ul\w*|agree\w*|open \d|case \d|no[, ]+(?:i|it|that|not|the)\b|yes[, ]"
    r"|it (?:was|is)|i (?:think|am))",
    re.I,
)
#: More words than this are a sentence, no name (judgement, common practice, no source).
_NAME_WORDS = 6


def signer(text: str) -> str:
    """A name that can stand under a signature.

    Raises:
        BadInput: empty, too long, a word that answers or asks something, or not printable.
    """
    name = " ".join(text.split())
    low = name.lower().strip(" .!?,")
    named = sum(c.isalpha() for c in name) >= 1 and name.isprintable() and "?" not in name
    if not named or len(name) > 60 or len(name.split()) > _NAME_WORDS or low in _NO_NAME or _SAID.match(low):
        right = 'type the name of the person who signs, such as "K. Berg", or "no"'
        raise BadInput(f'"{text[:60]}" is not a name to sign with', value=text[:60], right=right)
    return name


def signed_blocks(event: Any, what: str) -> list[Block]:
    """A signature said back: who, when, on which rules, with the seals of the chain before and after."""
    data = event.data
    return [
        Block("head", f"by {event.who}, {local_time(event.time)}, rule base {data['rules']}", "SIGNED"),
        Block("text", phrases.sentence(what)),
        Block("text", f"Chain before it: {data['seal'][:16]}; with it: {event.hash[:16]}."),
    ]
