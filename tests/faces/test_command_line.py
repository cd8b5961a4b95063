"""What is said when a command cannot be read: what was wrong, and what would be right."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.cli import main
from advisor.terminal.asked import asked


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


@pytest.mark.parametrize(("words", "told"), [("rules map", "tramp_oil"), ("rules show", "lean_mix")])
def test_what_lacks_its_name_shows_one(
    words: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The sentence says what may be named and gives a whole line to copy."""
    assert main(words.split()) == 2
    said = capsys.readouterr().err
    assert f"{words} {told}" in said
    assert "list" in said


@pytest.mark.parametrize(
    ("trouble", "code", "told"), [(EOFError, 0, "Left"), (KeyboardInterrupt, 130, "Stopped")]
)
def test_leaving_a_question_is_no_crash(
    trouble: type[BaseException],
    code: int,
    told: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A question left by a word or Ctrl-D ends the command in a sentence; Ctrl-C does with its own code."""

    def leave(args: object) -> int:
        raise trouble

    monkeypatch.setattr("advisor.rules_command.run", leave)
    assert main(["rules", "list"]) == code
    assert told in capsys.readouterr().err


@pytest.mark.parametrize("word", ["q", "Quit", "exit", " leave ", "bye."])
def test_a_question_is_left_by_a_word(word: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The words that leave end any question; an answer that only holds one of them does not."""
    monkeypatch.setattr("builtins.input", lambda _: word)
    with pytest.raises(EOFError):
        asked("Name? ")
    monkeypatch.setattr("builtins.input", lambda _: f"{word} valve")
    assert "valve" in asked("Name? ")


@pytest.mark.parametrize(
    ("words", "told"),
    [("review --rejudge --rules /nowhere", "there is no folder"), ("review --rules .", "add --rejudge")],
)
def test_a_folder_of_rules_is_asked_for_where_it_helps(
    words: str, told: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A folder that is not there, or one that would not be used, is told in a sentence."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    assert main(words.split()) == 2
    assert told in capsys.readouterr().err.lower()
