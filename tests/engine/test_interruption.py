"""What is raised in the middle of a run (Ctrl-C) comes through and leaves nothing behind."""

from __future__ import annotations

import itertools
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from threading import Barrier, Thread

import pytest

from advisor.inference import engine
from advisor.inference.conditions import Literal
from advisor.inference.staged import Outcome, Rule

pytestmark = pytest.mark.durable

RULES = [[Rule("1", "f", (Literal("a", True),), Literal("g", True)), Rule("2", "f", (Literal("g", True),))]]
CALLS = ["assert_fact", "start_action", "complete_and_start_action", "delete_state"]


class Interrupting:
    """The engine's module, with an interruption before or after its n-th call."""

    def __init__(self, nth: int, after: bool) -> None:
        self._real = engine._engine()
        self._calls = itertools.count(1)
        self._nth, self._after = nth, after

    def __getattr__(self, name: str) -> Callable[..., object]:
        real = getattr(self._real, name)
        if name not in CALLS:
            return real

        def call(*arguments: object) -> object:
            now = next(self._calls) == self._nth
            if now and not self._after:
                raise KeyboardInterrupt
            result = real(*arguments)
            if now:
                raise KeyboardInterrupt
            return result

        return call


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("nth", range(1, 9))
def test_interrupted_anywhere_it_goes_on_right(
    nth: int, after: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Interrupted before or after any call of a run, the next run is right, and so are later ones."""
    expected = engine.StagedRules(RULES).run({"a": True})
    broken = Interrupting(nth, after)
    monkeypatch.setattr(engine, "_engine", lambda: broken)
    rules = engine.StagedRules(RULES)

    with pytest.raises(KeyboardInterrupt):
        rules.run({"a": True})
    assert [rules.run({"a": True}), rules.run({}), rules.run({"a": True})] == [
        expected, Outcome((), {}, frozenset()), expected]


UNSTARTED = """
from advisor.inference import engine
from tests.engine.test_interruption import RULES
rules = engine.StagedRules(RULES)
ruleset = rules._rulesets["f"]
ruleset._open = True
ruleset._assert(engine._BOOT)
print(len(rules.fire({"a": True})))
"""


def test_a_session_that_never_started_is_ended_without_a_crash() -> None:
    """With fresh memory filled with junk, an interruption before the first action does no harm."""
    junk = {**os.environ, "MALLOC_PERTURB_": "165"}
    run = subprocess.run([sys.executable, "-c", UNSTARTED], env=junk, capture_output=True, text=True)
    assert (run.returncode, run.stdout) == (0, "2\n")


@pytest.fixture
def hasty_threads() -> Iterator[None]:
    """Threads that take turns as often as they can."""
    usual = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    yield
    sys.setswitchinterval(usual)


@pytest.mark.usefixtures("hasty_threads")
def test_threads_take_turns() -> None:
    """Several threads on one set of rules each get their own answer."""
    rules = engine.StagedRules(RULES)
    together, wrong = Barrier(4), list[int]()

    def work(name: int) -> None:
        together.wait()
        for i in range(200):
            asked = {"a": (i + name) % 2 == 0}
            if len(rules.fire(asked)) != 2 * asked["a"]:
                wrong.append(name)

    threads = [Thread(target=work, args=(name,)) for name in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
