"""What the Tab key offers, and the line at the bottom of the screen."""

from __future__ import annotations

from collections.abc import Iterable

from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document

from advisor.dialogue.session import Session

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

    def __init__(self, session: Session) -> None:
        self.session = session

    def get_completions(self, document: Document, complete_event: CompleteEvent) -> Iterable[Completion]:
        """Answers whose words begin with what is typed."""
        typed = document.text_before_cursor.lstrip().lower()
        offers = {}
        target = self.session.last_move.target or ""
        item = self.session.rules.observables.get(target)
        if item is not None and item.kind != "quantity":
            offers = {str(item.answers[a]["means"]): item.name for a in item.offered()}
        elif target == "sump":
            offers = dict.fromkeys(self.session.shop.sumps, "from the shop book")
        for text, meaning in {**offers, **_REQUESTS}.items():
            if text.lower().startswith(typed):
                yield Completion(
                    text, start_position=-len(document.text_before_cursor.lstrip()), display_meta=meaning
                )


def bottom_line(session: Session) -> str:
    """Sump, units, and how settled the verdict is."""
    if session.case is None:
        return " no case yet   Tab: answers   Ctrl-D: save and leave "
    state = session.state()
    settled = {"named": "cause named", "unsettled": "not settled", "outside": "not for this"}
    verdict = settled.get(str((state.verdict or {}).get("verdict")), "still asking")
    units = {"metric": "litres", "us": "US gallons", "imperial": "imperial gallons"}[session.shop.system]
    sump = state.sump or "no machine named"
    return f" case {session.case}   {sump}   {units}   {verdict}   Ctrl-D: save and leave "
