"""Real processes: killed at random moments, and several at once."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest

from advisor.dialogue.events import verify
from advisor.logbook.store import SqliteStore, open_store
from tests.logbook.conftest import NOON, OPENED

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = Path(__file__).with_name("writing_process.py")


def writer(store: SqliteStore, case: int, count: int) -> subprocess.Popen[str]:
    """Start a process that appends to a case."""
    command = [sys.executable, str(PROGRAM), str(store.path.parent), str(case), str(count)]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env)


def test_kill_loses_nothing_that_was_acknowledged(store: SqliteStore) -> None:
    """Killed at any moment, the file holds every acknowledged event, and at most one more."""
    case, acknowledged, chance = store.start_case("op", NOON, OPENED), [], random.Random(20)
    for _ in range(20):
        with writer(store, case, 100_000) as process:
            assert process.stdout
            for _ in range(chance.randrange(1, 60)):
                acknowledged.append(process.stdout.readline().split())
            process.kill()
            acknowledged += [line.split() for line in process.stdout if line.endswith("\n")]
        with open_store(store.path.parent) as again:
            kept = again.events(case)
        assert verify(kept) == []
        assert {tuple(line) for line in acknowledged} <= {(str(event.number), event.hash) for event in kept}
        assert len(kept) <= 1 + len(acknowledged) + 20  # at most one unacknowledged event for each kill


@pytest.mark.parametrize("processes", [4])
def test_many_processes_write_one_case(store: SqliteStore, processes: int) -> None:
    """Four programs append to one case at once: no event is lost, no number is given twice."""
    case, each = store.start_case("op", NOON, OPENED), 50
    running = [writer(store, case, each) for _ in range(processes)]
    told = [line.split()[0] for process in running for line in process.communicate()[0].splitlines()]
    assert [process.returncode for process in running] == [0] * processes
    assert sorted(map(int, told)) == list(range(2, 2 + processes * each))
    assert verify(store.events(case)) == []
    assert len(store.words(case)) == processes * each


def test_many_processes_make_one_logbook(tmp_path: Path) -> None:
    """Four programs that start on an empty folder at once all succeed, on one file."""
    code = (f"from pathlib import Path; from advisor.logbook.store import open_store\n"
            f"with open_store(Path({str(tmp_path / 'new')!r})) as store:\n"
            f"    print(store.start_case('op', {NOON!r}, {OPENED!r}))")  # fmt: skip
    running = [subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE, text=True)
               for _ in range(4)]  # fmt: skip
    assert sorted(int(process.communicate()[0]) for process in running) == [1, 2, 3, 4]
