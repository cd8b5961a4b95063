"""Choices in a line: which phrases stand, whether they are proposed or done, denied or doubted."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.scope import Scope
from advisor.dialogue.reading.subjects import Subjects, moved_fact
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact, Status


@dataclass(frozen=True)
class Frame:
    """How a sentence speaks of an act: ``proposed``, ``done`` or neither."""

    first: int
    last: int
    proposed_from: int | None
    done: frozenset[int]
    question: bool


def standing(matches: Iterable[Match], tokens: Sequence[Token], lexicon: Lexicon) -> list[Match]:
    """Matches that no longer match swallows: of the same observable always, of another unless either is
    context (a metal or an operation named inside "aluminium stained" still stands)."""
    matches = list(matches)
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


def sentences(tokens: Sequence[Token]) -> list[tuple[int, int]]:
    """First and last place of each sentence, its closing mark included."""
    made, first = [], 0
    for at, token in enumerate(tokens):
        if token.hard:
            if at > first:
                made.append((first, at))
            first = at + 1
    if first < len(tokens):
        made.append((first, len(tokens) - 1))
    return made


def frames(tokens: Sequence[Token], marks: Sequence[Match]) -> list[Frame]:
    """The frame of each sentence."""
    made = []
    for first, last in sentences(tokens):
        inside = [m for m in marks if first <= m.first <= last]
        refusing = {p for m in inside if m.target.name == "no_proposal" for p in m.places}
        proposing = [m.first for m in inside if m.target.name == "proposal" and refusing.isdisjoint(m.places)]
        done = frozenset(p for m in inside if m.target.name == "done" for p in m.places)
        made.append(Frame(first, last, min(proposing, default=None), done, tokens[last].text == "?"))
    return made


def sort_acts(
    matches: Sequence[Match], tokens: Sequence[Token], marks: Sequence[Match], lexicon: Lexicon
) -> list[Match]:
    """Keeps of each act either the proposal or the event, by the frame of its sentence.

    A proposal is asked or planned ("can I", "should we", "pour it down the drain?"); what somebody has
    done is an event. An act that is neither is left out.
    """
    action_events: dict[str, str] = lexicon.settings.get("action_event", {})
    by_event = {event: action for action, event in action_events.items()}
    framed = frames(tokens, marks)
    proposed_places: set[int] = set()
    proposed: set[tuple[str, int]] = set()
    kept: list[Match] = []
    for match in matches:
        if match.target.name != "proposed_action":
            continue
        frame = next((f for f in framed if f.first <= match.first <= f.last), None)
        if _refused(match, tokens, marks):
            continue
        if frame is not None and _proposes(match, frame, tokens, marks, lexicon):
            kept.append(match)
            proposed_places.update(match.places)
            proposed.add((action_events.get(match.target.value, ""), frame.first))
    for match in matches:
        if match.target.name == "proposed_action":
            continue
        planned = match.target.name == "event" and match.target.value in by_event
        planned = planned or match.target.name in ("topup",)
        planned = planned or match.target.value == "spill_to_drain"
        frame = next((f for f in framed if f.first <= match.first <= f.last), None)
        if match.target.name.startswith("trend") and frame is not None and frame.proposed_from is not None:
            continue
        if (
            frame is not None
            and match.target.name == "event"
            and (match.target.value, frame.first) in proposed
            and not _done_before(match, frame)
        ):
            continue
        if planned and not proposed_places.isdisjoint(match.places):
            continue
        if (
            match.target.name == "event"
            and frame is not None
            and _only_planned(match, frame, tokens, lexicon)
        ):
            continue
        kept.append(match)
    past = set(lexicon.settings.get("past_words", ()))
    return [m for m in sorted(kept, key=lambda m: m.places) if not _over(m, framed, tokens, past)]


def _done_before(match: Match, frame: Frame) -> bool:
    """True for what was done before the proposal of the same sentence ("put some in, want to put more")."""
    planned = frame.proposed_from is not None and match.last < frame.proposed_from
    return planned and not frame.done.isdisjoint(range(match.first - 3, match.last + 3))


def _only_planned(match: Match, frame: Frame, tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """True for a deed behind "can I" or "want to": nothing of it has happened, unless a word says so."""
    start = frame.proposed_from
    done = {p for p in frame.done if tokens[p].norm != "put"}
    if start is None or start > match.first or not done.isdisjoint(range(start, match.last + 3)):
        return False
    parting = lexicon.settings.get("telling", ())
    return not any(t.norm in parting or t.text in ",;" for t in tokens[start : match.first])


def _refused(match: Match, tokens: Sequence[Token], marks: Sequence[Match]) -> bool:
    """True for an act that the speaker does not mean to do ("I dont want to dump it")."""
    return any(
        m.target.name == "no_proposal"
        and m.last < match.first <= m.last + 4
        and not any(t.kind == "mark" for t in tokens[m.last + 1 : match.first])
        for m in marks
    )


def _over(match: Match, framed: Sequence[Frame], tokens: Sequence[Token], past: set[str]) -> bool:
    """A danger told in the past is no danger now."""
    if match.target.name != "danger_now" or match.target.value == "wrong_tank_filled":
        return False
    frame = next(f for f in framed if f.first <= match.first <= f.last)
    parted = [p for p in range(frame.first, match.first) if tokens[p].norm in ("but", "aber", "though")]
    first = max(parted, default=frame.first)  # "nobody was hurt but smoke from the cabinet" is now
    words = {t.norm for t in tokens[first : frame.last + 1]}
    return not past.isdisjoint(words) and "now" not in words


def _proposes(
    match: Match, frame: Frame, tokens: Sequence[Token], marks: Sequence[Match], lexicon: Lexicon
) -> bool:
    done = not frame.done.isdisjoint(range(match.first - 3, match.last + 3))
    if not done and _dangerous_plan(match, tokens, lexicon):
        return True
    if frame.proposed_from is not None and frame.proposed_from <= match.last:
        return not any(frame.proposed_from < p < match.first for p in _ends(marks))
    if done:
        return False
    if frame.question:
        return True
    before = tokens[frame.first : match.first]
    if any(t.norm in lexicon.settings.get("subjects", ()) for t in before):
        return False
    opening = {t.norm for t in before if not t.filler and t.kind != "mark"}
    if before and before[0].norm in ("or", "oder") and len(before) <= 3:
        return True  # "or a splash of vinegar": another way to go on, nothing done
    return opening <= set(lexicon.settings.get("openers", ())) and _imperative(match, tokens, lexicon)


def _dangerous_plan(match: Match, tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    """True for an act that is a danger however it is spoken of ("going in after him")."""
    bodily = set(lexicon.settings.get("always_words", ()))
    always = match.target.value in lexicon.settings.get("always_proposed", ())
    habit = match.target.value in lexicon.settings.get("habits", ())
    return (always and any(tokens[p].norm in bodily for p in match.places)) or (
        habit and _imperative(match, tokens, lexicon)
    )


def _ends(marks: Sequence[Match]) -> list[int]:
    return [m.first for m in marks if m.target.name == "plan_end"]


def _imperative(match: Match, tokens: Sequence[Token], lexicon: Lexicon) -> bool:
    return tokens[match.first].norm in set(lexicon.settings.get("verbs", ()))


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
    stay: list[tuple[Match, Fact]] = []
    moved: list[Fact] = []
    for match, fact in made:
        subject = subjects.of(match.first)
        there = moved_fact(fact, subject, moves) if subject else fact
        if there is fact:
            stay.append((match, fact))
        elif there is not None:
            moved.append(there)
    facts = _settled(stay, lexicon)
    keys = {(f.id, f.value) for f in facts}
    return facts + [f for f in dict.fromkeys(moved) if (f.id, f.value) not in keys]


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
        elif match in scope.denied and set(lexicon.observables[name].answers) == {"yes", "no"}:
            other = "no" if value == "yes" else "yes"
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
    return any(not set(match.places).isdisjoint(m.places) for m, _ in others)


def _replaced(match: Match, others: Sequence[tuple[Match, Fact]]) -> bool:
    """Of several values of a one-of, the last exact one stands."""
    exact = [m for m, _ in others if not m.target.general]
    pool = exact or [m for m, _ in others]
    last = max(pool, key=lambda m: (m.last, len(m.places)))
    return last.target.value != match.target.value
