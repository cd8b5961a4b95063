"""What is raised in the middle of a run (Ctrl-C) comes through and leaves nothing behind."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from threading import Thread

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


def test_threads_take_turns() -> None:
    """Several threads on one set of rules each get their own answer."""
    rules = engine.StagedRules(RULES)
    wrong: list[int] = []

    def work(name: int) -> None:
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
