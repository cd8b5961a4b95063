"""What a trainee's line asks for: one observable, several that it could be, or none.

Words are weighed by how few observables they belong to; nothing here knows a coolant word, all of them
come from the rule base.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from functools import lru_cache
from math import log

from advisor.knowledge.rulebase import RuleBase

#: Words that say nothing about what is meant.
_PLAIN = {
    "a", "all", "and", "any", "are", "ask", "at", "be", "been", "can", "check", "did", "do", "does", "for",
    "from", "get", "has", "have", "how", "i", "if", "in", "is", "it", "its", "look", "me", "much", "my",
    "now", "of", "off", "on", "one", "or", "please", "show", "so", "take", "tell", "test", "that", "the",
    "them", "then", "there", "they", "this", "to", "want", "was", "we", "what", "when", "where", "which",
    "with", "would", "you", "your", "wot", "wat", "waht", "whats", "hows", "like", "about", "see", "give",
    "just", "plz", "pls",
}  # fmt: skip
#: Some of them that say a little where nothing else is said.
_WEAK = {"look", "test", "check", "show"}
#: A topic must reach this share of the best one's weight to be offered beside it.
_NEAR = 0.9
#: Dangers are said in many words: what comes within this share is asked about.
NEAR_DANGER = 0.7
#: Weight of a word by where it stands: in the name, in other words it is asked in, in the question (less
#: in that of a follow-up, which is asked after its parent), in an answer.
_NAME, _ASKED, _QUESTION, _FOLLOWS, _ANSWER = 3.0, 2.0, 1.5, 1.2, 1.0
#: A look is done, and costs, only when this share of the words said leads there; of its name, half do.
ALL_OF_IT, HALF_OF_IT = 0.75, 0.5
#: Shorter words are not mended; how close a mended word must be (judgement, common practice, no source).
_MENDABLE, _CLOSE = 4, 0.84


def words(text: str) -> list[str]:
    """The telling words of a text, cut to their stems; where it has none, those that say a little."""
    found = re.findall(r"[a-z]+", text.lower())
    telling = [w for w in found if w not in _PLAIN]
    return [_stem(w) for w in telling or [w for w in found if w in _WEAK]]


def _stem(word: str) -> str:
    for end in ("ings", "ing", "ies", "es", "ed", "s", "y"):
        if word.endswith(end) and len(word) - len(end) >= 3:
            return word[: -len(end)]
    return word


class Finder:
    """Finds entries by words; entries are given as name -> weighed texts."""

    def __init__(self, entries: Mapping[str, Iterable[tuple[float, str]]]) -> None:
        self.weights: dict[str, dict[str, float]] = {}
        self.names: dict[str, int] = {}
        self.exact: dict[str, str] = {}
        self.spoken: dict[frozenset[str], str] = {}
        for name, texts in entries.items():
            for weight, text in texts:
                told = words(text)
                if weight >= _ASKED:
                    self.exact.setdefault(text.lower(), name)
                    self.spoken.setdefault(frozenset(told), name)
                if weight >= _NAME:
                    self.names[name] = max(self.names.get(name, 0), len(set(told)))
                    told += [_stem(w) for w in re.findall(r"[a-z]+", text.lower()) if w in _WEAK]
                for word in told:
                    held = self.weights.setdefault(word, {})
                    held[name] = max(held.get(name, 0.0), weight)
        self.count = max(1, len(entries))

    def _mended(self, text: str) -> list[str]:
        """The telling words, slips of the pen mended where one known word is close."""
        found = []
        for word in dict.fromkeys(words(text)):
            close = word in self.weights or len(word) < _MENDABLE
            found += [word] if close else get_close_matches(word, self.weights, 1, _CLOSE) or [word]
        return found

    def named(self, text: str) -> str | None:
        """The entry whose whole name this is, or None."""
        return self.exact.get(" ".join(text.lower().split()).strip(" .!?"))

    def whole(self, text: str, name: str) -> bool:
        """Whether every telling word of a text belongs to an entry."""
        return all(name in self.weights.get(word, {}) for word in self._mended(text))

    def by_name(self, text: str, name: str) -> bool:
        """Whether a telling word of a text stands in the name of an entry, not only in what is said of it."""
        return any(self.weights.get(word, {}).get(name, 0.0) >= _NAME for word in self._mended(text))

    def find(self, text: str, most: int = 4, near: float = _NEAR, sure: float = 0.0) -> list[str]:
        """The entries a text could mean, the best first; one alone when it is clear.

        Args:
            near: share of the best one's weight that another must reach to be offered beside it.
            sure: share of the telling words that an entry must hold where none is of its name.
        """
        exact = self.named(text) or self.spoken.get(frozenset(self._mended(text)))
        if exact is not None:
            return [exact]
        score: dict[str, float] = {}
        held_words: dict[str, int] = {}
        by_name: set[str] = set()
        told_words = self._mended(text)
        for word in told_words:
            held = self.weights.get(word, {})
            rare = log(1 + self.count / len(held)) if held else 0.0
            for name, weight in held.items():
                score[name] = score.get(name, 0.0) + weight * rare
                held_words[name] = held_words.get(name, 0) + 1
                by_name |= {name} if weight >= _NAME else set()
        told = len(set(told_words))
        half = sure and HALF_OF_IT
        score = {
            n: s for n, s in score.items() if held_words[n] >= (half if n in by_name else sure) * told
        }
        if not score:
            return []
        for name in score:  # a name with fewer words of its own is meant sooner
            score[name] /= 1 + 0.15 * abs(self.names.get(name, told) - told)
        best = max(score.values())
        found = sorted(score, key=lambda name: (-score[name], name))
        return [name for name in found if score[name] >= near * best][:most]


@lru_cache(maxsize=4)
def observables(rules: RuleBase) -> Finder:
    """Finds what can be asked."""
    return Finder(
        {
            key: [
                (_NAME, key.replace("_", " ")),
                (_NAME, item.name),
                *((_ASKED, text) for text in item.asked),
                (_FOLLOWS if item.belongs_to else _QUESTION, item.question),
                *((_ANSWER, str(answer["means"])) for answer in item.answers.values()),
                *((_NAME, rules.observables[b["fills"]].name) for b in rules.bands if b["of"] == key),
            ]
            for key, item in rules.observables.items()
            if item.question and not told_by_number(rules, key)
        }
    )


def told_by_number(rules: RuleBase, key: str) -> bool:
    """Whether a number that can be asked for tells this band anyway."""
    return any(rules.observables[of].question for of in rules.filled_by.get(key, []))


@lru_cache(maxsize=4)
def causes(rules: RuleBase) -> Finder:
    """Finds a cause by its id, title or plain words."""
    return Finder(
        {
            key: [
                (_NAME, key.replace("_", " ")),
                (_NAME, str(cause.text["title"])),
                (_QUESTION, cause.plain),
                (_ANSWER, str(cause.text["means"])),
            ]
            for key, cause in rules.causes.items()
        }
    )


@lru_cache(maxsize=4)
def cautions(rules: RuleBase) -> Finder:
    """Finds a caution by its id or what it says."""
    return Finder(
        {
            key: [
                (_NAME, key.replace("_", " ")),
                (_QUESTION, item["text"]),
                *((_QUESTION, text) for text in _told(rules, item["when"])),
                *((_ANSWER, step) for step in item.get("do_now", [])),
            ]
            for key, item in rules.cautions.items()
        }
    )


def _told(rules: RuleBase, when: object) -> Iterable[str]:
    """What a condition is about, in words: the observables it names and the answers it asks for."""
    if isinstance(when, str):
        key, _, value = (part.strip() for part in when.partition(":"))
        item = rules.observables.get(key)
        if item is not None:
            yield f"{item.name} {item.answers[value]['means']}" if value in item.answers else item.name
    elif isinstance(when, dict):
        for part in when.values():
            yield from _told(rules, part)
    elif isinstance(when, list):
        for part in when:
            yield from _told(rules, part)


@lru_cache(maxsize=4)
def deeds(rules: RuleBase) -> Finder:
    """Finds what somebody would do: actions, and proposals that the rules know (``proposed_action: x``)."""
    proposed = rules.observables["proposed_action"].answers if "proposed_action" in rules.observables else {}
    made: dict[str, list[tuple[float, str]]] = {
        key: [(_NAME, key.replace("_", " ")), (_QUESTION, item["text"])]
        for key, item in rules.actions.items()
    }
    for key, answer in proposed.items():
        name = f"proposed_action: {key}"
        made[name] = [(_NAME, key.replace("_", " ")), (_NAME, str(answer["means"]))]
    return Finder(made)
