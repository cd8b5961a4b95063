"""Where the logbook lives, and what opening it costs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from advisor.logbook.place import data_folder

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="the folders of other systems differ")
@pytest.mark.parametrize(
    ("own", "shared", "expected"),
    [("/o", "/x", "/o"), ("~/o", "/x", "/h/o"), ("", "/x", "/x/sumpside"),
     ("", "relative", "/h/.local/share/sumpside"), ("", "", "/h/.local/share/sumpside")],
)  # fmt: skip
def test_folder(own: str, shared: str, expected: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The person's own choice first, then the XDG folder when absolute, then the usual one."""
    for name, value in {"SUMPSIDE_HOME": own, "XDG_DATA_HOME": shared, "HOME": "/h"}.items():
        monkeypatch.setenv(name, value)
    assert data_folder() == Path(expected)


def test_opening_the_logbook_loads_nothing_heavy() -> None:
    """The store and the demo shop need neither YAML, pydantic, pint nor SQLAlchemy."""
    code = ("import sys, advisor.logbook.resilient, advisor.logbook.shop as s, advisor.logbook.command; "
            "s.demo_shop(); print(*sys.modules)")  # fmt: skip
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, text=True, capture_output=True, check=True)
    heavy = {"yaml", "pydantic", "pint", "sqlalchemy", "platformdirs", "numpy", "prompt_toolkit"}
    assert heavy & set(done.stdout.split()) == set()
