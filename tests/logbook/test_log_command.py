"""``sumpside log``: verify, backup, restore, export-case."""

from __future__ import annotations

import argparse
import io
import json
import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from advisor.dialogue.events import event_from_json, verify
from advisor.errors import BadInput
from advisor.logbook.book import ReadingBook
from advisor.logbook.command import add_parser, run
from advisor.logbook.readings import Reading
from advisor.logbook.store import SqliteStore, open_store
from tests.logbook.behind import change
from tests.logbook.conftest import NOON, OPENED, judged, said


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user's logbook with two cases."""
    folder = tmp_path / "home"
    monkeypatch.setenv("SUMPSIDE_HOME", str(folder))
    with open_store(folder) as store:
        for words in ("first", "second"):
            case = store.start_case("op", NOON, OPENED)
            store.append(case, "said", said(8.9), words, time=NOON, who="op")
            store.append(case, "verdict", judged(), time=NOON, who="op")
    return folder


def log(*words: str | Path) -> int:
    """Run one ``log`` command as the program does."""
    parser = argparse.ArgumentParser()
    add_parser(parser.add_subparsers())
    args = parser.parse_args(["log", *map(str, words)])
    assert args.run is run
    return run(args)


def everything(folder: Path) -> list[object]:
    """All events and words of a logbook."""
    with open_store(folder) as store:
        return [(store.events(row.id), store.words(row.id)) for row in store.cases()]


def spoil(folder: Path, statement: str) -> None:
    """Change the logbook behind the program's back."""
    with open_store(folder) as store:
        change(store, statement)


def test_verify_is_content_with_a_whole_logbook(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A logbook as written passes, also after words were erased."""
    with open_store(home) as store:
        store.erase_words(1)
    assert log("verify") == 0
    assert capsys.readouterr().out == "2 cases checked: every record is as it was written.\n"


@pytest.mark.parametrize(
    ("statement", "told"),
    [("UPDATE events SET data = '{}' WHERE case_id = 2 AND number = 2", "case 2, event 2: was changed"),
     ("DELETE FROM events WHERE case_id = 2 AND number = 3", "case 2: the list of cases does not agree"),
     ("UPDATE cases SET lead = 'in_range' WHERE id = 1", "case 1: the list of cases does not agree")],
)  # fmt: skip
def test_verify_names_what_was_changed(
    home: Path, statement: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A changed row, a cut tail and a changed list are each named, and the exit code says so."""
    spoil(home, statement)
    assert log("verify") == 1
    assert told in capsys.readouterr().out


def test_verify_looks_for_a_noted_hash(home: Path) -> None:
    """A hash from a card must be in the logbook; something else is no hash."""
    with open_store(home) as store:
        noted = store.head(2)
    assert log("verify", "--hash", noted[:16].upper()) == 0
    assert log("verify", "1", "--hash", noted) == 1
    with open_store(home) as store:
        entry = ReadingBook(store).enter([Reading("mill", "ph", NOON, 9.0)], time=NOON, who="op", how="line")
    assert log("verify", "--hash", entry.hash) == 0  # as the audit prints it
    with pytest.raises(BadInput, match="12 to 64"):
        log("verify", "--hash", "card 7")


@pytest.mark.in_a_file
def test_backup_and_restore_bring_everything_back(home: Path, tmp_path: Path) -> None:
    """What was in the copy is back, byte for byte in events and words; what was newer is kept aside."""
    before = everything(home)
    assert log("backup", tmp_path / "copy.db") == 0
    with open_store(home) as store:
        store.append(1, "closed", {"how": "finished"}, time=NOON, who="op")
    after = everything(home)
    assert log("restore", tmp_path / "copy.db") == 0
    assert everything(home) == before
    (aside,) = home.glob("logbook.replaced-*.db")
    (tmp_path / "other").mkdir()
    aside.rename(tmp_path / "other" / "logbook.db")
    assert everything(tmp_path / "other") == after


@pytest.mark.in_a_file
def test_a_damaged_logbook_is_replaced_and_kept(home: Path, tmp_path: Path) -> None:
    """Restoring works when the present file cannot even be opened, and keeps it."""
    before = everything(home)
    log("backup", tmp_path / "copy.db")
    (home / "logbook.db").write_bytes(b"scribble" * 1000)
    log("restore", tmp_path / "copy.db")
    assert everything(home) == before
    assert (home / "logbook.replaced-1.db").read_bytes() == b"scribble" * 1000


@pytest.mark.in_a_file
def test_a_terminal_in_use_sees_what_was_restored(home: Path, tmp_path: Path) -> None:
    """A program that has the logbook open goes on with the restored one."""
    log("backup", tmp_path / "copy.db")
    with open_store(home) as running:
        running.append(1, "closed", {"how": "finished"}, time=NOON, who="op")
        log("restore", tmp_path / "copy.db")
        assert running.append(1, "said", said(9.1), time=NOON, who="op").number == 4
        assert verify(running.events(1)) == []


@pytest.mark.in_a_file
def test_a_copy_is_made_while_others_write(home: Path, tmp_path: Path) -> None:
    """A copy taken with a change under way in another program is whole, and without that change."""
    with closing(sqlite3.connect(home / "logbook.db", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("UPDATE cases SET who = 'half done'")
        log("backup", tmp_path / "logbook.db")
        other.execute("ROLLBACK")
    assert everything(tmp_path) == everything(home)


@pytest.mark.parametrize(
    ("content", "error", "told"),
    [(None, BadInput, "there is no file"),
     (b"a letter, not a logbook" * 99, BadInput, "not a logbook. Name a copy"),
     (b"", BadInput, "not a whole logbook")],
)  # fmt: skip
def test_only_a_logbook_is_restored(
    home: Path, tmp_path: Path, content: bytes | None, error: type[Exception], told: str
) -> None:
    """Something else is refused with a sentence, and the logbook stays as it was."""
    before = everything(home)
    if content is not None:
        (tmp_path / "copy.db").write_bytes(content)
    with pytest.raises(error, match=re.escape(told)):
        log("restore", tmp_path / "copy.db")
    assert everything(home) == before


def test_a_backup_overwrites_nothing(home: Path, tmp_path: Path) -> None:
    """An existing file is left alone; a missing folder gets a sentence."""
    (tmp_path / "copy.db").write_text("precious")
    with pytest.raises(BadInput, match="there already"):
        log("backup", tmp_path / "copy.db")
    with pytest.raises(BadInput, match="no folder"):
        log("backup", tmp_path / "nowhere" / "copy.db")
    assert (tmp_path / "copy.db").read_text() == "precious"


@pytest.mark.parametrize("options", [(), ("--without-words",)])
def test_an_exported_case_verifies_outside(home: Path, tmp_path: Path, options: tuple[str, ...]) -> None:
    """The JSON of a case holds the whole chain, with or without what persons typed."""
    log("export-case", "2", tmp_path / "case.json", *options)
    held = json.loads((tmp_path / "case.json").read_text(encoding="utf-8"))
    assert verify([event_from_json(event) for event in held["events"]]) == []
    assert held["words"] == ({} if options else {"2": "second"})


def test_logbook_of_the_command_is_the_users(home: Path) -> None:
    """`SUMPSIDE_HOME` decides which logbook is meant."""
    assert isinstance(open_store(), SqliteStore)
    with open_store() as store:
        assert store.path == home / "logbook.db"


@pytest.fixture
def told_names(home: Path) -> Path:
    """A logbook in which Quendolin is named in a case, with a reading, among the people, and as a sign."""
    with open_store(home) as store:
        store.append(1, "said", said(9.0), "quendolin has a rash, Quendolina not", time=NOON, who="op")
        store.put_row("person", "qu", {"name": "Quendolin Old"}, time=NOON, who="sup")
        store.put_row("person", "qu", {"name": "Quendolin New"}, time=NOON, who="sup")
        reading = Reading("mill", "ph", NOON, 9.0, 9.0)
        ReadingBook(store).enter([reading], time=NOON, who="Quendolin", how="line", words="Quendolin read 9")
    return home


def test_a_name_is_erased_everywhere(told_names: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lines keep the rest of their words, the chains hold, and what cannot go is told."""
    assert log("erase", "QUENDOLIN", "--sure") == 0
    told = capsys.readouterr().out
    assert "Erased in 3 places" in told
    assert "cannot be changed: 1 of the records" in told
    with open_store(told_names) as store:
        assert store.words(1)[4] == "********* has a rash, Quendolina not"
        assert (ReadingBook(store).words(1), store.row("person", "qu")) == ("********* read 9", None)
    assert log("verify") == 0


@pytest.mark.in_a_file
def test_no_byte_of_an_erased_name_is_left(told_names: Path) -> None:
    """Neither in the file nor in the log beside it, earlier versions of a person's row included."""
    log("erase", "Quendolin", "--sure")
    left = [file.name for file in told_names.iterdir() if b"Quendolin New" in file.read_bytes()
            or b"Quendolin Old" in file.read_bytes() or b"Quendolin read" in file.read_bytes()]  # fmt: skip
    assert left == []


@pytest.mark.parametrize(
    ("what", "told"),
    [("1", "1 line was erased"), ("2 2", "1 line was erased"), ("entry 1", "1 line was erased"),
     ("Mephisto", "is in nothing that was typed")],
)  # fmt: skip
def test_words_are_erased_by_number(
    told_names: Path, what: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A case, one of its lines, an entry; what is not there is said."""
    with open_store(told_names) as store:
        store.erase_words(1, 4)
    assert log("erase", *what.split(), "--sure") == 0
    assert told in capsys.readouterr().out


def test_erasing_is_asked_about(told_names: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without somebody to ask nothing goes; an unknown case and a single letter are refused."""
    monkeypatch.setattr("sys.stdin", io.StringIO())
    for words, why in ((["1"], "Nothing was erased"), (["7", "--sure"], "no case 7"), (["x"], "too short")):
        with pytest.raises(BadInput, match=why):
            log("erase", *words)
    with open_store(told_names) as store:
        assert len(store.words(1)) == 2
