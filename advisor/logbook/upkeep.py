"""Look after the logbook: check it, copy it into one file, bring a copy back."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterable
from contextlib import closing, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from advisor.dialogue.events import event_json, verify
from advisor.errors import BadInput, StoreTrouble
from advisor.logbook.book import ReadingBook
from advisor.logbook.place import FILE_NAME, Place
from advisor.logbook.port import Store
from advisor.logbook.schema import keep_copy, stored_revision
from advisor.logbook.sqlite_file import SqliteFile
from advisor.logbook.store import BUSY_MS, SqliteStore, open_store
from advisor.logbook.summary import summarise
from advisor.logbook.tables import TableStore
from advisor.logbook.trouble import trouble


def check(store: TableStore, cases: Iterable[int] | None = None, *, noted: str | None = None) -> list[str]:
    """Check the file, the chain of every case (or of these), and the list of cases against them.

    Args:
        noted: a hash written down outside the logbook, or the beginning of one (12 signs at least);
            it must be in one of the cases checked or, where all are, in an entry of readings.

    Returns:
        One sentence for each problem, empty when all is whole.
    """
    problems = store.damage()
    rows = {row.id: row for row in store.cases()}
    known: set[str] = set()
    for case in sorted(rows) if cases is None else cases:
        events = store.events(case)
        problems += [str(problem) for problem in verify(events)]
        if not events or summarise(events) != rows[case]:
            problems.append(f"case {case}: the list of cases does not agree with its events")
        known |= {event.hash for event in events}
    if cases is None and noted is not None:
        known |= {entry.hash for entry in ReadingBook(store).entries()}
    if noted is not None and not any(value.startswith(_hash_text(noted)) for value in known):
        problems.append(f"the noted hash {noted} is in nothing that was checked")
    return problems


def _hash_text(noted: str) -> str:
    text = noted.strip().casefold()
    if len(text) < 12 or any(sign not in "0123456789abcdef" for sign in text):
        right = "Give 12 to 64 of the signs 0-9 and a-f."
        raise BadInput(f"{noted!r} is not a hash", value=noted, right=right)
    return text


def back_up(store: TableStore, target: Path) -> int:
    """Write a consistent copy of the logbook, while others may go on writing; its size in bytes.

    Raises:
        BadInput: the target exists, or its folder does not.
        StoreTrouble: it cannot be written.
    """
    if target.exists():
        raise BadInput(f"{target} is there already", value=str(target), right="Give a new file name.")
    if not target.parent.is_dir():
        raise BadInput(f"there is no folder {target.parent}", value=str(target), right="Make it first.")
    part = target.with_name(target.name + ".part")
    try:
        part.unlink(missing_ok=True)
        store.copy_to(part)
        _sync(part)
        part.rename(target)
    except (OSError, StoreTrouble) as error:
        with suppress(OSError):
            part.unlink(missing_ok=True)
        if isinstance(error, StoreTrouble):
            raise
        raise trouble(error, target) from error
    return target.stat().st_size


def restore(source: Path, place: Place) -> Path | None:
    """Bring a copy back as the logbook of a place; what was there is kept as a file in its folder.

    Returns:
        Where the former logbook is now, None when there was none.

    Raises:
        BadInput: there is no such copy, or it is not whole.
        StoreTrouble: the place cannot be written, or the copy is of a newer shape.
    """
    _check_copy(source)
    return _restore_file(source, place.folder) if place.server is None else _restore_server(source, place)


def _restore_server(source: Path, place: Place) -> Path | None:
    """The same on a server: also how a logbook moves from a file to a server."""
    with open_store(place) as store, TemporaryDirectory() as name:
        aside = None
        if store.cases(limit=1) or store.rows("sump") or ReadingBook(store).entries():
            aside = _free_name(place.folder / FILE_NAME)
            place.folder.mkdir(parents=True, exist_ok=True)
            back_up(store, aside)
        copy = Path(name) / FILE_NAME
        shutil.copyfile(source, copy)
        with closing(SqliteFile(copy, BUSY_MS)) as file:  # brings an older copy up to date
            store.replace_by(file)
    return aside


def _restore_file(source: Path, folder: Path) -> Path | None:
    target = folder / FILE_NAME
    try:
        folder.mkdir(parents=True, exist_ok=True)
        aside = _free_name(target) if target.exists() else None
        if aside is not None:
            _put_aside(target, aside)
        # Through SQLite, so that a terminal that has the logbook open just now sees the change whole.
        with closing(sqlite3.connect(source)) as copy, closing(sqlite3.connect(target)) as live:
            copy.backup(live)
    except (OSError, sqlite3.Error) as error:
        raise trouble(error, target) from error
    SqliteStore(target).close()  # brings an older copy up to date
    return aside


def case_json(store: Store, case: int, *, with_words: bool = True) -> dict[str, Any]:
    """A whole case as one JSON object: its events, and the words beside them by event number."""
    words = {str(number): text for number, text in store.words(case).items()} if with_words else {}
    return {"case": case, "events": [event_json(event) for event in store.events(case)], "words": words}


def _check_copy(source: Path) -> None:
    if not source.is_file():
        right = "Name a copy made by `log backup`."
        raise BadInput(f"there is no file {source}", value=str(source), right=right)
    try:
        with closing(sqlite3.connect(f"{source.absolute().as_uri()}?mode=ro", uri=True)) as db:
            revision = stored_revision(db, source)
            whole = db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    except sqlite3.OperationalError as error:
        raise trouble(error, source) from error
    except sqlite3.DatabaseError as error:
        right = "Name a copy that `sumpside log backup` made; the logbook in use is as it was."
        raise BadInput(f"{source} is damaged or not a logbook", value=str(source), right=right) from error
    if not revision or not whole:
        raise BadInput(f"{source} is not a whole logbook", value=str(source), right="Name another copy.")


def _put_aside(target: Path, aside: Path) -> None:
    """Keep the present logbook: a copy where it can be read, else the damaged file itself, moved."""
    try:
        with closing(sqlite3.connect(target)) as live:
            keep_copy(live, aside)
    except sqlite3.DatabaseError:
        aside.unlink(missing_ok=True)
        for ending in ("", "-wal", "-shm"):
            part = target.with_name(target.name + ending)
            if part.exists():
                part.rename(aside.with_name(aside.name + ending))


def _free_name(target: Path) -> Path:
    for number in range(1, 10_000):
        aside = target.with_name(f"{target.stem}.replaced-{number}{target.suffix}")
        if not aside.exists():
            return aside
    raise StoreTrouble(f"Too many replaced logbooks in {target.parent}", right="remove old ones")


def _sync(file: Path) -> None:
    with file.open("rb") as opened:
        os.fsync(opened.fileno())
