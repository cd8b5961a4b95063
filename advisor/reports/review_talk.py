"""The supervisor's desk as a conversation: open a case, try another answer, agree or overrule, go on.

Knows no terminal; it writes nothing but signatures.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.dialogue.understanding import Lexicon
from advisor.errors import BadInput, SumpsideError
from advisor.reports import review
from advisor.reports.case_screen import case_blocks
from advisor.reports.cases import Opened, open_case
from advisor.reports.path import cause_words, path_blocks, standing_words
from advisor.reports.signing import changes, signature

HELP = (
    ("12", "opens case 12"),
    ("next", "opens the case that needs eyes most after this one"),
    ("what if strength was 6.5", "judges the case again with that answer; nothing is recorded"),
    ("path", "how it was decided, answer by answer"),
    ("agree", "signs that the verdict is right"),
    ("overrule it was tramp oil because ...", "signs that another cause is right"),
    ("list", "what needs eyes first"),
    ("leave", "ends it"),
)
_TRY = re.compile(r"^\s*(?:what if|try|change|suppose)\s*[:,]?\s+(.+)", re.I)
_NOT_SO = re.compile(r"^\s*(?:overrule|wrong|no[,:]? (?:it|the cause))", re.I)
_AGREE = {"agree", "agreed", "i agree", "right", "correct", "ok", "sign"}
_LEAVE = {"leave", "quit", "exit", "bye", "stop here", "done"}


class ReviewTalk:
    """One supervisor looking through saved cases.

    Args:
        store: the logbook.
        lexicon: the phrases in which another answer may be given.
        clock: the time now, as events keep it.
        suggested: a name to be offered for the signature, "" for none.
        who: the name that signs, "" while it is not known.
    """

    def __init__(
        self, store: Any, lexicon: Lexicon, clock: Callable[[], str], *, suggested: str = "", who: str = ""
    ) -> None:
        self.store, self.lexicon, self.clock = store, lexicon, clock
        self.suggested, self.who = suggested, who
        self.case: Opened | None = None
        self.waiting: dict[str, Any] | None = None
        self.over = False

    def open(self, number: int | None = None) -> list[Block]:
        """The list, or one case."""
        blocks = review.list_blocks(self.store) if number is None else self._case(number)
        return [*blocks, Block("text", 'Type a number, "next", or "help". "leave" ends it.')]

    def say(self, text: str) -> list[Block]:
        """Take one line and answer it; what cannot be done is told and changes nothing."""
        text = "".join(c if c.isprintable() else " " for c in text).strip()[:600]
        try:
            return self._say(text)
        except SumpsideError as trouble:
            return [Block("text", trouble.sentence())]

    def _say(self, text: str) -> list[Block]:
        low = text.lower().strip(" .!?")
        if self.waiting is not None:
            return self._named(text)
        if not low:
            return [Block("text", 'Type a number, "next", or "help".')]
        if low in _LEAVE:
            self.over = True
            return [Block("text", "Nothing more was signed.")]
        if low in {"help", "?"}:
            return [Block("item", what, label) for label, what in HELP]
        if low == "list":
            return review.list_blocks(self.store)
        if low == "next":
            return self._next()
        if low.removeprefix("case ").strip().isdigit():
            return self._case(int(low.removeprefix("case ").strip()))
        return self._about(text, low)

    def _about(self, text: str, low: str) -> list[Block]:
        """Something about the case that is open."""
        case = self._opened()
        if low == "path":
            return path_blocks(case)
        if low in _AGREE:
            return self._sign(signature(case, None, ""))
        if _NOT_SO.match(text):
            return self._sign(signature(case, text, ""))
        tried = _TRY.match(text)
        return review.changed_blocks(case, changes(case, [tried[1] if tried else text], self.lexicon))

    def _opened(self) -> Opened:
        if self.case is None:
            raise BadInput("no case is open", right="type its number first")
        return self.case

    def _case(self, number: int) -> list[Block]:
        self.case = open_case(self.store, number)
        return case_blocks(self.case)

    def _next(self) -> list[Block]:
        numbers = review.in_need(self.store)
        here = self.case.number if self.case else None
        at = numbers.index(here) + 1 if here in numbers else 0
        if at >= len(numbers):
            return [Block("text", "No further case needs eyes.")]
        return self._case(numbers[at])

    def _sign(self, data: dict[str, Any]) -> list[Block]:
        """Ask who signs, or sign where that is known."""
        self.waiting = data
        if self.who:
            return self._written()
        offered = f' Enter signs as "{self.suggested}".' if self.suggested else ""
        return [
            Block("note", f"{self._what(data)}.", "You sign"),
            Block("ask", f'Who signs? Type your name, or "no".{offered}'),
        ]

    def _named(self, text: str) -> list[Block]:
        if text.lower() in {"no", "n", "cancel"}:
            self.waiting = None
            return [Block("text", "Not signed.")]
        if text.lower() in {"", "yes", "y"} and self.suggested:
            text = self.suggested
        self.who = signer(text)
        return self._written()

    def _written(self) -> list[Block]:
        data, self.waiting = self.waiting or {}, None
        case, time = self._opened(), self.clock()
        event = self.store.append(case.number, "review", data, time=time, who=self.who)
        self.case = open_case(self.store, case.number)
        return signed_blocks(event, self._what(data))

    def _what(self, data: dict[str, Any]) -> str:
        return what_is_signed(self._opened(), data)


def what_is_signed(case: Opened, data: dict[str, Any]) -> str:
    """What a signature says, in words."""
    verdict = standing_words(case.view())
    if data["agrees"]:
        return f"case {case.number} is right: {verdict}"
    held = cause_words(case.rules, data["cause"])
    return f"case {case.number} is wrong ({verdict}): {held}, because {data['reason']}"


def signer(text: str) -> str:
    """A name that can stand under a signature.

    Raises:
        BadInput: empty, too long, or with signs that cannot be printed.
    """
    name = " ".join(text.split())
    if not name or len(name) > 60 or not name.isprintable():
        right = "give 1 to 60 printable letters"
        raise BadInput("that is not a name to sign with", value=text[:60], right=right)
    return name


def signed_blocks(event: Any, what: str) -> list[Block]:
    """A signature said back: who, when, on which rules, with the seals of the chain before and after."""
    data = event.data
    return [
        Block("head", f"by {event.who}, {event.time}, rule base {data['rules']}", "SIGNED"),
        Block("text", phrases.sentence(what)),
        Block("text", f"Chain before it: {data['seal'][:16]}; with it: {event.hash[:16]}."),
    ]
