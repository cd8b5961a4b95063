"""What went wrong with the logbook file, in one sentence a person can act on."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from advisor.errors import StoreTrouble

BUSY = "busy"
FULL = "full"
READ_ONLY = "read_only"
DAMAGED = "damaged"
NEWER = "newer"
MISSING = "missing"
OTHER = "other"

# (reason, what happened, what would be right), by the SQLite result it comes from.
_SENTENCES: dict[str, tuple[str, str]] = {
    BUSY: ("another program is holding the logbook {path}", "close it, or wait a moment"),
    FULL: ("the disk is full, the logbook {path} cannot grow", "free some space"),
    READ_ONLY: (
        "the logbook {path} cannot be written: the file or its folder is read-only",
        "make the folder writable, or set SUMPSIDE_HOME to one that is",
    ),
    DAMAGED: (
        "the logbook {path} is damaged or not a logbook; it was left as it is",
        "bring back a copy with `sumpside log restore`",
    ),
    OTHER: ("the logbook {path} cannot be used ({error})", "check the disk it is on"),
}
_REASONS = {
    "SQLITE_BUSY": BUSY,
    "SQLITE_LOCKED": BUSY,
    "SQLITE_FULL": FULL,
    "SQLITE_READONLY": READ_ONLY,
    "SQLITE_PERM": READ_ONLY,
    "SQLITE_CANTOPEN": READ_ONLY,
    "SQLITE_CORRUPT": DAMAGED,
    "SQLITE_NOTADB": DAMAGED,
}


def trouble(error: sqlite3.Error | OSError, path: Path) -> StoreTrouble:
    """The `StoreTrouble` for an error of SQLite or the file system; its ``value`` is the reason."""
    reason = _reason(error)
    what, right = _SENTENCES[reason]
    return StoreTrouble(_capital(what.format(path=path, error=error)), value=reason, right=right)


def newer_schema(path: Path, found: int, known: int) -> StoreTrouble:
    """The logbook was written by a program that knows more than this one."""
    return StoreTrouble(
        f"The logbook {path} was written by a newer version of this program "
        f"(format {found}; this one knows up to {known}) and was left as it is",
        value=NEWER,
        right="install the newer version, or set SUMPSIDE_HOME to another folder",
    )


def not_a_logbook(path: Path) -> StoreTrouble:
    """The file is a database, but not ours."""
    what, right = _SENTENCES[DAMAGED]
    return StoreTrouble(_capital(what.format(path=path)), value=DAMAGED, right=right)


def _reason(error: sqlite3.Error | OSError) -> str:
    if isinstance(error, OSError):
        import errno

        by_number = {errno.ENOSPC: FULL, errno.EDQUOT: FULL, errno.EACCES: READ_ONLY, errno.EPERM: READ_ONLY}
        by_number |= {errno.EROFS: READ_ONLY, errno.ENOTDIR: READ_ONLY, errno.EEXIST: READ_ONLY}
        by_number |= {errno.ENOENT: READ_ONLY}
        return by_number.get(error.errno or 0, OTHER)
    name = getattr(error, "sqlite_errorname", "") or ""
    # Extended results (SQLITE_READONLY_DIRECTORY …) carry the plain one as their first two words.
    plain = "_".join(name.split("_")[:2])
    return _REASONS.get(plain, OTHER)


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]
