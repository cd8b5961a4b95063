"""Start to the first prompt and one turn with the whole rule base, as ratios measured in one run.

    python tests/benchmarks/start_and_turn.py [rounds]

The first prompt is drawn through a pseudo-terminal and compared with ``python -c "import
prompt_toolkit"``; a turn is a typed line to the answer's blocks, stored, compared with a bare turn that
only appends the words to the logbook. The turn's processor time stands beside its clock time, which
other work on the machine stretches; `keystroke.py` beside this measures keys.
"""

from __future__ import annotations

import os
import pty
import select
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
LINES = (
    "lathe 2 smells of rotten eggs since monday, oil on top",
    "pH 7.9, strength 5.5 % already multiplied",
    "hardness 12 dH and about 3/4 full",
    "no foam, parts rust a bit",
)


def bare(env: dict[str, str]) -> float:
    """Seconds of a fresh interpreter that imports the terminal library."""
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", "import prompt_toolkit"], check=True, env=env)
    return time.perf_counter() - start


def first_prompt(env: dict[str, str]) -> float:
    """Seconds from start until the prompt's mark is on the screen."""
    start = time.perf_counter()
    child, terminal = pty.fork()
    if child == 0:
        os.execve(sys.executable, [sys.executable, "-m", "advisor", "--demo"], env)
    seen = b""
    while b"0m>" not in seen:
        ready, _, _ = select.select([terminal], [], [], 10)
        if not ready:
            raise SystemExit(f"no prompt within ten seconds: {seen[-400:]!r}")
        piece = os.read(terminal, 65536)
        if b"\x1b[6n" in piece:  # the terminal is asked where its cursor is
            os.write(terminal, b"\x1b[7;1R")
        seen += piece
    taken = time.perf_counter() - start
    os.kill(child, 9)
    os.waitpid(child, 0)
    os.close(terminal)
    return taken


def turns(rounds: int) -> tuple[list[float], list[float], float, list[float]]:
    """Seconds of each turn, of bare turns, of the first turn once warm, and each turn's processor time."""
    from advisor.cli import shop_book, warm
    from advisor.dialogue.session import Session
    from advisor.dialogue.understanding import Lexicon
    from advisor.knowledge.rulebase import load
    from advisor.logbook.store import open_store

    rules = load()
    lexicon = Lexicon.from_data(rules.data["phrases"], rules.data["observables"])
    full, plain, first, work = [], [], 0.0, []
    warm()
    for n in range(rounds):
        with tempfile.TemporaryDirectory() as folder:
            store = open_store(Path(folder))
            warm(Path(folder))
            shop = shop_book(store, demo=True)
            session = Session(rules, lexicon, store, clock=lambda: "2025-03-03T06:00:00Z", shop=shop)
            session.open()
            for i, line in enumerate(LINES):
                start, busy = time.perf_counter(), time.process_time()
                session.say(line)
                full.append(time.perf_counter() - start)
                work.append(time.process_time() - busy)
                if n == 0 and i == 0:
                    first = full[-1]
            case = session.case or 1
            for line in LINES:
                start = time.perf_counter()
                store.append(case, "said", {"facts": []}, line, time="2025-03-03T06:00:00Z", who="bench")
                plain.append(time.perf_counter() - start)
            store.close()
    return full, plain, first, work


def main() -> None:
    """Print the ratios."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    with tempfile.TemporaryDirectory() as home:
        env = {**os.environ, "SUMPSIDE_HOME": home, "PYTHONPATH": str(ROOT), "TERM": "xterm"}
        first_prompt(env)  # fills the caches
        pairs = [(bare(env), first_prompt(env)) for _ in range(rounds)]
    base, prompt = (statistics.median(column) for column in zip(*pairs, strict=True))
    ratio = prompt / base
    print(f"import {base * 1000:.0f} ms; first prompt {prompt * 1000:.0f} ms: {ratio:.2f} times")
    full, plain, first, work = turns(rounds)
    turn, empty = statistics.median(full), statistics.median(plain)
    print(
        f"turn {turn * 1000:.1f} ms (first {first * 1000:.1f}, worst {max(full) * 1000:.1f}), processor "
        f"{statistics.median(work) * 1000:.1f} (worst {max(work) * 1000:.1f}); "
        f"bare turn {empty * 1000:.2f} ms: {turn / empty:.0f} times"
    )


if __name__ == "__main__":
    main()
