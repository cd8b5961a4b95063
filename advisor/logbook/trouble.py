"""What went wrong with the logbook, in one sentence a person can act on."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from advisor.errors import StoreTrouble

BUSY = "busy"
FULL = "full"
READ_ONLY = "read_only"
DAMAGED = "damaged"
NEWER = "newer"
UNREACHABLE = "unreachable"
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
_SERVER_SENTENCES: dict[str, tuple[str, str]] = {
    BUSY: ("another program is holding the logbook {path}", "wait a moment, or end that program"),
    FULL: ("the server's disk is full, the logbook {path} cannot grow", "ask who looks after the server"),
    READ_ONLY: (
        "the logbook {path} cannot be written: the server or this login only reads",
        "ask who looks after the server for the right to write",
    ),
    DAMAGED: ("the logbook {path} is damaged on the server", "bring back a copy with `sumpside log restore`"),
    UNREACHABLE: (
        "the logbook {path} cannot be reached ({error})",
        "check the network, the server, and what SUMPSIDE_LOGBOOK names",
    ),
    OTHER: ("the logbook {path} cannot be used ({error})", "ask who looks after the server"),
}
# The beginning of an SQLSTATE: PostgreSQL 15 documentation, appendix A.
_STATES = {
    "08": UNREACHABLE, "28": UNREACHABLE, "3D": UNREACHABLE, "57P": UNREACHABLE, "53300": UNREACHABLE,
    "531": FULL, "25006": READ_ONLY, "42501": READ_ONLY, "55P03": BUSY, "40": BUSY, "XX001": DAMAGED,
    "XX002": DAMAGED,
}  # fmt: skip
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


def server_trouble(state: str | None, error: str, name: str) -> StoreTrouble:
    """The `StoreTrouble` for an error of a server.

    Args:
        state: its SQLSTATE, None when the server was not reached at all.
        error: the first line of what the driver says.
        name: the server's address, without its password.
    """
    found = [reason for start, reason in _STATES.items() if (state or "08").startswith(start)]
    reason = found[0] if found else OTHER
    what, right = _SERVER_SENTENCES[reason]
    return StoreTrouble(_capital(what.format(path=name, error=error)), value=reason, right=right)


def newer_schema(name: str, found: str, known: str) -> StoreTrouble:
    """The logbook was written by a program that knows more than this one."""
    return StoreTrouble(
        f"The logbook {name} was written by a newer version of this program "
        f"(format {found}; this one knows up to {known}) and was left as it is",
        value=NEWER,
        right="install the newer version, or use another logbook (SUMPSIDE_HOME, SUMPSIDE_LOGBOOK)",
    )


def not_a_logbook(name: str) -> StoreTrouble:
    """It is a database, but not ours."""
    what, right = _SENTENCES[DAMAGED]
    return StoreTrouble(_capital(what.format(path=name)), value=DAMAGED, right=right)


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
