"""Long texts of the rules in short: a step's first part, a caution's first sentence."""

from __future__ import annotations

import re

from advisor.dialogue import phrases

_FIRST_PART = re.compile(r"^(.+?[^.\d])(?:[.:;]\s|[.:;]?$)")
_FIRST_COMMA = re.compile(
    r"^(?!(?:If|When|Where|Before|With|Until|Not|Do not)\b)(\w+(?: \w+){3,}), (?:and|so that|with the) "
)
_FIRST_SENTENCE = re.compile(r"^(.+?[^.\d][.!])(?:\s|$)")


def in_brief(text: str) -> str:
    """A step's first part, up to its first stop, colon or semicolon."""
    found = _FIRST_PART.match(text)
    return phrases.sentence(found.group(1) if found else text)


def in_briefest(text: str) -> str:
    """A step up to its first comma, where what follows is another one; never out of the middle of a list."""
    short = in_brief(text)
    found = _FIRST_COMMA.match(short)
    return phrases.sentence(found.group(1)) if found else short


def first_sentence(text: str) -> str:
    """A caution's first sentence."""
    found = _FIRST_SENTENCE.match(text)
    return found.group(1) if found else text
