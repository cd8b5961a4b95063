"""Choices in a line: which phrases stand, and whether they are denied or doubted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.scope import Scope
from advisor.dialogue.reading.subjects import Subjects, moved_fact
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact, Status

_NO = frozenset({"no", "kein", "keine", "keinen"})


def standing(matches: Iterable[Match], tokens: Sequence[Token], lexicon: Lexicon) -> list[Match]:
    """Matches that no longer match swallows: of the same observable always, of another unless either is
    context (a metal or an operation named inside "aluminium stained" still stands)."""
    matches = [m for m in matches if not _refused_good(m, tokens)]
    matches = [m for m in matches if not _yields(m, matches, lexicon)]
    apart = set(lexicon.settings.get("apart", ()))
    ranged = {
        *lexicon.settings.get("ranged", ()),
        *(n for n, o in lexicon.observables.items() if o.kind == "one_of"),
    }
    beside = {frozenset(pair) for pair in lexicon.settings.get("beside", ())}
    sets = [
        (m, frozenset(p for p in m.places if not tokens[p].filler) or frozenset(m.places)) for m in matches
    ]
    kept = []
    safe = lexicon.settings.get("never_swallowed", ())
    for match, own in sets:
        name = match.target.name
        swallowed = name not in safe and any(
            _inside(match, own, bigger, other, bigger.target.name != name or name in ranged)
            and (
                bigger.target.name == name
                or not ({name, bigger.target.name} & apart or frozenset({name, bigger.target.name}) in beside)
            )
            for bigger, other in sets
        )
        if not swallowed:
            kept.append(match)
    return [m for m in kept if not _outdone(m, kept, tokens, lexicon)]


def _refused_good(match: Match, tokens: Sequence[Token]) -> bool:
    """True for the "foam ... good" of "no foam all good": the "no" denies the foam, not that all is well."""
    ahead = tokens[match.first - 1].norm if match.first else ""
    return match.target.value == "-" and len(match.places) > 1 and ahead in _NO


def _yields(match: Match, kept: Sequence[Match], lexicon: Lexicon) -> bool:
    """True when the match shares a word with one of those its id or value gives way to."""
    yields: dict[str, list[str]] = lexicon.settings.get("yields", {})
    name, key = match.target.name, f"{match.target.name}: {match.target.value}"
    rivals = {*yields.get(name, ()), *yields.get(key, ())}
    return any(
        not m.target.only_denied
        and {m.target.name, f"{m.target.name}: {m.target.value}"} & rivals
        and {*m.places} & {*match.places}
        for m in kept
    )


def _outdone(match: Match, kept: Sequence[Match], tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """True when a longer phrase of the same observable shares two words with it, or an earlier equal one."""
    own = {p for p in match.places if not tokens[p].filler}
    for other in kept:
        if other.target.name != match.target.name or other.target.value == match.target.value:
            continue
        if other.target.excluded and not match.target.excluded:
            continue
        theirs = {p for p in other.places if not tokens[p].filler}
        if (
            len(own & theirs) >= 2
            and own != theirs
            and (len(theirs), -other.first) > (len(own), -match.first)
        ):
            return True
    return False


def _inside(match: Match, own: frozenset[int], bigger: Match, other: frozenset[int], between: bool) -> bool:
    """True when a match's words are part of a longer one's or, if `between`, lie among them."""
    if bigger.target.excluded and not (match.target.excluded or match.target.general):
        return False  # "rust on the machine but not on the parts" denies the parts alone
    if match.composed and match.target.name == bigger.target.name and match.target != bigger.target:
        return False
    if own < other or (own == other and match.target.general and set(match.places) < set(bigger.places)):
        return True
    if not between or bigger.joined or own == other or len(own) > len(other) or not own & other:
        return False
    return (
        bigger.first <= min(own)
        and max(own) <= bigger.last
        and (bigger.first, bigger.last)
        != (
            match.first,
            match.last,
        )
    )


def told(matches: Sequence[Match], tokens: Sequence[Token], lexicon: Lexicon) -> list[Match]:
    """Without words that belong to something else said: a colour of the mud, foam inside a shaken bottle."""
    coloured = set(lexicon.settings.get("coloured", ()))
    tells: dict[str, str] = lexicon.settings.get("tells", {})
    kept = []
    for match in matches:
        name = match.target.name
        if name == "colour" and len(match.places) == 1 and _describes(match, matches, tokens, coloured):
            continue
        if match.target.general and any(
            tells.get(m.target.name) == name and m.first < match.first <= m.last + 3 for m in matches
        ):
            continue
        kept.append(match)
    return kept


def _describes(match: Match, matches: Sequence[Match], tokens: Sequence[Token], coloured: set[str]) -> bool:
    """True when a colour stands right before a thing of its own ("grey mud"), not before "with" or "and"."""
    for gap in (1, 2):
        at = match.last + gap
        between = tokens[match.last + 1 : at]
        if any(t.kind == "mark" or t.filler or t.norm in ("and", "und", "in", "on") for t in between):
            return False
        if any(m.target.name in coloured and m.first == at for m in matches):
            return True
    return False


def facts_of(
    matches: Sequence[Match],
    scope: Scope,
    text: str,
    tokens: Sequence[Token],
    lexicon: Lexicon,
    subjects: Subjects,
) -> list[Fact]:
    """The facts of standing matches: denial and doubt applied, general words giving way to exact ones.

    What is said of a jar or a bottle becomes a fact of that jar or bottle, not of the sump.
    """
    moves: dict[str, dict[str, str]] = lexicon.settings.get("moves", {})
    made = _said(matches, scope, text, tokens, lexicon)
    in_jar = any(t.norm in lexicon.settings.get("jar_words", ()) for t in tokens)
    stay: list[tuple[Match, Fact]] = []
    moved: list[Fact] = []
    for match, fact in made:
        subject = subjects.of(match.first)
        there = moved_fact(fact, subject, moves) if subject else fact
        if not subject and not (in_jar and not _in_the_tank(match, tokens)):
            there = moved_fact(fact, "outside", {"outside": lexicon.settings.get("outside_jar", {})})
        if there is fact:
            stay.append((match, fact))
        elif there is not None:
            moved.append(there)
    facts = _settled(stay, lexicon)
    keys = {(f.id, f.value) for f in facts}
    return facts + [f for f in dict.fromkeys(moved) if (f.id, f.value) not in keys]


def _in_the_tank(match: Match, tokens: Sequence[Token]) -> bool:
    """True for the mud of "mud on the bottom of the tank", though a sample was spoken of before."""
    behind: list[str] = []
    for token in tokens[match.last + 1 : match.last + 7]:
        if token.kind == "mark":
            break
        behind.append(token.norm)
    return not {"tank", "sump", "machine"}.isdisjoint(behind)


def _said(
    matches: Sequence[Match], scope: Scope, text: str, tokens: Sequence[Token], lexicon: Lexicon
) -> list[tuple[Match, Fact]]:
    made: list[tuple[Match, Fact]] = []
    for match in matches:
        if match in scope.past:
            continue
        name, value = match.target.name, match.target.value
        said = text[tokens[match.first].start : tokens[match.last].end]
        firm = match not in scope.loose
        if value == "-":
            if match not in scope.denied:
                made.append((match, Fact(name, None, None, "ruled_out", firm, said)))
        elif match.target.excluded:
            status: Status = "present" if match in scope.denied else "ruled_out"
            made.append((match, Fact(name, value, None, status, firm, said)))
        elif match in scope.denied and value in _opposed(name, lexicon):
            other = next(v for v in _opposed(name, lexicon) if v != value)
            made.append((match, Fact(name, other, None, "present", firm, said)))
        elif match in scope.denied:
            made.append((match, Fact(name, value, None, "ruled_out", firm, said)))
        elif match.target.only_denied:
            continue
        elif lexicon.observables[name].kind == "quantity":
            unit = lexicon.observables[name].unit
            made.append((match, Fact(name, float(value), unit, "present", firm, said)))
        else:
            made.append((match, Fact(name, value, None, "present", firm, said)))
    return made


def _opposed(name: str, lexicon: Lexicon) -> Sequence[str]:
    """The two answers of a question that has no third one."""
    if set(lexicon.observables[name].answers) == {"yes", "no"}:
        return ("yes", "no")
    pairs: dict[str, list[str]] = lexicon.settings.get("opposites", {})
    return pairs.get(name, ())


def _settled(made: Sequence[tuple[Match, Fact]], lexicon: Lexicon) -> list[Fact]:
    """Whole denials, general words, choices of which only one can hold, and repetitions sorted out."""
    whole: dict[str, list[str]] = lexicon.settings.get("denied_whole", {})
    general_whole = lexicon.settings.get("general_whole", ())
    present: dict[str, list[tuple[Match, Fact]]] = {}
    for match, fact in made:
        if fact.status == "present":
            present.setdefault(fact.id, []).append((match, fact))
    facts: list[Fact] = []
    for match, fact in made:
        others = present.get(fact.id, [])
        if fact.status == "present":
            exact = [f for m, f in others if not m.target.general and f.value != fact.value]
            if match.target.general and exact:
                continue
            if lexicon.observables[fact.id].kind == "one_of" and _replaced(match, others):
                continue
        elif (
            (fact.value is None and others)
            or _answered_otherwise(match, others)
            or fact.key in lexicon.settings.get("never_denied", ())
        ):
            continue
        elif (
            (match.target.general or match.target.only_denied) and fact.id in general_whole
        ) or fact.value in whole.get(fact.id, ()):
            if not others:
                fact = Fact(fact.id, None, None, "ruled_out", fact.firm, fact.said)
            elif match.target.general or match.target.only_denied:
                continue
        facts.append(fact)
    unique: dict[tuple[object, ...], Fact] = {}
    for fact in facts:
        unique.setdefault((fact.id, fact.value, fact.status), fact)
    return list(unique.values())


def _answered_otherwise(match: Match, others: Sequence[tuple[Match, Fact]]) -> bool:
    """A denied phrase whose words also say something that holds ("no mist collector on it")."""
    if match.target.excluded:  # it names what it denies: "rust on the table but not on the parts"
        return any(m.target.value == match.target.value for m, _ in others)
    return any(not (set(match.places).isdisjoint(m.places) or m.composed) for m, _ in others)


def _replaced(match: Match, others: Sequence[tuple[Match, Fact]]) -> bool:
    """Of several values of a one-of, the last exact one stands."""
    exact = [m for m, _ in others if not m.target.general]
    pool = exact or [m for m, _ in others]
    last = max(pool, key=lambda m: (m.last, len(m.places)))
    return last.target.value != match.target.value
