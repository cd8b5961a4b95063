"""What is typed at one question after the other is on disk at once: killed half way, it goes on."""

from __future__ import annotations

import signal
from contextlib import closing
from pathlib import Path

import pytest

from advisor.logbook.book import ReadingBook
from advisor.logbook.kept_answers import KeptAnswers
from advisor.logbook.shop import keep_shop, shop_from_json, stored_shop
from advisor.logbook.store import open_store
from tests.logbook.conftest import NOON
from tests.logbook.readings_desk import made_shop
from tests.terminal.pty_screen import CTRL_D, ENTER, Terminal

pytestmark = pytest.mark.in_a_file  # the answers wait in a file, whatever the logbook is


def never(question: str) -> str:
    """Nobody is there to be asked."""
    raise AssertionError(question)


def waiting(folder: Path) -> list[str]:
    """The answers the next program would go on from, taken as the same questions."""
    with closing(KeptAnswers(folder, "round", NOON)) as kept:
        return [answer for _, answer in kept._before]


def test_answers_come_back_in_order(tmp_path: Path) -> None:
    """Another program goes on where the first one was ended; what is done is forgotten."""
    first = KeptAnswers(tmp_path, "round", NOON)
    for question, answer in (("M1: ", "6.5"), ("M2: ", "")):
        assert first.ask(question, lambda _, said=answer: said) == answer
    first.close()  # as the system does when a program is killed
    again = KeptAnswers(tmp_path, "round", "2025-03-05T12:00:00Z")
    assert (again.waiting, again.begun) == (2, NOON)
    assert [again.ask(question, never) for question in ("M1: ", "M2: ")] == ["6.5", ""]
    again.done()
    assert list(tmp_path.iterdir()) == []


def test_other_questions_end_what_is_kept(tmp_path: Path) -> None:
    """Where the walking order was changed, later answers are not put to the wrong sump."""
    first = KeptAnswers(tmp_path, "round", NOON)
    for question in ("M1: ", "M2: ", "M3: "):
        first.ask(question, lambda question: f"as {question}")
    first.close()
    again = KeptAnswers(tmp_path, "round", NOON)
    assert [again.ask(q, lambda _: "new") for q in ("M1: ", "M9: ", "M2: ")] == ["as M1: ", "new", "new"]
    again.close()
    assert waiting(tmp_path) == ["as M1: ", "new", "new"]


def test_an_answer_cut_short_is_asked_again(tmp_path: Path) -> None:
    """A line that a power cut left half written was never kept; what follows it is whole."""
    first = KeptAnswers(tmp_path, "round", NOON)
    first.ask("M1: ", lambda _: "6.5")
    first.close()
    (file,) = tmp_path.iterdir()
    file.write_text(file.read_text() + '{"question": "M2: ", "ans')
    again = KeptAnswers(tmp_path, "round", NOON)
    assert (again.ask("M1: ", never), again.ask("M2: ", lambda _: "7")) == ("6.5", "7")
    again.close()
    assert waiting(tmp_path) == ["6.5", "7"]


def test_two_terminals_keep_their_own(tmp_path: Path) -> None:
    """A round under way elsewhere is not taken over; a bad answer is asked again and not kept."""
    one, other = KeptAnswers(tmp_path, "round", NOON), KeptAnswers(tmp_path, "round", NOON)
    said = iter(["six", "6.5"])
    assert one.ask("M1: ", lambda _: next(said), lambda text: text != "six") == "6.5"
    assert (other.waiting, other.ask("M1: ", lambda _: "7"), one.path == other.path) == (0, "7", False)
    one.close()
    other.done()
    assert waiting(tmp_path) == ["6.5"]


def test_a_folder_that_cannot_be_written_stops_nobody(tmp_path: Path) -> None:
    """Then nothing is kept, and the questions are asked all the same."""
    (tmp_path / "file").write_text("in the way")
    kept = KeptAnswers(tmp_path / "file" / "home", "round", NOON)
    assert (kept.path, kept.ask("M1: ", lambda _: "6.5")) == (None, "6.5")
    kept.done()


def test_a_round_killed_half_way_goes_on(tmp_path: Path) -> None:
    """On a real terminal: two lines typed, killed, begun again: the third sump is asked, all are written."""
    with open_store(tmp_path / "data") as store:
        keep_shop(store, shop_from_json(made_shop(3)), time=NOON, who="sup")
    with Terminal(tmp_path, 80, 24, "round", "--enter") as terminal:
        terminal.wait("M1:")
        terminal.keys(f"7.5 9.1{ENTER}", "M2:")
        terminal.keys(f"seven{ENTER}7.0 9.0{ENTER}", "M3:")
        terminal.child.kill(signal.SIGKILL)
    with Terminal(tmp_path, 80, 24, "round", "--enter") as terminal:
        terminal.wait("goes on; 2 of its answers are kept", "M3:")
        terminal.keys(f"6.9 9.2{ENTER}", "3 sumps, 6 readings are in the book")
        terminal.ended()  # what is written is told first and forgotten then
    with open_store(tmp_path / "data") as store:
        book = ReadingBook(store)
        assert [len(book.of(sump)) for sump in ("m1", "m2", "m3")] == [2, 2, 2]
    assert list((tmp_path / "data").glob("unfinished-*")) == []


def test_setting_up_the_shop_goes_on(tmp_path: Path) -> None:
    """On a real terminal: killed between two questions, the talk goes on at the next one."""
    with Terminal(tmp_path, 80, 24, "shop", "--talk") as terminal:
        terminal.wait("called?")
        terminal.keys(f"Our hall{ENTER}", "Which country")
        terminal.child.kill(signal.SIGKILL)
    with Terminal(tmp_path, 80, 24, "shop", "--talk") as terminal:
        terminal.wait("An earlier talk goes on; 1 of its answers")
        terminal.keys(f"{ENTER}{ENTER}{ENTER}Demo{ENTER}{CTRL_D}", "Taken over")
    with open_store(tmp_path / "data") as store:
        assert stored_shop(store).shop["name"] == "Our hall"
