"""Whether a line says that a stop or an emergency is over: what is put right, or who is safe.

The words stand in ``rules/phrases/en/dealt_with.yaml``. A denial, a plan, a question, a doubt
or hearsay ends nothing.
"""

from __future__ import annotations

import re
from difflib import get_close_matches

from advisor.dialogue.reading.lexicon import Lexicon

#: How near a whole line with a slip in it must be; judgement, common practice, no source.
_NEAR = 0.9


def says_dealt_with(text: str, lexicon: Lexicon) -> bool:
    """Whether an emergency is said to be over: put right, or the person safe or with help."""
    return speaks_of_it(text, lexicon, helped=True) and not _unsure(text, lexicon)


def says_put_right(text: str, lexicon: Lexicon) -> bool:
    """Whether what stood is said to be put right; that the person is safe does not say so."""
    return speaks_of_it(text, lexicon) and not _unsure(text, lexicon)


def speaks_of_it(text: str, lexicon: Lexicon, *, helped: bool = False) -> bool:
    """Whether a line holds such words at all, with or without a doubt."""
    low = " ".join(_words(text))
    phrases = [*_list(lexicon, "put_right"), *(_list(lexicon, "helped") if helped else ())]
    if any(re.search(rf"\b{re.escape(phrase)}\b", low) for phrase in phrases):
        return True
    return bool(get_close_matches(low, _list(lexicon, "slips"), n=1, cutoff=_NEAR))


def spoken_of(text: str, lexicon: Lexicon) -> tuple[str, list[str]]:
    """The part of a line that says something is put right, and its words that name what; none: all of it."""
    parts = re.split(r"[,.;:!]|\bbut\b|\baber\b", text)
    part = next((p for p in parts if speaks_of_it(p, lexicon)), text)
    low = " ".join(_words(part))
    for phrase in sorted(_list(lexicon, "put_right"), key=len, reverse=True):
        low = re.sub(rf"\b{re.escape(phrase)}\b", " ", low)
    beside = {*_list(lexicon, "about"), *_list(lexicon, "never")}
    left = [word for word in low.split() if word not in beside]
    slip = get_close_matches(" ".join(_words(part)), _list(lexicon, "slips"), n=1, cutoff=_NEAR)
    return part.strip(), [] if slip else left


def _unsure(text: str, lexicon: Lexicon) -> bool:
    words = _words(text)
    asks = "?" in text or (bool(words) and words[0] in _list(lexicon, "asks"))
    denied = any(re.search(r"n['’]t$", word) for word in re.findall(r"[^\W\d_]+['’]?\w*", text.lower()))
    return asks or denied or bool({*words} & {*_list(lexicon, "never")})


def _words(text: str) -> list[str]:
    return [word.replace("'", "").replace("’", "") for word in re.findall(r"[^\W\d_][\w'’]*", text.lower())]


def _list(lexicon: Lexicon, name: str) -> list[str]:
    found: list[str] = lexicon.settings["dealt_with"][name]
    return found
