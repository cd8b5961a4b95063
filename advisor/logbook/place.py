"""Where the logbook lives: a folder of this machine, or a database server for a whole plant."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import NamedTuple

FILE_NAME = "logbook.db"


class Place(NamedTuple):
    """Where a logbook is.

    Attributes:
        folder: on this machine; holds the file, or what waits while the server cannot be reached.
        server: address of the PostgreSQL database, None when the logbook is the file.
    """

    folder: Path
    server: str | None = None


def book_place(demo: bool = False) -> Place:
    """The place of the user's logbook: the database ``SUMPSIDE_LOGBOOK`` names, else a file.

    The demo shop always keeps its cases in a file of its own.
    """
    folder = data_folder()
    if demo:
        return Place(folder / "demo")
    return Place(folder, os.environ.get("SUMPSIDE_LOGBOOK") or None)


def data_folder() -> Path:
    """The folder of the logbook: ``SUMPSIDE_HOME``, else the user's data folder of the system.

    On Linux that is ``$XDG_DATA_HOME/sumpside`` or ``~/.local/share/sumpside`` (XDG Base Directory
    Specification 0.8: a relative path there is ignored). Written out here because importing a package
    for it takes longer than opening the logbook.
    """
    own = os.environ.get("SUMPSIDE_HOME")
    if own:
        return Path(own).expanduser()
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local") / "sumpside"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "sumpside"
    shared = Path(os.environ.get("XDG_DATA_HOME", ""))
    return (shared if shared.is_absolute() else Path.home() / ".local" / "share") / "sumpside"
