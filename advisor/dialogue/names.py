"""A person's name said together with a health complaint: it is offered to be struck from what is kept.

People are counted, never named. Words stand outside the hash of their event, so a name can be replaced in
them and the chain still holds; it is replaced by as many marks, because facts point into the words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from advisor.dialogue import phrases_led
from advisor.dialogue.blocks import Block

if TYPE_CHECKING:
    from advisor.dialogue.recorder import Recorder
    from advisor.dialogue.understanding import Understood

#: Facts about people's health.
HEALTH = frozenset({"skin", "breathing", "eyes_nose"})
MARK = "*"
_WORD = r"[^\W\d_][^\W\d_'’-]*(?:-[^\W\d_]+)?"
_HAS = (
    r"(?:has|had|have|got|gets|is|was|are|keeps|complains?|says|said|feels?|both|hat|hatte|ist|bekommt|klagt)"
)
_BODY = r"(?:skin|hands?|arms?|fingers?|wrists?|face|eyes?|nose|throat|chest|lungs|breathing|rash|cough)"
#: Where a clause begins; after "the" or "our" stands no name.
_START = r"(?:^|[.,;:!?] *|\b(?:and|but|that|because|when|with|und|weil) +)"
#: Who is meant without being named.
_ANYBODY = frozenset(
    {
        "operator", "operators", "worker", "workers", "colleague", "colleagues", "lad", "lads", "bloke",
        "blokes", "guy", "guys", "man", "men", "woman", "women", "staff", "crew", "team", "shift", "setter",
        "setters", "apprentice", "apprentices", "trainee", "trainees", "mate", "mates", "students", "kollege",
        "kollegen", "kollegin", "mitarbeiter", "leute",
    }
)  # fmt: skip
#: A name by what stands beside it: a title, a calling, "Ann has", "Ann and Bo both", "Ann's hands".
_PLACES = (
    re.compile(rf"\b(?:mr|mrs|ms|miss|herr|frau)\.? +({_WORD})", re.IGNORECASE),
    re.compile(rf"\b(?:called|named|name is|name's|heißt|heisst) +({_WORD})", re.IGNORECASE),
    re.compile(
        rf"\b(?:operator|worker|colleague|mate|apprentice|setter|kollegin|kollege|lehrling) +({_WORD})",
        re.IGNORECASE,
    ),
    re.compile(rf"{_START}({_WORD}) +{_HAS}\b", re.IGNORECASE),
    re.compile(rf"{_START}({_WORD}) +(?:and|und) +{_WORD} +{_HAS}\b", re.IGNORECASE),
    re.compile(rf"{_START}({_WORD})['’]s +(?:\w+ +)?{_BODY}\b", re.IGNORECASE),
)  # fmt: skip
_STRIKE = re.compile(r"(?:please +)?(?:take|strike|remove|delete|cut|leave)\b.{0,20}\bnames?\b(?: out)?")


def names_in(text: str, unused: Sequence[str]) -> list[str]:
    """Words of a line that stand where a name stands and mean nothing else to us."""
    unknown = {re.sub(r"['’]s$", "", word.casefold()) for piece in unused for word in piece.split()}
    found = [m.group(1) for place in _PLACES for m in place.finditer(text)]
    return list(dict.fromkeys(name for name in found if name.casefold() in unknown - _ANYBODY))


def struck(words: str, names: Sequence[str]) -> str:
    """The words with each name replaced by as many marks."""
    for name in names:
        words = re.sub(rf"\b{re.escape(name)}\b", MARK * len(name), words, flags=re.IGNORECASE)
    return words


class Names:
    """The names said in one conversation, until they are struck.

    Args:
        record: the case and its words.
    """

    def __init__(self, record: Recorder) -> None:
        self.record = record
        self._said: dict[int, list[str]] = {}

    def offer(self, text: str, got: Understood) -> list[Block]:
        """What to say about names in a line just stored."""
        if not any(fact.id in HEALTH and fact.status == "present" for fact in got.facts):
            return []
        found = names_in(text, got.unused)
        if not found:
            return []
        self._said[self.record.events[-1].number] = found
        return [Block("text", phrases_led.NAME_SAID.format(names=_listed(found)))]

    def strike(self, text: str) -> list[Block] | None:
        """Strike the names, where a line asks for it and there are some."""
        if not self._said or not _STRIKE.fullmatch(text.casefold().strip(" .!")):
            return None
        gone = [name for names in self._said.values() for name in names]
        for number, words in self._without():
            self.record.replace_words(number, words)
        self._said.clear()
        return [Block("text", phrases_led.NAME_STRUCK.format(names=_listed(gone)))]

    def _without(self) -> Iterator[tuple[int, str]]:
        everyone = [name for names in self._said.values() for name in names]
        for number, words in list(self.record.words.items()):
            without = struck(words, everyone)
            if without != words:
                yield number, without


def _listed(names: list[str]) -> str:
    return " and ".join(f'"{name}"' for name in dict.fromkeys(names))
