"""What to do without a recipe, walked one by one: done or passed over, each kept in the case."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.dialogue import following, phrases, phrases_led, policy
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import CaseState
from advisor.dialogue.understanding import Understood
from advisor.inference.assess import Assessment

if TYPE_CHECKING:
    from advisor.dialogue.session import Session


def told(state: CaseState, view: Assessment) -> list[str]:
    """The actions of the verdict told last, in order, less what is forbidden or found out by now.

    The list a person sees stays the list that is ticked, until another verdict is told.
    """
    rules, known, verdict = view.known.rules, view.known, state.verdict or {}
    held = verdict.get("hold") if verdict.get("verdict") != "named" else None
    ids = [str(a["id"]) for a in verdict.get("actions", []) if a["id"] in rules.actions]
    checks = [item for key, item in rules.procedures.items() if key in state.concluded]
    led = {a for item in checks for a in item.get("does", ())}
    ids = [a for a in ids if a not in {*view.forbidden, *led} and rules.actions[a]["text"] != held]
    return [a for a in ids if not any(known.values(m) for m in rules.actions[a].get("measures", ()))]


def open_actions(state: CaseState, view: Assessment) -> list[str]:
    """What is still to be done, in order; what a recipe does is done with the recipe."""
    by_recipe = bool(state.recipe) and not (state.recipe or {})["refused"]
    left = [a for a in told(state, view) if a not in state.acts]
    return [a for a in left if not (by_recipe and view.known.rules.actions[a].get("recipe"))]


def walked(state: CaseState, view: Assessment) -> bool:
    """Whether the list is what "done" ticks: no recipe waits, and something is left of it."""
    return not following.stands(state) and bool(open_actions(state, view))


def where(session: Session, state: CaseState) -> list[Block]:
    """The action that comes now, put before the person."""
    view = session.view(state=state)
    left = open_actions(state, view)
    if not left:
        return []
    session.current_action = left[0]
    item = view.known.rules.actions[left[0]]
    label = phrases.STEP_OF.format(number=len(state.acts) + 1, total=len(state.acts) + len(left))
    return [Block("row", f"{phrases.WHO[item['who']]}: {item['text']}", label)]


def going_on(session: Session, state: CaseState) -> list[Block]:
    """The action that comes now, once the list is being walked or its recipe is through."""
    begun = bool(state.acts) or (bool(state.results) and following.is_spent(state))
    wanted = begun and not following.is_closed(state) and walked(state, session.view(state=state))
    if not wanted:
        return []
    first = [] if state.acts else [Block("text", phrases_led.LEFT_TO_DO)]
    return [*first, *where(session, state)]


def tick(session: Session, state: CaseState, *, passed: bool = False) -> list[Block]:
    """Tick the action that comes now, or pass it over, and show the next one.

    What it finds out is asked for at once, where somebody can say it here and now.
    """
    view = session.view(state=state)
    left = open_actions(state, view)
    last = next(reversed(state.acts), "")
    if state.expecting in view.known.rules.actions.get(last, {}).get("measures", ()) and not passed:
        return [Block("ask", phrases_led.TYPE_IT)]  # ticked already, and its number is waited for
    if not left and state.acts:
        return _through(state, view)
    if not left:
        item = view.known.rules.observables.get(state.expecting or "")
        number = item is not None and item.kind == "quantity"
        return [
            Block("text", phrases_led.TYPE_IT if number else phrases_led.NOTHING_TO_TICK),
            *session.repeat(),
        ]
    if _waits_for_recipe(state, view, left[0]):
        return [Block("text", phrases_led.RECIPE_FIRST), *session.repeat()]
    if (state.acts or state.results) and session.current_action != left[0]:  # nobody has seen which it is
        return [*where(session, state), Block("text", phrases_led.HOW_TICK)]
    total, key = len(state.acts) + len(left), left[0]
    session.record.append("action_done", {"action": key, "skipped": passed})
    said = phrases_led.STEP_PASSED if passed else phrases.STEP_DONE
    first = Block("text", said.format(number=len(state.acts) + 1, total=total))
    state = session.state()
    wanted = None if passed else _to_ask(state, view, key)
    if wanted is not None:
        move = policy.Move("ask", wanted, phrases_led.WHY_FOUND)
        session.last_move = move
        asked = session.question()
        session.record.append("asked", {"move": "ask", "target": wanted})
        return [first, *asked]
    if left[1:] and _waits_for_recipe(state, view, left[1]):
        return [first, Block("text", phrases_led.RECIPE_FIRST), *session.repeat()]
    return [first, *(where(session, state) or _through(state, view))]


def _waits_for_recipe(state: CaseState, view: Assessment, action: str) -> bool:
    """Whether an action goes by a recipe that still waits for an answer."""
    by_recipe = "recipe" in view.known.rules.actions[action]
    return by_recipe and state.recipe is None and bool(state.expecting)


def _to_ask(state: CaseState, view: Assessment, action: str) -> str | None:
    """What an action finds out and nobody has told yet, when it is known at once and has a question."""
    known = view.known
    for key in known.rules.actions[action].get("measures", ()):
        item = known.rules.observables[key]
        if item.question and item.wait_h < 1 and not known.values(key) and key not in state.skipped:
            return str(key)
    return None


def _through(state: CaseState, view: Assessment) -> list[Block]:
    """After the last one: when to look again, and what to type then."""
    again = [view.known.rules.causes[c].text["recheck"] for c in view.chain[:1]]
    return [*(Block("head", text, "LOOK AGAIN") for text in again), Block("ask", phrases_led.ALL_ACTS_DONE)]


def found_out(session: Session, state: CaseState, got: Understood) -> None:
    """Tick what a line tells the findings of, once the list is being walked."""
    if not state.acts:
        return
    view, found = session.view(state=state), {f.id for f in got.facts}
    for action in open_actions(state, view):
        if found & {*view.known.rules.actions[action].get("measures", ())}:
            session.record.append("action_done", {"action": action, "skipped": False, "found": True})
