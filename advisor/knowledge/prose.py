"""Filler in place of knowledge is refused: better no line than one that says nothing."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from advisor.knowledge.advice import Advice
from advisor.knowledge.rule_files import RuleFiles

#: Texts that say nothing, alone in their place.
EMPTY = {
    "unknown", "not known", "none", "nothing", "no", "n/a", "na", "not applicable", "same", "same as above",
    "see above", "ditto", "text", "placeholder", "to be done", "to follow", "later", "various", "misc",
    "to do", "to do later", "do later", "will follow", "coming soon", "as usual", "see sheet", "as needed",
    "because", "example", "description", "etc", "not available", "no data", "not specified", "unspecified",
}  # fmt: skip
#: Marks that a text is not finished, anywhere in it.
_UNFINISHED = re.compile(
    r"\b(tbd|tbc|todo|fixme|xxx+|lorem ipsum|to do later|fill in later)\b|\bn/a\b|\?\?\?", re.IGNORECASE
)
#: Keys that hold sentences or names for people.
PROSE = {
    "title", "plain", "means", "run_because", "because", "tell_apart", "proves_not", "never", "recheck",
    "dump_when", "prevent", "text", "do_now", "refuses", "lifted_by", "hands_to", "forbidden_because",
    "question", "look", "costly", "name", "note", "body",
}  # fmt: skip


def fillers(files: RuleFiles) -> Iterator[Advice]:
    """Every text that is nothing but filler or says that it is not finished."""
    for entry in files.entries:
        yield from _walk(entry.data, (), entry.place)
    yield from _walk(files.sources.data or {}, (), lambda *path: files.sources.place(path))
    for document in files.cases.values():
        yield from _walk(document.data, (), lambda *path, held=document: held.place(path))


def _walk(value: Any, path: tuple[str | int, ...], place: Any) -> Iterator[Advice]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key != "answers":  # "nothing" is a fair answer to what is topped up
                yield from _walk(inner, (*path, key), place)
    elif isinstance(value, list):
        for i, inner in enumerate(value):
            yield from _walk(inner, (*path, i), place)
    elif isinstance(value, str) and any(step in PROSE for step in path[-2:] if isinstance(step, str)):
        yield from _said(value, str(next(s for s in reversed(path) if isinstance(s, str))), place(*path))


def _said(text: str, key: str, place: str) -> Iterator[Advice]:
    bare = re.sub(r"[^a-z/ ]", "", text.lower()).strip()
    unfinished = _UNFINISHED.search(text)
    if not bare or bare in EMPTY or unfinished:
        yield Advice(
            place,
            f'"{key}" says nothing: "{unfinished[0] if unfinished else text}"',
            "write what a person at the sump should know, or leave the line out",
            check="filler",
        )
