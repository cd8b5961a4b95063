"""A case as the conversation sees it: a pure fold of the events that stand.

Words are never read again here: events hold the facts understood from them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from advisor.dialogue.events import Event, hide_said, show_said, standing
from advisor.knowledge.facts import Fact

#: What a fact is said to come from when the shop's own figures gave it, and when a fix told it.
SHOP_BOOK, FROM_FIX = "shop book", "worked out from the addition"
#: The end of a procedure that is begun once more, and of one the person would not be led through.
ANEW, LEFT = "anew", "left"
#: The event of a fact that is only tried: later than any that is stored.
LATEST = 1_000_000


@dataclass(slots=True)
class CaseState:
    """Where a conversation stands.

    Attributes:
        facts: every fact said or taken from the shop book, in order.
        asked: how often each target was asked; again: those asked once that got another answer instead.
        skipped: targets the person refused or does not know.
        expecting: the target asked last and not answered since, or None.
        shown: cautions put before the person; shown_at: number of the event that last did so;
            ever_shown: those among them that have been lifted since too;
            acknowledged: those said to be dealt with.
        put_right: cautions of this case that are put right -> number of the event that says so.
        carried: what still stands from cases before, as (case, caution) -> when it was told there.
        sump: the sump chosen, as its name, or None.
        verdict, recipe: the last of each that stands, as data; `recipe_event` its number.
        steps: indexes of the recipe's steps that are done; passed: those passed over.
        acts: actions without a recipe that are ``done`` or ``skipped``, in that order.
        answered: targets that got an answer; concluded: procedures that are through or left, with the
            end that held. results: what each recheck came to (`advisor.dialogue.following`).
        opened: data of the first event.
        said: numbers of the events in which the person said something, in order; told: those that
            brought facts or refused a question, which is what "back" takes back.
        gone: the last line that told something said that what the verdict is about has gone.
    """

    opened: dict[str, Any] = field(default_factory=dict)
    facts: list[Fact] = field(default_factory=list)
    asked: dict[str, int] = field(default_factory=dict)
    again: set[str] = field(default_factory=set)
    skipped: set[str] = field(default_factory=set)
    expecting: str | None = None
    shown: list[str] = field(default_factory=list)
    acknowledged: set[str] = field(default_factory=set)
    put_right: dict[str, int] = field(default_factory=dict)
    carried: dict[tuple[int, str], str] = field(default_factory=dict)
    sump: str | None = None
    verdict: dict[str, Any] | None = None
    recipe: dict[str, Any] | None = None
    recipe_event: int | None = None
    steps: set[int] = field(default_factory=set)
    passed: set[int] = field(default_factory=set)
    acts: dict[str, str] = field(default_factory=dict)
    answered: set[str] = field(default_factory=set)
    concluded: dict[str, str] = field(default_factory=dict)
    results: list[dict[str, Any]] = field(default_factory=list)
    said: list[int] = field(default_factory=list)
    told: list[int] = field(default_factory=list)
    visit: int = 1
    closed: bool = False
    rechecking: bool = False
    gone: bool = False
    ever_shown: set[str] = field(default_factory=set)
    shown_at: dict[str, int] = field(default_factory=dict)


def fact_data(fact: Fact, words: str) -> dict[str, Any]:
    """A fact as an event keeps it: its words as a span, its origin by name when the shop gave it."""
    data = hide_said(fact.as_json(), words)
    if fact.said in (SHOP_BOOK, FROM_FIX):
        data["origin"], data["said"] = fact.said, None
    return data


def fact_from(data: Mapping[str, Any], words: str | None, event: int) -> Fact:
    """The fact an event keeps."""
    value = data["value"]
    said = data.get("origin") or show_said(data.get("said"), words)
    return Fact(
        data["id"],
        tuple(value) if isinstance(value, list) else value,
        data.get("unit"),
        data["status"],
        data["firm"],
        said,
        event,
    )


def fold(events: Iterable[Event], words: Mapping[int, str] | None = None) -> CaseState:
    """The state after the events that stand.

    Args:
        events: all events of one case, in order.
        words: the person's words by event number; erased ones are missing.
    """
    words = words or {}
    state, happened = CaseState(), list(events)
    counted = standing(happened)
    for event in counted:
        _APPLY.get(event.kind, _nothing)(state, event, words)
        state.visit = event.visit
    taken = {e.number for e in happened if e.kind == "said"} - {e.number for e in counted}
    # a reading stands right behind what it came to: taken back, it came to nothing
    state.results = [r for r in state.results if r.get("confirmed") or not _taken_back(r, taken)]
    return state


def _taken_back(result: Mapping[str, Any], taken: set[int]) -> bool:
    """Whether the reading of a result, or what was said then of what went in, no longer stands."""
    return result["event"] + 1 in taken or (result.get("of") or 0) + 1 in taken


#: Facts that "back" leaves alone.
_HAPPENED = {"injury", "danger_now"}


def at_verdict(events: Sequence[Event], words: Mapping[int, str] | None = None) -> CaseState:
    """The state in which the last verdict that stands was given; the whole case where there is none.

    What was read, added or taken back after it is no part of what the verdict rests on.
    """
    last = max((e.number for e in standing(events) if e.kind == "verdict"), default=None)
    return fold([e for e in events if last is None or e.number < last], words)


def _nothing(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    """An event that changes nothing the conversation looks at."""


def _opened(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.opened = event.data
    held = [f for f in event.data.get("facts", []) if f["id"] == "region"]  # the rest comes with the sump
    state.facts += [fact_from(f, None, event.number) for f in held]
    state.sump = event.data.get("sump", {}).get("name") if event.data.get("sump") else None


def _said(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    text = words.get(event.number)
    state.facts += [fact_from(f, text, event.number) for f in event.data["facts"]]
    state.said.append(event.number)
    happened = any(f["id"] in _HAPPENED for f in event.data["facts"])  # an accident is not taken back
    if (event.data["facts"] or event.data.get("skipped")) and not happened:
        state.told.append(event.number)
        state.gone = bool(event.data.get("gone"))
    target = event.data.get("expecting")
    if target:
        if event.data.get("skipped"):
            state.skipped.add(target)
        if event.data.get("answered", True):
            state.expecting = None
            state.answered.add(target)
        elif state.asked.get(target, 0) <= 2:
            state.again.add(target)  # asked once more, then let go
    if event.data.get("sump"):
        state.sump = event.data["sump"]


def _asked(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    target = event.data.get("target")
    if target:
        state.again.discard(target)
        state.asked[target] = state.asked.get(target, 0) + 1
    state.expecting = target


def _shown(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.ever_shown.update(c["id"] for c in event.data["cautions"])
    for told in event.data["cautions"]:
        state.put_right.pop(told["id"], None)
        state.shown_at[told["id"]] = event.number
    state.shown += [c["id"] for c in event.data["cautions"] if c["id"] not in state.shown]


def _carried(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    told = {(event.data["case"], c["id"]): event.data.get("since", "") for c in event.data["cautions"]}
    state.carried |= told


def _acknowledged(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    lifted, right = event.data.get("carried", ()), event.data.get("put_right", ())
    state.put_right |= dict.fromkeys(right, event.number)
    for one in lifted:
        state.carried.pop((one["case"], one["caution"]), None)
    if lifted:  # put right there; where it is so here as well, it is told whole
        elsewhere = {one["caution"] for one in lifted} - {*right}
        state.shown = [c for c in state.shown if c not in elsewhere]
    if lifted or right:
        return
    if event.data.get("passed"):  # should it come back, it is told again
        state.shown = [c for c in state.shown if c not in event.data["cautions"]]
        return
    state.acknowledged.update(event.data["cautions"])


def _review(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.put_right |= dict.fromkeys(event.data.get("put_right", ()), event.number)


def _kept(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.facts += [fact_from(f, words.get(event.number), event.number) for f in event.data["facts"]]


def _verdict(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.verdict = event.data["verdict"]


def _concluded(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    key, end = event.data["procedure"], event.data["end"]
    state.facts += [fact_from(f, None, event.number) for f in event.data.get("facts", [])]
    if end == ANEW:  # to be led through once more
        state.concluded.pop(key, None)
        for held in (state.asked, state.answered, state.skipped, state.again):
            for target in [t for t in held if t.startswith(f"{key}/")]:
                held.pop(target) if isinstance(held, dict) else held.discard(target)
    else:
        state.concluded[key] = end
    if (state.expecting or "").startswith(f"{key}/"):
        state.expecting = None


def _recipe(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.recipe, state.recipe_event = event.data["recipe"], event.number
    state.steps, state.passed = set(), set()


def _step(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    step = int(event.data["step"])
    (state.passed if event.data.get("skipped") else state.steps).add(step)


def _action(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.acts[event.data["action"]] = "skipped" if event.data.get("skipped") else "done"


def _recheck(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.rechecking, state.closed = True, False
    if event.data.get("result"):
        state.results.append({**event.data, "event": event.number})


def _closed(state: CaseState, event: Event, words: Mapping[int, str]) -> None:
    state.closed = True


_APPLY = {
    "opened": _opened,
    "said": _said,
    "asked": _asked,
    "shown": _shown,
    "carried": _carried,
    "acknowledged": _acknowledged,
    "review": _review,
    "kept_what_if": _kept,
    "verdict": _verdict,
    "recipe": _recipe,
    "step_done": _step,
    "action_done": _action,
    "concluded": _concluded,
    "recheck": _recheck,
    "closed": _closed,
}
