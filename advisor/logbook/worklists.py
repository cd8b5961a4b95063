"""Work done step by step, as data with sources: `worklists.yaml`, read here from its compiled form."""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

_YAML = Path(__file__).with_name("worklists.yaml")


@lru_cache(maxsize=1)
def worklists() -> dict[str, Any]:
    """The compiled lists: ``sources``, ``samples``, ``drum``, ``changeover``."""
    held: dict[str, Any] = json.loads(_YAML.with_suffix(".json").read_text(encoding="utf-8"))
    return held


def compile_worklists() -> None:
    """Write the compiled form beside the YAML file."""
    from advisor.knowledge.yaml_source import read

    text = json.dumps(read(_YAML).data, ensure_ascii=False, indent=1)
    _YAML.with_suffix(".json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    compile_worklists()
