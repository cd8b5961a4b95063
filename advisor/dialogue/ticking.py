"""Several steps ticked in one line: "done done", "did both", "all done", "first three done"."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from advisor.dialogue import phrases_led
from advisor.dialogue.blocks import Block
from advisor.dialogue.events import TICKS

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: More than there are steps: all that are left.
ALL = 1_000
_DONE = {
    "done", "doen", "donw", "dne", "dun", "did", "finished", "finish", "ticked", "tick", "complete",
    "completed", "fertig", "erledigt", "gemacht",
}  # fmt: skip
_EVERY = {"all", "everything", "alles", "alle", "lot", "rest"}
_BOTH = {"both", "beide", "beides", "twice"}
_ROUND = {
    "i", "we", "of", "them", "it", "the", "that", "those", "these", "is", "are", "were", "was", "have",
    "its", "ive", "weve", "has", "been", "and", "too", "steps", "step", "ones", "one", "ok", "yes", "so",
    "now",
}  # fmt: skip
_NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_FIRST = {"first", "next", "erste", "ersten", "naechsten"}


def told_done(text: str) -> int | None:
    """How many steps a line says are done: one for each "done", two for "both", `ALL`; else None."""
    words = [
        word.replace("'", "").replace("’", "") for word in re.findall(r"[^\W\d_]['’\w]*|\d+", text.lower())
    ]
    rest = [word for word in words if word not in _ROUND]
    done, other = [w for w in rest if w in _DONE], [w for w in rest if w not in _DONE]
    if not rest or "?" in text:
        return None
    if not other:
        return len(done)
    if not done:  # "both" and "all" alone may answer anything
        return None
    if {*other} <= _EVERY:
        return ALL
    return 2 if {*other} <= _BOTH else first_of(words)


def first_of(words: list[str]) -> int | None:
    """The number in "first two", "the next 3 done"; None where the line says anything else besides."""
    rest = [word for word in words if word not in (_ROUND | _DONE) - {"one"}]
    if len(rest) != 2 or rest[0] not in _FIRST or "and" in words:  # "the first and 3" are two steps
        return None
    number = rest[1]
    many = int(number) if number.isdigit() else _NUMBERS.index(number) + 1 if number in _NUMBERS else 0
    return many or None


def tick_several(session: Session, many: int) -> list[Block]:
    """Tick as many of the steps that wait as a line says; stop where one asks for a reading or an answer.

    Every step is shown before it is ticked, so that what was not done can be taken back.
    """
    from advisor.dialogue.rechecks import Follower

    if _reading_waits(session):
        return [Block("ask", phrases_led.READ_IT)]
    blocks: list[Block] = []
    for _ in range(many):
        ticks = _ticks(session)
        blocks += Follower(session, session.state()).tick()
        if _ticks(session) == ticks or session.state().expecting or _reading_waits(session):
            break
    asked = [block for block in blocks[-1:] if block.kind == "ask"]
    return [*blocks[: len(blocks) - len(asked)], Block("text", phrases_led.BACK_IF_NOT), *asked]


def _ticks(session: Session) -> int:
    return sum(event.kind in TICKS for event in session.record.events)


def _reading_waits(session: Session) -> bool:
    """Whether the step that comes now is a reading: it is told, never ticked unread."""
    from advisor.dialogue.rechecks import Follower

    return Follower(session, session.state()).reading_due()
