"""A sump changed to another product or metal: the plan, what is done of it, and the shop's new figures.

The plan is kept as records: ``planned`` (``to`` product, ``metals``, ``steps``: ids), ``step`` (``step``, and
for a question ``says`` and ``document``, or ``left`` with the reason it was left out), ``finished`` and
``dropped`` (``note``). What is under way is the last ``planned`` that no ``finished`` or ``dropped`` follows.
With the step that fills the sump the shop's row changes (``window``, ``target``), so that the first readings
are reckoned with the new factor; a change of metals alone reaches the shop when it is finished.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput, Refused
from advisor.logbook.readings import FIRST_FILL, Record
from advisor.logbook.records import record
from advisor.logbook.rights import refuse_without_right
from advisor.logbook.worklists import worklists

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: Order in which cautions are shown.
_LEVELS = ("emergency", "stop", "warn", "note")
#: Characters shown of a step that is done.
DONE_SHOWN = 66


@dataclass(frozen=True, slots=True)
class Plan:
    """A changeover under way.

    Attributes:
        sump: its sump.
        to: id of the new product, None when the product stays.
        metals: the metals cut from now on, empty when they stay.
        steps: rows of the list, in order.
        done: id of each step done or left out -> the record that says so.
        planned: the record of the plan.
    """

    sump: str
    to: str | None
    metals: tuple[str, ...]
    steps: tuple[Mapping[str, Any], ...]
    done: Mapping[str, Record]
    planned: Record | None = None

    @property
    def left(self) -> list[Mapping[str, Any]]:
        """Steps that are still to be done."""
        return [step for step in self.steps if step["id"] not in self.done]


def plan(desk: Desk, sump: str, to: str | None, metals: Sequence[str]) -> Plan:
    """The plan for a change to another product, other metals, or both.

    Raises:
        BadInput: nothing would change, or a metal that is not known.
    """
    row = desk.shop.sumps[sump]
    known = desk.rules.observables["workpiece"].answers
    for metal in metals:
        if metal not in known:
            right = f"Use some of {', '.join(known)}."
            raise BadInput(f"{metal!r} is no metal we know", value=metal, right=right)
    same = not metals or set(metals) == set(row.get("figures", {}).get("workpiece", []))
    if (to is None or to == row.get("product")) and same:
        right = "Give another product with --to, or other metals with --metals."
        raise BadInput(f"{desk.name(sump)} would stay as it is", value=sump, right=right)
    target = None if to == row.get("product") else to
    held = [step for step in worklists()["changeover"]["steps"] if _holds(step["when"], target, metals, row)]
    return Plan(sump, target, tuple(metals), tuple(held), {})


def _holds(when: Mapping[str, Any], to: str | None, metals: Sequence[str], row: Mapping[str, Any]) -> bool:
    """Whether a step or caution belongs to this change."""
    change = when.get("change")
    if change == "product" and to is None:
        return False
    if (change == "metal" and not metals) or (when.get("product") == "stays" and to is not None):
        return False
    if "pit" in when and "pit" not in row.get("figures", {}).get("hazard_context", []):
        return False
    return "metal" not in when or bool(set(when["metal"]) & set(metals))


def cautions(desk: Desk, made: Plan) -> list[tuple[str, str, str]]:
    """What to mind first: level, text and source of each caution, the gravest first."""
    row = desk.shop.sumps.get(made.sump, {})
    metals = made.metals or tuple(row.get("figures", {}).get("workpiece", []))
    found = []
    for entry in worklists()["changeover"]["cautions"]:
        if _holds(entry["when"], made.to, metals, row):
            held = desk.rules.cautions[entry["caution"]]
            found.append((held["level"], held["text"], desk.cite(held["sources"])))
    return sorted(found, key=lambda one: _LEVELS.index(one[0]))


def planned(made: Plan, time: str) -> Record:
    """The record that begins a changeover."""
    ids = [step["id"] for step in made.steps]
    data = {"phase": "planned", "to": made.to, "metals": list(made.metals) or None, "steps": ids}
    return record("changeover", made.sump, time, data)


def under_way(desk: Desk, sump: str) -> Plan | None:
    """The changeover of a sump that is neither finished nor dropped, None when there is none."""
    rows = desk.book.records("changeover", sump)
    last = max((n for n, row in enumerate(rows) if row.data["phase"] == "planned"), default=None)
    if last is None or any(row.data["phase"] in ("finished", "dropped") for row in rows[last:]):
        return None
    start = rows[last]
    listed = {step["id"]: step for step in worklists()["changeover"]["steps"]}
    # A step that a later version of the list no longer holds stays in the plan by its id.
    steps = tuple(listed.get(key, {"id": key, "text": key.replace("_", " "), "sources": ["practice"]})
                  for key in start.data["steps"])  # fmt: skip
    done = {row.data["step"]: row for row in rows[last:] if row.data["phase"] == "step"}
    return Plan(sump, start.data.get("to"), tuple(start.data.get("metals") or ()), steps, done, start)


def needed(desk: Desk, sump: str) -> Plan:
    """The changeover under way.

    Raises:
        BadInput: there is none.
    """
    found = under_way(desk, sump)
    if found is None:
        right = f'Begin one: "sumpside changeover {desk.name(sump)} --to PRODUCT".'
        raise BadInput(f"no changeover of {desk.name(sump)} is under way", value=sump, right=right)
    return found


def tick(
    made: Plan, numbers: Sequence[int], time: str, *, says: str | None, document: str | None, note: str | None
) -> list[Record]:
    """Records of steps that were done.

    Args:
        numbers: places in the plan, from 1.
        says, document: what a supplier answered and where that stands, for steps that ask.

    Raises:
        BadInput: no such step, one done already, or a question without its answer.
    """
    asking = [number for number in numbers if _step(made, number).get("ask")]
    if len(asking) > 1:
        right = f"Answer each by itself: --done {asking[0]} --says …"
        raise BadInput(f"steps {', '.join(map(str, asking))} are questions", value=asking[0], right=right)
    rows = []
    for number in numbers:
        step = _step(made, number)
        if step.get("fills"):
            right = "Use --filled: it also puts the new product into the shop's book."
            raise BadInput(f"step {number} fills the sump", value=number, right=right)
        if step.get("ask") and not says:
            right = f'Write it down: --done {number} --says "…" --document "letter of 3 March".'
            raise BadInput(f"what was the answer to step {number}?", value=number, right=right)
        data = {"phase": "step", "step": step["id"], "note": note, "says": says if step.get("ask") else None,
                "document": document if step.get("ask") else None}  # fmt: skip
        rows.append(record("changeover", made.sump, time, data))
    return rows


def leave_out(desk: Desk, made: Plan, number: int, time: str, who: str, reason: str | None) -> Record:
    """The record of a step that is left out, with its reason.

    Raises:
        Refused: `who` may not decide that.
        BadInput: no reason, or no such step.
    """
    step = _step(made, number)
    if step.get("fills"):
        right = "Drop the changeover if it is not filled."
        raise BadInput(f"step {number} fills the sump", value=number, right=right)
    refuse_without_right(desk.shop, who, "leave out a step of a changeover")
    if not reason:
        raise BadInput("why is it left out?", right="Say it with --reason.")
    return record("changeover", made.sump, time, {"phase": "step", "step": step["id"], "left": reason})


def _step(made: Plan, number: int) -> Mapping[str, Any]:
    if not 1 <= number <= len(made.steps):
        right = f"The plan has 1 to {len(made.steps)}."
        raise BadInput(f"there is no step {number}", value=number, right=right)
    step = made.steps[number - 1]
    if step["id"] in made.done:
        raise BadInput(f"step {number} is done already", value=number, right="Give one that is not.")
    return step


def filled(desk: Desk, made: Plan, time: str, who: str, window: str | None, target: str | None) -> Record:
    """The record of the new charge being in; the sump's row changes with it (`changed_row`).

    Raises:
        BadInput: this plan fills nothing, or it is filled already.
        Refused: a step before it is not done, or `who` may not change product and limits.
    """
    place = next((n for n, step in enumerate(made.steps) if step.get("fills")), None)
    if place is None:
        right = "Close it with --finish."
        raise BadInput("this changeover fills no new charge", value=made.sump, right=right)
    step = _step(made, place + 1)
    refuse_without_right(desk.shop, who, f"change product and limits of {desk.name(made.sump)}")
    _refuse_open(made, made.steps[:place])
    data = {"phase": "step", "step": step["id"], "to": made.to, "window": window, "target": target}
    return record("changeover", made.sump, time, data)


def _refuse_open(made: Plan, steps: Sequence[Mapping[str, Any]]) -> None:
    """Refuse to go on while one of these steps is not done."""
    places = [str(n) for n, step in enumerate(made.steps, start=1) if step in steps and step in made.left]
    if places:
        are, them = ("step {} is", "it") if len(places) == 1 else ("steps {} are", "them")
        right = f"Tick {them} with --done N, or leave one out with --leave N --reason (a supervisor)."
        raise Refused(f"{are.format(', '.join(places))} not done", value=made.sump, right=right)


def refuse_unready(desk: Desk, made: Plan, who: str) -> None:
    """Refuse to finish before everything is done and read, or by somebody who may not.

    Raises:
        Refused: with what is missing.
    """
    refuse_without_right(desk.shop, who, f"close the changeover of {desk.name(made.sump)}")
    _refuse_open(made, made.steps)
    fill = next((made.done[step["id"]] for step in made.steps if step.get("fills")), None)
    wanted = () if fill is None else (("concentration", "strength"), ("ph", "pH"))
    lacking = [name for key, name in wanted if fill is not None and not _read(desk, made, key, fill)]
    if lacking:
        right = f'Read and write: "sumpside log {desk.name(made.sump)} 5.2 9.3 first fill".'
        what = f"no {' and no '.join(lacking)} of the first fill is in the book"
        raise Refused(what, value=made.sump, right=right)


def _read(desk: Desk, made: Plan, observable: str, fill: Record) -> bool:
    """Whether a first fill was read since it was in; a reading without factor counts as one of strength."""
    since = fill.time
    names = (observable, "refractometer_reading") if observable == "concentration" else (observable,)
    return any(r.mark == FIRST_FILL for name in names for r in desk.book.of(made.sump, name, since=since))


def changed_row(desk: Desk, made: Plan, window: str | None, target: str | None) -> dict[str, Any]:
    """The sump's row with its new product, metals and limits; limits of the old product do not stay.

    Raises:
        BadInput: window or target cannot be read, or do not fit each other.
    """
    from advisor.quantities import parse, parse_window

    row = dict(desk.shop.sumps[made.sump])
    figures: dict[str, Any] = dict(row.get("figures", {}))
    written: dict[str, Any] = dict(row.get("written", {}))
    if made.to is not None:
        row["product"] = written["product"] = made.to
        row["aim"] = None
        for held, key in ((figures, "target"), (written, "target"), (written, "window")):
            held.pop(key, None)
    if made.metals:
        figures["workpiece"] = written["metals"] = list(made.metals)
    if window:
        low, high = (end.value for end in parse_window(window, "fraction"))
        figures["target"], written["window"] = ([low, high] if low != high else low), window
    if target:
        row["aim"], written["target"] = parse(target, "fraction").value, target
        span: Any = figures.get("target")
        if isinstance(span, list) and not span[0] <= row["aim"] <= span[1]:
            right = "Give a target inside the window."
            raise BadInput(f"the target {target} lies outside the window", value=target, right=right)
        sheet = desk.shop.products.get(row.get("product") or "", {}).get("figures", {}).get("target")
        if not (isinstance(sheet, list) and sheet[0] <= row["aim"] <= sheet[1]):
            figures.setdefault("target", row["aim"])
    return {**row, "figures": figures, "written": written}


def lines(desk: Desk, made: Plan, *, why: bool = False) -> list[str]:
    """The plan as lines: done steps with a cross, questions with what was answered."""
    held = []
    for number, step in enumerate(made.steps, start=1):
        row = made.done.get(step["id"])
        box = "[ ]" if row is None else "[-]" if row.data.get("left") else "[x]"
        tail = f" [{desk.cite(step['sources'])}]" if why else ""
        text = f"{step['text']}{tail}"
        if row is not None and len(text) > DONE_SHOWN:
            text = f"{text[:DONE_SHOWN].rsplit(' ', 1)[0]} …"
        held.append(f"{number:>2} {box} {text}")
        if row is not None:
            data = row.data
            told = [data.get("says"), data.get("document"), data.get("note")]
            told += [f"left out: {data['left']}"] if data.get("left") else []
            if any(told):
                held.append("       " + "; ".join(str(part) for part in told if part))
    return held


def headline(desk: Desk, made: Plan) -> str:
    """What is changed, in a few words."""
    parts = []
    if made.to is not None:
        parts.append("to " + str(desk.shop.products.get(made.to, {}).get("name", made.to)))
    if made.metals:
        parts.append("for " + ", ".join(metal.replace("_", " ") for metal in made.metals))
    return f"{desk.name(made.sump)} {' '.join(parts)}"


def all_under_way(desk: Desk) -> list[Plan]:
    """Every changeover under way, in the shop's order."""
    begun = {row.sump for row in desk.book.records("changeover")}
    found = [under_way(desk, sump) for sump in desk.shop.sumps if sump in begun]
    return [made for made in found if made is not None]
