"""The small language the phrase lists in `rules/phrases` are written in, and its compiled form.

A phrase is words in order; between them filler words may stand. ``(a|b)`` is a choice, ``<name>`` a named
group of words, ``[x]`` may be missing, ``..`` allows up to four other words, ``...`` up to eight and a
comma, ``&`` joins parts that may come in either order within one sentence. ``=word`` is not stemmed,
``word*`` and ``*word`` match beginnings and ends (German compounds), ``#`` is any number.

The compiled form is plain JSON, so that reading a line needs neither YAML nor this syntax.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from advisor.errors import BadRules

GAP = 4
WIDE_GAP = 8
_FOLD = str.maketrans(
    {"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "é": "e", "è": "e", "ê": "e", "à": "a", "ñ": "n",
     "’": "'", "‘": "'", "`": "'", "´": "'", "“": '"', "”": '"', "µ": "u", "μ": "u"}
)  # fmt: skip
_PIECE = re.compile(r"[\[\]()|]|<[^>\s]+>|\.{2,3}|&|[^\s\[\]()|]+")


def fold(text: str) -> str:
    """Lower case with umlauts spelled out; the form phrases are compared in."""
    return text.casefold().translate(_FOLD)


def normal(word: str) -> str:
    """A word's comparable form: folded, without apostrophes and hyphens."""
    return fold(word).replace("'", "").replace("-", "")


_VOWEL = re.compile(r"[aeiouy]")


@lru_cache(maxsize=20_000)
def stem_en(word: str) -> str:
    """A word without its English plural, -ing, -ed and final e: enough to join forms of one word."""
    base = word
    if len(base) > 3 and base.endswith("s") and not base.endswith(("ss", "us", "is")):
        base = base[:-1]
        if base.endswith("ie"):
            base = base[:-2] + "y"
        elif base.endswith(("xe", "che", "she", "sse", "zze")):
            base = base[:-1]
    for ending in ("ing", "in", "ed"):
        cut = base[: -len(ending)]
        if ending == "in" and not (len(cut) >= 4 and word[-1] == "n"):
            continue
        if base.endswith(ending) and len(cut) >= 3 and _VOWEL.search(cut) and not base.endswith("eed"):
            base = cut
            if len(base) > 3 and base[-1] == base[-2] and base[-1] not in "lsz":
                base = base[:-1]
            break
    if len(base) > 3 and base.endswith("e") and not base.endswith("ee"):
        base = base[:-1]
    return base


@lru_cache(maxsize=20_000)
def stem_de(word: str) -> str:
    """A word without the common German endings."""
    for ending in ("ern", "en", "em", "er", "es", "e", "n", "s", "t"):
        if word.endswith(ending) and len(word) - len(ending) >= 4:
            return word[: -len(ending)]
    return word


def word_keys(norm: str, keep: Collection[str]) -> set[str]:
    """The keys of a word: as it stands, and its English and German stems; `keep` holds unstemmed words."""
    if norm in keep:
        return {"=" + norm, "e:" + norm, "d:" + norm}
    return {"=" + norm, "e:" + stem_en(norm), "d:" + stem_de(norm)}


def compared(norm: str, adjectives: Collection[str]) -> list[str]:
    """The listed adjectives a word is a higher degree or an adverb of: "louder", "noisiest", "badly"."""
    for ending in ("er", "est", "ly", "ish"):
        if not norm.endswith(ending) or len(norm) < len(ending) + 3:
            continue
        base = norm[: -len(ending)]
        forms = [base, base + "e", base[:-1] + "y" if base.endswith("i") else "", base + "le"]
        forms.append(base[:-1] if base[-1] == base[-2] else "")
        found = [f for f in forms if f in adjectives]
        if found:
            return found
    return []


@dataclass(frozen=True)
class Wording:
    """What a phrase is compiled with: its language, word groups, unstemmed words and respellings."""

    language: str
    groups: Mapping[str, Sequence[str]]
    keep: Collection[str]
    respell: Mapping[str, Sequence[str]]


def compile_phrase(phrase: str, wording: Wording) -> list[list[list[list[object]]]]:
    """A phrase as JSON-able alternatives, each a list of parts, each a list of elements.

    Raises ValueError for an unknown group, an open bracket or an empty phrase.
    """
    pieces = _PIECE.findall(phrase)
    sequences, rest = _sequence(pieces, wording)
    if rest:
        raise ValueError(f"a bracket too many in {phrase!r}")
    return [_parts(words, phrase, wording) for words in sequences]


def _parts(words: Sequence[str], phrase: str, wording: Wording) -> list[list[list[object]]]:
    parts: list[list[list[object]]] = [[]]
    gap, wide = 0, False
    for word in words:
        if word in ("..", "..."):
            gap, wide = (GAP, False) if word == ".." else (WIDE_GAP, True)
        elif word == "&":
            parts.append([])
        else:
            parts[-1].append([*_element(word, wording), gap, wide])
            gap, wide = 0, False
    if not all(parts):
        raise ValueError(f"an empty phrase: {phrase!r}")
    return parts


def _sequence(pieces: Sequence[str], wording: Wording) -> tuple[list[list[str]], list[str]]:
    """Word lists a run of pieces stands for, and the pieces from a closing bracket or bar on."""
    sequences: list[list[str]] = [[]]
    left = list(pieces)
    while left and left[0] not in ")]|":
        piece = left.pop(0)
        if piece in "([":
            choices, left = _choice(left, piece == "[", wording)
        elif piece.startswith("<") and len(piece) > 1:
            choices = _joined([m.split() for m in _members(piece[1:-1], wording)], False)
        else:
            choices = [_respelled(piece, wording)]
        sequences = [head + tail for head in sequences for tail in choices]
    return sequences, left


def _choice(pieces: Sequence[str], optional: bool, wording: Wording) -> tuple[list[list[str]], list[str]]:
    """The alternatives of a bracket up to its end."""
    found: list[list[str]] = []
    left = list(pieces)
    while True:
        more, left = _sequence(left, wording)
        found += more
        if not left:
            raise ValueError("a bracket is not closed")
        closing = left.pop(0)
        if closing != "|":
            return _joined(found, optional), left


def _joined(found: Sequence[Sequence[str]], optional: bool) -> list[list[str]]:
    """Single words become one choice ``a|b``; longer alternatives stay apart; optional ones may miss."""
    single = [words[0] for words in found if len(words) == 1 and words[0] not in ("..", "...", "&")]
    single = [w.removeprefix("?") for w in single]
    several = [list(words) for words in found if len(words) != 1 or words[0] in ("..", "...", "&")]
    made = [[("?" if optional else "") + "|".join(single)]] if single else []
    made += [words for words in several if words]
    if optional and several and not single:
        made.append([])
    return made


def _members(name: str, wording: Wording) -> list[str]:
    if name not in wording.groups:
        raise ValueError(f"no group of words is called <{name}>")
    members: list[str] = []
    for member in wording.groups[name]:
        members += _members(member[1:-1], wording) if member.startswith("<") else [member]
    return [" ".join(w for piece in m.split() for w in _respelled(piece, wording)) for m in members]


def _respelled(word: str, wording: Wording) -> list[str]:
    return list(wording.respell.get(normal(word), [word])) if word.isalpha() else [word]


def _element(word: str, wording: Wording) -> tuple[list[str], bool]:
    optional = word.startswith("?") and len(word) > 1
    body = word[1:] if optional else word
    return sorted({_key(w, wording.language, wording.keep) for w in body.split("|")}), optional


def _key(word: str, language: str, keep: Collection[str]) -> str:
    if word in ("#", ",", "?", "+", "/", "%"):
        return word
    if word.startswith("="):
        return "=" + normal(word[1:])
    if word.endswith("*"):
        return "p:" + normal(word[:-1])
    if word.startswith("*"):
        return "s:" + normal(word[1:])
    norm = normal(word)
    if language == "de":
        return "d:" + (norm if norm in keep else stem_de(norm))
    return "e:" + (norm if norm in keep else stem_en(norm))


#: Sections of a phrase file that hold phrases: section -> what its second level is.
SECTIONS = ("facts", "cues", "marks", "requests", "short")


def compile_phrases(raw: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    """The phrase lists, as read from ``phrases/<language>/<file>.yaml``, in the form `Lexicon` loads.

    Args:
        raw: language -> file stem -> the file's data.

    Raises:
        BadRules: an unknown section or group, or an empty phrase; `place` names the file.
    """
    made: dict[str, Any] = {"patterns": [], "numbers": {}, "settings": {}, "together": []}
    keep = {normal(w) for files in raw.values() for data in files.values() for w in _split(data.get("keep"))}
    words: set[str] = set()
    for name in ("fillers", "leave"):
        made[name] = sorted(
            {normal(w) for files in raw.values() for data in files.values() for w in _split(data.get(name))}
        )
    made["keep"] = sorted(keep)
    made["respell"] = {
        normal(k): str(v).split()
        for files in raw.values()
        for data in files.values()
        for k, v in data.get("respell", {}).items()
    }
    for language, files in raw.items():
        groups = {k: _split(v, "|") for data in files.values() for k, v in data.get("groups", {}).items()}
        wording = Wording(language, groups, keep, made["respell"])
        for stem, data in files.items():
            _compile_file(made, words, data, wording, f"phrases/{language}/{stem}.yaml")
    made["words"] = sorted(words)
    return _packed(made)


def _packed(made: dict[str, Any]) -> dict[str, Any]:
    """Patterns with their targets and key sets told once, and an index by the keys they can begin with."""
    targets: dict[tuple[str, ...], int] = {}
    sets: dict[tuple[str, ...], int] = {}
    index: dict[str, list[int]] = {}
    packed: dict[str, None] = {}
    patterns: list[list[Any]] = []
    for target, parts in made["patterns"]:
        small = [
            [
                number if not (optional or gap) else [number, int(optional), gap, int(wide)]
                for keys, optional, gap, wide in part
                for number in [sets.setdefault(tuple(keys), len(sets))]
            ]
            for part in parts
        ]
        pattern = [targets.setdefault(tuple(target), len(targets)), small]
        if repr(pattern) in packed:
            continue
        packed[repr(pattern)] = None
        for key in parts[0][0][0]:
            index.setdefault(key, []).append(len(patterns))
        patterns.append(pattern)
    return {
        **made,
        "patterns": patterns,
        "targets": [list(t) for t in targets],
        "sets": [" ".join(keys) for keys in sets],
        "index": index,
    }


def _split(value: Any, sign: str = " ") -> list[str]:
    """Words of a list, or of one text parted by blanks (or by `sign`)."""
    if isinstance(value, str):
        return [w.strip() for w in value.split(sign if sign != " " else None) if w.strip()]
    return [str(w) for w in value or ()]


def listed(phrases: Any) -> list[str]:
    """Phrases of a list, or of one text in which semicolons part them."""
    if isinstance(phrases, str):
        return [p.strip() for p in phrases.split(";") if p.strip()]
    return [str(p) for p in phrases or ()]


def _check_sections(data: Mapping[str, Any], place: str) -> None:
    known = {*SECTIONS, "fillers", "leave", "keep", "respell", "groups", "numbers", "settings", "together"}
    for key in data:
        if key not in known:
            raise BadRules(
                f'there is no section "{key}"', value=key, place=place, right=f"use one of {sorted(known)}"
            )


def _targets(section: str, data: Mapping[str, Any]) -> list[tuple[list[str], Any]]:
    if section in ("facts", "short"):
        return [
            ([section, observable, str(value)], phrases)
            for observable, values in data.items()
            for value, phrases in values.items()
        ]
    return [([section, name.rstrip("?"), "?" if name.endswith("?") else ""], p) for name, p in data.items()]


def _compile_file(
    made: dict[str, Any], words: set[str], data: Mapping[str, Any], wording: Wording, place: str
) -> None:
    _check_sections(data, place)
    made["numbers"].update({normal(str(k)): float(v) for k, v in data.get("numbers", {}).items()})
    for name, value in data.get("settings", {}).items():
        made["settings"][name] = sorted(set(value.split())) if isinstance(value, str) else value
    made["together"] += data.get("together", [])
    for section in SECTIONS:
        for target, phrases in _targets(section, data.get(section, {})):
            for phrase in listed(phrases):
                try:
                    alternatives = compile_phrase(phrase, wording)
                except ValueError as error:
                    raise BadRules(
                        str(error), value=phrase, place=place, right="see advisor/phrasing.py"
                    ) from None
                made["patterns"] += [[target, parts] for parts in alternatives]
                words.update(normal(w) for w in re.findall(r"[^\W\d_]{3,}", phrase))
    for members in wording.groups.values():
        words.update(normal(m) for member in members for m in member.split() if m.isalpha())
