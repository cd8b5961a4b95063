"""How fast mixing is, as ratios: ``python tests/benchmarks/mixing_speed.py``.

The yardstick is a bare loop of 10,000 float additions on the same machine.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))


def seconds(work: Callable[[], object], runs: int) -> float:
    """Best time of five rounds, per run."""
    rounds = []
    for _ in range(5):
        start = time.perf_counter()
        for _ in range(runs):
            work()
        rounds.append((time.perf_counter() - start) / runs)
    return min(rounds)


def yardstick() -> float:
    """A bare loop of 10,000 float additions."""
    total = 0.0
    for _ in range(10_000):
        total += 0.1
    return total


def main() -> None:
    """Prints each figure, its ratio to the yardstick, and its limit."""
    from advisor import quantities
    from advisor.mixing.display import US
    from advisor.mixing.plan import plan
    from advisor.mixing.sharing import Sump, share

    inputs = {"sump_volume_l": 189.0, "fill": 0.75, "strength": 0.13, "target": 0.07}

    def with_units() -> object:
        volume = quantities.parse("50 US gal", "L").value
        return plan("thin", {**inputs, "sump_volume_l": volume}, US)

    def by_pint() -> object:
        volume = quantities.registry().Quantity(50.0, "gallon").to("liter").magnitude
        return plan("thin", {**inputs, "sump_volume_l": volume}, US)

    by_pint()
    chance = random.Random(4)
    shop = [
        Sump(
            f"S{n}",
            "A",
            chance.uniform(150, 1200),
            chance.uniform(0.6, 1.0),
            chance.uniform(0.02, 0.18),
            (0.06, 0.10),
        )
        for n in range(40)
    ]
    share(shop[:2], 15.0)
    bare = seconds(yardstick, 20)
    rows = [
        ("one recipe", seconds(lambda: plan("thin", inputs, US), 200), 0.001),
        ("one recipe, units read from the table", seconds(with_units, 200), 0.005),
        ("one recipe, units by pint", seconds(by_pint, 200), 0.005),
        ("plan for 40 sumps", seconds(lambda: share(shop, 15.0), 1), 2.0),
    ]
    print(f"{'what':40} {'seconds':>10} {'x yardstick':>12} {'of limit':>9}")
    for name, took, limit in rows:
        print(f"{name:40} {took:10.6f} {took / bare:12.2f} {took / limit:9.3f}")


if __name__ == "__main__":
    main()
