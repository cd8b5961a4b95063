"""Build hook: carry ``rules/`` into the wheel, together with its compiled form.

Runs under hatchling, never in the program, and is left out of the wheel. The compiler is the
program's own, so what it imports must stand in ``build-system.requires``.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

#: Where the rules lie inside the wheel.
PLACE = "advisor/_rules"


class CompiledRules(BuildHookInterface):  # type: ignore[type-arg]
    """Adds ``rules/`` and ``rules.json`` to a wheel; an editable install reads the checkout's own."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile and add. Raises BadRules, naming file and line, when a rules file is wrong."""
        self._made: Path | None = None
        if self.target_name != "wheel" or version == "editable":
            return
        root = Path(self.root)
        self._made = Path(tempfile.mkdtemp(prefix="sumpside-rules-"))
        compiled = self._made / "rules.json"
        compiled.write_bytes(_compile(root))
        build_data["force_include"][str(root / "rules")] = PLACE
        build_data["force_include"][str(compiled)] = f"{PLACE}/rules.json"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """Remove the compiled file's temporary folder."""
        if self._made is not None:
            shutil.rmtree(self._made, ignore_errors=True)


def _compile(root: Path) -> bytes:
    # hatchling runs the hook without the project on the path
    sys.path.insert(0, str(root))
    try:
        from advisor.knowledge.loader import compile_rules
    finally:
        sys.path.remove(str(root))
    return compile_rules(root / "rules")
