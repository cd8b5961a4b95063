"""The clauses of a line, the things they speak of, and which thing a word is said of.

A mark ``topic_X`` in the phrase lists names a thing (parts, a machine, the skimmer, a person), in every
language. A word is said of the thing it stands before or on ("rusty jaws", "rust on the jaws"), else of the
last one named before it in its clause, else of the one that its sentence spoke of before.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from advisor.dialogue.reading.lexicon import Match
from advisor.dialogue.reading.tokens import Token

_BREAKS = frozenset(
    {"but", "aber", "while", "whereas", "though", "although", "sondern", "dafuer", "because", "weil", "then",
     "when", "wenn", "dann", "waehrend"}
)  # fmt: skip
_ON = frozenset(
    {"on", "at", "of", "in", "inside", "round", "around", "over", "under", "onto", "across", "along", "from",
     "auf", "an", "am", "im", "um", "bei", "unter", "der", "den", "vom", "zwischen", "beim"}
)  # fmt: skip
_AND = frozenset({"and", "und", "n", "an", "&", "+", "or", "oder", "sowie", "plus", ","})
_THEY = frozenset({"they", "theyre", "them", "these", "those"})
_IT = frozenset({"it", "its", "es", "everything", "alles"})
#: Words that may stand between a state and the thing it is said of ("rust only on our new parts").
_LIGHT = frozenset({"only", "nur", "all", "both", "new", "old", "some", "just", "finished", "beide", "allen"})
_WITH = frozenset({"with", "for", "after", "mit", "nach", "ohne", "by", "near"})
_ARTICLES = frozenset({"the", "a", "our", "der", "die", "das", "den", "dem", "unser", "my", "ein", "einem"})
#: Words behind which a thing only says since when.
SINCE = frozenset({"since", "after", "seit", "seitdem", "nach", "before", "until", "till", "beim"})
_TIMES = frozenset({"topic_time_off", "topic_at_work", "topic_refill"})
_REACH = 5


def named(marks: Sequence[Match], kind: str) -> list[Match]:
    """The marks of one kind (``topic_``, ``state_``), without those inside a wider one, in order."""
    found = [m for m in marks if m.target.name.startswith(kind)]
    wide = [m for m in found if not any({*m.places} < {*o.places} for o in found)]
    return sorted(wide, key=lambda m: (m.first, m.last))


class Clauses:
    """The clauses of a line, with its topics."""

    def __init__(self, tokens: Sequence[Token], marks: Sequence[Match]) -> None:
        self.tokens = tokens
        self.topics = [m for m in named(marks, "topic_") if not self._dated(m)]
        self.held = {p: m for m in self.topics for p in m.places}
        self.spans = self._spans()

    def _dated(self, topic: Match) -> bool:
        """The mix of "since the new mix", the job of "after the brass job" only say since when."""
        at = topic.first - 1
        while at >= 0 and self.tokens[at].norm in _ARTICLES:
            at -= 1
        since = at >= 0 and self.tokens[at].norm in SINCE
        return since and topic.target.name not in _TIMES

    def _spans(self) -> list[tuple[int, int]]:
        spans: list[tuple[int, int]] = []
        first = 0
        for at, token in enumerate(self.tokens):
            opens = token.norm in _BREAKS and token.kind == "word" and at > first
            if token.hard or opens or token.text in (",", ";", "(", ")", "–", "—"):
                if at > first:
                    spans.append((first, at - 1))
                first = at if opens else at + 1
        if first < len(self.tokens):
            spans.append((first, len(self.tokens) - 1))
        return spans

    def of(self, place: int) -> tuple[int, int]:
        """First and last place of the clause that holds a place."""
        return next(((a, b) for a, b in self.spans if a <= place <= b), (place, place))

    def within(self, span: tuple[int, int]) -> list[Match]:
        """The things named in a clause."""
        return [m for m in self.topics if span[0] <= m.first <= span[1]]

    def said_of(self, first: int, last: int, among: Collection[str] = (), carry: bool = False) -> list[Match]:
        """The things that the words from `first` to `last` are said of; `among` holds the ids that count.

        With `carry`, a clause that names nothing goes on with what its sentence spoke of before.
        """
        topics = [m for m in self.topics if not among or m.target.name in among]
        span = self.of(first)
        behind = self._behind(last, topics, span)
        if behind:
            return behind
        before = [m for m in topics if span[0] <= m.first and m.last < first]
        if before:
            subjects = [m for m in before if not self._after_preposition(m.first)] or before
            joint = any(t.norm in ("and", "und") for t in self.tokens[subjects[-1].last + 1 : first])
            # "The mill next door has the same coolant and no smell": the second half has the first subject.
            return subjects[:1] if joint else self._listed_before(subjects)
        return self._carried(span, topics, carry)

    def taken_up(self, topic: Match, place: int) -> bool:
        """True where an "it" stands between: "the wrong drum went in and now its curdled" is of the fluid."""
        return any(t.norm in _IT for t in self.tokens[topic.last + 1 : place])

    def _behind(self, last: int, topics: Sequence[Match], span: tuple[int, int]) -> list[Match]:
        """Things right behind ("rusty jaws"), or behind an "on", with those a list joins to them."""
        starts = {m.first: m for m in topics}
        at, on, steps = last + 1, False, 0
        while at <= span[1] and steps <= _REACH:
            token = self.tokens[at]
            if at in starts:
                return self._listed(starts[at], topics)
            on = on or token.norm in _ON
            if not on and not (token.filler or token.norm in _LIGHT):
                return []
            if token.kind == "mark" or token.norm in _WITH - _ON:
                return []
            steps += 0 if token.filler else 1
            at += 1
        return []

    def _listed(self, first: Match, topics: Sequence[Match]) -> list[Match]:
        """A thing and those joined to it: "on the parts, the jaws and the table"."""
        found = [first]
        for topic in topics:
            between = self.tokens[found[-1].last + 1 : topic.first]
            if topic.first <= found[-1].last:
                continue
            joined = any(t.norm in _AND for t in between)
            if not joined or not all(t.filler or t.norm in _AND | _ON | _LIGHT for t in between):
                break
            if any(t.text == "," for t in between) and not any(t.norm in _ON for t in between):
                break
            found.append(topic)
        return found

    def _listed_before(self, before: Sequence[Match]) -> list[Match]:
        found = [before[-1]]
        for topic in reversed(before[:-1]):
            between = self.tokens[topic.last + 1 : found[0].first]
            if not any(t.norm in _AND for t in between):
                break
            if not all(t.filler or t.norm in _AND | _LIGHT for t in between):
                break
            found.insert(0, topic)
        return found

    def _after_preposition(self, at: int) -> bool:
        """True for the tank of "in the tank": it is not what the clause is about."""
        at -= 1
        while at >= 0 and self.tokens[at].norm in _ARTICLES:
            at -= 1
        return at >= 0 and self.tokens[at].norm in _ON | _WITH

    def _carried(self, span: tuple[int, int], topics: Sequence[Match], carry: bool) -> list[Match]:
        """What the sentence spoke of before, where "they" goes on with it."""
        opening = {t.norm for t in self.tokens[span[0] : min(span[0] + 2, span[1] + 1)]}
        if not carry and not opening & _THEY:
            return []
        for earlier in reversed([s for s in self.spans if s[1] < span[0]]):
            if any(t.hard for t in self.tokens[earlier[1] : span[0]]):
                return []
            found = [m for m in topics if earlier[0] <= m.first <= earlier[1]]
            if found:
                return found[:1]
        return []
