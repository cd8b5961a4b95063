"""Findings put together from a thing and what is said of it: "vice" and "rusty", "skimmer" and "off".

The settings ``composed`` say which fact a thing (a mark ``topic_X``) and a state (``state_Y``) make, and
which when the state is denied. So every word for a thing goes with every word for a state, in either
language, and a short clause takes its state from the one before ("the parts rust, the table does too").
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence

from advisor.dialogue.reading.clauses import Clauses, named
from advisor.dialogue.reading.lexicon import Lexicon, Match, Target
from advisor.dialogue.reading.tokens import Token

Rule = dict[str, str]
#: Half a denial is one for a thing that should work.
_HARDLY = frozenset({"barely", "hardly", "scarcely", "kaum"})


class Composer:
    """Composes the findings of one line.

    Attributes:
        found: the findings, as matches of the words they are made of.
        idle: places of denials that deny a state said before, and nothing else.
    """

    def __init__(
        self,
        tokens: Sequence[Token],
        marks: Sequence[Match],
        lexicon: Lexicon,
        matches: Sequence[Match] = (),
    ) -> None:
        self.tokens, self.lexicon = tokens, lexicon
        near = lexicon.settings.get("near", ())
        self.taken = {p for m in matches if m.target.name not in near for p in m.places}
        self.clauses = Clauses(tokens, marks)
        self.rules: dict[tuple[str, str], Rule] = {
            (f"topic_{r['topic']}", f"state_{r['state']}"): r for r in lexicon.settings.get("composed", ())
        }
        self.states = [m for m in named(marks, "state_") if not self._leads_on(m)]
        self.also = {p for m in marks if m.target.name == "also" for p in m.places}
        looks = {p for m in marks if m.target.name in ("not_negation", "no_opening") for p in m.places}
        kinds = ("negation_before", "negation_near", "negation_after")
        stated = {p for m in self.states for p in m.places}
        self.denials = {
            p
            for m in marks
            if m.target.name in kinds and (m.target.name == "negation_before" or stated.isdisjoint(m.places))
            for p in m.places
        } - looks
        self.denials |= {p for p, t in enumerate(tokens) if t.norm in _HARDLY}
        self.found: list[Match] = []
        self.idle: set[int] = set()
        self._compose()

    def _compose(self) -> None:
        last: str = ""
        stated = {m.target.name for m in self.states}
        spoken = {m.target.name for m in self.clauses.topics}
        for span in self.clauses.spans:
            inside = [m for m in self.states if span[0] <= m.first <= span[1]]
            for state in inside:
                topics = {t for t, s in self.rules if s == state.target.name}
                rivals = {f"topic_{r}" for r in self.lexicon.settings.get("rival_topics", ())}
                things = self._things(state, topics | rivals)
                if all(self._rule(t, state.target.name) is None for t in things):
                    things = self._before(state, span, topics) or things
                for topic in things:
                    if self._counts(topic) or self._names_figure(state) or self._painted(topic, state):
                        continue
                    rule = self._rule(topic, state.target.name)
                    if rule is None or not {*topic.places}.isdisjoint(state.places):
                        continue
                    carried = topic.first < span[0]
                    if rule.get("carry") != "yes" and carried:
                        continue
                    if not spoken.isdisjoint(f"topic_{n}" for n in rule.get("unless", "").split()):
                        continue
                    wanted = rule.get("when")
                    if wanted and f"state_{wanted}" not in stated - {state.target.name}:
                        continue
                    self._add(rule, topic, state, self._denied(topic, state, span), span)
                last = state.target.name
            if last and not inside:
                self._elliptic(span, last)
                self._appended(span, last)

    def _leads_on(self, state: Match) -> bool:
        """True for the German "aus" and "zu" that lead on ("aus der Leitung", "zu wenig"): no state."""
        if len(state.places) > 1 or self.tokens[state.last].norm not in ("aus", "zu"):
            return False
        return state.last + 1 < len(self.tokens) and self.tokens[state.last + 1].kind in ("word", "number")

    def _counts(self, topic: Match) -> bool:
        """True for the machines of "three machines rust their parts": they are counted, not spoken of."""
        ahead = self.tokens[topic.first - 1] if topic.first else None
        counted = ahead is not None and ahead.value is not None and not ahead.filler
        return counted and topic.target.name == "topic_machine"

    def _painted(self, topic: Match, state: Match) -> bool:
        """True for "a brown table": a colour right before a thing is its paint."""
        between = self.tokens[state.last + 1 : topic.first]
        before = state.target.name == "state_brown" and state.last < topic.first
        return before and all(t.filler and t.norm not in ("an", "auf", "am") for t in between)

    def _names_figure(self, state: Match) -> bool:
        """True for "with factor 1.6": the factor is named, not applied."""
        behind = self.tokens[state.last + 1] if state.last + 1 < len(self.tokens) else None
        return state.target.name == "state_factored" and behind is not None and behind.value is not None

    def _rule(self, topic: Match, state: str) -> Rule | None:
        """The rule of a thing and a state; one word may name several things ("sump": tank and fluid)."""
        names = [m.target.name for m in self.clauses.topics if m.places == topic.places]
        return next((self.rules[n, state] for n in names if (n, state) in self.rules), None)

    def _things(self, state: Match, among: Collection[str]) -> list[Match]:
        """What a state is said of; one of "red, itchy arms" is said of what the last one stands before."""
        last = state.last
        following = next((m for m in self.states if last < m.first <= last + 2), None)
        while following is not None:
            between = {t.norm for t in self.tokens[last + 1 : following.first]}
            if not between <= {",", "and", "und", "n"}:
                break
            last = following.last
            following = next((m for m in self.states if last < m.first <= last + 2), None)
        if last > state.last:
            behind = [m for m in self.clauses.topics if last < m.first <= last + 2 and m.target.name in among]
            if behind:
                return behind[:1]
        span = self.clauses.of(state.first)
        if not self.clauses.within(span):
            onward = next((s for s in self.clauses.spans if s[0] > span[1]), None)
            if onward is not None and self.tokens[onward[0]].norm in ("when", "wenn", "if", "while"):
                there = [m for m in self.clauses.within(onward) if m.target.name in among]
                if there:  # "worse when near the machine"
                    return there[:1]
        return self.clauses.said_of(state.first, state.last, among, carry=True)

    def _before(self, state: Match, span: tuple[int, int], among: Collection[str]) -> list[Match]:
        """The chips of "chips set like concrete in the tank": the tank only says where."""
        ahead = [t.norm for t in self.tokens[state.last + 1 : state.last + 3]]
        before = [m for m in self.clauses.within(span) if m.last < state.first]
        placed = ahead[:1] in (["in"], ["at"], ["im"], ["on"])
        return before[-1:] if placed and before and before[-1].target.name in among else []

    def _add(
        self, rule: Rule, topic: Match, state: Match | None, denied: set[int], span: tuple[int, int]
    ) -> None:
        said = rule.get("denied" if denied else "says", "")
        own = topic.places if span[0] <= topic.first <= span[1] else ()
        places = tuple(sorted({*own, *(state.places if state else ()), *denied}))
        if state is not None and topic.target.name == "topic_time_off":
            self.idle |= {*state.places}  # "gone at weekends" denies nothing
        if said:
            plain = said.removeprefix("not ")
            name, _, value = plain.partition(": ")
            excluded, general = plain != said and bool(value), value.endswith("?")
            target = Target("facts", name, value.rstrip("?") or "-", general, excluded=excluded)
            self.found.append(Match(target, places, True, True))

    def _denied(self, topic: Match, state: Match, span: tuple[int, int]) -> set[int]:
        """Places of the words that deny the state of the topic: between them, right before or after."""
        first, last = min(topic.first, state.first), max(topic.last, state.last)
        within = {p for p in self.denials if first < p < last and p not in state.places}
        ahead = {p for p in self.denials if span[0] <= p and first - 2 <= p < first}
        ahead = {p for p in ahead if all(self._light(t) or i in ahead for i, t in self._from(p + 1, first))}
        after = {p for p in self.denials if last < p <= min(last + 2, span[1]) and self._closes(p, span)}
        return within | ahead | after

    @staticmethod
    def _light(token: Token) -> bool:
        """A word that parts a denial no further from what it denies."""
        return token.filler or token.norm in ("yet", "noch", "really", "gar", "mehr")

    def _from(self, first: int, last: int) -> list[tuple[int, Token]]:
        return [(at, self.tokens[at]) for at in range(first, last)]

    def _closes(self, place: int, span: tuple[int, int]) -> bool:
        """True for a "not" behind a state that denies nothing further on."""
        rest = self.tokens[place + 1 : span[1] + 1]
        return all(t.filler or t.kind == "mark" for t in rest)

    def _appended(self, span: tuple[int, int], state: str) -> None:
        """ "All goes rusty, tables, vices": a clause that only names things of the state before it."""
        topics = self.clauses.within(span)
        own = {p for m in topics for p in m.places}
        words = {p for p in range(span[0], span[1] + 1) if self.tokens[p].kind != "mark"}
        if topics and all(
            self.tokens[p].filler or self.tokens[p].norm in ("and", "und") for p in words - own
        ):
            for topic in topics:
                rule = self._rule(topic, state)
                goes_on = span[0] > 0 and not self.tokens[span[0] - 1].hard
                if rule is not None and not rule.get("when") and goes_on:
                    self._add(rule, topic, None, set(), span)

    def _elliptic(self, span: tuple[int, int], state: str) -> None:
        """ "The parts don't", "the chuck too": a clause that takes the state of the one before it."""
        topics = self.clauses.within(span)
        words = {p for p in range(span[0], span[1] + 1) if self.tokens[p].kind != "mark"}
        denied = words & self.denials
        said = denied or words & self.also
        own = {p for m in topics for p in m.places}
        rest = [p for p in words - own - denied - self.also if not self.tokens[p].filler]
        if not said or not topics or len(rest) > 2 or not self.taken.isdisjoint(rest):
            return
        if any(self.tokens[p].kind == "number" for p in words):
            return
        if denied and not self.taken.isdisjoint(own):
            return  # "foam nil, tramp oil nil": the second denies a finding of its own
        for topic in topics:
            rule = self._rule(topic, state)
            if rule is not None and not rule.get("when"):
                self._add(rule, topic, None, {*denied}, span)
                self.idle |= said if not denied or rule.get("denied") else set()
            elif denied and max(denied) > topic.last:
                self.idle |= denied


def misplaced(matches: Sequence[Match], clauses: Clauses, lexicon: Lexicon) -> list[Match]:
    """Findings said of a thing that cannot have them: the black of gloves, a tank's "off" of a lamp.

    The settings ``not_of`` hold, for an id or ``id: value``, the things it is never said of.
    """
    barred: dict[str, list[str]] = lexicon.settings.get("not_of", {})
    wrong = []
    for match in matches:
        name, value = match.target.name, match.target.value
        next_door = name in lexicon.settings.get("own_signs", ()) and _next_door(match, clauses)
        if next_door or (name == "colour" and _drink(match, clauses, lexicon)):
            wrong.append(match)
            continue
        if name == "smell" and clauses.tokens[match.first].norm == "nach" and not _smelt(clauses.tokens):
            wrong.append(match)
            continue
        ahead = {t.norm for t in clauses.tokens[max(0, match.first - 1) : match.first]}
        person_idle = (name, value) == ("event", "idle") and ahead & _PERSONS
        if person_idle or (name in lexicon.settings.get("near", ()) and _not_only(match, clauses.tokens)):
            wrong.append(match)
            continue
        behind = clauses.tokens[match.last + 1 : match.last + 2]
        ends = clauses.tokens[match.last].norm in ("factor", "faktor")
        if ends and name == "factor_applied" and value == "yes" and behind and behind[0].value is not None:
            wrong.append(match)  # "with factor 1.4": named, not applied
            continue
        if (name, value) == ("rust", "machine") and _counted_machines(match, clauses):
            wrong.append(match)
            continue
        things = barred.get(f"{name}: {value}", barred.get(name))
        own = {clauses.held[p].target.name.removeprefix("topic_") for p in match.places if p in clauses.held}
        if things is None or own - set(things) - {"line", "thing"}:
            continue
        # "Paper gets wet" within "filter paper gets wet": half the name of another thing.
        half = any(
            not {*clauses.held[p].places} <= {*match.places} for p in match.places if p in clauses.held
        )
        if own & set(things) and len(match.places) > 1:
            if half:
                wrong.append(match)
            continue
        things_only = {m.target.name for m in clauses.topics} - set(_NO_THINGS)
        said = clauses.said_of(match.first, match.last, things_only) if things_only else []
        said = [m for m in said if not clauses.taken_up(m, match.first)]
        said = [m for m in said if not _when(m, match, clauses)]
        if any(m.target.name.removeprefix("topic_") in things for m in said) or (
            name in lexicon.settings.get("attributes", ()) and _of_a_thing(match, clauses, lexicon)
        ):
            wrong.append(match)
    return wrong


_TOO = frozenset(
    {"too", "also", "same", "well", "both", "as", "like", "likewise", "auch", "genauso", "all", "every",
     "ebenso"}
)  # fmt: skip


def _next_door(match: Match, clauses: Clauses) -> bool:
    """True for "the one next door foams", where nothing says that ours does too."""
    span = clauses.of(match.first)
    before = [m for m in clauses.within(span) if m.last < match.first]
    nearest = before[-1].target.name if before else ""
    words = {t.norm for t in clauses.tokens[span[0] : span[1] + 1]}
    return nearest == "topic_neighbour" and words.isdisjoint(_TOO)


_WHEN = frozenset({"when", "whenever", "once", "if", "after", "until", "wenn", "sobald", "while", "as"})


def _when(topic: Match, match: Match, clauses: Clauses) -> bool:
    """ "When the pump starts the level drops": the pump tells when; the rest is said of something else."""
    ahead = {t.norm for t in clauses.tokens[max(0, topic.first - 2) : topic.first]}
    return bool(ahead & _WHEN) and match.first - topic.last > 2


#: Topics that are times, places and deeds: nothing is said of them.
_NO_THINGS = frozenset({"topic_time_off", "topic_at_work", "topic_refill", "topic_scale"})
_ARTICLES = frozenset(
    {"a", "an", "the", "our", "his", "her", "my", "that", "this", "their", "der", "die", "das", "den", "dem",
     "ein", "eine", "einen", "einem", "einer"}
)  # fmt: skip


def _counted_machines(match: Match, clauses: Clauses) -> bool:
    """True for "three machines rust the parts": the machines are counted."""
    held = [p for p in match.places if p in clauses.held and clauses.held[p].target.name == "topic_machine"]
    return any(p and clauses.tokens[p - 1].value is not None for p in held)


def _smelt(tokens: Sequence[Token]) -> bool:
    """True where a word speaks of a smell, so that "nach Reiniger" may be one and no time."""
    return any(
        t.norm.startswith(("riech", "stink", "geruch", "gestank", "muef", "mief", "smell", "duft"))
        for t in tokens
    )


_PERSONS = frozenset(
    {"i", "im", "he", "hes", "she", "shes", "we", "you", "ich", "er", "wir", "lad", "bloke", "guy"}
)


def _not_only(match: Match, tokens: Sequence[Token]) -> bool:
    """True for the mondays of "not just mondays": at no one time."""
    ahead = [t.norm for t in tokens[max(0, match.first - 3) : match.first]]
    return any(
        pair in (("not", "just"), ("not", "only"), ("nicht", "nur")) for pair in itertools.pairwise(ahead)
    )


def _drink(match: Match, clauses: Clauses, lexicon: Lexicon) -> bool:
    """True for the coffee that is drunk: a colour only where it is likened or said to have become so."""
    tokens = clauses.tokens
    if len(match.places) > 1 or tokens[match.first].norm not in lexicon.settings.get("food_colours", ()):
        return False
    around = {t.norm for t in tokens[max(0, match.first - 4) : match.last + 3]}
    return around.isdisjoint(_LIKE)


_LIKE = frozenset(
    {"like", "wie", "colour", "coloured", "gone", "turned", "goes", "turns", "looks", "to", "brown", "as",
     "dark", "is", "its", "ish", "into", "shade", "milky", "ist", "aus", "farbe", "sieht", "nach"}
)  # fmt: skip


def _of_a_thing(match: Match, clauses: Clauses, lexicon: Lexicon) -> bool:
    """True for "the blue van", "a white board": an adjective in front of a noun that is not the fluid."""
    at = match.last + 1
    if len(match.places) > 1 or at > clauses.of(match.first)[1]:
        return False
    tokens = clauses.tokens
    before = tokens[match.first - 1].norm if match.first else ""
    noun = tokens[at]
    shades = lexicon.settings.get("shades", ())
    own = clauses.held.get(at)
    if own is not None:
        return before in _ARTICLES and own.target.name != "topic_fluid"
    plain = noun.kind == "word" and not noun.filler and noun.norm not in shades
    return before in _ARTICLES and plain and noun.norm not in lexicon.settings.get("spoken", ())
