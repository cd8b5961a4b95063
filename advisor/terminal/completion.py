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
        first = _offers(session) if session is not None else {}
        rest = {text: meaning for text, meaning in phrases.REQUESTS.items() if text not in first}
        for text, meaning in {**first, **rest}.items():
            if _begins(text.lower(), typed.lower()):
                yield Completion(text, start_position=-len(typed), display_meta=meaning)


def _begins(text: str, typed: str) -> bool:
    return text.startswith(typed) or f" {typed}" in text


def _offers(session: Session) -> dict[str, str]:
    """The open question's answers with what they answer; on a step, what can be said to it."""
    from advisor.dialogue import (  # loaded with the session; not before the first prompt
        following,
        policy,
        procedures,
    )

    if session.doubts.open is not None:
        about = session.doubts.open.about
        return dict.fromkeys(about.choices, phrases.MEANT_BY.format(said=about.said))
    target = session.last_move.target or ""
    if session.last_move.name == "emergency":
        return {phrases.DEALT_WITH: phrases.DEALT_WITH_MEANS}
    if procedures.is_step(target):
        return _of_step(session, target)
    if target.startswith(procedures.AGAIN):
        key = target.removeprefix(procedures.AGAIN)
        return {**phrases.SO_OR_NOT, **_answers(session, key), "skip": phrases.LEAVE_IT}
    if target in session.rules.observables:
        return _answers(session, target)
    if target == policy.SAFETY:
        return {phrases.NOBODY: phrases.NOBODY_MEANS}
    if target == policy.SUMP:
        return {**dict.fromkeys(session.shop.sumps, phrases.FROM_THE_BOOK), **phrases.NO_SUMP}
    if target == following.POURED:
        return dict(phrases.WENT_IN)
    return _at_rest(session)


def _at_rest(session: Session) -> dict[str, str]:
    """With no question open: the step that waits, of a recipe or of what to do."""
    from advisor.dialogue import acting, following

    state = session.state()
    recipe = following.stands(state)
    if session.last_move.name != "rest" or not (recipe or acting.walked(state, session.view(state=state))):
        return {}
    return {**phrases.TO_TICK, **(phrases.WITH_RECIPE if recipe else {})}


def _answers(session: Session, key: str) -> dict[str, str]:
    """The offered answers of an observable; a number has none."""
    item = session.rules.observables[key]
    if item.kind == "quantity":
        return {}
    offered = [str(item.answers[a]["means"]) for a in item.offered()]
    return {text: phrases.ANSWER_TO.format(number=i, name=item.name) for i, text in enumerate(offered, 1)}


def _of_step(session: Session, target: str) -> dict[str, str]:
    """What answers a step of a check: done, its own words for "not possible so", or to leave the check."""
    from advisor.dialogue import procedures

    key, step = procedures.find(session.rules, target)
    if step["id"] == procedures.LIST:
        state = session.state()
        steps = procedures.untold(state, session.view(state=state), key)
        return {**phrases.ALL_OR_NONE, **{str(s["short"]): f"{i}" for i, s in enumerate(steps, 1)}}
    asks = step.get("asks", ())
    found: dict[str, str] = {}
    for observable in asks:
        found |= _answers(session, observable)
    if not asks:
        found |= {"done": phrases.STEP_IS_DONE}
    found |= {str(word): phrases.CANNOT for word in step.get("fail_words", ())[:3]}
    return found | phrases.ON_A_STEP


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
