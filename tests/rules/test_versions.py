"""A changed rule has a new version; the lock remembers."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.cli import main
from advisor.errors import BadRules
from advisor.knowledge.advice import Advice
from advisor.knowledge.rule_files import read_all
from advisor.knowledge.version_lock import LOCK, changes, write_lock
from tests.rules.small_base import write

FLOOR = "cautions/slimy_floor.yaml"


def after(folder: Path, old: str, new: str) -> list[Advice]:
    """What the lock says once the base is locked and one text in the caution has changed."""
    write_lock(read_all(write(folder))[0])
    return list(changes(read_all(write(folder, FLOOR, old, new))[0]))


def test_nothing_changed(tmp_path: Path) -> None:
    """Straight after locking there is nothing to say."""
    assert after(tmp_path, "level: warn", "level: warn") == []


@pytest.mark.parametrize(
    "new",
    ["text: >-\n  Slime makes the floor\n  slippery.", "# a remark\ntext: Slime makes the floor slippery."],
)
def test_layout_is_not_content(tmp_path: Path, new: str) -> None:
    """A remark or a line broken elsewhere needs no new version."""
    assert after(tmp_path, "text: Slime makes the floor slippery.", new) == []


def test_a_change_without_a_new_version(tmp_path: Path) -> None:
    """Is an error at the line of the version."""
    (found,) = after(tmp_path, "below: 6", "below: 7")
    assert (found.level, found.place, found.right) == ("error", f"{tmp_path / FLOOR}:2", "write version: 2")


def test_a_change_with_a_new_version_waits_for_the_lock(tmp_path: Path) -> None:
    """Is advice to lock, and locking settles it."""
    (found,) = after(tmp_path, "version: 1\nlevel: warn", "version: 2\nlevel: note")
    files = read_all(tmp_path)[0]
    assert found.level == "advice"
    assert write_lock(files) == 5
    assert list(changes(files)) == []


def test_a_version_never_goes_back(tmp_path: Path) -> None:
    """Even with the old content."""
    write_lock(read_all(write(tmp_path, FLOOR, "version: 1", "version: 3"))[0])
    (found,) = changes(read_all(write(tmp_path))[0])
    assert (found.level, found.right) == ("error", "write version: 4")


def test_locking_does_not_hide_a_change(tmp_path: Path) -> None:
    """What must not pass the check cannot be locked, except for a base that starts anew."""
    after(tmp_path, "below: 6", "below: 7")
    files = read_all(tmp_path)[0]
    with pytest.raises(BadRules, match="still has version 1"):
        write_lock(files)
    write_lock(files, anew=True)
    assert list(changes(files)) == []


def test_a_rule_that_went(tmp_path: Path) -> None:
    """Is told, because its id may not be used again."""
    write_lock(read_all(write(tmp_path))[0])
    (tmp_path / FLOOR).unlink()
    (tmp_path / "cautions/slimy_floor.cases.yaml").unlink()
    assert [one.what for one in changes(read_all(tmp_path)[0])] == [
        '"cautions/slimy_floor" is locked and its file is gone'
    ]


def test_a_lock_that_is_none(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A damaged lock is named, with the way back."""
    (write(tmp_path) / LOCK).write_text('{"causes/oil_lid": 1}', encoding="utf-8")
    monkeypatch.setenv("SUMPSIDE_RULES", str(tmp_path))
    assert main(["rules", "lock"]) == 2
    assert "--anew" in capsys.readouterr().err
