"""Where the logbook lives on this machine."""

from __future__ import annotations

import os
import sys
from pathlib import Path

FILE_NAME = "logbook.db"


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
