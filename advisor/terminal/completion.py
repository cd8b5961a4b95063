"""What the Tab key offers, and the line at the bottom of the screen."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from prompt_toolkit.completion import CompleteEvent, Completer, Completion
from prompt_toolkit.document import Document

from advisor.dialogue import phrases

if TYPE_CHECKING:
    from advisor.dialogue.session import Session
    from advisor.terminal.loop import Waiting


class OfferedAnswers(Completer):
    """Completes the answers of the open question with their meaning, then what can be asked for."""

    def __init__(self, waiting: Waiting) -> None:
        self.waiting = waiting

    def get_completions(self, document: Document, complete_event: CompleteEvent) -> Iterable[Completion]:
        """Answers of which a word begins with what is typed."""
        typed = document.text_before_cursor.lstrip()
        session = self.waiting.ready
        offers = {**(_offers(session) if session is not None else {}), **phrases.REQUESTS}
        for text, meaning in offers.items():
            if _begins(text.lower(), typed.lower()):
                yield Completion(text, start_position=-len(typed), display_meta=meaning)


def _begins(text: str, typed: str) -> bool:
    return text.startswith(typed) or f" {typed}" in text


def _offers(session: Session) -> dict[str, str]:
    """The open question's answers with what they answer."""
    from advisor.dialogue import policy  # loaded with the session already; not before the first prompt

    if session.doubts.open is not None:
        about = session.doubts.open.about
        return dict.fromkeys(about.choices, phrases.MEANT_BY.format(said=about.said))
    target = session.last_move.target or ""
    if session.last_move.name == "emergency":
        return {phrases.DEALT_WITH: phrases.DEALT_WITH_MEANS}
    item = session.rules.observables.get(target)
    if item is not None:
        if item.kind == "quantity":
            return {}
        offered = [str(item.answers[a]["means"]) for a in item.offered()]
        return {text: phrases.ANSWER_TO.format(number=i, name=item.name) for i, text in enumerate(offered, 1)}
    if target == policy.SAFETY:
        return {phrases.NOBODY: phrases.NOBODY_MEANS}
    if target == policy.SUMP:
        return dict.fromkeys(session.shop.sumps, phrases.FROM_THE_BOOK)
    return dict(phrases.AFTER_REQUESTS) if session.last_move.name == "rest" else {}


class BottomLine:
    """Sump, units, how settled the verdict is: worked out once per event, not per keystroke."""

    def __init__(self, waiting: Waiting) -> None:
        self._waiting = waiting
        self._seen: tuple[int | None, int, int] | None = None
        self._parts: list[tuple[str, ...]] = []

    def text(self, columns: int) -> str:
        """As many parts as fit into the line, the first ones first."""
        session = self._waiting.ready
        if session is None or session.case is None:
            return f" {phrases.NO_CASE}"[:columns]
        seen = session.case, len(session.record.events), len(session.doubts.held)
        if seen != self._seen:
            self._seen, self._parts = seen, _parts(session)
        line = ""
        for ways in self._parts:
            made = [f"{line} | {way}" if line else f" {way}" for way in ways]
            line = next((one for one in made if len(one) < columns), line)
        return line[:columns]


def _parts(session: Session) -> list[tuple[str, ...]]:
    """Sump, units, how settled (in full or in short), what is open, the case, the keys."""
    state = session.state()
    units = phrases.UNITS[session.shop.system]
    unclear = len(session.doubts.held)
    open_doubt = [(phrases.OPEN.format(count=unclear),)] if unclear else []
    settled = how_settled(session), how_settled(session, short=True)
    told = [(state.sump or phrases.NO_MACHINE,), (units,), settled, *open_doubt]
    return [*told, (phrases.CASE.format(case=session.case),), (phrases.KEYS,)]


def how_settled(session: Session, *, short: bool = False) -> str:
    """The verdict's state, with how sure the likeliest cause is; no number on what may be an illness."""
    state = session.state()
    view = session.view(state=state)
    kind = str((state.verdict or {}).get("verdict", "asking"))
    lead = view.causes[0] if view.causes else None
    cause = session.rules.causes.get(lead.id) if lead else None
    if short or lead is None or (cause is not None and cause.referral):
        return phrases.SETTLED_PLAIN.get(kind, phrases.SETTLED[kind])
    return phrases.SETTLED[kind].format(chance=phrases.chance(lead.probability))
