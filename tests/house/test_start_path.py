"""What loads before the first prompt."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.house.test_walls import LAZY, PACKAGE


@pytest.mark.parametrize("module", ["advisor.cli", "advisor.inference.engine"])
def test_heavy_packages_wait(module: str) -> None:
    """Importing the program loads none of the packages that cost a start its time."""
    if not (PACKAGE.parent / (module.replace(".", "/") + ".py")).exists():
        pytest.skip(f"{module} is not there")
    code = f"import sys, {module}; print(*sorted({{name.partition('.')[0] for name in sys.modules}}))"
    loaded = subprocess.run([sys.executable, "-c", code], cwd=PACKAGE.parent, text=True, check=True,
                            capture_output=True).stdout.split()
    assert sorted(LAZY.intersection(loaded)) == []
