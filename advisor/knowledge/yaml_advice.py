"""What a YAML reader's complaint means for the person who wrote the file, and on which line it began."""

from __future__ import annotations

import re
from typing import Any

_QUOTE = re.compile(r'(?<!\\)"')


def advise(text: str, trouble: Any) -> tuple[int, str, str]:
    """Line (from 1), what is wrong, and what would be right.

    Args:
        text: the file's text.
        trouble: the reader's error; its marks may point behind the real mistake.
    """
    lines = text.splitlines() or [""]
    mark, context = getattr(trouble, "problem_mark", None), getattr(trouble, "context_mark", None)
    at = min(mark.line + 1, len(lines)) if mark else 1
    began = min(context.line + 1, len(lines)) if context else at
    problem = str(getattr(trouble, "problem", None) or trouble).splitlines()[0]
    return (
        _by_characters(lines, at, problem)
        or _by_shape(lines, at, began, problem, str(getattr(trouble, "context", "") or ""))
        or (at, f"cannot be read here ({problem})", "check indent, colons, quotes and brackets on this line")
    )


def _by_characters(lines: list[str], at: int, problem: str) -> tuple[int, str, str] | None:
    """Mistakes that the characters themselves show: a tab, an open quote, a dash without a space."""
    if "\\t" in problem or "\t" in lines[at - 1][: len(lines[at - 1]) - len(lines[at - 1].lstrip())]:
        return at, "is indented with a tab", "use spaces in place of the tab"
    for number in range(at, max(0, at - 6), -1):
        line = lines[number - 1]
        if len(_QUOTE.findall(line.split(" #")[0])) % 2:
            return number, "has a quote that is not closed", 'put a second " at the end of the text'
        if re.match(r"\s*-[^\s-]", line) and not re.match(r"\s*-\d", line):
            return (
                number,
                "has no space after the dash",
                'write "- " with a space at the start of a list entry',
            )
    return None


def _by_shape(
    lines: list[str], at: int, began: int, problem: str, context: str
) -> tuple[int, str, str] | None:
    """Mistakes of colons, brackets and indent."""
    if "mapping values are not allowed" in problem:
        return at, "has a second colon in it", 'put the text in quotes: key: "text: with a colon"'
    if "could not find expected ':'" in problem:
        return began, "has no colon after its first word", 'write "key: value"'
    if "flow" in context:
        close = "]" if "]" in problem or "sequence" in context else "}"
        what = f"opens a bracket that is not closed with {close}"
        return began, what, f'close it with "{close}", and put a text with a comma or colon in quotes'
    if "expected <block end>" in problem or "did not find expected" in problem:
        return _indent(lines, at)
    return None


def _indent(lines: list[str], at: int) -> tuple[int, str, str]:
    """The indent of line `at` fits none of the lines above it."""
    here = _depth(lines[at - 1])
    above = [line for line in lines[: at - 1] if line.strip() and not line.lstrip().startswith("#")]
    before = above[-1] if above else ""
    body = before.lstrip()
    wanted = _depth(before) + (2 if body.startswith("- ") else 0)
    right = f"indent it by {wanted} spaces like the line above, or make it part of that line in quotes"
    return at, f"is indented by {here} spaces, which fits no line above it", right


def _depth(line: str) -> int:
    return len(line) - len(line.lstrip(" "))
