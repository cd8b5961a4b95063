"""The supervisor's desk and the drills on a pseudo-terminal: pages, and the ways out."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

if sys.platform == "win32":
    pytest.skip("there are no pseudo-terminals on Windows", allow_module_level=True)

from tests.terminal.pty_screen import CTRL_C, CTRL_D, ENTER, Terminal

#: Where one works by typing, and what its first screen shows.
DESKS = {
    ("review", "--demo"): "No case is saved yet",
    ("drill", "--seed", "4"): "COMPLAINT",
    ("drill", "--exercise", "pails"): "PAILS",
    ("drill", "--exercise", "trust"): "READING TRUST",
}


@pytest.mark.parametrize("options", DESKS, ids=" ".join)
@pytest.mark.parametrize("keys", ["q" + ENTER, "exit" + ENTER, CTRL_D])
def test_every_desk_is_left_by_word_and_by_key(tmp_path: Path, options: tuple[str, ...], keys: str) -> None:
    """q, exit and Ctrl-D end the program with a sentence and no trace of a crash."""
    with Terminal(tmp_path, 80, 24, *options) as terminal:
        terminal.wait(DESKS[options], prompt=True)
        terminal.keys(keys)
        last = terminal.ended()
        assert "Nothing more was signed" in last or "Left without a score" in last
        assert "Traceback" not in last


@pytest.mark.parametrize("keys", ["quit" + ENTER, CTRL_D])
def test_a_dumb_terminal_has_the_same_ways_out(tmp_path: Path, keys: str) -> None:
    """Plain lines, no escape codes, and the same sentence at the end."""
    with Terminal(tmp_path, 80, 24, "drill", "--exercise", "pails", term="dumb") as terminal:
        terminal.wait("PAILS", prompt=True)
        terminal.keys(keys)
        assert "Left without a score" in terminal.ended()
        assert b"\x1b" not in terminal.seen


@pytest.mark.parametrize(
    ("options", "asked", "told"),
    [
        (("round", "--enter", "--demo"), "Band saw:", "nothing is written"),
        (("shop", "--talk"), "What is the shop called?", "Nothing changed"),
    ],
)
def test_questions_in_a_row_are_left_by_a_word(
    tmp_path: Path, options: tuple[str, ...], asked: str, told: str
) -> None:
    """q at the first question writes nothing, and says so."""
    with Terminal(tmp_path, 80, 24, *options) as terminal:
        terminal.wait(asked)
        terminal.keys("q" + ENTER)
        assert told in terminal.ended()


def test_the_talk_after_a_drill_comes_page_by_page(tmp_path: Path) -> None:
    """The score stands alone; both paths are longer than the screen and wait for Enter."""
    with Terminal(tmp_path, 80, 24, "drill", "--seed", "4", "--level", "easy") as terminal:
        terminal.wait("COMPLAINT", prompt=True)
        terminal.say("people", "No skin complaints")
        score = terminal.say("done", "(1 of 3)")
        assert score.count("SCORE") == 1
        terminal.say("more", "IT WAS", "(2 of 3)")
        terminal.say("more", "QUESTIONS", "(3 of 3)")
        terminal.say("more", "TWO PATHS", "press Enter")
        terminal.say("", "ADVISOR", "press Enter")
        terminal.say("", "That is all there is")


def test_ctrl_c_at_a_desk_asks_first(tmp_path: Path) -> None:
    """Ctrl-C asks whether to leave; going on keeps what was typed before."""
    with Terminal(tmp_path, 80, 24, "drill", "--seed", "4") as terminal:
        terminal.wait("COMPLAINT", prompt=True)
        terminal.keys(CTRL_C, "Leave now?")
        terminal.say("no", "Ask for something")
        terminal.keys(CTRL_C, "Leave now?")
        terminal.keys("yes" + ENTER)
        assert "Left without a score" in terminal.ended()
