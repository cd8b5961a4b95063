"""Text for screens and pipes that cannot show every character, such as an old Windows console."""

from __future__ import annotations

import codecs
from typing import TextIO

#: What stands for a character the screen lacks. Anything else becomes "?".
STANDS_FOR = {
    "…": "...", "–": "-", "—": "-", "−": "-", "×": "x", "·": "-", "•": "-", "→": "->", "≥": ">=", "≤": "<=",
    "≈": "about ", "±": "+/-", "°": " deg ", "µ": "u", "μ": "u", "²": "^2", "³": "^3", "½": "1/2", "¼": "1/4",
    "¾": "3/4", "’": "'", "‘": "'", "“": '"', "”": '"', "ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae",
    "Ö": "Oe", "Ü": "Ue", "ß": "ss", "é": "e", "è": "e", "\N{NO-BREAK SPACE}": " ",
}  # fmt: skip
#: Name of the way out that the codecs know it by.
_NAME = "sumpside-plain"


def _replaced(trouble: UnicodeError) -> tuple[str, int]:
    if not isinstance(trouble, UnicodeEncodeError):
        raise trouble
    text = trouble.object[trouble.start : trouble.end]
    return "".join(STANDS_FOR.get(c, "?") for c in text), trouble.end


def settle(stream: TextIO) -> None:
    """Let a stream write what its encoding has, and plain characters for the rest; it never fails."""
    codecs.register_error(_NAME, _replaced)
    change = getattr(stream, "reconfigure", None)
    if change is not None:
        change(errors=_NAME)
