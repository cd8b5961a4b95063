"""Real processes: killed at random moments, and several at once; in a file, and on a server."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import pytest

from advisor.dialogue.events import verify
from advisor.logbook.store import open_store
from advisor.logbook.tables import TableStore
from tests.logbook.conftest import NOON, OPENED, ROOT

PROGRAM = Path(__file__).with_name("writing_process.py")


def writer(env: dict[str, str], case: int, count: int) -> subprocess.Popen[str]:
    """Start a process that appends to a case."""
    command = [sys.executable, str(PROGRAM), env["SUMPSIDE_HOME"], str(case), str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env)


def test_kill_loses_nothing_that_was_acknowledged(store: TableStore, process_env: dict[str, str]) -> None:
    """Killed at any moment, the logbook holds every acknowledged event, and at most one more."""
    case, acknowledged, chance = store.start_case("op", NOON, OPENED), [], random.Random(20)
    for _ in range(20):
        with writer(process_env, case, 100_000) as process:
            assert process.stdout
            for _ in range(chance.randrange(1, 60)):
                acknowledged.append(process.stdout.readline().split())
            process.kill()
            acknowledged += [line.split() for line in process.stdout if line.endswith("\n")]
        with open_store(Path(process_env["SUMPSIDE_HOME"])) as again:
            kept = again.events(case)
        assert verify(kept) == []
        assert {tuple(line) for line in acknowledged} <= {(str(event.number), event.hash) for event in kept}
        assert len(kept) <= 1 + len(acknowledged) + 20  # at most one unacknowledged event for each kill


@pytest.mark.parametrize("processes", [4])
def test_many_processes_write_one_case(
    store: TableStore, process_env: dict[str, str], processes: int
) -> None:
    """Four programs append to one case at once: no event is lost, no number is given twice."""
    case, each = store.start_case("op", NOON, OPENED), 50
    running = [writer(process_env, case, each) for _ in range(processes)]
    told = [line.split()[0] for process in running for line in process.communicate()[0].splitlines()]
    assert [process.returncode for process in running] == [0] * processes
    assert sorted(map(int, told)) == list(range(2, 2 + processes * each))
    assert verify(store.events(case)) == []
    assert len(store.words(case)) == processes * each


def test_many_processes_make_one_logbook(process_env: dict[str, str]) -> None:
    """Four programs that start with no logbook there at once all succeed, on one logbook."""
    code = (f"from advisor.logbook.store import open_store\n"
            f"with open_store() as store: print(store.start_case('op', {NOON!r}, {OPENED!r}))")  # fmt: skip
    running = [subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE, text=True,
                                env=process_env) for _ in range(4)]  # fmt: skip
    assert sorted(int(process.communicate()[0]) for process in running) == [1, 2, 3, 4]
