"""What follows when somebody says that a stop is put right: which one is meant, and what becomes of it.

A stop carried over from a case before, and one of this case, are lifted by a plain word; a doubt lifts none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from advisor.dialogue import passed, phrases_led
from advisor.dialogue.blocks import Block
from advisor.dialogue.carried import Stop, again, closes, own_stops, told_blocks
from advisor.dialogue.case import CaseState
from advisor.dialogue.dealt_with import says_dealt_with, says_put_right, speaks_of_it, spoken_of
from advisor.dialogue.understanding import Understood
from advisor.inference.assess import assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.phrasing import normal, stem_en

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

#: How a thing that is put right is read as what was put into the fluid.
_WENT_IN = "{names} went in"
#: Words in the id of a caution that do not tell what it is about.
_NO_NAME = frozenset({"in", "the", "sump", "fluid", "no", "and", "or", "with", "from", "of", "near", "by"})


def _brings(rules: RuleBase, fact: Fact, cautions: Sequence[str]) -> bool:
    """Whether a fact by itself brings one of these on: "the vinegar is dealt with" pours none in."""
    return not set(assess([fact], rules, questions=False).cautions).isdisjoint(cautions)


def dealt_with(session: Session, state: CaseState, text: str) -> list[Block] | None:
    """What follows when a line says that what stands is put right; None when it is about something else."""
    lexicon, rules = session.lexicon, session.rules
    if not speaks_of_it(text, lexicon, helped=bool(state.carried)):
        return None
    alarmed = session.last_move.name == "emergency"  # then only that one is meant
    own = [] if alarmed else own_stops(session.record.events, rules)
    stand = [caution for _, caution in state.carried]
    here = [] if alarmed else list(dict.fromkeys([*(s.caution for s in own), *passed.told(state, rules)]))
    thing = speaks_of_it(text, lexicon)
    spoken = _meant(session, text, [*stand, *here]) if thing else _of_persons(rules, stand)
    if not spoken:
        return None
    if not (says_put_right(text, lexicon) if thing else says_dealt_with(text, lexicon)):
        return _not_lifted(session, state, text, own)
    lifted = [{"case": case, "caution": c} for case, c in state.carried if c in spoken]
    right = [c for c in here if c in spoken]
    ended = passed.end(session, state, text, right)
    told = _record(session, text, lifted, right, ended)
    ids = [*(str(one["caution"]) for one in lifted), *right]
    besides = _besides(session, text, ids)
    if besides.facts:
        return [*told, *session.take(text, besides, session.state(), answered=False)]
    return [*told, *(session.go_on() if lifted or ended else session.repeat())]


def _record(
    session: Session, text: str, lifted: list[dict[str, Any]], right: list[str], ended: Sequence[str]
) -> list[Block]:
    """Store what is lifted, of cases before and of this one, and say so."""
    ids = list(dict.fromkeys([*(str(one["caution"]) for one in lifted), *right]))
    data: dict[str, Any] = {"cautions": ids}
    data |= {"carried": lifted} if lifted else {}
    session.record.append("acknowledged", data | ({"put_right": right} if right else {}), text)
    cases = " and ".join(dict.fromkeys(str(one["case"]) for one in lifted))
    told = [phrases_led.PUT_RIGHT.format(case=cases)] if lifted else []
    told += [phrases_led.LIFTED] if ended else []
    told += [phrases_led.PUT_RIGHT_HERE] if {*right} - {*ended} else []
    return [Block("text", one) for one in told]


def _of_persons(rules: RuleBase, stand: Sequence[str]) -> set[str]:
    """Those that are over when help has come: an emergency of a person that leaves nothing in the fluid."""
    return {c for c in stand if rules.cautions[c]["level"] == "emergency" and not closes(rules, c)}


def _meant(session: Session, text: str, stand: Sequence[str]) -> set[str]:
    """Which of those that stand a line says are put right: all, where it names nothing, or what it names."""
    part, names = spoken_of(text, session.lexicon)
    if not names:
        return {*stand}
    found: set[str] = set()
    went_in = _WENT_IN.format(names=" ".join(names))  # "the vinegar is dealt with": what went in by that name
    for fact in [*session.understood(part).facts, *session.understood(went_in).facts]:
        found |= {*assess([fact], session.rules, questions=False).cautions}
    said = {stem_en(normal(word)) for word in names}
    for caution in stand:
        called = {stem_en(normal(word)) for word in caution.split("_")} - _NO_NAME
        if said & called:
            found.add(caution)
    return found & {*stand}


def _not_lifted(session: Session, state: CaseState, text: str, own: Sequence[Stop]) -> list[Block]:
    """A denial, a plan or a doubt lifts nothing: what stands is told again; what else was said is kept."""
    told = [*again(session, state), *told_blocks(session.rules, own)]
    got = _besides(session, text, [*(c for _, c in state.carried), *(stop.caution for stop in own)])
    if got.facts:
        return [*told, *session.take(text, got, state, answered=False)]
    return [*told, *session.repeat()]


def _besides(session: Session, text: str, cautions: Sequence[str]) -> Understood:
    """What a line says besides: "the vinegar is dealt with" pours none in."""
    got = session.understood(text)
    return replace(got, facts=tuple(f for f in got.facts if not _brings(session.rules, f, cautions)))
