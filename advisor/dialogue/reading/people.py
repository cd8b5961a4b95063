"""How many people have complaints, over several lines: they add up, and grow fewer only by a correction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact, number

COUNT = "people_affected"
_COMPLAINTS = ("skin", "breathing", "eyes_nose", "injury")
#: Words that say that these are further people.
_FURTHER = frozenset(
    {"also", "another", "second", "third", "fourth", "more", "further", "additional", "else", "too", "other",
     "others", "well", "plus", "besides", "auch", "noch", "weiterer", "weitere", "weiteren", "zweiter",
     "zweite", "dritter", "dritte", "anderer", "andere", "anderen", "zusätzlich", "zusaetzlich", "ausserdem",
     "außerdem", "ebenfalls"}
)  # fmt: skip
#: Words that speak of people told of before: nobody comes to them.
_SAME = frozenset(
    {"them", "these", "those", "he", "hes", "she", "shes", "they", "theyre", "same", "davon", "ihnen",
     "denen", "er", "selbe", "derselbe", "dieselben", "all", "both", "total", "altogether",
     "insgesamt", "now", "overall", "jetzt", "inzwischen", "already"}
)  # fmt: skip
_SOMEBODY_NEW = frozenset({"another", "more", "weiterer", "weitere", "else"})
#: One person, where no number says so.
_ONE = frozenset(
    {"i", "me", "my", "ich", "mir", "mate", "guy", "man", "woman", "lad", "bloke", "fella", "operator",
     "apprentice", "one", "someone", "somebody", "colleague", "worker", "einer", "eine", "einen", "jemand",
     "kollege", "kollegin", "lehrling", "azubi", "mitarbeiter"}
)  # fmt: skip
_HAS_IT = frozenset({"it", "same", "es", "das", "dasselbe", "affected"})
_INSTEAD = frozenset({"only", "just", "not", "nur", "bloss", "bloß", "nicht"})


def in_one_line(facts: Sequence[Fact], tokens: Sequence[Token]) -> list[Fact]:
    """The facts with one count of people: two counts of a line are added where it says "another", else the
    greater one holds ("one coughs, three people have rashes")."""
    counts = [f for f in facts if f.id == COUNT and number(f) is not None]
    if len(counts) < 2:
        return [*facts]
    sizes = [number(f) or 0.0 for f in counts]
    whole = sum(sizes) if _further(tokens) else max(sizes)
    kept = [f for f in facts if f not in counts]
    return [replace(counts[0], value=whole), *kept]


def added_up(
    facts: Sequence[Fact],
    known: Sequence[Fact],
    tokens: Sequence[Token],
    marks: Sequence[Match],
    lexicon: Lexicon,
    answering: bool,
) -> list[Fact]:
    """The facts with the count of people as it stands after this line.

    Further people, and people with another trouble, come to those told before. Without a correction the
    count never falls: a lower one is left out. `answering` says that the count was asked for.
    """
    if COUNT not in lexicon.observables:
        return [*facts]
    held = [f for f in known if f.id == COUNT and f.status == "present"]
    told = next((f for f in facts if f.id == COUNT and f.status == "present"), None)
    before = _size(held[-1]) if held else None
    ill_before = {f.key for f in known if f.id in _COMPLAINTS and f.status == "present"}
    new = {f.key for f in facts if f.id in _COMPLAINTS and f.status == "present"} - ill_before
    if not ill_before or answering:
        return [*facts]
    if told is None:
        told = _one_more(facts, tokens)
        if told is None or before is None:
            return [*facts] if told is None else [*facts, replace(told, value=2.0)]
        return [*facts, replace(told, value=before + 1)]
    now = _size(told)
    if before is None:
        before = 1.0 if _further(tokens) else None
    if now is None or before is None or _corrected(tokens, marks, new):
        return [*facts]
    rest = [f for f in facts if f is not told]
    if _further(tokens) or (new and not _same(tokens)):
        return [replace(told, value=before + now), *rest]
    return [*facts] if now >= before else rest


def _size(fact: Fact) -> float | None:
    value = fact.value[0] if isinstance(fact.value, tuple) else fact.value
    return value if isinstance(value, float) else None


def _words(tokens: Sequence[Token]) -> set[str]:
    return {word for t in tokens if t.kind != "mark" for word in (t.norm, t.text.lower())}


def _further(tokens: Sequence[Token]) -> bool:
    """Whether these are people beside those told of: "two of them also cough" speaks of the same."""
    return not _words(tokens).isdisjoint(_FURTHER) and not _same(tokens)


def _same(tokens: Sequence[Token]) -> bool:
    words = _words(tokens)
    return not words.isdisjoint(_SAME) and words.isdisjoint(_SOMEBODY_NEW)


def _corrected(tokens: Sequence[Token], marks: Sequence[Match], new: set[str]) -> bool:
    """Whether the line puts the count right: "no, only two", "I meant one", "one guy, not three"."""
    right = not new and not _words(tokens).isdisjoint(_INSTEAD)
    return right or any(m.target.name == "correction" for m in marks)


def _one_more(facts: Sequence[Fact], tokens: Sequence[Token]) -> Fact | None:
    """ "My mate coughs too", "another one has it": one more, where no number says so."""
    words = _words(tokens)
    ill = any(f.id in _COMPLAINTS and f.status == "present" for f in facts)
    if not _further(tokens) or words.isdisjoint(_ONE) or not (ill or words & _HAS_IT):
        return None
    if any(f.id not in _COMPLAINTS and f.id != "changed" for f in facts):
        return None
    said = next(t.text for t in tokens if t.norm in _ONE)
    return Fact(COUNT, 1.0, "1", "present", True, said)
