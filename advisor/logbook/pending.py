"""Events that could not be written to the logbook, in a file beside it until they can.

One JSON line per event. Taking such a file over twice changes nothing, because events are known by
their hash; so a file left behind by a program that was killed can be taken over by any other.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from advisor.dialogue.events import GENESIS, Event, canonical, event_from_json, event_json, rechain
from advisor.errors import BadInput
from advisor.logbook.tables import FIRST_AWAY, TableStore

PREFIX, SUFFIX = "pending-", ".jsonl"
AWAY_NUMBERS = 900_000


def away_number() -> int:
    """A case number for a case begun away from the file, unlikely to be drawn twice."""
    return FIRST_AWAY + int.from_bytes(os.urandom(4), "big") % AWAY_NUMBERS


class PendingFile:
    """The events one program could not write.

    Attributes:
        whole: False while something meant for the file is not in it, because its folder cannot be
            written either.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / f"{PREFIX}{os.urandom(6).hex()}{SUFFIX}"
        self.whole = True

    def add(self, event: Event, words: str | None) -> None:
        """Keep one more event; on disk on return, where that is possible."""
        self._write("a", [_line(event, words)])

    def replace(self, events: Iterable[Event], words: Mapping[str, str]) -> None:
        """Keep exactly these events and, by their key, these words."""
        self.whole = True
        self._write("w", [_line(event, words.get(event.words_key or "")) for event in events])

    def remove(self) -> None:
        """Delete the file once its events are in the logbook."""
        self.whole = True
        # Left behind, it is taken over again at the next start, which changes nothing.
        with suppress(OSError):
            self.path.unlink(missing_ok=True)

    def _write(self, mode: str, lines: list[str]) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)  # with a server nothing else makes it
            with self.path.open(mode, encoding="ascii") as file:
                file.writelines(lines)
                file.flush()
                os.fsync(file.fileno())
        except OSError:
            self.whole = False


def take_over(store: TableStore, folder: Path) -> int:
    """Write the events of all pending files in a folder to the logbook; how many were new.

    Raises:
        StoreTrouble: the logbook cannot be written; the files stay.
    """
    taken = 0
    for path in _pending_files(folder):
        cases, whole = _read(path)
        written = [write_case(store, events, words) for events, words in cases.values()]
        if None not in written:
            with suppress(OSError):
                # What could not be read is kept for someone to look at, out of the way.
                path.unlink(missing_ok=True) if whole else path.replace(path.with_suffix(".unread"))
        taken += sum(new for new, _ in filter(None, written))
    return taken


def write_case(
    store: TableStore, events: Sequence[Event], words: Mapping[int, str]
) -> tuple[int, int] | None:
    """Write a run of events of one case that follow each other.

    Where the case on disk went on without them (another terminal wrote to it), they become a case of
    their own, begun with a copy of what both have in common: nothing is lost and no event's number
    changes. Its case number follows from the events, so that two programs make the same one.

    Returns:
        How many events were new and the number of the case they are in, or None when what they
        follow is not in the logbook or it was written to just now: try again later.
    """
    case, base = events[0].case, events[0].number - 1
    on_disk = store.events(case) if store.head(case) != GENESIS else []
    if base and (len(on_disk) < base or on_disk[base - 1].hash != events[0].previous):
        return None
    if base:
        early = {number: text for number, text in store.words(case).items() if number <= base}
        events, words = [*on_disk[:base], *events], {**early, **words}
    shared = _shared(on_disk, events)
    if shared == len(events):
        return 0, case
    if shared < len(on_disk):
        number = FIRST_AWAY + int(events[shared].hash[:8], 16) % AWAY_NUMBERS
        return write_case(store, rechain(events, number), words)
    head = on_disk[-1].hash if on_disk else GENESIS
    return (len(events) - shared, case) if store.absorb(events[shared:], words, head) else None


def _shared(one: Sequence[Event], other: Sequence[Event]) -> int:
    """How many events two chains have in common from their start."""
    pairs = enumerate(zip(one, other, strict=False))
    return next((place for place, (a, b) in pairs if a.hash != b.hash), min(len(one), len(other)))


def _line(event: Event, words: str | None) -> str:
    return canonical({"event": event_json(event), "words": words}) + "\n"


def _pending_files(folder: Path) -> list[Path]:
    try:
        names = os.listdir(folder)  # noqa: PTH208 - a third of the time of iterdir, at every start
    except OSError:
        return []
    return [folder / name for name in sorted(names) if name.startswith(PREFIX) and name.endswith(SUFFIX)]


def _read(path: Path) -> tuple[dict[int, tuple[list[Event], dict[int, str]]], bool]:
    """The events of a pending file by case, as far as they follow each other; whether that is all.

    A last line cut short by a power cut was never promised and is not missed.
    """
    cases: dict[int, tuple[list[Event], dict[int, str]]] = {}
    try:
        lines = path.read_text(encoding="ascii", errors="replace").splitlines(keepends=True)
    except OSError:  # taken over by another program just now
        return {}, True
    for line in lines:
        try:
            held = json.loads(line)
            event = event_from_json(held["event"])
        except (ValueError, KeyError, TypeError, BadInput):
            return cases, line is lines[-1] and not line.endswith("\n")
        events, words = cases.setdefault(event.case, ([], {}))
        if events and events[-1].hash != event.previous:
            return cases, False
        events.append(event)
        if held.get("words") is not None:
            words[event.number] = held["words"]
    return cases, True
