"""The lexicon: compiled phrases and the vocabulary's ids, arranged for looking up."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from advisor.dialogue.reading.patterns import Element, match_parts
from advisor.dialogue.reading.tokens import Token, stretched, tokenize, unstretched
from advisor.dialogue.reading.units import unit_index
from advisor.phrasing import compared, word_keys


@dataclass(frozen=True, slots=True)
class Target:
    """What a phrase stands for: a section (``facts``, ``cues``, ``marks``...), a name and a value.

    A value written with a question mark in the lists (``heavy?``) is what a general word means when nothing
    more exact is said: it is `general` here. One written with an exclamation mark (``oil_layer!``) counts
    only when denied ("the oil is gone").
    """

    section: str
    name: str
    value: str
    general: bool = False
    only_denied: bool = False
    excluded: bool = False


@dataclass(frozen=True, slots=True)
class Match:
    """A phrase found in a line: the places of the tokens it took, whether an "and" is one of them,
    and whether it was composed of a thing and a state."""

    target: Target
    places: tuple[int, ...]

    joined: bool = False
    composed: bool = False

    @property
    def first(self) -> int:
        """Place of its first token."""
        return self.places[0]

    @property
    def last(self) -> int:
        """Place of its last token."""
        return self.places[-1]


@dataclass(frozen=True)
class Observable:
    """The part of an observable that reading needs."""

    id: str
    kind: str
    unit: str | None
    limits: tuple[float, float] | None
    belongs_to: str | None
    answers: tuple[str, ...]
    role: str
    name: str = ""


@dataclass
class Lexicon:
    """Everything needed to read a line. Made once per program by `from_data`.

    Patterns are unpacked when a word first calls for them, spellings are remembered; nothing else changes.
    """

    observables: dict[str, Observable]
    targets: list[Target | None]
    packed: list[Any]
    index: dict[str, list[int]]
    sets: list[str]
    keys: frozenset[str]
    numbers: dict[str, float]
    fillers: frozenset[str]
    keep: frozenset[str]
    leave: frozenset[str]
    respell: dict[str, list[str]]
    words: list[str]
    settings: dict[str, Any]
    together: list[dict[str, Any]]
    prefixes: list[tuple[str, str]]
    suffixes: list[tuple[str, str]]
    known_spellings: dict[str, tuple[str, ...]] = field(default_factory=dict)
    unpacked: dict[int, list[list[Element]]] = field(default_factory=dict)
    known_keys: dict[str, frozenset[str]] = field(default_factory=dict)
    needed: dict[int, tuple[int, ...]] = field(default_factory=dict)

    @classmethod
    def from_data(cls, phrases: Mapping[str, Any], vocabulary: Mapping[str, Any]) -> Lexicon:
        """A lexicon from compiled phrases (`advisor.phrasing.compile_phrases`) and the vocabulary.

        Args:
            phrases: the compiled dict, as it comes back from JSON.
            vocabulary: observable id -> its data (kind, unit, limits, answers, belongs_to, role).
        """
        keys = frozenset(key for line in phrases["sets"] for key in line.split(" "))
        return cls(
            {name: _observable(name, data) for name, data in vocabulary.items()},
            [_target(section, name, value, vocabulary) for section, name, value in phrases["targets"]],
            phrases["patterns"],
            phrases["index"],
            phrases["sets"],
            keys,
            dict(phrases["numbers"]),
            frozenset(phrases["fillers"]),
            frozenset(phrases["keep"]),
            frozenset(phrases["leave"]),
            dict(phrases["respell"]),
            list(phrases["words"]),
            dict(phrases["settings"]),
            list(phrases["together"]),
            [(k[2:], k) for k in keys if k.startswith("p:")],
            [(k[2:], k) for k in keys if k.startswith("s:")],
        )

    def tokens(self, text: str) -> list[Token]:
        """The line's tokens with their keys; misspelt words also carry the keys of what was meant."""
        from advisor.dialogue.reading.spelling import respell

        tokens: list[Token] = []
        for token in tokenize(text, self.numbers):
            if token.kind == "word" and stretched(token.norm):
                token.norm = self._unstretched(token.norm)
                token.value = self.numbers.get(token.norm)
            if len(token.norm) > 5 and token.norm.endswith("in") and f"{token.norm}g" in self.keep:
                token.norm += "g"  # "tappin"
            if token.kind == "word" and token.norm in self.respell:
                tokens += _respelled(token, self.respell[token.norm], self.numbers)
            else:
                tokens.append(token)
        for token, onward in itertools.pairwise(tokens):
            if token.norm == "an" and _means_and(onward):
                token.norm = "and"
        glosses = self._glosses(tokens)
        for token in tokens:
            self._key(token)
            if token.kind == "word" and token.norm in glosses:
                token.keys |= self._word_keys(glosses[token.norm])
            if token.kind == "word" and self._strange(token):
                meant = respell(token.norm, self)
                for word in meant:
                    token.guessed = word
                    token.keys |= self._word_keys(word)
                    token.filler = token.filler or word in self.fillers
                if len(meant) == 1 and 0.0 < self.numbers.get(meant[0], 0.0) < 1.0:
                    token.norm, token.value = meant[0], self.numbers[meant[0]]  # "about haf", "a quater"
                    token.keys |= {"#"}
        return tokens

    def _unstretched(self, norm: str) -> str:
        """ "Sooo" as "so", "alll" as "all": the known word a drawn-out one stands for, else itself."""
        return next((w for w in unstretched(norm) if self._known(w)), norm)

    def _known(self, norm: str) -> bool:
        common = norm in self.fillers or norm in self.leave or norm in self.numbers
        common = common or norm in self.settings.get("spoken", ()) or norm in self.respell
        return common or not self._word_keys(norm).isdisjoint(self.keys)

    @cached_property
    def grave_keys(self) -> frozenset[str]:
        """Keys of words that alone tell a metal, a chemical or a danger."""
        grave = set(self.settings.get("grave", ()))
        found: set[str] = set()
        for number, parts in self.packed:
            target = self.targets[number]
            if target is not None and target.section == "facts" and target.name in grave:
                needed = [e for part in parts for e in part if isinstance(e, int) or not e[1]]
                if len(needed) == 1 and isinstance(needed[0], int):
                    found.update(self.sets[needed[0]].split(" "))
        return frozenset(found)

    def grave(self, word: str) -> bool:
        """True for a word that alone tells a metal, a chemical or a danger."""
        return not self._word_keys(word).isdisjoint(self.grave_keys)

    def _glosses(self, tokens: Sequence[Token]) -> Mapping[str, str]:
        """In a line of two languages, the words of one by their equals in the other; else none."""
        said = {t.norm for t in tokens}
        pairs: Mapping[str, str] = self.settings.get("glosses", {})
        if said.isdisjoint(pairs) or said.isdisjoint(self.settings.get("english_only", ())):
            return {}
        return pairs

    def _key(self, token: Token) -> None:
        if token.kind == "word":
            token.keys = frozenset(
                self._word_keys(token.norm) | ({"#"} if token.value is not None else set())
            )
            token.filler = token.norm in self.fillers
            token.barrier = token.norm in self.settings.get("barriers", ())
            token.denying = token.norm in self.settings.get("denying", ())
        elif token.kind in ("number", "ratio"):
            token.keys = frozenset({"#", "=" + token.norm, "e:" + token.norm, "d:" + token.norm})
        else:
            token.keys = frozenset({token.text, "=" + token.norm})

    def _parts(self, number: int) -> list[list[Element]]:
        parts = self.unpacked.get(number)
        if parts is None:
            parts = self.unpacked[number] = [
                [self._element(e) for e in part] for part in self.packed[number][1]
            ]
        return parts

    def _possible(self, number: int, said: frozenset[str], there: dict[int, bool]) -> bool:
        """True when the line holds a word for each part of a pattern that may not be missing."""
        needed = self.needed.get(number)
        if needed is None:
            elements = [e for part in self.packed[number][1] for e in part][1:]
            needed = tuple(
                e if isinstance(e, int) else e[0] for e in elements if isinstance(e, int) or not e[1]
            )
            self.needed[number] = needed
        for group in needed:
            held = there.get(group)
            if held is None:
                held = there[group] = not said.isdisjoint(self.sets[group].split(" "))
            if not held:
                return False
        return True

    def _element(self, raw: int | Sequence[int]) -> Element:
        number, optional, gap, wide = (raw, 0, 0, 0) if isinstance(raw, int) else raw
        return frozenset(self.sets[number].split(" ")), bool(optional), gap, bool(wide)

    def _word_keys(self, norm: str) -> frozenset[str]:
        known = self.known_keys.get(norm)
        if known is None:
            keys = word_keys(norm, self.keep)
            for plain in compared(norm, self.settings.get("adjectives", ())):
                keys |= word_keys(plain, self.keep)
            keys.update(key for start, key in self.prefixes if norm.startswith(start))
            keys.update(key for end, key in self.suffixes if norm.endswith(end) and len(norm) > len(end))
            known = self.known_keys[norm] = frozenset(keys)
        return known

    def _strange(self, token: Token) -> bool:
        return (
            len(token.norm) > 2
            and token.norm.isalpha()
            and token.value is None
            and not token.filler
            and token.keys.isdisjoint(self.keys)
            and token.norm not in self.leave
            and not stretched(token.norm)
            and token.norm not in unit_index()
        )

    def find(self, tokens: Sequence[Token], sections: Iterable[str]) -> list[Match]:
        """Every phrase of those sections in the tokens, in order of its first token."""
        wanted = set(sections)
        found: dict[tuple[Target, tuple[int, ...]], None] = {}
        said = frozenset().union(*(t.keys for t in tokens))
        there: dict[int, bool] = {}
        for at, token in enumerate(tokens):
            for key in token.keys:
                for number in self.index.get(key, ()):
                    target = self.targets[self.packed[number][0]]
                    if target is None or target.section not in wanted:
                        continue
                    if not self._possible(number, said, there):
                        continue
                    places = match_parts(self._parts(number), tokens, at)
                    if places is not None:
                        found[(target, tuple(places))] = None
        matches = [Match(t, p, any(tokens[i].norm in ("and", "und") for i in p)) for t, p in found]
        return sorted(matches, key=lambda m: (m.places, m.target.name, m.target.value))


_NOT_AFTER_AN = frozenset(
    {"the", "they", "theyre", "this", "that", "then", "now", "we", "you", "she", "shes", "my", "no", "not",
     "some", "it", "its", "i", "im", "is", "he", "hes", "all", "our", "there", "so", "still", "smells"}
)  # fmt: skip


def _means_and(onward: Token) -> bool:
    """ "Rust on the table an the vice": an "an" that cannot be an article is an "and"."""
    return onward.norm in _NOT_AFTER_AN


def _observable(name: str, data: Mapping[str, Any]) -> Observable:
    limits = data.get("limits")
    return Observable(
        name,
        str(data.get("kind", "")),
        data.get("unit"),
        (float(limits[0]), float(limits[1])) if limits else None,
        data.get("belongs_to"),
        tuple(data.get("answers") or ()),
        str(data.get("role", "")),
        str(data.get("name", name)),
    )


def _target(section: str, name: str, value: str, vocabulary: Mapping[str, Any]) -> Target | None:
    """The target of a phrase; None for an id the vocabulary does not hold."""
    if section in ("facts", "short") and name not in vocabulary:
        return None
    # A cue written with a question mark ("water?") names its quantity only where the unit agrees.
    plain = value.removeprefix("not ")
    general, denied = value.endswith("?"), value.endswith("!")
    return Target(section, name, plain.rstrip("?!"), general, denied, plain != value)


def _respelled(token: Token, words: Sequence[str], numbers: Mapping[str, float]) -> list[Token]:
    return [
        Token(token.text, word, token.start, token.end, "word", numbers.get(word), token.glued)
        for word in words
    ]
