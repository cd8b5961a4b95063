"""The commands that write readings, in a real process that is killed at random moments."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from datetime import date, timedelta
from pathlib import Path

import pytest

from advisor.logbook.book import ReadingBook
from advisor.logbook.shop import keep_shop, shop_from_json
from advisor.logbook.store import open_store
from advisor.logbook.tables import TableStore
from advisor.logbook.upkeep import check
from tests.logbook.conftest import NOON
from tests.logbook.readings_desk import made_shop

PROGRAM = Path(__file__).with_name("entering_process.py")
KILLS = 12
ROWS = 300
#: Numbers each run may count through.
STEP = 50


def run_and_kill(env: dict[str, str], first: int, words: list[str], chance: random.Random) -> list[int]:
    """What a process said it had written before it was killed."""
    command = [sys.executable, str(PROGRAM), str(first), *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=env) as process:
        assert process.stdout
        said = []
        began = time.monotonic()
        for _ in range(chance.randrange(2, 8)):
            said.append(int(process.stdout.readline()))
            took, began = time.monotonic() - began, time.monotonic()
        time.sleep(chance.random() * min(took, 1.0))  # anywhere within the next one
        process.kill()
        return said + [int(line) for line in process.stdout if line.endswith("\n")]


def prepare(kind: str, folder: Path) -> tuple[list[str], int]:
    """The words of a command, and how many readings each of its entries holds."""
    if kind == "line":
        return ["log", "m1", "6.5", "9.1", "--sure"], 2
    if kind == "round":
        (folder / "round.txt").write_text("m1 6.5 9.1\nm2 7.0 9.0\nm3 6.0 8.9 bit of foam\n")
        return ["round", "--enter", str(folder / "round.txt"), "--sure"], 6
    for number in range(STEP, STEP * (KILLS + 1)):
        day = f"{date(2020, 1, 1) + timedelta(days=number)}"
        rows = "".join(f"m{1 + n % 3},{day} {n // 60:02}:{n % 60:02},6.5,9.1\n" for n in range(ROWS))
        (folder / f"table_{number}.csv").write_text(f"sump,time,brix,ph\n{rows}")
    return ["import", str(folder / "table_{n}.csv")], 2 * ROWS


@pytest.mark.parametrize("kind", ["line", "round", "table"])
def test_a_kill_loses_no_entry_and_leaves_no_half(
    kind: str, store: TableStore, tmp_path: Path, process_env: dict[str, str]
) -> None:
    """Killed at any moment: every entry told is there and whole, at most one more, and the chain holds."""
    keep_shop(store, shop_from_json(made_shop(3)), time=NOON, who="sup")
    words, size = prepare(kind, tmp_path)
    chance, told = random.Random(kind), 0
    for kill in range(1, KILLS + 1):
        told += len(run_and_kill(process_env, STEP * kill, words, chance))
        with open_store(Path(process_env["SUMPSIDE_HOME"])) as after:
            book = ReadingBook(after)
            assert check(after) + book.check() == []
            entries = book.entries()
            held = after._db.execute("SELECT COUNT(*) FROM readings").fetchone()[0]
        assert told <= len(entries) <= told + kill
        assert held == size * len(entries)
    assert told > 2 * KILLS - 1


def test_several_terminals_write_readings_at_once(
    store: TableStore, process_env: dict[str, str]
) -> None:
    """Four programs enter lines at once: none is refused or lost, and the chain is one."""
    keep_shop(store, shop_from_json(made_shop(4)), time=NOON, who="sup")
    running = []
    for n in range(1, 5):
        command = [sys.executable, str(PROGRAM), "1", "log", f"m{n}", "6.5", "9.1", "--sure"]
        running.append(subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=process_env))
    told = [[process.stdout.readline() for _ in range(10)] for process in running if process.stdout]
    for process in running:
        process.kill()
        process.communicate()
    book = ReadingBook(store)
    assert told == [[f"{n}\n" for n in range(1, 11)]] * 4
    assert (book.check(), len(book.entries()) >= 40) == ([], True)
    assert min(len(book.of(f"m{n}")) for n in range(1, 5)) >= 20
