"""The events of a case: what was said, asked, shown, decided and done, in order, never edited.

A case is its list of events; its state is a fold over those that stand (`standing`). Each event
carries the hash of the one before it, so a changed, removed or reordered record shows (`verify`).

**Personal text stays outside the hash.** What a person typed is kept in a table of its own, keyed by
`Event.words_key`, so that it can be erased while the chain still verifies. Event data therefore never
repeats those words: a fact points into them with a span (`hide_said`, `show_said`), and so does an
unused piece. `who` is a short sign or a role ("operator", "supervisor", "AB"); a full name belongs to
the shop's list of people, which can be erased too.

The kinds, and what the data of each holds (``*`` = required):

``opened``
    ``program``* version; ``sump``, ``product``, ``shop``: a copy of the rows used, or None;
    ``containers``: list; ``region``; ``units``: the habit (metric, us, imperial); ``facts``: what the
    shop's own book says, as facts (`read_fact`). Always number 1. The sump's row may hold ``aim``, the
    single strength wanted inside the window.
``said``
    ``facts``*: list of facts as `hide_said` gives them; ``corrections``: list of
    ``{"id", "was", "now"}``; ``unused``: list of spans; ``expecting``: the observable that was asked,
    or None. The words are the event's words.
``asked``
    ``move``*: the name of the move (ask, confirm, refuse, refer …); ``target``: an observable, caution,
    action or cause id, or None.
``shown``
    ``cautions``*: list of ``{"id", "level", "text"}`` put before the person.
``carried``
    what still stands at the sump chosen, from a case before: ``case``*: its number; ``cautions``*: as in
    ``shown``; ``since``: when they were told there. Taken back with the line that chose the sump.
``acknowledged``
    ``cautions``*: list of caution ids the person says are understood or dealt with; ``carried``: those of
    cases before that are put right, as ``{"case", "caution"}``, ``elsewhere``: not by this person, but in
    another case meanwhile; ``put_right``: those of this case that are put right;
    ``passed``: these were stops of this case.
``retracted``
    ``events``*: numbers that no longer count, of talk or of ticks; all others stand.
``back``
    ``to``*: number of an earlier event; the conversation is again as it was just after that event.
``kept_what_if``
    ``facts``*: list of facts taken over from a trial answer into the case.
``verdict``
    ``verdict``*: the whole verdict as ``assess --json`` gives it, without ``unused`` (those are words);
    ``rules``*: hash of the rule base; ``program``*: version.
``recipe``
    ``recipe``*: what ``mix`` returned; ``action``: id of the action it belongs to, or None.
``concluded``
    ``procedure``*: a check the person was led through; ``end``*: id of the end that held, ``left`` when
    the person would not be led, ``anew`` when it is begun once more; ``facts``: what then holds.
``step_done``
    ``step``*: index into the recipe's steps, from 0; ``recipe``: number of the recipe's event;
    ``litres``, ``note``: what was really done, where it differs; ``skipped``: it was passed over.
``action_done``
    ``action``*: id of an action of a verdict that was carried out without a recipe; ``skipped``: it was
    passed over; ``found``: a line told what it finds out, which ticked it.
``recheck``
    opens a new visit; ``recipe``: number of the recipe's event it checks, or None; ``result``: what it
    came to (``worked``, ``outside``, ``on_the_way``, ``missed``, ``part_in``, ``nothing_in``);
    ``strength``: a fraction, with ``predicted``, ``low`` and ``high`` beside it; ``poured_l``: litres poured
    by then; ``confirmed``: read a second time; ``asked``: what went in is to be asked for; ``of``: the event
    whose result this takes the place of, now that it is known. The readings follow as ``said``.
``review``
    ``agrees``*: true or false; ``cause``: the cause the reviewer holds for right; ``reason``;
    ``put_right``: cautions of this case that the reviewer signs are put right.
``closed``
    ``how``*: finished, stopped, referred, replaced … A later ``recheck`` opens the case again.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from advisor.errors import BadInput
from advisor.knowledge.facts import Fact

SCHEMA = 1
GENESIS = "0" * 64

REQUIRED: dict[str, tuple[str, ...]] = {
    "opened": ("program",),
    "said": ("facts",),
    "asked": ("move",),
    "shown": ("cautions",),
    "carried": ("case", "cautions"),
    "acknowledged": ("cautions",),
    "retracted": ("events",),
    "back": ("to",),
    "kept_what_if": ("facts",),
    "verdict": ("verdict", "rules", "program"),
    "recipe": ("recipe",),
    "concluded": ("procedure", "end"),
    "step_done": ("step",),
    "action_done": ("action",),
    "recheck": (),
    "review": ("agrees",),
    "closed": ("how",),
}
KINDS: tuple[str, ...] = tuple(REQUIRED)

# A tick can be retracted by its number: a slip of the finger has not happened. "back" leaves it alone.
TICKS = frozenset({"step_done", "action_done"})

# Only talk can be taken back. What was shown, done, read again or signed has happened.
UNDOABLE = frozenset({"said", "asked", "carried", "kept_what_if", "verdict", "recipe", "concluded"})

_TIME = re.compile(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])T([01]\d|2[0-3]):[0-5]\d:[0-5]\d(\.\d+)?Z")


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened in a case.

    Attributes:
        case: number of the case, from 1.
        number: place in the case, from 1, without gaps.
        kind: one of `KINDS`.
        schema: version of this event format.
        time: ISO-8601 UTC with seconds, ``2025-03-04T06:10:00Z``.
        visit: 1 for the first conversation, one more for each recheck.
        who: sign or role of the person, never a full name.
        data: what the kind holds (see the module), plain JSON values only.
        words_key: key of the person's words in their own table, None when there were none. It stays
            when the words are erased.
        previous: hash of the event before, `GENESIS` for the first.
        hash: SHA-256 over everything above.
    """

    case: int
    number: int
    kind: str
    schema: int
    time: str
    visit: int
    who: str
    data: dict[str, Any]
    words_key: str | None
    previous: str
    hash: str


@dataclass(frozen=True, slots=True)
class Problem:
    """One place where a chain of events does not hold."""

    case: int
    number: int
    what: str

    def __str__(self) -> str:
        return f"case {self.case}, event {self.number}: {self.what}"


def canonical(value: object) -> str:
    """The one JSON text of a value: keys sorted, no spaces, ASCII, no NaN.

    Raises:
        BadInput: for anything JSON cannot hold exactly (NaN, infinity, sets, objects).
    """
    try:
        return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    except (TypeError, ValueError) as error:
        raise BadInput(
            f"This record cannot be kept: {error}",
            value=repr(value)[:200],
            right="Use only text, finite numbers, true, false, null, lists and maps with text keys.",
        ) from error


def digest(event: Event) -> str:
    """SHA-256 (hex) over the canonical JSON of every field but the hash itself."""
    body = {
        "case": event.case,
        "number": event.number,
        "kind": event.kind,
        "schema": event.schema,
        "time": event.time,
        "visit": event.visit,
        "who": event.who,
        "data": event.data,
        "words_key": event.words_key,
        "previous": event.previous,
    }
    return hashlib.sha256(canonical(body).encode("ascii")).hexdigest()


def chain(
    previous_hash: str,
    *,
    case: int,
    number: int,
    kind: str,
    data: Mapping[str, Any],
    time: str,
    who: str,
    visit: int = 1,
    has_words: bool = False,
) -> Event:
    """The next event of a case, tied to the one before by its hash.

    Args:
        previous_hash: hash of event ``number - 1``, `GENESIS` for number 1.
        time: ISO-8601 UTC with seconds and a closing ``Z``; this module never reads a clock.
        has_words: whether the person's words are kept beside this event.

    Raises:
        BadInput: an unknown kind, a key missing from the data, a time of another form, ``opened``
            anywhere but at number 1, or data that JSON cannot hold.
    """
    _check(kind, number, data, time, visit)
    words_key = f"{case}.{number}" if has_words else None
    # Through JSON and back, so that an event in memory equals the same event read from disk.
    plain = json.loads(canonical(dict(data)))
    bare = Event(case, number, kind, SCHEMA, time, visit, who, plain, words_key, previous_hash, "")
    return _signed(bare)


def rechain(events: Iterable[Event], case: int) -> list[Event]:
    """The same events as another case: new case number, keys and hashes, all else as it was."""
    previous, moved = GENESIS, []
    for event in events:
        key = f"{case}.{event.number}" if event.words_key else None
        moved.append(_signed(replace(event, case=case, words_key=key, previous=previous)))
        previous = moved[-1].hash
    return moved


def event_json(event: Event) -> dict[str, Any]:
    """The event as a JSON object, its fields by name."""
    return {name: getattr(event, name) for name in Event.__slots__}


def event_from_json(held: Mapping[str, Any]) -> Event:
    """The event back from its JSON object, unchecked: `verify` says whether it is whole.

    Raises:
        BadInput: a field is missing or one too many.
    """
    try:
        return Event(**held)
    except TypeError as error:
        right = f"It has the fields {', '.join(Event.__slots__)}."
        raise BadInput(f"This is not an event: {error}", value=sorted(held), right=right) from error


def _signed(bare: Event) -> Event:
    return replace(bare, hash=digest(bare))


def _check(kind: str, number: int, data: Mapping[str, Any], time: str, visit: int) -> None:
    if kind not in REQUIRED:
        right = f"Use one of {', '.join(KINDS)}."
        raise BadInput(f"No event is called {kind!r}", value=kind, right=right)
    missing = [key for key in REQUIRED[kind] if key not in data]
    if missing:
        raise BadInput(f"The event {kind!r} lacks {', '.join(missing)}", value=sorted(data), place=kind)
    if (kind == "opened") != (number == 1):
        right = "'opened' is event 1, and only it."
        raise BadInput(f"Event {number} cannot be {kind!r}", value=number, right=right)
    if not _TIME.fullmatch(time):
        right = "Write it like 2025-03-04T06:10:00Z."
        raise BadInput(f"The time {time!r} is not in UTC with seconds", value=time, right=right)
    if visit < 1:
        raise BadInput(f"Visit {visit} does not exist", value=visit, right="Visits count from 1.")


def verify(events: Sequence[Event], *, printed: str | None = None) -> list[Problem]:
    """Check the chain of one case: numbers, links, hashes, kinds.

    Args:
        events: the events of one case, in order.
        printed: a hash noted outside the store (on a signed card); it must occur in the chain. This
            is what shows a chain that was cut short or computed anew as a whole.

    Returns:
        The problems found, empty when the chain holds.
    """
    problems: list[Problem] = []
    previous = GENESIS
    case = events[0].case if events else 0
    for place, event in enumerate(events, start=1):
        problems += [Problem(case, event.number, what) for what in _faults(event, case, place, previous)]
        previous = event.hash
    if printed is not None and all(event.hash != printed for event in events):
        problems.append(Problem(case, len(events), f"the noted hash {printed[:12]}… is not in this case"))
    return problems


def _faults(event: Event, case: int, place: int, previous: str) -> Iterable[str]:
    if event.case != case:
        yield f"belongs to case {event.case}"
    if event.number != place:
        yield f"stands at place {place}: an event is missing, doubled or out of order"
    if event.schema > SCHEMA:
        yield f"was written by a newer program (event schema {event.schema}, this one knows {SCHEMA})"
    elif event.kind not in REQUIRED:
        yield f"is of the unknown kind {event.kind!r}"
    elif (event.kind == "opened") != (place == 1):
        yield f"a case begins with 'opened' and holds it once; here is {event.kind!r}"
    if event.previous != previous:
        yield "is not tied to the event before it"
    if event.hash != digest(event):
        yield "was changed after it was written"


def standing(events: Iterable[Event]) -> list[Event]:
    """The events that still count, in order.

    ``back`` brings the conversation to where it was just after the event it names, whatever had been
    taken back by then; ``retracted`` takes out single events, ticks (`TICKS`) too. Neither is in the
    result. Events that cannot be undone (`UNDOABLE` lists those that can) stay whatever comes later.
    """
    counted: dict[int, frozenset[int]] = {0: frozenset()}
    happened: list[Event] = []
    now: frozenset[int] = frozenset()
    slips: set[int] = set()
    for event in events:
        happened.append(event)
        if event.kind == "back":
            now = counted.get(int(event.data["to"]), now)
        elif event.kind == "retracted":
            taken_out = {int(number) for number in event.data["events"]}
            now, slips = now - taken_out, slips | taken_out
        elif event.kind in UNDOABLE:
            now = now | {event.number}
        counted[event.number] = now
    taken = {"back", "retracted"}

    def stays(event: Event) -> bool:
        return event.kind not in UNDOABLE | taken and not (event.kind in TICKS and event.number in slips)

    return [e for e in happened if e.number in now or stays(e)]


def hide_said(fact: Mapping[str, Any], words: str) -> dict[str, Any]:
    """A fact (as its JSON form) with ``said`` as a span ``[start, end]`` into the words of its event.

    Text that does not stand in the words as it is becomes the span of all of them; none stays None.
    """
    text = str(fact.get("said") or "")
    kept = {key: value for key, value in fact.items() if key != "said"}
    return {**kept, "said": span(text, words)}


def span(text: str, words: str) -> list[int] | None:
    """Where `text` stands in `words`, as ``[start, end]`` in characters; all of it when not verbatim."""
    if not text or not words:
        return None
    start = words.find(text)
    return [start, start + len(text)] if start >= 0 else [0, len(words)]


def show_said(where: Sequence[int] | None, words: str | None) -> str:
    """The piece of the words a span points to, "" when there is none or the words were erased."""
    return words[where[0] : where[1]] if where and words else ""


def read_fact(held: Mapping[str, Any], words: str | None = None, *, event: int | None = None) -> Fact:
    """A fact back from event data, with the piece of the words it was read from, where they remain.

    Args:
        held: a fact as `hide_said` or `Fact.as_json` gives it.
        words: the words of its event, None when there were none or they were erased.
        event: number of its event.
    """
    value, said = held.get("value"), held.get("said")
    return Fact(
        id=str(held["id"]),
        value=(value[0], value[1]) if isinstance(value, list) else value,
        unit=held.get("unit"),
        status=held.get("status", "present"),
        firm=bool(held.get("firm", True)),
        said=said if isinstance(said, str) else show_said(said, words),
        event=event,
    )
