"""Imports point one way, and each third-party package has its one place."""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "advisor"

#: What stands directly under advisor/, from the bottom up; one may import only from lower ranks.
RANKS: dict[str, int] = {
    "__init__": 0,
    "errors": 0,
    "numerals": 1,
    "phrasing": 1,
    "unit_table": 1,
    "command_line": 1,
    "showing": 2,
    "quantities": 3,
    "knowledge": 4,
    "inference": 5,
    "mixing": 5,
    "dialogue": 6,
    "terminal": 7,
    "drills": 7,
    "reports": 7,
    "logbook": 7,
    "cli": 8,
    "__main__": 9,
    "build_rules": 9,
    "make_unit_table": 9,
}

def is_command(name: str) -> bool:
    """The commands are one part with the command line, the only place that wires the others together."""
    return name == "one_shot" or name.startswith("mix_") or name.endswith(("_command", "_commands"))


#: The one place of each third-party package (its path, or how its path begins).
PLACES: dict[str, tuple[str, ...]] = {
    "alembic": ("advisor/logbook/",),
    "durable_rules_engine": ("advisor/inference/engine.py",),
    "hatchling": ("advisor/build_rules.py",),
    "matplotlib": ("advisor/reports/",),
    "numpy": ("advisor/mixing/",),
    "pint": ("advisor/quantities.py", "advisor/make_unit_table.py"),
    "prompt_toolkit": ("advisor/terminal/",),
    "psycopg": ("advisor/logbook/",),
    "pyarrow": ("advisor/logbook/",),
    "pydantic": ("advisor/knowledge/",),
    "rapidfuzz": ("advisor/dialogue/",),
    "reportlab": ("advisor/reports/",),
    "scipy": ("advisor/mixing/",),
    "sqlalchemy": ("advisor/logbook/",),
    "ttf_opensans": ("advisor/reports/",),
    "uncertainties": ("advisor/mixing/",),
    "yaml": ("advisor/knowledge/",),
}

#: Loaded when used: never at the top of a module that the first prompt needs.
LAZY = {
    "alembic", "matplotlib", "numpy", "pint", "psycopg", "pyarrow", "pydantic", "reportlab", "scipy",
    "sqlalchemy", "ttf_opensans", "uncertainties", "yaml",
}  # fmt: skip


def imports(file: Path) -> Iterator[str]:
    """Full names of every module imported anywhere in `file`."""
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                parent = file.relative_to(ROOT).with_suffix("").parts[: -node.level]
                base = ".".join([*parent, *([node.module] if node.module else [])])
            else:
                base = node.module or ""
            yield from ([base] if base != "advisor" else [f"advisor.{alias.name}" for alias in node.names])


def part(module: str) -> str:
    """The part of the house a module of ours belongs to: ``advisor.mixing.plan`` is ``mixing``."""
    name = module.split(".")[1] if "." in module else "__init__"
    if is_command(name):
        return "cli"
    return "__init__" if name.startswith("__version__") else name


FILES = sorted(PACKAGE.rglob("*.py"))


def name_of(file: Path) -> str:
    """A file as tests show it."""
    return str(file.relative_to(ROOT))


@pytest.mark.parametrize("file", FILES, ids=name_of)
def test_imports_point_one_way(file: Path) -> None:
    """A part imports itself and lower ranks only."""
    here = part(".".join(file.relative_to(ROOT).with_suffix("").parts))
    wrong = []
    for module in imports(file):
        ours = module.partition(".")[0] == "advisor" and part(module) != here
        if ours and RANKS[part(module)] >= RANKS[here]:
            wrong.append(module)
    assert not wrong, f"{name_of(file)} may not import {wrong}; move what it needs down, or pass it in"


@pytest.mark.parametrize("file", FILES, ids=name_of)
def test_third_party_has_its_place(file: Path) -> None:
    """Every package from outside is listed and imported in its one place only."""
    outside = {module.partition(".")[0] for module in imports(file)} - sys.stdlib_module_names - {"advisor"}
    wrong = {name: PLACES.get(name, "nowhere yet") for name in outside
             if not name_of(file).startswith(PLACES.get(name, ("?",)))}
    assert not wrong, f"{name_of(file)} imports packages that belong elsewhere: {wrong}"


def test_every_part_is_known() -> None:
    """A new part of the program is given its rank before anything imports it."""
    parts = {entry.name.removesuffix(".py") for entry in PACKAGE.iterdir()
             if entry.suffix == ".py" or (entry.is_dir() and any(entry.glob("*.py")))}
    assert {name for name in parts - set(RANKS) if not is_command(name)} == set()
