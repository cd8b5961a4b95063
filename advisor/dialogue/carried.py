"""Stops that outlive their case: what still stands at a sump from cases before, until it is put right.

A stop is about the sump, not about the conversation it was told in. Who takes up the sump again is told
of it first, and no recipe is worked out until somebody says that it is dealt with.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from advisor.dialogue import left_open, phrases_led
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.events import Event, standing
from advisor.dialogue.shortening import first_sentence
from advisor.inference.assess import assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.showing import local_time

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

GRAVE = ("emergency", "stop")
_DONE = re.compile(r"\b(?:dealt with|put right|sorted|safe now|they are safe|erledigt)\b")
#: What makes of "dealt with" something that is not so, or not yet, or a question.
_NOT_DONE = re.compile(
    r"\?|\b(?:not|never|nobody|yet|unless|until|will|be|being|should|must|needs?|tomorrow|later|soon|half"
    r"|partly|nearly|almost|if|when|once|before|after|who|how|is it|is that|was it|nicht|noch|niemand|wird"
    r")\b|n['’]?t\b"
)


@dataclass(frozen=True, slots=True)
class Stop:
    """A caution of level stop or emergency that still stands at a sump.

    Attributes:
        case: number of the case it arose in; time: when it was told, ISO-8601 UTC.
        caution, level, text: the caution, as it was told then.
    """

    case: int
    caution: str
    level: str
    text: str
    time: str


def told_dealt_with(text: str) -> bool:
    """Whether a line says that something is dealt with: neither "not yet" nor a question."""
    low = text.casefold()
    return bool(_DONE.search(low)) and not _NOT_DONE.search(low)


def still_standing(cases: Iterable[Sequence[Event]], rules: RuleBase) -> list[Stop]:
    """What stands after all cases of one sump, emergencies first, then the latest case first.

    Args:
        cases: the events of each case of the sump.
        rules: says which cautions are about a mere proposal, and which close recipes.
    """
    found: dict[tuple[int, str], Stop] = {}
    cleared: set[tuple[int, str]] = set()
    for events in cases:
        own, done = _of_case(events, rules)
        found.update({(stop.case, stop.caution): stop for stop in own})
        cleared |= done
    left = [stop for key, stop in found.items() if key not in cleared]
    return sorted(left, key=lambda stop: (GRAVE.index(stop.level), -stop.case))


def _of_case(events: Sequence[Event], rules: RuleBase) -> tuple[list[Stop], set[tuple[int, str]]]:
    """The stops that arose in a case and stand at its end, and those of other cases it says are put right."""
    stands: dict[str, Stop] = {}
    cleared: set[tuple[int, str]] = set()
    over: set[str] = set()
    brought: set[str] = set()
    void = _told_of_nothing(events)
    for event in standing(events):
        if event.kind == "carried":
            brought |= {c["id"] for c in event.data["cautions"]}
        elif event.kind == "acknowledged" and event.data.get("carried"):
            lifted = event.data["carried"]
            cleared |= {(one["case"], one["caution"]) for one in lifted}
            brought -= {one["caution"] for one in lifted}
        elif event.kind == "acknowledged":
            over |= {c for c in event.data["cautions"] if not _closes(rules, c)}
        elif event.kind == "verdict":
            told = _grave(event.data["verdict"].get("cautions", []), rules)
            stands = {c: stands.get(c) or _stop(event, item) for c, item in told.items() if c not in brought}
        elif event.kind == "shown" and event.number not in void:
            told = _grave(event.data["cautions"], rules)
            stands |= {c: _stop(event, item) for c, item in told.items() if c not in brought}
    return [stop for stop in stands.values() if stop.caution not in over], cleared


def _grave(cautions: Iterable[Mapping[str, Any]], rules: RuleBase) -> dict[str, Mapping[str, Any]]:
    """Those that stop, by id; a caution about something merely proposed is over when it was told."""
    held = {c["id"]: c for c in cautions if c["level"] in GRAVE and c["id"] in rules.cautions}
    return {key: item for key, item in held.items() if "refuses" not in rules.cautions[key]}


def _closes(rules: RuleBase, caution: str) -> bool:
    """Whether a caution is about the fluid too: help for a person does not put that right."""
    return bool(rules.cautions.get(caution, {}).get("closes"))


def _stop(event: Event, item: Mapping[str, Any]) -> Stop:
    return Stop(event.case, item["id"], item["level"], item["text"], event.time)


def _told_of_nothing(events: Sequence[Event]) -> set[int]:
    """Numbers of events that put cautions before a person because of a line that was taken back."""
    kept, void, last = {e.number for e in standing(events)}, set(), None
    for event in events:
        if event.kind in {"said", "kept_what_if"}:
            last = event.number
        elif event.kind == "shown" and last is not None and last not in kept:
            void.add(event.number)
    return void


def of_sump(store: Any, name: str, rules: RuleBase) -> list[Stop]:
    """What still stands at a sump, from the logbook (`advisor.logbook.port.Store`)."""
    rows = [row for row in store.cases(sump=name) if row.level in GRAVE]
    return still_standing([store.events(row.id) for row in rows], rules)


def take_over(session: Session, name: str) -> list[Block]:
    """Carry into this case what still stands at its sump, and tell it, and a recipe left open there."""
    held = session.state().carried
    found = [
        stop
        for stop in of_sump(session.store, name, session.rules)
        if stop.case != session.case and (stop.case, stop.caution) not in held
    ]
    for case in dict.fromkeys(stop.case for stop in found):
        told = [s for s in found if s.case == case]
        cautions = [{"id": s.caution, "level": s.level, "text": s.text} for s in told]
        session.record.append("carried", {"case": case, "since": told[0].time, "cautions": cautions})
        session.record.shown([s.caution for s in told])
    left = left_open.told(session.store, name, session.case, session.record.clock())
    return _blocks(session.rules, found) + left


def again(session: Session, state: CaseState) -> list[Block]:
    """What was carried over and stands yet, told once more."""
    held = session.rules.cautions
    stops = [
        Stop(case, caution, held[caution]["level"], held[caution]["text"], since)
        for (case, caution), since in state.carried.items()
        if caution in held
    ]
    return _blocks(session.rules, sorted(stops, key=lambda stop: GRAVE.index(stop.level)))


def _blocks(rules: RuleBase, stops: Sequence[Stop]) -> list[Block]:
    blocks = []
    for stop in stops:
        kind, label = stop.level, phrases_led.STILL[stop.level]
        first = first_sentence(stop.text)
        text = phrases_led.STILL_FROM.format(case=stop.case, date=local_time(stop.time)[:10], told=first)
        blocks.append(Block(kind, text, label))
        if stop.level == "emergency":  # always told whole
            steps = rules.cautions[stop.caution].get("do_now", [])
            blocks += [Block("item", step, f"{i}") for i, step in enumerate(steps, 1)]
    if blocks:
        blocks.append(Block("text", phrases_led.STILL_UNTIL))
    return blocks


def _brings(rules: RuleBase, fact: Fact, cautions: Sequence[str]) -> bool:
    """Whether a fact by itself brings one of these on: "the vinegar is dealt with" pours none in."""
    return not set(assess([fact], rules, questions=False).cautions).isdisjoint(cautions)


def dealt_with(session: Session, state: CaseState, text: str) -> list[Block] | None:
    """What follows when a line says that what was carried over is put right; None when it does not."""
    if not state.carried or not _DONE.search(text.casefold()):
        return None
    if not told_dealt_with(text):
        return [*again(session, state), *session.repeat()]
    lifted = [{"case": case, "caution": caution} for case, caution in state.carried]
    ids = list(dict.fromkeys(caution for _, caution in state.carried))
    session.record.append("acknowledged", {"cautions": ids, "carried": lifted}, text)
    cases = " and ".join(dict.fromkeys(str(one["case"]) for one in lifted))
    told = [Block("text", phrases_led.PUT_RIGHT.format(case=cases))]
    got = session.understood(text)
    facts = tuple(f for f in got.facts if not _brings(session.rules, f, ids))
    if facts:
        return [*told, *session.take(text, replace(got, facts=facts), session.state(), answered=False)]
    return [*told, *session.go_on()]
