"""How property tests run, everywhere: the same examples each time, and no clock."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

# how long an example takes to draw says something about the machine, not about us
settings.register_profile(
    "house", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("house")
