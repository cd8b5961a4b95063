"""What a person types at one question after the other, safe on disk until all of it is written.

A round of thirty sumps or the set-up of a shop is written as a whole. If the program ends half way, the next
one goes on where it stopped, and nothing is typed twice.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import IO

Put = Callable[[str], str]
#: Terminals that may do the same work at once, each with answers of its own.
MOST = 20


class KeptAnswers:
    """The answers of one piece of work, in a file beside the logbook.

    Attributes:
        begun: when the work began, ISO-8601 UTC: now, or earlier where it goes on.
        waiting: how many answers are there from before.
        path: the file, None where nothing can be kept.
    """

    def __init__(self, folder: Path, work: str, now: str) -> None:
        self.begun = now
        self._before: list[tuple[str, str]] = []
        self._given: list[tuple[str, str]] = []
        self._file: IO[str] | None = None
        with suppress(OSError):  # where nothing can be kept, the work goes on all the same
            folder.mkdir(parents=True, exist_ok=True)
            self._file = _own(folder, work)
        if self._file is not None:
            self._read(self._file)
        self.waiting = len(self._before)
        self.path = None if self._file is None else Path(self._file.name)

    def ask(self, question: str, put: Put, check: Callable[[str], bool] = lambda _: True) -> str:
        """The answer to a question: from before, while the questions are the same, else as typed now.

        Args:
            put: puts the question and gives what is typed; what it raises goes through.
            check: whether an answer will do; it says why not, and the question is put again.
        """
        if self._before and self._before[0][0] == question:
            self._given.append(self._before.pop(0))
            return self._given[-1][1]
        other_questions = bool(self._before)
        self._before.clear()
        answer = put(question)
        while not check(answer):
            answer = put(question)
        self._given.append((question, answer))
        self._keep(self._given if other_questions else self._given[-1:], anew=other_questions)
        return answer

    def done(self) -> None:
        """All of it is written where it belongs: forget it."""
        if self._file is not None:
            with suppress(OSError):
                Path(self._file.name).unlink(missing_ok=True)
        self.close()

    def close(self) -> None:
        """Stop here; the answers stay for the next time."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def _read(self, file: IO[str]) -> None:
        """Take over what is there; a line cut short was never taken for kept."""
        file.seek(0)
        lines = file.read().splitlines(keepends=True)
        for line in lines:
            try:
                held = json.loads(line)
                self.begun = held.get("begun", self.begun)
                if "question" in held:
                    self._before.append((held["question"], held["answer"]))
            except (ValueError, KeyError, AttributeError):
                break
        if not self._before or not lines[-1].endswith("\n"):
            self._keep(self._before, anew=True)

    def _keep(self, answers: list[tuple[str, str]], *, anew: bool) -> None:
        """Write answers, on disk on return; `anew` in the place of all that is there."""
        if self._file is None:
            return
        lines = [{"begun": self.begun}] if anew else []
        lines += [{"question": question, "answer": answer} for question, answer in answers]
        with suppress(OSError):
            if anew:
                self._file.seek(0)
                self._file.truncate()
            self._file.writelines(json.dumps(line) + "\n" for line in lines)
            self._file.flush()
            os.fsync(self._file.fileno())


def _own(folder: Path, work: str) -> IO[str] | None:
    """The first file of this work that no other program is using, held until it is closed."""
    for number in range(1, MOST + 1):
        file = (folder / f"unfinished-{work}-{number}.jsonl").open("a+", encoding="utf-8")
        if _held_alone(file):
            return file
        file.close()
    return None


def _held_alone(file: IO[str]) -> bool:
    try:
        import fcntl
    except ImportError:  # elsewhere two terminals at the same work share a file
        return True
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    # Another program may have finished and deleted it between opening and holding it.
    return os.fstat(file.fileno()).st_nlink > 0
