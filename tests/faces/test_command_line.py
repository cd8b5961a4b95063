"""What is said when a command cannot be read: what was wrong, and what would be right."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.cli import main


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("todya", "Did you mean today"),
        ("foam everywhere", 'type "sumpside" alone'),
        ("mix", "Choose one of thin, strengthen"),
        ("mix strenghten", "Did you mean strengthen"),
        ("mix strengthen --volume 50gal", "Did you mean --sump-volume"),
        ("--dmo", "Did you mean --demo"),
        ("path x", "is no number"),
    ],
)
def test_a_slip_gets_a_sentence(words: str, told: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2, one sentence on standard error, no table of options."""
    with pytest.raises(SystemExit) as left:
        main(words.split())
    said = capsys.readouterr().err
    assert left.value.code == 2
    assert told in said
    assert "usage:" not in said
    assert "--help" in said


def test_the_demo_may_be_named_before_the_command(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """ "--demo today" looks at the demo shop as "today --demo" does."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    main(["--demo", "today"])
    before = capsys.readouterr().out

    main(["today", "--demo"])
    assert before == capsys.readouterr().out
    assert "0 sumps" not in before
