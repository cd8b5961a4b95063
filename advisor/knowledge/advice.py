"""One remark of the rule checks: where, what, and what would be right."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, order=True)
class Advice:
    """A remark. An ``error`` must go before the rules are used; ``advice`` is worth a look.

    Attributes:
        place: ``file:line``.
        what: what is not right.
        right: what would be right.
        level: ``error`` or ``advice``.
        check: the name of the check, one word or two.
    """

    place: str
    what: str
    right: str
    level: str = "error"
    check: str = ""

    def line(self, root: Path | None = None) -> str:
        """``file:line: what. What would be right.``, the file given from `root` on."""
        place = self.place.removeprefix(f"{root}/") if root else self.place
        return f"{place}: {_stop(self.what)} {_stop(self.right[:1].upper() + self.right[1:])}".rstrip()


def _stop(text: str) -> str:
    return text if not text or text.endswith((".", "!", "?")) else text + "."
