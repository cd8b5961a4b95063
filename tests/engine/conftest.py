"""Both matchers, by name."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import pytest

from advisor.inference import engine
from advisor.inference.staged import Rule, Staged

Build = Callable[[Sequence[Sequence[Rule]]], Staged]


@pytest.fixture(params=[pytest.param("durable", marks=pytest.mark.durable), "plain"])
def build(request: pytest.FixtureRequest) -> Build:
    """Makes staged rules, on durable-rules and in plain Python in turn."""
    return lambda stages: engine.make(stages, request.param)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave out what needs durable-rules where it cannot be imported."""
    if not engine.available():
        for item in items:
            if item.get_closest_marker("durable"):
                item.add_marker(pytest.mark.skip(reason="durable-rules cannot be imported here"))
