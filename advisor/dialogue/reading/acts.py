"""Acts in a line: whether they are proposed, done, or only spoken of, by the frame of their sentence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from advisor.dialogue.reading.asked import AMOUNT, DEED, question, told_only
from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.tokens import Token


@dataclass(frozen=True)
class Frame:
    """How a sentence speaks of an act: ``proposed``, ``done`` or neither."""

    first: int
    last: int
    proposed_from: int | None
    done: frozenset[int]
    question: bool


def sentences(tokens: Sequence[Token]) -> list[tuple[int, int]]:
    """First and last place of each sentence, its closing mark included.

    A comma ends one where somebody's deed follows: "can i run it, we put biocide in yesterday".
    """
    made, first = [], 0
    for at, token in enumerate(tokens):
        if token.hard or (token.text == "," and _deed_follows(tokens, at)):
            if at > first:
                made.append((first, at))
            first = at + 1
    if first < len(tokens):
        made.append((first, len(tokens) - 1))
    return made


def _deed_follows(tokens: Sequence[Token], comma: int) -> bool:
    words = [t.norm for t in tokens[comma + 1 : comma + 4]]
    words = words[1:] if words[:1] in (["but"], ["because"], ["cos"], ["and"]) else words
    return words[:1] != [] and words[0] in _WHO and bool(set(words[1:2]) & _PUT)


def frames(tokens: Sequence[Token], marks: Sequence[Match]) -> list[Frame]:
    """The frame of each sentence."""
    made = []
    for first, last in sentences(tokens):
        inside = [m for m in marks if first <= m.first <= last]
        refusing = {p for m in inside if m.target.name == "no_proposal" for p in m.places}
        proposing = [m.first for m in inside if m.target.name == "proposal" and refusing.isdisjoint(m.places)]
        if question(tokens[first : last + 1]) in (AMOUNT, DEED):
            proposing.append(first)
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
    kept += _proposed_too(matches, kept, framed, tokens, marks)
    matches = told_only(matches, [(f.first, f.last) for f in framed], tokens, lexicon)
    kept += [m for m in matches if _told_act(m, framed, tokens, lexicon, proposed, proposed_places)]
    kept += _done_too(matches, kept, framed, tokens, action_events)
    kept += _done_so(kept, tokens, action_events)
    kept = [m for m in kept if not _answered(m, framed, tokens)]
    past = set(lexicon.settings.get("past_words", ()))
    return [m for m in sorted(kept, key=lambda m: m.places) if not _over(m, framed, tokens, past)]


def _proposed_too(
    matches: Sequence[Match],
    kept: Sequence[Match],
    framed: Sequence[Frame],
    tokens: Sequence[Token],
    marks: Sequence[Match],
) -> list[Match]:
    """Acts that a list joins to a plan ("double the biocide and some of that air freshener")."""
    made = []
    for match in matches:
        if match.target.name != "proposed_action" or match in kept or _refused(match, tokens, marks):
            continue
        frame = next((f for f in framed if f.first <= match.first <= f.last), None)
        if frame is None or not frame.done.isdisjoint(range(match.first - 4, match.last + 3)):
            continue
        for plan in kept:
            between = [t.norm for t in tokens[plan.last + 1 : match.first]]
            near = plan.target.name == "proposed_action" and frame.first <= plan.first < match.first
            joined = bool({"and", "plus", "or", "und", "oder", "&"} & set(between[:2]) - {"in"})
            joined = joined and (len(between) < 2 or between[0] in ("and", "plus", "or", "und", "oder", "in"))
            if near and joined and len(between) <= 6 and not {"we", "i", "they", "he", "it"} & set(between):
                made.append(match)
                break
    return made


_PUT = frozenset({"put", "added", "tried", "poured", "had", "chucked", "gave", "used", "dosed", "did"})
_WHO = frozenset({"i", "we", "he", "she", "they", "somebody", "someone", "wir", "ich"})


def _answered(match: Match, framed: Sequence[Frame], tokens: Sequence[Token]) -> bool:
    """True for the antifoam of "Antifoam? Put half a pint of it in Tuesday": named, and told as done."""
    at = next((i for i, f in enumerate(framed) if f.first <= match.first <= f.last), None)
    if at is None or at + 1 >= len(framed) or match.target.name != "proposed_action":
        return False
    frame, then = framed[at], framed[at + 1]
    rest = [tokens[p] for p in range(frame.first, frame.last + 1) if p not in match.places]
    alone = frame.question and len(match.places) == 1 and all(t.filler or t.kind == "mark" for t in rest)
    words = [t.norm for t in tokens[then.first : then.first + 3]]
    return alone and not then.question and then.proposed_from is None and bool(_PUT & set(words))


def _told_act(
    match: Match,
    framed: Sequence[Frame],
    tokens: Sequence[Token],
    lexicon: Lexicon,
    proposed: set[tuple[str, int]],
    proposed_places: set[int],
) -> bool:
    """True for what is no proposal and is not said of an act that was only proposed."""
    if match.target.name == "proposed_action":
        return False
    event = match.target.name == "event"
    planned = event and match.target.value in lexicon.settings.get("action_event", {}).values()
    planned = planned or match.target.name in ("topup",) or match.target.value == "spill_to_drain"
    frame = next((f for f in framed if f.first <= match.first <= f.last), None)
    before = False
    if frame is not None:
        before = _done_before(match, frame)
        if match.target.name.startswith("trend") and frame.proposed_from is not None:
            return False
        asked = (match.target.value, frame.first) in proposed and not before
        if event and (asked or _only_planned(match, frame, tokens, lexicon)):
            return False
    return before or not (planned and not proposed_places.isdisjoint(match.places))


def _done_too(
    matches: Sequence[Match],
    kept: Sequence[Match],
    framed: Sequence[Frame],
    tokens: Sequence[Token],
    action_events: Mapping[str, str],
) -> list[Match]:
    """Acts that a list joins to one that was done ("somebody put bleach in and vinegar")."""
    done = [m for m in kept if m.target.name == "event" and m.target.value.endswith(("_added", "_dosed"))]
    made = []
    for match in matches:
        event = action_events.get(match.target.value)
        if match.target.name != "proposed_action" or match in kept or event is None or match.first == 0:
            continue
        frame = next((f for f in framed if f.first <= match.first <= f.last), None)
        if frame is None or frame.question or frame.proposed_from is not None:
            continue
        before = [t.norm for t in tokens[max(0, match.first - 4) : match.first]]
        while before and before[-1] in _LISTED:
            before.pop()
        joined = bool(before) and before[-1] in ("and", "und", "plus", "&")
        if joined and any(frame.first <= m.first and match.first - 5 <= m.last < match.first for m in done):
            made.append(Match(replace(match.target, name="event", value=event), match.places))
    return made


#: Words between the "and" of a list and what it adds ("and then some vinegar").
_LISTED = frozenset(
    {"then", "some", "a", "bit", "of", "also", "more", "dann", "noch", "etwas", "ein", "bisschen"}
)
_DID = frozenset(
    {"did", "done", "dosed", "put", "added", "tried", "blew", "had", "chucked", "poured", "gave",
     "gemacht", "getan", "reingetan", "gegeben", "reingekippt", "dosiert"}
)  # fmt: skip
_ONCE = frozenset(
    {"already", "schon", "yesterday", "gestern", "last", "letzte", "letzten", "once", "twice", "ago",
     "earlier", "einmal", "zweimal", "monday", "tuesday", "wednesday", "thursday", "friday", "montag",
     "dienstag", "mittwoch", "donnerstag", "freitag"}
)  # fmt: skip
_NEVER = frozenset({"not", "never", "nobody", "didnt", "hasnt", "havent", "nicht", "nie", "niemand", "noone"})


def _done_so(kept: Sequence[Match], tokens: Sequence[Token], action_events: Mapping[str, str]) -> list[Match]:
    """ "More biocide? Somebody did that last week": the act proposed has been done before."""
    made: list[Match] = []
    for match in kept:
        event = action_events.get(match.target.value)
        if match.target.name != "proposed_action" or event is None:
            continue
        first = match.last + 1
        for at in range(match.last + 1, len(tokens) + 1):
            if at < len(tokens) and not (tokens[at].hard or tokens[at].text == ","):
                continue
            places = [p for p in range(first, at) if tokens[p].kind != "mark"]
            first = at + 1
            words = {tokens[p].norm for p in places}
            taken = any(
                {*m.places} & {*places} for m in kept if m.target.name in ("event", "proposed_action")
            )
            if words & _DID and words & _ONCE and not words & _NEVER and not taken:
                said = tuple(p for p in places if tokens[p].norm in _DID | _ONCE)
                made.append(Match(replace(match.target, name="event", value=event), said))
                break
    return made


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
    if match.target.value in lexicon.settings.get("either_way", ()):
        return True
    done = not frame.done.isdisjoint(range(match.first - 3, match.last + 3))
    before = tokens[frame.first : match.first]
    bare = all(t.filler or t.kind == "mark" or t.norm in ("or", "oder") for t in before)
    if frame.question or (before and before[0].norm in ("or", "oder")):
        # "Put antifoam in?": a verb that opens a question asks, though it may also tell.
        done = done and not (bare and tokens[match.first].norm == "put")
    if not done and _dangerous_plan(match, tokens, lexicon):
        return True
    if _asked_behind(match, frame, tokens):
        return not done
    if frame.proposed_from is not None and frame.proposed_from <= match.last:
        return not any(frame.proposed_from < p < match.first for p in _ends(marks))
    if done:
        return False
    if frame.question:
        return True
    if any(t.norm in lexicon.settings.get("subjects", ()) for t in before):
        return False
    opening = {t.norm for t in before if not t.filler and t.kind != "mark"}
    if before and before[0].norm in ("or", "oder") and len(before) <= 3:
        return True  # "or a splash of vinegar": another way to go on, nothing done
    return opening <= set(lexicon.settings.get("openers", ())) and _imperative(match, tokens, lexicon)


def _asked_behind(match: Match, frame: Frame, tokens: Sequence[Token]) -> bool:
    """ "Caustic or vinegar, which one should I use", "epsom salts, would that help"."""
    at = frame.proposed_from
    if at is None or at <= match.last or tokens[at - 1].text != ",":
        return False
    words = {t.norm for t in tokens[at : at + 4]}
    return not words.isdisjoint({"that", "it", "this", "which", "them"})


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
