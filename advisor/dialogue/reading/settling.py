"""What the facts of a line say together, and which of them give way to others."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence
from dataclasses import replace

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.tokens import Token
from advisor.knowledge.facts import Fact

#: The answer of `system` for what is no coolant sump.
NOT_A_SUMP = "not_a_sump"


def together(facts: list[Fact], lexicon: Lexicon) -> list[Fact]:
    """Follow-ups that two facts of a line say together: foam since the cleaner, smell after standing."""
    present = {(f.id, f.value) for f in facts if f.status == "present"}
    ids = {i for i, _ in present}
    for rule in lexicon.together:
        if rule["then"][0] in ids or rule["then"][0] not in lexicon.observables:
            continue
        if not ids.isdisjoint(rule["any"]) and any(
            (i, v) in present if v else i in ids for i, v in rule["with"]
        ):
            parent = next(f for f in facts if f.id in rule["any"])
            other = next(f for f in facts if any(f.id == i for i, _ in rule["with"]))
            firm = parent.firm and other.firm
            facts = [*facts, Fact(rule["then"][0], rule["then"][1], None, "present", firm, other.said)]
    return facts


def implied(facts: list[Fact], numbers: Sequence[Fact], lexicon: Lexicon) -> list[Fact]:
    """ "Down for ten days": a figure that tells of an event besides."""
    said: dict[str, str] = lexicon.settings.get("implied_by_figure", {})
    made = list(facts)
    for fact in numbers:
        name, _, value = said.get(fact.id, "").partition(": ")
        if name and fact in facts and not any((f.id, f.value) == (name, value) for f in facts):
            made.append(Fact(name, value, None, "present", fact.firm, fact.said))
    return made


def changes(facts: list[Fact], marks: Sequence[Match], lexicon: Lexicon) -> list[Fact]:
    """ "That is the only change": the event told in the line is what changed before it began."""
    excepted = any(m.target.name == "except_for" for m in marks)
    framed = excepted or any(m.target.name == "only_change" for m in marks)
    told = [f for f in facts if f.id == "changed" and f.status == "present" and f.value != "nothing"]
    events = any(f.id == "event" and f.status == "present" for f in facts)
    if excepted or (framed and (told or events)):
        # "Nothing changed apart from the water": what is excepted changed, so it is not nothing.
        facts = [f for f in facts if (f.id, f.value) != ("changed", "nothing")]
    if not framed or told or any(f.id == "changed" and f.status == "present" for f in facts):
        return facts
    by_event: dict[str, str] = lexicon.settings.get("changed_by", {})
    made = [
        Fact("changed", by_event[f.value], None, "present", f.firm, f.said)
        for f in facts
        if f.id == "event" and f.status == "present" and f.value in by_event
    ]
    return [*facts, *dict.fromkeys(made)]


def not_repeated(
    facts: Sequence[Fact],
    lexicon: Lexicon,
    expecting: str | None,
    counted: bool = False,
    known: Sequence[Fact] = (),
) -> list[Fact]:
    """Bands give way to numbers of the same quantity; people are counted only with a complaint.

    `counted` says that the line itself counts those affected ("2 people have it"); `known` holds what was
    said before, so that "2 guys" counts once somebody itches.
    """
    numbers = {f.id for f in facts if lexicon.observables[f.id].kind == "quantity"}
    gives_way: dict[str, list[str]] = lexicon.settings.get("gives_way", {})
    needs: dict[str, list[str]] = lexicon.settings.get("needs", {})
    ids = {f.id for f in facts}
    spoken = ids | {f.id for f in known if f.status == "present"}
    barred: dict[str, list[str]] = lexicon.settings.get("not_with", {})
    kept, seen = [], set()
    for fact in facts:
        if not numbers.isdisjoint(gives_way.get(fact.id, ())):
            continue
        against = barred.get(fact.id, barred.get(fact.key, ()))
        if not ids.isdisjoint(against) and fact.id != expecting:
            continue
        wanted = fact.id in needs and fact.id != expecting and not (counted and fact.id == "people_affected")
        if wanted and spoken.isdisjoint(needs[fact.id]):
            continue
        if lexicon.observables[fact.id].kind == "quantity" and fact.id in seen:
            continue
        seen.add(fact.id)
        kept.append(fact)
    return kept


def parented(
    facts: Sequence[Fact],
    known: Sequence[Fact],
    lexicon: Lexicon,
    expecting: str | None,
    before: Collection[str] = (),
) -> list[Fact]:
    """Drops follow-ups whose parent nobody spoke of ("after the weekend" without a smell).

    `before` holds ids denied of another time, which are spoken of all the same ("no foam before that").
    """
    parents: dict[str, list[str]] = lexicon.settings.get("parents", {})
    held = {f.id for f in (*facts, *known) if f.status == "present"} | set(before)
    return [
        f for f in facts if f.id not in parents or f.id == expecting or not held.isdisjoint(parents[f.id])
    ]


def elsewhere(
    facts: Sequence[Fact], known: Sequence[Fact], tokens: Sequence[Token], lexicon: Lexicon
) -> list[Fact]:
    """Keeps "another thing than a coolant sump" only where nothing speaks of a sump.

    "The compressor oil is milky" is about the compressor, "compressor oil got in the coolant" is not. A
    case that holds something already goes on.
    """
    words: list[str] = lexicon.settings.get("sump_words", [])
    denied = {b.norm for a, b in itertools.pairwise(tokens) if a.norm in ("no", "not", "kein", "keine")}
    told = next((f for f in facts if f.value == NOT_A_SUMP), None)
    if told is not None and not known and ({t.norm for t in tokens} - denied).isdisjoint(words):
        # What else the line says is said of that thing; only what endangers people counts here too.
        return [told, *(f for f in facts if f.id in lexicon.settings["heard_always"])]
    return [f for f in facts if f is not told]


def no_longer_elsewhere(known: Sequence[Fact]) -> list[Fact]:
    """What is taken back once a case that was about another thing turns to a sump."""
    held = [f for f in known if f.value == NOT_A_SUMP]
    return [replace(f, status="ruled_out") for f in held[-1:] if f.status == "present"]


def at_a_sump_after_all(known: Sequence[Fact], tokens: Sequence[Token], lexicon: Lexicon) -> list[Fact]:
    """What a line takes back that speaks of a sump in a case that was about another thing."""
    words = {*lexicon.settings.get("sump_words", ()), "machine", "tank", "maschine"}
    return [] if {t.norm for t in tokens}.isdisjoint(words) else no_longer_elsewhere(known)
