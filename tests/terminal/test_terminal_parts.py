"""Parts under the conversation: pasted lines, characters, a held Ctrl-C, a word when it takes long."""

from __future__ import annotations

import io
import signal
import time
from pathlib import Path

import pytest
from prompt_toolkit.completion import CompleteEvent
from prompt_toolkit.document import Document

from advisor.dialogue import phrases
from advisor.knowledge.loader import rules_folder
from advisor.terminal.characters import STANDS_FOR, settle
from advisor.terminal.completion import BottomLine, OfferedAnswers
from advisor.terminal.interrupts import Held
from advisor.terminal.loop import one_line
from advisor.terminal.progress import patient
from tests.benchmarks import keystroke
from tests.terminal.pty_screen import PATIENCE


class Glass(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """True."""
        return True


@pytest.mark.parametrize(
    ("pasted", "line"),
    [
        ("no smell\nfoam on top", "no smell. foam on top"),
        ("pH 7.9,\r\n  5 %\n\n", "pH 7.9, 5 %"),
        ("one line", "one line"),
        ("\n", ""),
    ],
)
def test_each_pasted_line_is_a_sentence(pasted: str, line: str) -> None:
    """A line end closes a sentence, so that a "no" does not reach over it."""
    assert one_line(pasted) == line


@pytest.mark.parametrize("encoding", ["ascii", "cp437", "cp850", "cp1252"])
def test_old_consoles_get_plain_characters(encoding: str) -> None:
    """What the code page lacks is written out; nothing fails, no sign of ours becomes a question mark."""
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding=encoding)
    settle(stream)

    stream.write("1 … 20 °C, 3 × 5 ≥ 2 – “so”")
    stream.flush()

    assert "?" not in raw.getvalue().decode(encoding)


def test_every_sign_the_rules_use_has_a_stand_in() -> None:
    """Whatever stands in a rule file or a phrase can be shown on any console."""
    texts = [file.read_text(encoding="utf-8") for file in rules_folder().rglob("*.yaml")]
    texts.append(Path(phrases.__file__).read_text(encoding="utf-8"))

    used = {c for text in texts for c in text if not c.isascii()}

    assert used <= set(STANDS_FOR), used - set(STANDS_FOR)


def test_ctrl_c_waits_for_the_end_of_a_turn() -> None:
    """The block runs to its end, the press is known afterwards, and a second one gets through."""
    with Held() as held:
        signal.raise_signal(signal.SIGINT)
        done = "stored"

    assert (done, held.happened) == ("stored", True)
    with Held():
        signal.raise_signal(signal.SIGINT)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)


def test_a_word_only_when_it_takes_long() -> None:
    """Nothing is said about what is quick; nothing at all where no person looks."""
    slow, quick, file = Glass(), Glass(), io.StringIO()

    with patient(quick, after=PATIENCE), patient(slow, after=0.05), patient(file, after=0.0):
        until = time.monotonic() + PATIENCE
        while not slow.getvalue() and time.monotonic() < until:
            time.sleep(0.01)

    assert (slow.getvalue(), quick.getvalue(), file.getvalue()) == (phrases.ONE_MOMENT + "\n", "", "")


@pytest.mark.parametrize("columns", [20, 40, 60, 80, 120])
def test_the_bottom_line_says_how_settled_it_is(tmp_path: Path, columns: int) -> None:
    """Sump first, then how settled, in short where it is narrow; never wider than the screen."""
    line = BottomLine(keystroke.waiting(str(tmp_path))).text(columns)

    assert line.startswith(" Lathe 2")
    assert len(line) < columns
    assert columns < 40 or "asking" in line or "settled" in line or "named" in line


def offered(tmp_path: Path, *lines: str) -> list[str]:
    """What Tab offers on an empty line after these lines in the demo shop."""
    completer = OfferedAnswers(keystroke.waiting(str(tmp_path), lines))
    event = CompleteEvent(completion_requested=True)
    return [c.text for c in completer.get_completions(Document(""), event)]


LEAN = ("mill 1 reads 3.8 brix, parts rust, three quarters full", "nobody")
BLURRED = ("mill 1 the line is blurred", "nothing changed", "they are fine", "nobody")


@pytest.mark.parametrize(
    ("lines", "first"),
    [
        (LEAN, ["all", "none", "level with pump stopped"]),
        ((*LEAN, "all"), ["done", "skip", "read again", "recipe"]),
        ((*LEAN, "all", "read again 5.5"), ["all", "nothing", "half"]),
        ((*LEAN, "all", "read again 5.5", "all"), ["done", "skip", "skip all"]),
        (("mill 1 smells of rotten egg", "nobody", "skip"), ["done", "skip", "why"]),
        (("foam",), ["Mill 1", "Mill 2"]),
    ],
)
def test_tab_offers_what_the_step_takes(tmp_path: Path, lines: tuple[str, ...], first: list[str]) -> None:
    """At a list, a step, a recipe or a question for what went in, its own words come first."""
    assert offered(tmp_path, *lines)[: len(first)] == first


def test_tab_offers_the_words_of_a_led_step(tmp_path: Path) -> None:
    """A step that may fail offers the words that say so."""
    words = offered(tmp_path, *BLURRED, "done", "done")

    assert {"blurred", "skip", "skip all"} <= {*words}
