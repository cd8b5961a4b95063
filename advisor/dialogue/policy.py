"""Which move comes next: a pure function of where the conversation stands and what is believed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from advisor.dialogue import following, phrases, phrases_led, procedures
from advisor.dialogue.case import SHOP_BOOK, CaseState
from advisor.dialogue.recipes import closing, needs
from advisor.inference.assess import Assessment, complaints
from advisor.inference.evidence import NOTHING_WRONG
from advisor.inference.questions import NO_WALK, WORTH, Question, worth_asking
from advisor.knowledge.rulebase import RuleBase

#: Questions after which the best that can be said is said.
MOST_QUESTIONS = 12
#: Once a cause is named, questions go on only until this many have been asked.
NAMED_QUESTIONS = 3
#: What a good technician asks at once, because it costs nothing (common practice, no source).
OPENING = ("changed", "neighbour")
#: A sump fuller than this has not been emptied for a new charge.
EMPTIED = 0.2
#: Targets that are not observables.
COMPLAINT, SUMP, SAFETY = "complaint", "sump", "safety"
_NO_WALK = {"person", "office", "lab"}
_PEOPLE = ("skin", "breathing", "eyes_nose")


#: Why a question is asked after the verdict is told.
RECIPE_NEEDS = "recipe"
HANGS_ON = "hangs on"
HOW_READ = phrases.WHY_HOW_READ


@dataclass(frozen=True, slots=True)
class Move:
    """One move: ``emergency``, ``ask``, ``conclude``, ``verdict``, ``recipe`` or ``rest``, and what it is
    about.
    """

    name: str
    target: str | None = None
    why: str = ""
    question: Question | None = None
    lead_in: str | None = None


def unasked(state: CaseState, target: str) -> bool:
    """True while a target has neither been refused nor asked, or was asked once and passed over."""
    return target not in state.skipped and (not state.asked.get(target) or target in state.again)


def told(state: CaseState) -> bool:
    """True once the person has said anything about the sump."""
    return any(f.said != SHOP_BOOK for f in state.facts)


def next_move(state: CaseState, view: Assessment, *, sumps: bool, stop: bool = False) -> Move:
    """The next move.

    Args:
        state: the fold of the case.
        view: the assessment of its facts.
        sumps: whether the shop has sumps to choose from.
        stop: the person wants the verdict now.
    """
    rules = view.known.rules
    for caution in view.cautions:
        if rules.cautions[caution]["level"] == "emergency" and caution not in state.acknowledged:
            return Move("emergency", caution)
    if not told(state):
        return Move("ask", COMPLAINT)
    if view.verdict == "outside" and not (_hints(view) and safety_open(state, view)):
        return _decide(state, view, stop=True)
    if sumps and state.sump is None and unasked(state, SUMP) and not stop:
        return Move("ask", SUMP, phrases.WHY_SUMP)
    if stop:
        return _decide(state, view, stop=True)
    if _hints(view) and safety_open(state, view):
        return Move("ask", SAFETY, phrases.WHY_SAFETY)
    if view.strength.ask and unasked(state, view.strength.ask):
        return Move("ask", view.strength.ask, f"{view.strength.doubt}.".capitalize())
    if following.pour_unknown(state):
        return Move("ask", following.POURED, phrases_led.WHY_POURED)
    led = following.AFTER_A_MISS if following.in_doubt(state) else procedures.going_on(state, view)
    if led:
        return lead(state, view, led)
    if following.is_closed(state):
        return Move("rest")
    if following.is_judged(state):
        value = view.strength.value
        inside = value is not None and view.window.low <= value <= view.window.high
        return Move("rest") if inside else _decide(state, view)
    opening = _opening(state, view)
    if opening:
        return opening
    if safety_open(state, view) and not _nothing_wrong(view):
        return Move("ask", SAFETY, phrases.WHY_SAFETY)
    doubtful = procedures.contradiction(state, view)
    if doubtful:
        return lead(state, view, doubtful)
    question = None if _nothing_wrong(view) else worthwhile(state, view)
    if question:
        return Move("ask", question.id, question=question)
    return _decide(state, view)


def lead(state: CaseState, view: Assessment, key: str) -> Move:
    """The next step of a procedure, or its conclusion."""
    listed = f"{key}/{procedures.LIST}"
    if listed in state.again and procedures.untold(state, view, key):  # another line came in between
        return Move("ask", listed, HOW_READ)
    step = procedures.open_step(state, view, key)
    if step is None:
        return Move("conclude", key)
    why = f"{step.get('because') or 'It is part of this check.'} ({view.known.rules.cite(step['sources'])})"
    return Move("ask", f"{key}/{step['id']}", why)


def _decide(state: CaseState, view: Assessment, *, stop: bool = False) -> Move:
    if state.verdict is None or not same_verdict(state.verdict, view):
        return Move("verdict")
    wanted = recipe_kind(view)
    changed = following.outdated(state, view, wanted) and not following.begun(state)
    if changed and wanted is None:
        return Move("recipe")
    poured = following.stands(state) and not state.steps and following.told_full(state, view)
    if poured and not changed and unasked(state, following.RECHECK):
        return Move("ask", following.RECHECK)
    if stop and wanted and (safety_open(state, view) or needs(view, wanted)):
        return Move("rest")
    if wanted and not closing(view, wanted) and not following.is_closed(state):
        if safety_open(state, view, patient=False):
            return Move("ask", SAFETY, phrases.WHY_SAFETY_FIRST)
        for need in needs(view, wanted):
            if unasked(state, need.ask):
                return Move("ask", need.ask, f"{need.why}.".capitalize(), lead_in=RECIPE_NEEDS)
        order = procedures.order_of(view) if wanted != "charge" else None
        if (
            order
            and f"{order}/{procedures.LIST}" not in state.asked
            and procedures.untold(state, view, order)
        ):
            return Move("ask", f"{order}/{procedures.LIST}", HOW_READ, lead_in=RECIPE_NEEDS)
        if state.recipe is None or changed or _refused_before(state) or following.is_spent(state):
            return Move("recipe", wanted)
    return Move("rest")


def _refused_before(state: CaseState) -> bool:
    """True when the recipe was refused and something has been said since."""
    refused = bool(state.recipe and state.recipe["refused"])
    return refused and bool(state.told) and state.told[-1] > (state.recipe_event or 0)


def same_verdict(held: dict[str, Any], view: Assessment) -> bool:
    """Whether the verdict told last still stands: its kind, its leading cause, run and cautions.

    A caution about something merely proposed is told at once and changes no verdict.
    """
    rules = view.known.rules
    causes = held.get("causes") or []
    lead = causes[0]["id"] if causes else None
    cautions = {c["id"] for c in held.get("cautions", []) if _lasting(rules, c["id"])}
    now = {c for c in view.cautions if _lasting(rules, c)}
    held_now = (held.get("verdict"), lead, held.get("run", view.run))
    return held_now == (view.verdict, view.lead, view.run) and cautions == now


def _lasting(rules: RuleBase, caution: str) -> bool:
    item = rules.cautions.get(caution, {})
    return item.get("level") != "note" and "refuses" not in item


def recipe_kind(view: Assessment) -> str | None:
    """The recipe the listed actions ask for, the first of them."""
    kinds = (view.known.rules.actions[a].get("recipe") for a in view.actions)
    return next((kind for kind in kinds if kind and not (kind == "charge" and _still_full(view))), None)


def _still_full(view: Assessment) -> bool:
    """True while a sump has not been emptied; a new charge is worked out once it has."""
    fill = view.known.quantity("sump_fill")
    return "event: sump_cleaned" not in view.known.present and (fill is None or fill > EMPTIED)


def safety_open(state: CaseState, view: Assessment, *, patient: bool = True) -> bool:
    """True until people and danger have been asked about, or told.

    Args:
        state, view: the case and its judgement.
        patient: a question twice passed over for something else is let go; before a recipe it is not.
    """
    told = [view.known.status(p) for p in _PEOPLE]
    asking = unasked(state, SAFETY) or not (patient or {SAFETY} & (state.answered | state.skipped))
    return asking and True not in told and None in told


def _hints(view: Assessment) -> bool:
    levels = {view.known.rules.cautions[c]["level"] for c in view.cautions}
    return "stop" in levels or any(
        view.known.status(p) is True for p in (*_PEOPLE, "danger_now", "mist_seen")
    )


def _nothing_wrong(view: Assessment) -> bool:
    return view.verdict == "named" and view.chain == (NOTHING_WRONG,)


def _opening(state: CaseState, view: Assessment) -> Move | None:
    if view.verdict == "named" or not complaints(view.known):
        return None
    for target in OPENING:
        item = view.known.rules.observables.get(target)
        if item and item.question and unasked(state, target) and view.known.status(target) is None:
            return Move("ask", target, phrases.WHY_OPENING)
    return None


def while_there(state: CaseState, view: Assessment, move: Move) -> list[str]:
    """Up to two more things to look at in the same place, so that nobody walks there twice.

    Told with the first question of a place only; whoever answers them early is not asked again.
    """
    observables = view.known.rules.observables
    if move.question is None or observables[move.question.id].place in _NO_WALK:
        return []
    place = observables[move.question.id].place
    if any(key in observables and observables[key].place == place for key in state.asked):
        return []
    near = [
        q.id
        for q in view.questions[:6]
        if q.id != move.question.id
        and unasked(state, q.id)
        and observables[q.id].place == place
        and observables[q.id].wait_h < 1
        and q.changes >= WORTH
    ]
    return near[:2]


def worthwhile(state: CaseState, view: Assessment) -> Question | None:
    """The best question still worth asking here, or None when it is time to decide."""
    count = sum(n for target, n in state.asked.items() if not procedures.is_step(target))
    if view.verdict == "outside" or count >= MOST_QUESTIONS:
        return None
    named = view.verdict == "named"
    if named and sum(key in view.known.rules.observables for key in state.asked) >= NAMED_QUESTIONS:
        return None
    open_ = [q for q in view.questions if unasked(state, q.id)]
    return next(iter(worth_asking(open_, view.known.rules, named=named, at=_standing(state, view))), None)


def _standing(state: CaseState, view: Assessment) -> str | None:
    """Where the person stands: the place of the last question that had one."""
    observables = view.known.rules.observables
    places = [observables[key].place for key in state.asked if key in observables]
    return next((place for place in reversed(places) if place != NO_WALK), None)
