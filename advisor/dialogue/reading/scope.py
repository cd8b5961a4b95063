"""What a denial or a doubt reaches: which findings a "no", "not", "gone" or "maybe" applies to.

The method is NegEx with its later refinements: triggers before and after a finding, words that look like
triggers and are not, and words that end a trigger's reach. Source: Chapman et al., "A simple algorithm for
identifying negated findings and diseases in discharge summaries", Journal of Biomedical Informatics 34,
2001; the English and German trigger lists in `rules/phrases` are our own.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from advisor.dialogue.reading.lexicon import Match
from advisor.dialogue.reading.tokens import Token

REACH = 5
AFTER = 3
#: Words behind a machine or a metal that deny what it has, not that it is there.
_NO_DENIAL = frozenset({"no", "kein", "keine", "fine", "ok", "normal"})
_TURN = frozenset({"its", "is", "but", "sondern", "rather"})
_ANY = frozenset({"any", "irgendein", "irgendwelche"})
_LIST = frozenset({"or", "nor", "oder", "noch", "/", "any", "even", "und", "and", "&", "+", ","})


class Scope:
    """Denials, doubts and past times in one line.

    Args:
        tokens: the line.
        marks: matches of the section ``marks``.
        findings: the fact matches that can be denied.
        near: ids that are denied only by a trigger that touches them (metals, operations...).
        idle: places of denials that deny something else ("brass goes dark, steel does not").
    """

    def __init__(
        self,
        tokens: Sequence[Token],
        marks: Sequence[Match],
        findings: Sequence[Match],
        near: Collection[str],
        idle: Collection[int] = (),
    ) -> None:
        self.tokens = tokens
        self.near = near
        self.findings = sorted(findings, key=lambda m: m.first)
        names: dict[str, list[Match]] = {}
        for mark in marks:
            names.setdefault(mark.target.name, []).append(mark)
        self.marks = names
        self.ends = {p for m in names.get("scope_end", ()) for p in m.places}
        looks = (*names.get("not_negation", ()), *names.get("no_opening", ()))
        false = {p for m in looks for p in m.places} | set(idle)
        self.before = [m for m in names.get("negation_before", ()) if false.isdisjoint(m.places)]
        self.before += [m for m in names.get("negation_near", ()) if false.isdisjoint(m.places)]
        self.after = [m for m in names.get("negation_after", ()) if false.isdisjoint(m.places)]
        self.after += [
            m
            for m in names.get("negation_final", ())
            if tokens[m.first].text == "?" or (false.isdisjoint(m.places) and self._closes(m.last + 1))
        ]
        self.used: set[int] = set()
        self.denied = self._denied()
        self.past = self._reached([*names.get("used_to_be", ()), *names.get("elsewhere", ())])
        earlier = self._denied_before()
        self.past |= earlier
        self.before_ids = {m.target.name for m in earlier}
        self.loose = self._doubted()

    def _closes(self, at: int) -> bool:
        """True when nothing follows that "gone" could lead to ("gone black")."""
        if at >= len(self.tokens) or self.tokens[at].kind == "mark" or at in self.ends:
            return True
        return any(m.first == at for m in self.marks.get("closing", ()))

    def _denied(self) -> set[Match]:
        denied: set[Match] = set()
        for trigger in self.before:
            denied |= {
                m
                for m in self.findings
                if m.first < trigger.first < m.last
                and not {*trigger.places} & {*m.places}
                and not self._parted(trigger, m)
            }
        for trigger in self.before:
            own = self._own_places(trigger)
            denied |= {m for m in self._forward(trigger) if not own or own & {*m.places}}
        for trigger in self.after:
            # "Level ok with the pump stopped": the word is part of what it says, and denies nothing else.
            if not self._within(trigger):
                denied |= self._backward(trigger)
        named = [{*m.places} for m in denied]
        # "Nothing on fire": the danger named by the same words is denied with it.
        denied |= {m for m in self.findings if m.target.name == "hazard_context" and {*m.places} in named}
        return denied

    def _parted(self, trigger: Match, finding: Match) -> bool:
        """True for a trigger inside a finding that a comma parts from the words behind it."""
        behind = min(p for p in finding.places if p > trigger.last) if finding.last > trigger.last else 0
        return any(t.text == "," for t in self.tokens[trigger.last + 1 : behind])

    def _within(self, trigger: Match) -> bool:
        """True for a trigger that is the end of a longer finding, and no more than part of it."""
        return any(
            {*trigger.places} < {*m.places} and m.last == trigger.last
            for m in self.findings
            if not m.composed
        )

    def _own_places(self, trigger: Match) -> set[int]:
        """Words of the finding a trigger is part of: the "dont" of "foam dont die down" denies no other."""
        holding = [
            m
            for m in self.findings
            if {*trigger.places} <= {*m.places} and m.last > trigger.last and m.target.value != "-"
        ]
        return {p for m in holding for p in m.places}

    def _forward(self, trigger: Match) -> set[Match]:
        """The first finding after a trigger, and those a list joins to it."""
        at, steps = trigger.last + 1, 0
        reach = 0 if trigger.target.name == "negation_near" else REACH
        while at < len(self.tokens) and steps <= reach:
            token = self.tokens[at]
            if token.hard or at in self.ends or self._trigger_starts(at, trigger):
                return set()
            if token.text == "," or (token.kind == "mark" and token.text in "(–—"):
                return set()
            group = self._starting(at, trigger)
            if group:
                ahead = self.tokens[at - 1].norm if at else ""
                if steps > 0 and ahead not in _ANY and all(m.target.name in self.near for m in group):
                    at = max(m.last for m in group) + 1
                    continue
                if ahead not in _ANY and self._only_context(group):
                    at = max(m.last for m in group) + 1
                    continue
                self.used.update(trigger.places)
                return group | self._listed(group, trigger)
            steps += 0 if token.filler else 1
            at += 1
        return set()

    def _only_context(self, group: set[Match]) -> bool:
        """A metal in front of a finding ("no aluminium staining") is not itself denied."""
        if not all(m.target.name in self.near for m in group):
            return False
        end = max(m.last for m in group) + 1
        for at in range(end, min(end + 2, len(self.tokens))):
            if any(t.first == at for t in self.before):
                return False  # "no fire no smoke": the next denial has its own findings
            if self.tokens[at].kind == "mark" or self.tokens[at].norm in _TURN:
                return False  # "not tap, RO water": the second is set against the first
            if self._starting(at, None):
                return True
        return False

    def _starting(self, at: int, trigger: Match | None) -> set[Match]:
        found = {m for m in self.findings if m.first == at}
        if trigger is not None:
            found = {m for m in found if set(trigger.places).isdisjoint(m.places)}
            widest = max((m.last for m in found), default=-1)
            comma = next((p for p in range(at, widest) if self.tokens[p].text == ","), widest)
            found |= {m for m in self.findings if at < m.first <= comma and found}
            if any(m.target.name not in self.near for m in found):
                found = {m for m in found if m.target.name not in self.near}
        return found

    def _trigger_starts(self, at: int, own: Match) -> bool:
        return any(m.first == at and m is not own for m in self.before)

    def _listed(self, group: set[Match], trigger: Match) -> set[Match]:
        """Further findings of "no rust, foam or smell" and "no rust or foam"."""
        joined: set[Match] = set()
        end = max(m.last for m in group) + 1
        while True:
            at, joints = end, []
            while at < len(self.tokens) and self.tokens[at].norm in _LIST | {","}:
                joints.append(self.tokens[at].norm)
                at += 1
            more = self._starting(at, trigger) if joints else set()
            if not more or not self._joins(joints, more):
                return joined
            joined |= more
            end = max(m.last for m in more) + 1

    def _joins(self, joints: Sequence[str], more: set[Match]) -> bool:
        if not {"or", "nor", "oder", "noch", "/"}.isdisjoint(joints):
            return True
        end = max(m.last for m in more) + 1
        single = all(len(m.places) == 1 for m in more)
        if joints == [","]:
            following = self.tokens[end : end + 2]
            return single and any(t.norm in ("or", "nor", "oder", "noch") for t in following)
        closed = end >= len(self.tokens) or self.tokens[end].kind == "mark"
        return single and closed

    def _backward(self, trigger: Match) -> set[Match]:
        """The finding just before "gone", "cleared up", "? no"."""
        at, steps = trigger.first - 1, 0
        onward = any(m.first == trigger.last + 1 for m in self.findings)
        if onward and any(m.places == trigger.places for m in self.before):
            return set()  # "mit neuer Füllung kein Schaum": the "kein" denies what follows it
        question = self.tokens[trigger.first].text == "?"
        while at >= 0 and steps <= AFTER:
            token = self.tokens[at]
            particle = token.norm == "aber" and at == trigger.first - 1  # "riecht aber nicht"
            if (token.hard and not question) or token.text == "," or (at in self.ends and not particle):
                return set()
            if token.norm in ("and", "und"):
                return set()  # "the tank is full and the parts are fine"
            group = {m for m in self.findings if m.last == at and set(trigger.places).isdisjoint(m.places)}
            all_near = bool(group) and all(m.target.name in self.near for m in group)
            said = {self.tokens[p].norm for p in trigger.places}
            if all_near and said & _NO_DENIAL:
                return set()  # "a different product next door, no trouble there"
            if group:
                self.used.update(trigger.places)
                return group
            steps += 0 if token.filler else 1
            at -= 1
        return set()

    def _reached(self, marks: Sequence[Match]) -> set[Match]:
        """Findings a mark reaches forward to the next comma or end of scope."""
        reached: set[Match] = set()
        for mark in marks:
            for at in range(mark.last + 1, min(len(self.tokens), mark.last + 9)):
                token = self.tokens[at]
                if token.hard or token.text == "," or at in self.ends:
                    break
                here = {m for m in self.findings if m.first == at}
                if {m.target.name for m in here} & {m.target.name for m in reached if m.last < at}:
                    break  # "used to be clear, I think its gone cloudy now": the second is of today
                reached |= here
        return reached

    def _denied_before(self) -> set[Match]:
        """Findings denied of another time or charge only ("no foam on the old charge, now it does")."""
        found: set[Match] = set()
        for mark in self.marks.get("other_time", ()):
            first, last = mark.first, mark.last
            while first > 0 and not self._parts(first - 1):
                first -= 1
            while last + 1 < len(self.tokens) and not self._parts(last + 1):
                last += 1
            found |= {m for m in self.denied if first <= m.first and m.last <= last}
        return found

    def _parts(self, at: int) -> bool:
        return self.tokens[at].hard or self.tokens[at].text == "," or self.tokens[at].norm in ("but", "aber")

    def _doubted(self) -> set[Match]:
        causal = {p for m in self.marks.get("not_doubt", ()) for p in m.places}
        before = [m for m in self.marks.get("doubt_before", ()) if causal.isdisjoint(m.places)]
        within: dict[Match, set[Match]] = {}
        for mark in (*before, *self.marks.get("doubt_after", ())):
            spanning = {m for m in self.findings if m.first < mark.first and mark.last < m.last}
            if spanning and causal.isdisjoint(mark.places):
                within[mark] = spanning
        doubted = self._reached([m for m in before if m not in within])
        doubted.update(*within.values())
        inner = {p for m in within for p in m.places}
        for mark in self.marks.get("doubt_after", ()):
            if not inner.isdisjoint(mark.places):
                continue
            for at in range(mark.first - 1, max(-1, mark.first - 7), -1):
                token = self.tokens[at]
                if token.hard or at in self.ends:
                    break
                hit = {m for m in self.findings if m.last == at}
                if hit:
                    doubted |= hit
                    break
        return doubted

    def doubts_place(self, first: int, last: int) -> bool:
        """True when a doubt reaches the tokens `first` to `last` (a number)."""
        causal = {p for m in self.marks.get("not_doubt", ()) for p in m.places}
        for mark in self.marks.get("doubt_before", ()):
            if not causal.isdisjoint(mark.places) or not mark.last < first <= mark.last + 6:
                continue
            between = self.tokens[mark.last + 1 : first]
            if not any(t.hard or t.text == "," for t in between):
                return True
        for mark in self.marks.get("doubt_after", ()):
            if last < mark.first <= last + 4 and not any(t.hard for t in self.tokens[last + 1 : mark.first]):
                return True
        return False
