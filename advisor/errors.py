"""Every error Sumpside raises on purpose.

The tree::

    SumpsideError
    ├── BadInput            something a person typed or a file held cannot be used (exit code 2)
    │   ├── BadQuantity     a number or unit that cannot be read, or lies outside its limits
    │   ├── UnknownId       an id that is not in the vocabulary, with the nearest ones that are
    │   └── BadRules        a rules file is wrong: file, line, and what would be right
    ├── Refused             an answer that must not be given, with what would lift the refusal
    ├── StoreTrouble        the logbook cannot be read or written just now
    └── EngineLimit         a rule base larger than the rule engine can hold

Each error carries the value at fault, where it stood, and what would be right, so that any face
(terminal, JSON, test) can say it in its own way without reading the message apart.
"""

from __future__ import annotations


class SumpsideError(Exception):
    """Root of the tree.

    Attributes:
        value: what was given, or None.
        place: where it stood (an option, a field, a file and line), or "".
        right: what would be right, as a sentence or fragment for the person, or "".
    """

    def __init__(self, what: str, *, value: object = None, place: str = "", right: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.value = value
        self.place = place
        self.right = right

    def sentence(self) -> str:
        """What was wrong and what would be right, in one or two sentences."""
        head = f"{self.place}: {self.what}" if self.place else self.what
        if not head.endswith((".", "!", "?")):
            head += "."
        if not self.right:
            return head
        tail = self.right if self.right.endswith((".", "!", "?")) else self.right + "."
        return f"{head} {tail[0].upper()}{tail[1:]}"

    def __str__(self) -> str:
        return self.sentence()


class BadInput(SumpsideError):
    """Something typed or read cannot be used. Nothing already entered is lost."""


class BadQuantity(BadInput):
    """A number or a unit that cannot be read, or a value outside its plausible limits."""


class UnknownId(BadInput):
    """An id that the vocabulary does not hold; `right` offers the nearest ones that it does."""


class BadRules(BadInput):
    """A rules file is wrong. `place` is ``file:line``."""


class Refused(SumpsideError):
    """An answer that must not be given. `right` says what would lift the refusal."""


class StoreTrouble(SumpsideError):
    """The logbook cannot be read or written just now; the conversation goes on in memory."""


class EngineLimit(SumpsideError):
    """A rule base that is larger than the rule engine can hold."""
