"""The real program on a pseudo-terminal: what a person sees at 80 by 24 and at 60 by 20."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

if sys.platform == "win32":
    pytest.skip("there are no pseudo-terminals on Windows", allow_module_level=True)

from tests.terminal.pty_screen import CTRL_C, CTRL_D, END, ENTER, PASTE, TAB, Terminal

#: Everything a lean lathe is judged by, and its recipe needs, in the order it is asked for.
LEAN = "lathe 2 parts rust overnight, glass shows 2.2 straight off"
SAFE, FULL, ROUND = "stinging air", "How full is it", "run round since"
WHAT = "What are you seeing?"


def begun(terminal: Terminal, *lines: tuple[str, str]) -> str:
    """The screen after the first lines of a conversation, each waited for."""
    screen = terminal.wait(WHAT, prompt=True)
    for line, shown in lines:
        screen = terminal.say(line, shown)
    return screen


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (60, 20)])
def test_a_whole_conversation(tmp_path: Path, columns: int, rows: int) -> None:
    """From the complaint to a verdict, a recipe in pails, its second step and the reading after it."""
    with Terminal(tmp_path, columns, rows, "--demo") as terminal:
        begun(terminal, (LEAN, SAFE), ("nobody is hurt", FULL), ("80 percent", ROUND))

        recipe = terminal.say("yes", "6 x pails: 6.5 L water", "expect 6.5 %", "STEP 1 OF 8")
        terminal.say("done", "Step 1 of 8 ticked", "coolant filler")
        worked = terminal.say("read again 4.3", "IT WORKED")
        terminal.keys("stop here" + ENTER)

        assert "1550 mL" in recipe
        assert "as predicted" in worked
        assert "Saved as case 1" in terminal.ended()


def test_a_verdict_stands_on_one_screen(tmp_path: Path) -> None:
    """Whether it can run, what it is, what to do first and the question, all in sight at 80 by 24."""
    with Terminal(tmp_path, 80, 24, "--demo") as terminal:
        begun(terminal, (LEAN, SAFE), ("nobody is hurt", FULL))
        screen = terminal.wait("cause named: about 19 in 20 | case 1")

        at = [screen.index(t) for t in ("CAN IT RUN?", "WHAT IT IS", "UNTIL THEN", "FIRST", FULL, "\n>")]

        assert at == sorted(at)
        assert screen.splitlines()[-1].split(" | ")[:3] == [
            " Lathe 2", "litres", "cause named: about 19 in 20"
        ]  # fmt: skip


def test_tab_offers_answers_with_their_meaning(tmp_path: Path) -> None:
    """Under the line stand the answers of the open question, and what each answers; Tab takes one."""
    with Terminal(tmp_path, 80, 24, "--demo") as terminal:
        begun(terminal, ("lathe 2 smells a bit funny, nobody is hurt", "What changed"))

        menu = terminal.keys("a" + TAB, "a new drum", "a repair", "2 what changed")
        terminal.keys(TAB + ENTER, "Noted: what changed")

        assert "take back the last answer" not in menu


def test_ctrl_c_asks_and_ctrl_d_saves_for_the_next_start(tmp_path: Path) -> None:
    """Ctrl-C loses nothing and asks; Ctrl-D saves; the next start offers the case and goes on with it."""
    with Terminal(tmp_path, 80, 24, "--demo") as terminal:
        begun(terminal, (LEAN, SAFE))
        terminal.keys("half a li" + CTRL_C, "Leave now?")
        terminal.say("nobody is hurt", FULL)
        terminal.keys(CTRL_D)
        assert "Come back with" in terminal.ended()

    with Terminal(tmp_path, 80, 24, "--demo") as terminal:
        terminal.wait("Case 1 is half finished (Lathe 2", prompt=True)
        resumed = terminal.say("yes", "This is where you were", FULL)

        assert "reading on the glass 2.2" in " ".join(resumed.split())


def test_a_paste_of_many_lines_is_one_turn(tmp_path: Path) -> None:
    """Each pasted line is a sentence of its own: the "no" of one does not reach the next."""
    with Terminal(tmp_path, 80, 24, "--demo") as terminal:
        terminal.wait(WHAT, prompt=True)
        terminal.keys(PASTE.format("lathe 2\rno smell\rfoam everywhere\rpH 8.1"), "pH 8.1")

        noted = terminal.keys(ENTER, "Noted", "case 1")

        flat = " ".join(noted.split())
        assert "no smell" in flat
        assert "foam: a lot of foam" in flat or "foam: foam" in flat


def test_the_answer_taken_back_can_be_mended(tmp_path: Path) -> None:
    """After back the words stand in the line: End adds to them, typing replaces them."""
    with Terminal(tmp_path, 80, 24, "--demo") as terminal:
        begun(terminal, ("lathe 2 foams, pH 7", SAFE))

        terminal.say("back", "Taken back", "> lathe 2 foams, pH 7")
        terminal.keys(END + ".9" + ENTER, "pH 7.9")
        terminal.say("back", "> lathe 2 foams, pH 7.9")
        screen = terminal.keys("pH 9" + ENTER, "Noted: pH 9")

        assert "\n> pH 9\n" in screen


def test_another_window_size_is_followed(tmp_path: Path) -> None:
    """After the window was made smaller, the next answer is set to its width."""
    with Terminal(tmp_path, 80, 24, "--demo") as terminal:
        begun(terminal, (LEAN, SAFE))
        terminal.resize(60, 20)

        screen = terminal.say("nobody is hurt", "CAN IT RUN?", FULL, "| litres |")

        lines = screen.splitlines()
        assert max(len(line) for line in lines) <= 60
        assert len([line for line in lines if len(line) > 50]) > 3


def test_a_dumb_terminal_gets_plain_lines(tmp_path: Path) -> None:
    """No escape code is sent, and the conversation, Ctrl-C and Ctrl-D work all the same."""
    with Terminal(tmp_path, 80, 24, "--demo", term="dumb") as terminal:
        terminal.wait(WHAT, prompt=True)
        terminal.say(LEAN, SAFE)
        terminal.keys(CTRL_C, "Leave now?")
        terminal.say("no", SAFE)
        terminal.keys(CTRL_D)

        assert "Saved as case 1" in terminal.ended()
        assert b"\x1b" not in terminal.seen


def test_the_rest_of_a_verdict_comes_page_by_page(tmp_path: Path) -> None:
    """What was asked for and is longer than the screen stops there; Enter goes on, words are an answer."""
    with Terminal(tmp_path, 60, 20, "--demo") as terminal:
        begun(terminal, (LEAN, SAFE), ("nobody is hurt", FULL))

        first = terminal.say("more", "press Enter")
        second = terminal.say("", "Type \"more\" again")
        terminal.say("more", "press Enter")
        terminal.say("80 percent", ROUND)

        assert "WHAT IT IS" in first
        assert first != second
