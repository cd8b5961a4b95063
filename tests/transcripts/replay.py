"""Replay the conversations of ``transcripts_demo/`` and say, turn by turn, what came out differently.

    python tests/transcripts/replay.py            print every transcript that no longer holds, annotated
    python tests/transcripts/replay.py --update   write what happens now into the files, for review

A transcript is a story in YAML: each turn has the person's words (``say``), the facts understood
(``noted``) and the moves that followed (``moves``), by name. The wording stands beside it in
``<name>.screen.txt``.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from advisor.cli import shop_book
from advisor.dialogue.case import SHOP_BOOK, fact_from
from advisor.dialogue.session import Session
from advisor.dialogue.shop import Shop
from advisor.dialogue.understanding import Lexicon
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import load
from advisor.knowledge.yaml_source import read
from advisor.logbook.store import open_store
from advisor.terminal.render import render

FOLDER = Path(__file__).resolve().parents[2] / "transcripts_demo"
#: A line that leaves the conversation and comes back to it in a new session.
COMES_BACK = "(leaves, and comes back)"


@dataclass
class Turn:
    """One turn as it happened."""

    say: str
    noted: list[str] = field(default_factory=list)
    moves: list[str] = field(default_factory=list)
    screen: str = ""


def files() -> list[Path]:
    """Every transcript, in name order."""
    return sorted(FOLDER.glob("*.yaml"))


def fact_name(fact: Fact) -> str:
    """A fact as a transcript writes it: ``ph: 8.2``, ``not foam``, ``maybe smell: musty``."""
    value = fact.value
    if isinstance(value, float):
        value = f"{value:.4g}"
    elif isinstance(value, tuple):
        value = " to ".join("open" if end is None else f"{end:.4g}" for end in value)
    name = fact.id if value is None else f"{fact.id}: {value}"
    return f"{'' if fact.firm else 'maybe '}{'not ' if fact.status == 'ruled_out' else ''}{name}"


class Stage:
    """A conversation on a fixed clock, with a logbook of its own."""

    def __init__(self, folder: Path, shop: str) -> None:
        self.folder, self.shop = folder, shop
        self.rules = load()
        self.lexicon = Lexicon.from_data(self.rules.data["phrases"], self.rules.data["observables"])
        self.minute, self.seen = 0, 0
        self.case: int | None = None
        self.enter()

    def enter(self) -> None:
        """Begin a session on the same logbook."""
        self.store = open_store(self.folder)
        book = Shop() if self.shop == "none" else shop_book(self.store, demo=True, us=self.shop == "us")
        self.session = Session(self.rules, self.lexicon, self.store, clock=self.clock, shop=book)
        self.greeting = render(self.session.open())

    def clock(self) -> str:
        """A minute later at each call."""
        self.minute += 1
        return f"2025-03-03T{6 + self.minute // 60:02d}:{self.minute % 60:02d}:00Z"

    def turn(self, say: str) -> Turn:
        """Type one line and see what happened."""
        if say == COMES_BACK:
            self.session.leave()
            self.store.close()
            self.enter()
            return Turn(say, screen=self.greeting)
        made = Turn(say, screen=render(self.session.say(say)))
        events = self.session.record.events
        if self.session.case != self.case:  # another case than the line before
            self.case, self.seen = self.session.case, 0
        for event in events[self.seen :]:
            words = self.session.record.words.get(event.number)
            if event.kind in {"said", "kept_what_if"}:
                held = [fact_from(f, words, event.number) for f in event.data["facts"]]
                made.noted += [fact_name(f) for f in held if f.said != SHOP_BOOK]
                if event.data.get("sump"):
                    made.moves.append(f"sump {event.data['sump']}")
            else:
                made.moves += _moves(event.kind, event.data)
        self.seen = len(events)
        return made


def _moves(kind: str, data: dict[str, Any]) -> list[str]:
    if kind == "asked":
        return [f"ask {data['target']}"]
    if kind == "shown":
        return [f"{c['level']} {c['id']}" for c in data["cautions"] if c["level"] != "note"]
    if kind == "verdict":
        causes = data["verdict"]["causes"]
        lead = f" {causes[0]['id']}" if causes and data["verdict"]["verdict"] == "named" else ""
        return [f"verdict {data['verdict']['verdict']}{lead}, {data['verdict']['run']}"]
    if kind == "recipe":
        refused = data["recipe"]["refused"]
        return ["recipe refused" if refused else f"recipe {data['recipe']['options'][0]['name']}"]
    return [] if kind == "opened" else [kind]


def replay(document: dict[str, Any]) -> list[Turn]:
    """The turns of one transcript as they happen now."""
    with tempfile.TemporaryDirectory() as folder:
        stage = Stage(Path(folder), document.get("shop", "metric"))
        turns = [stage.turn(str(step["say"])) for step in document["turns"]]
        stage.store.close()
        return turns


def differences(document: dict[str, Any], turns: list[Turn]) -> list[str]:
    """The transcript with ``# got`` behind every line that came out differently; empty when none did."""
    lines, wrong = [], False
    for step, turn in zip(document["turns"], turns, strict=True):
        lines.append(f"> {step['say']}")
        for key in ("noted", "moves"):
            wanted, got = list(step.get(key) or []), getattr(turn, key)
            mark = "" if wanted == got else f"   # got: {got}"
            wrong |= wanted != got
            lines.append(f"    {key}: {wanted}{mark}")
    return lines if wrong else []


def screens(turns: list[Turn]) -> str:
    """The wording of a whole conversation."""
    return "\n\n".join(f"> {turn.say}\n\n{turn.screen}" for turn in turns) + "\n"


def written(document: dict[str, Any], turns: list[Turn]) -> str:
    """The transcript's file with what happens now."""
    lines = [f"title: {document['title']}", "story: >-"]
    lines += [f"  {line}" for line in _folded(document["story"])]
    lines += [f"shop: {document.get('shop', 'metric')}", "turns:"]
    for turn in turns:
        lines.append(f"  - say: {_quoted(turn.say)}")
        for key in ("noted", "moves"):
            held = getattr(turn, key)
            if held:
                lines.append(f"    {key}:")
                lines += [f"      - {_quoted(item)}" for item in held]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"


def _folded(text: str) -> list[str]:
    import textwrap

    return textwrap.wrap(text, 100)


def main() -> int:
    """Print what no longer holds, or write what happens now."""
    update, bad = "--update" in sys.argv, 0
    for file in files():
        document = read(file).data
        turns = replay(document)
        if update:
            file.write_text(written(document, turns), encoding="utf-8")
            file.with_suffix(".screen.txt").write_text(screens(turns), encoding="utf-8")
            continue
        lines = differences(document, turns)
        if lines:
            bad += 1
            print(f"== {file.name}", *lines, sep="\n")
    print(f"{len(files())} transcripts, {bad} that no longer hold" if not update else "written")
    return 1 if bad or not files() else 0


if __name__ == "__main__":
    sys.exit(main())
