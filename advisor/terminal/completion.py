"""What the Tab key offers, and the line at the bottom of the screen."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document

if TYPE_CHECKING:
    from advisor.dialogue.session import Session
    from advisor.terminal.loop import Waiting

_REQUESTS = {
    "why": "why I ask, or why I say so",
    "back": "take back the last answer",
    "so far": "everything noted",
    "how sure": "how far it is proven",
    "what if": "try an answer without recording it",
    "don't know": "go on without it",
    "stop here": "the best verdict now, and save",
    "help": "what can be typed",
}


class OfferedAnswers(Completer):
    """Completes the answers of the open question with their meaning, then what can be asked for."""

    def __init__(self, waiting: Waiting) -> None:
        self.waiting = waiting

    def get_completions(self, document: Document, complete_event: CompleteEvent) -> Iterable[Completion]:
        """Answers whose words begin with what is typed."""
        typed = document.text_before_cursor.lstrip().lower()
        session = self.waiting.ready
        offers = {} if session is None else _offers(session)
        for text, meaning in {**offers, **_REQUESTS}.items():
            if text.lower().startswith(typed):
                yield Completion(
                    text, start_position=-len(document.text_before_cursor.lstrip()), display_meta=meaning
                )


def _offers(session: Session) -> dict[str, str]:
    """The open question's answers with what they answer."""
    target = session.last_move.target or ""
    item = session.rules.observables.get(target)
    if item is not None and item.kind != "quantity":
        return {str(item.answers[a]["means"]): item.name for a in item.offered()}
    return dict.fromkeys(session.shop.sumps, "from the shop book") if target == "sump" else {}


def bottom_line(session: Session | None) -> str:
    """Sump, units, and how settled the verdict is."""
    if session is None or session.case is None:
        return " no case yet   Tab: answers   Ctrl-D: save and leave "
    state = session.state()
    settled = {"named": "cause named", "unsettled": "not settled", "outside": "not for this"}
    verdict = settled.get(str((state.verdict or {}).get("verdict")), "still asking")
    units = {"metric": "litres", "us": "US gallons", "imperial": "imperial gallons"}[session.shop.system]
    sump = state.sump or "no machine named"
    return f" case {session.case}   {sump}   {units}   {verdict}   Ctrl-D: save and leave "
