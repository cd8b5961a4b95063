"""README, design card and modules are as they say."""

from __future__ import annotations

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FILES = sorted((ROOT / "advisor").rglob("*.py"))
VAGUE = {"util", "utils", "helper", "helpers", "common", "misc", "tools"}


def command(name: str) -> str:
    """The README's command marked with `name`."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    found = re.search(rf"<!-- {name} command -->\n```sh\n(.*?)\n```", text, re.DOTALL)
    assert found, f"README.md has no {name} command"
    return found[1]


@pytest.mark.parametrize("name", ["demo", "test"])
def test_readme_command_is_one_line_of_shell(name: str) -> None:
    """Each command is one line that a plain shell can read, and sets up Debian by itself."""
    line = command(name)
    assert "\n" not in line
    subprocess.run(["sh", "-n", "-c", line], check=True)
    needed = ("apt-get", "gcc", "python3-dev", "python3-venv", "-m venv")
    assert [word for word in needed if word not in line] == []


def test_readme_commands_do_their_work() -> None:
    """One starts the conversation on the demo shop, the other runs the tests."""
    assert command("demo").endswith("sumpside --demo")
    assert command("test").endswith("pytest")


def test_top_level_is_the_design_card() -> None:
    """The top level holds what the card in DEVELOPERS.md lists, and nothing else."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    card = re.search(r"## Design card.*?```\n(.*?)```", text, re.DOTALL)
    assert card
    listed = {line.split()[0].rstrip("/") for line in card[1].splitlines()}
    there = {entry.name for entry in ROOT.iterdir() if not entry.name.startswith(".")} - {"dist", "build"}
    assert there == listed


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(ROOT)))
def test_module_is_short_and_says_what_it_is(file: Path) -> None:
    """A module has a name that says something and, unless generated, at most 400 lines."""
    text = file.read_text(encoding="utf-8")
    assert text.count("\n") <= 400 or file.name == "unit_table.py"
    assert file.stem not in VAGUE
    assert not text.strip() or ast.get_docstring(ast.parse(text)), "say what the module is for"


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(ROOT)))
def test_functions_are_short(file: Path) -> None:
    """No function is longer than 50 lines."""
    functions = (ast.FunctionDef, ast.AsyncFunctionDef)
    long = [f"{node.name}: {node.end_lineno - node.lineno + 1}"
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
            if isinstance(node, functions) and (node.end_lineno or 0) - node.lineno > 50]
    assert not long


@pytest.mark.parametrize("folder", ["advisor", "rules", "tests", ".ci"])
def test_nothing_is_left_for_later(folder: str) -> None:
    """No file carries a mark of unfinished work."""
    marks = re.compile("TO" r"DO\b|FIX" r"ME\b|NotImplemented" "Error")
    files = [file for file in (ROOT / folder).rglob("*") if file.suffix in {"", ".py", ".yaml"}]
    texts = {str(file): file.read_text(encoding="utf-8") for file in files if file.is_file()}
    assert [file for file, text in texts.items() if marks.search(text)] == []
