"""A logbook in a temporary folder; tests that open one run twice: in a file, and on a server.

On the server each path a test opens stands for a database of its own. Where PostgreSQL is not installed
those runs are skipped, unless ``SUMPSIDE_TEST_SERVER=needed``.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from advisor.logbook import store as opening
from advisor.logbook.place import FILE_NAME
from advisor.logbook.server import Server
from advisor.logbook.store import open_store
from advisor.logbook.tables import TableStore
from tests.logbook.throwaway_server import ABSENT, Books, programs, server

ROOT = Path(__file__).resolve().parents[2]
NOON = "2025-03-04T12:00:00Z"
OPENED = {"program": "0.1.0", "sump": {"id": "mill"}, "units": "metric", "region": "eu"}


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Give every test that has a folder both kinds, unless it is about the file itself."""
    if "tmp_path" in metafunc.fixturenames and not metafunc.definition.get_closest_marker("in_a_file"):
        metafunc.parametrize("kept_in", ["file", "server"], indirect=True)


@pytest.fixture(scope="session")
def books() -> Iterator[Books]:
    """Logbooks on a server that lasts as long as the tests."""
    if programs() is None:
        if os.environ.get("SUMPSIDE_TEST_SERVER") == "needed":
            pytest.fail(ABSENT)
        pytest.skip(ABSENT)
    with server() as folder, closing(Books(folder)) as made:
        yield made


@pytest.fixture(autouse=True)
def kept_in(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """Where this run keeps its logbooks: file or server."""
    kind = getattr(request, "param", "file")
    if kind == "file":
        yield kind
        return
    books = request.getfixturevalue("books")

    def on_server(path: Path, busy_ms: int) -> Any:
        return Server(books.address(path), busy_ms)

    monkeypatch.setattr(opening, "SqliteFile", on_server)
    yield kind
    books.take_back()


@pytest.fixture
def process_env(kept_in: str, tmp_path: Path, request: pytest.FixtureRequest) -> dict[str, str]:
    """The environment of a process that opens the same logbook as `store`."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "SUMPSIDE_HOME": str(tmp_path / "home")}
    if kept_in == "server":
        env["SUMPSIDE_LOGBOOK"] = request.getfixturevalue("books").address(tmp_path / "home" / FILE_NAME)
    return env


@pytest.fixture
def store(tmp_path: Path) -> Iterator[TableStore]:
    """An empty logbook."""
    with open_store(tmp_path / "home") as opened:
        yield opened


def said(ph: float) -> dict[str, object]:
    """Data of a ``said`` event with one reading."""
    return {"facts": [{"id": "ph", "value": ph, "unit": "pH"}]}


def judged(verdict: str = "named", lead: str = "low_ph", level: str = "warn") -> dict[str, object]:
    """Data of a ``verdict`` event."""
    found = {"verdict": verdict, "run": "limits", "causes": [{"id": lead}], "cautions": [{"level": level}]}
    return {"verdict": found, "rules": "abc", "program": "0.1.0"}
