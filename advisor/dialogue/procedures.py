"""Leading a person through a check step by step: which procedure, which step, and what came of it.

Knows no coolant: the steps, what makes them needless and what follows from them stand in
``rules/procedures/``. A step's target is ``"procedure/step"``; ``"procedure/list"`` asks which steps of
an order are done already. Everything here is a pure function of the case and the judgement.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from advisor.dialogue.case import CaseState
from advisor.dialogue.ticking import ALL, first_of, told_done
from advisor.inference.assess import Assessment
from advisor.inference.conditions import read
from advisor.inference.program import program
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.phrasing import normal, stem_en

LIST = "list"
#: How the target of an answer asked once more begins.
AGAIN = "again:"
#: A step asked so often in vain is let go.
MOST_ASKED = 3
Step = dict[str, Any]


def is_step(target: str | None) -> bool:
    """Whether a target is a step of a procedure."""
    return "/" in (target or "")


def find(rules: RuleBase, target: str | None) -> tuple[str, Step]:
    """The procedure's id and the step of a target; the list has a step of its own."""
    key, _, name = str(target).partition("/")
    steps = rules.procedures[key]["steps"]
    return key, next((s for s in steps if s["id"] == name), {"id": LIST, "do": "", "sources": ["practice"]})


def asked_for(rules: RuleBase, target: str | None) -> str | None:
    """The observable that answers a target: itself, or the first one its step asks for."""
    if is_step(target):
        asks = find(rules, target)[1].get("asks")
        return str(asks[0]) if asks else None
    return target.removeprefix(AGAIN) if target else None


def holds(view: Assessment, condition: Any) -> bool | None:
    """Whether a condition of a rule is true, false or not known."""
    return program(view.known.rules).verdict_on(read(condition), view.known)


def begun(state: CaseState, key: str) -> bool:
    """Whether a step of this procedure has been asked."""
    return any(target.startswith(f"{key}/") for target in state.asked)


def open_step(state: CaseState, view: Assessment, key: str) -> Step | None:
    """The next step of a procedure, None when it is through."""
    steps: list[Step] = view.known.rules.procedures[key]["steps"]
    for step in steps:
        target = f"{key}/{step['id']}"
        times = state.asked.get(target, 0)
        passed = times and target not in state.again and (target != state.expecting or times >= MOST_ASKED)
        open_yet = target not in state.answered and not passed and "by" not in step
        if open_yet and wanted(state, view, key, step):
            return step
    return None


def wanted(state: CaseState, view: Assessment, key: str, step: Step) -> bool:
    """Whether a step has to be done: not known already, not barred, and its occasion given."""
    if step.get("known") and holds(view, step["known"]) is True:
        return False
    if step.get("only_if") and holds(view, step["only_if"]) is not True:
        return False
    if step.get("after") and not _followed(state, view, key, step):
        return False
    if any(state.asked.get(question) for question in step.get("led_by", ())):
        return False  # that question's own steps led through it
    if step.get("water_parts") and _unthinned(state, view, key, step):
        return False
    return not barred(view, step)


def _unthinned(state: CaseState, view: Assessment, key: str, step: Step) -> bool:
    """Whether the step before, which thins the sample, was passed over: its number is not to be doubled."""
    steps = view.known.rules.procedures[key]["steps"]
    before = f"{key}/{steps[steps.index(step) - 1]['id']}"
    let_go = state.asked.get(before) and before not in state.answered | state.again
    return before in state.skipped or bool(let_go and before != state.expecting)


def _followed(state: CaseState, view: Assessment, key: str, step: Step) -> bool:
    """Whether a step this one comes after was done, or is still open and done by this one."""
    steps = view.known.rules.procedures[key]["steps"]
    by_this = [s for s in steps if s.get("by") == step["id"]]
    done = any(f"{key}/{name}" in state.answered - state.skipped for name in step["after"])
    return done or any(wanted(state, view, key, s) for s in by_this)


def barred(view: Assessment, step: Step) -> bool:
    """Whether a step must not be done here."""
    return bool(step.get("unless")) and holds(view, step["unless"]) is True


def counted(state: CaseState, view: Assessment, key: str) -> tuple[int, int]:
    """Which step this is, from 1, and of how many as things stand."""
    steps = view.known.rules.procedures[key]["steps"]
    done = sum(f"{key}/{s['id']}" in state.answered for s in steps)
    left = sum(
        f"{key}/{s['id']}" not in state.answered and "by" not in s and wanted(state, view, key, s)
        for s in steps
    )
    return done + 1, done + left


def going_on(state: CaseState, view: Assessment) -> str | None:
    """The procedure that has been begun and is neither through nor left; the one begun last."""
    for target in reversed([*state.asked]):
        key = target.partition("/")[0]
        if is_step(target) and key in view.known.rules.procedures and key not in state.concluded:
            return key
    return None


def contradiction(state: CaseState, view: Assessment) -> str | None:
    """A contradiction that has not been looked into yet, the first by rank."""
    rules = view.known.rules
    if any(rules.cautions[c]["level"] in {"emergency", "stop"} for c in view.cautions):
        return None  # people first; a reading can wait
    items = sorted(rules.procedures.items(), key=lambda item: (item[1].get("rank", 5), item[0]))
    for key, item in items:
        fresh = item["kind"] == "contradiction" and key not in state.concluded and not begun(state, key)
        if fresh and holds(view, item["when"]) is True:
            return key
    return None


def order_of(view: Assessment) -> str | None:
    """The order of the measurement that the strength in force stands on."""
    for key, item in view.known.rules.procedures.items():
        if item["kind"] == "order" and {*item["stands_on"]} & {*view.strength.parents}:
            return key
    return None


def untold(state: CaseState, view: Assessment, key: str) -> list[Step]:
    """Steps of an order of which nobody has said, nor was led to do, that they are done."""
    steps: list[Step] = view.known.rules.procedures[key]["steps"]
    return [step for step in steps if "short" in step and wanted(state, view, key, step)]


def forbids(view: Assessment) -> str | None:
    """Why no recipe may stand on this reading: a needed step that is not done and must not be."""
    key = order_of(view)
    for step in view.known.rules.procedures[key]["steps"] if key else []:
        told = step.get("known") and holds(view, step["known"]) is True
        if step.get("needed") and not told and barred(view, step):
            return str(step["instead"])
    return None


def called(rules: RuleBase, text: str) -> str | None:
    """The procedure a line asks for by name."""
    low = " ".join(text.lower().strip(" .!?").split())
    return next((k for k, item in rules.procedures.items() if low in item.get("called", ())), None)


def offered(state: CaseState, view: Assessment) -> list[str]:
    """What a person may type to be led through a check that has an occasion here."""
    found = []
    for key, item in view.known.rules.procedures.items():
        fresh = item["kind"] == "instrument" and key not in state.concluded and "when" in item
        if fresh and holds(view, item["when"]) is True:
            found.append(str(item["called"][0]))
    return found


def end_of(view: Assessment, key: str) -> dict[str, Any] | None:
    """What follows from a procedure that is through: the first end that holds."""
    for end in view.known.rules.procedures[key].get("ends", []):
        if "when" not in end or holds(view, end["when"]) is True:
            return dict(end)
    return None


def end_called(rules: RuleBase, key: str, name: str) -> dict[str, Any]:
    """One end of a procedure by its id."""
    return dict(next(e for e in rules.procedures[key]["ends"] if e["id"] == name))


def made(rules: RuleBase, leaves: Iterable[str], said: str) -> Iterator[Fact]:
    """The facts of ``"id: value"``, ``"not id: value"`` and ``"quantity: 0"``."""
    for leaf in leaves:
        denied = leaf.startswith("not ")
        key, _, value = (part.strip() for part in leaf.removeprefix("not ").partition(":"))
        item = rules.observables[key]
        if item.kind == "quantity":
            yield Fact(key, float(value), item.unit, said=said)
        else:
            yield Fact(key, value or None, None, "ruled_out" if denied else "present", said=said)


def multiplied_back(step: Step, fact: Fact, zero: float) -> Fact:
    """A reading of a sample mixed with water, as the whole sample would have shown it.

    Args:
        step: whose ``water_parts`` say how many parts of water went to one of sample.
        fact: the reading as taken.
        zero: what the instrument shows on that water, in the reading's unit.
    """
    parts = step.get("water_parts", 0.0)
    if not parts or not isinstance(fact.value, float | int):
        return fact
    whole = zero + (fact.value - zero) * (1.0 + parts)
    return Fact(fact.id, whole, fact.unit, fact.status, fact.firm, fact.said)


def says_done(text: str, step: Step) -> bool:
    """Whether a line says in its own words that a step is done: it names what the step tells to do."""
    words = [normal(w) for w in text.split()]
    if not words or len(words) > 12 or {*words} & _NOT:
        return False
    wanted_words = {stem_en(normal(w.strip(".,;:"))) for w in str(step["do"]).split() if len(w) > 2} - _SMALL
    return bool({stem_en(w.strip(".,;:!")) for w in words} & wanted_words)


def picked(text: str, many: int) -> set[int] | None:
    """Which of `many` listed steps are done, from 0: "all", "none", "1 and 3", "all but 2"; else None."""
    low = text.lower().strip(" .!")
    told = told_done(text)
    if told == ALL or (told == many and told):
        return {*range(many)}
    words = low.replace(",", " ").replace("and", " ").replace("&", " ").split()
    numbers = {int(w) - 1 for w in words if w.isdigit()}
    rest = [w for w in words if not w.isdigit()]
    if not numbers and rest and rest[0] in _ALL and {*rest} <= _ALL | _WORDS:
        return {*range(many)} if many == 2 or "both" not in rest else None
    first = first_of(low.split())
    if first is not None:
        return {*range(first)} if first <= many else None
    if not numbers and rest and rest[0] in _NONE and {*rest} <= _NONE | _WORDS:
        return set()
    if any(n not in range(many) for n in numbers):
        return None
    if numbers and not rest:
        return numbers
    if numbers and {*rest} <= _ALL | _BUT | _WORDS:
        return {*range(many)} - numbers if {*rest} & _BUT else numbers
    return None


_ALL = {"all", "yes", "y", "yep", "yeah", "everything", "both", "ja", "alles"}
_NONE = {"none", "no", "n", "nope", "nothing", "nein", "keins"}
_BUT = {"but", "except", "not", "without"}
_NOT = {
    *("not", "no", "cant", "cannot", "couldnt", "wont", "havent", "didnt", "dont", "never", "nicht", "kein"),
    *("how", "what", "why", "where", "which", "should", "must", "can"),
}
_SMALL = {"the", "and", "for", "from", "with", "you", "that", "this", "let", "one", "now", "off", "are"}
_WORDS = {"of", "them", "done", "the", "it", "these", "those", "is", "are", "were", "was", "i", "did", "that"}
