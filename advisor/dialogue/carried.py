"""Stops that outlive their case: what still stands at a sump from cases before, until it is put right.

A stop is about the sump, not about the conversation it was told in. Who takes up the sump again is told
of it first, and no recipe is worked out until it is put right: said so plainly, in this case or the one it
arose in, or signed by who looks the case through. Each is an event, with who and when.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from advisor.dialogue import left_open, phrases_led
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.events import Event, standing
from advisor.dialogue.shortening import first_sentence
from advisor.inference.assess import assess
from advisor.knowledge.rulebase import RuleBase
from advisor.showing import local_time

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

GRAVE = ("emergency", "stop")


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


def own_stops(events: Sequence[Event], rules: RuleBase) -> list[Stop]:
    """The stops that arose in a case and stand at its end."""
    return _of_case(events, rules)[0]


def _of_case(events: Sequence[Event], rules: RuleBase) -> tuple[list[Stop], set[tuple[int, str]]]:
    """The stops that arose in a case and stand at its end, and those of other cases it says are put right."""
    stands: dict[str, Stop] = {}
    cleared: set[tuple[int, str]] = set()
    over: set[str] = set()
    brought: set[str] = set()
    right: set[str] = set()  # put right, until it is told anew
    void = _told_of_nothing(events)
    for event in standing(events):
        if event.kind == "carried":
            brought |= {c["id"] for c in event.data["cautions"]}
        elif event.kind in {"acknowledged", "review"} and (
            event.data.get("carried") or event.data.get("put_right")
        ):
            lifted = event.data.get("carried", [])
            cleared |= {(one["case"], one["caution"]) for one in lifted}
            brought -= {one["caution"] for one in lifted}
            right |= {*event.data.get("put_right", [])}
        elif event.kind == "acknowledged" and event.data.get("passed"):
            right |= {*event.data["cautions"]}
        elif event.kind == "acknowledged":
            over |= {c for c in event.data["cautions"] if not closes(rules, c)}
        elif event.kind == "verdict":
            told = _grave(event.data["verdict"].get("cautions", []), rules)
            stands = {c: stands.get(c) or _stop(event, item) for c, item in told.items() if c not in brought}
        elif event.kind == "shown" and event.number not in void:
            told = _grave(event.data["cautions"], rules)
            right -= {*told}
            stands |= {c: _stop(event, item) for c, item in told.items() if c not in brought}
    return [stop for stop in stands.values() if stop.caution not in over | right], cleared


def _grave(cautions: Iterable[Mapping[str, Any]], rules: RuleBase) -> dict[str, Mapping[str, Any]]:
    """Those that stop, by id; a caution about something merely proposed is over when it was told."""
    held = {c["id"]: c for c in cautions if c["level"] in GRAVE and c["id"] in rules.cautions}
    return {key: item for key, item in held.items() if "refuses" not in rules.cautions[key]}


def closes(rules: RuleBase, caution: str) -> bool:
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
    return told_blocks(session.rules, found) + left


def put_right_meanwhile(session: Session, name: str) -> list[Block]:
    """Let go, on coming back, of what was carried over and has been put right since in another case."""
    still = {(stop.case, stop.caution) for stop in of_sump(session.store, name, session.rules)}
    gone = [{"case": case, "caution": c} for case, c in session.state().carried if (case, c) not in still]
    if not gone:
        return []
    ids = list(dict.fromkeys(str(one["caution"]) for one in gone))
    session.record.append("acknowledged", {"cautions": ids, "carried": gone, "elsewhere": True})
    cases = " and ".join(dict.fromkeys(str(one["case"]) for one in gone))
    return [Block("text", phrases_led.PUT_RIGHT_MEANWHILE.format(case=cases))]


def again(session: Session, state: CaseState) -> list[Block]:
    """What was carried over and stands yet, told once more."""
    held = session.rules.cautions
    stops = [
        Stop(case, caution, held[caution]["level"], held[caution]["text"], since)
        for (case, caution), since in state.carried.items()
        if caution in held
    ]
    return told_blocks(session.rules, sorted(stops, key=lambda stop: GRAVE.index(stop.level)))


def told_blocks(rules: RuleBase, stops: Sequence[Stop]) -> list[Block]:
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


def brought_again(rules: RuleBase, state: CaseState, caution: str) -> bool:
    """Whether something told after a stop of this case was put right brings it on anew."""
    since = state.put_right.get(caution)
    later = [f for f in state.facts if since is not None and (f.event or 0) > since]
    return bool(later) and caution in assess(later, rules, questions=False).cautions
