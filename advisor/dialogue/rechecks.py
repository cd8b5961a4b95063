"""A recipe walked to its end: steps ticked, the readings it asks for, and what follows from them."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from advisor.dialogue import acting, following, phrases, phrases_led, policy, poured, procedures, ticking
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import ANEW, FROM_FIX, LATEST, CaseState, fact_data
from advisor.dialogue.glance import recipe_at_a_glance
from advisor.dialogue.recipe_screens import step_row
from advisor.dialogue.recipes import closing, recipe
from advisor.dialogue.screens import caution_blocks
from advisor.dialogue.understanding import Understood
from advisor.inference.assess import Assessment
from advisor.knowledge.facts import Fact, number
from advisor.mixing.glass import Glass
from advisor.mixing.recipe import refuse
from advisor.quantities import show

if TYPE_CHECKING:
    from advisor.dialogue.session import Session

_NUMBER = re.compile(
    r"(it |now |reads? |shows? |at |about |is |got |reading )*\d+([.,]\d+)?\s*"
    r"(%|percent|per cent|°?brix|°?bx|(on|off|straight off) the glass|on the scale)?"
)
#: Said to a step that waits, these mean that it is done; those leave it open whether it is.
_DONE_TOO = {"ok", "okay", "k", "y", "yes", "yep", "yeah", "ja", "ok done", "yes done", "doen", "donw", "dne"}
#: Pails counted out in between.
_COUNT = re.compile(
    r"(?:poured |put |added )?\d+ (?:of \d+ )?(?:pails?|buckets?|eimer)(?: (?:in|poured|so far|done))*"
)
_NEXT = {"next", "next step", "next one", "go on", "continue", "weiter"}
#: How a line begins that tells the reading after a fix.
READ_AGAIN = ("read again", "recheck", "reads now", "now reads", "reading now", "after that it reads")
#: A reading so many times what was there before and what is expected is doubted once; practice, no source.
SLIP = 4.0
_STRENGTH = {"refractometer_reading", "concentration", "titration"}
_GLASS = ("brix", "bx", "glass", "scale")


class Follower:
    """Handles the lines of one session that carry a recipe out."""

    def __init__(self, session: Session, state: CaseState) -> None:
        self.session, self.state = session, state

    def answer(self, text: str) -> list[Block] | None:
        """What a reading means while a recipe waits for one; None for any other line."""
        state = self.state
        if state.expecting == following.POURED:
            return poured.answered(self.session, state, text)
        walking = state.expecting is None and bool(state.steps or state.passed or state.acts)
        said = " ".join(text.lower().strip(" .!").split())
        if walking and said in _DONE_TOO:
            return self.tick()
        if walking and said in _NEXT:
            return [Block("ask", phrases_led.DONE_OR_SKIP)]
        if state.expecting is None and said in _DONE_TOO | _NEXT:  # heard; which step it is about is shown
            step = self.where() or (acting.where(self.session, state) if state.verdict else [])
            if step:
                return [*step, Block("text", phrases_led.HOW_TICK)]
        many = ticking.told_done(text) or 0
        if many > 1:
            return self.tick() if state.expecting else ticking.tick_several(self.session, many)
        due = state.expecting == following.RECHECK or self.reading_due()
        if state.expecting is None and following.stands(state) and _COUNT.fullmatch(said):
            return [
                *poured.counted(self.session, state.recipe or {}, said),
                *self.where(),
                Block("text", phrases_led.HOW_TICK),
            ]
        waits = due or (following.stands(state) and state.expecting is None)
        if waits and _NUMBER.fullmatch(text.lower().strip(" .!")):
            return self.recheck(text)
        if not waits:
            return None
        got = self.session.understood(text)
        read = any(f.id in _STRENGTH and f.status == "present" for f in got.facts)
        return self.recheck(text) if read and not got.corrections and not got.requests else None

    def reading_due(self) -> bool:
        """Whether the step that comes now is a reading of the recipe."""
        step = following.current_step(self.state)
        points = (self.state.recipe or {}).get("readings") or []
        return bool(self.state.steps) and step is not None and any(p["step"] == step for p in points)

    def tick(self, *, passed: bool = False) -> list[Block]:
        """Tick the next step of the recipe, or pass it over, and show the one after it; else of the list."""
        session, state = self.session, self.state
        made = state.recipe
        if not made or made["refused"]:
            return acting.tick(session, state, passed=passed)
        step = following.current_step(state)
        if state.expecting == following.RECHECK:
            return [Block("ask", phrases_led.READ_IT)]
        if step is None:
            return acting.tick(session, state, passed=passed) if state.results else self.ask()
        kind = str((made.get("basis") or {}).get("kind"))
        view = session.view(state=state)
        if not following.begun(state) and following.outdated(state, view, kind):
            return [Block("text", phrases_led.NOT_BY_THIS), *session.repeat()]
        closed = closing(view, kind)
        if closed is not None:
            return [*caution_blocks(session.rules, [closed]), Block("text", phrases_led.STEPS_CLOSED)]
        over = {"skipped": True} if passed else {}
        session.record.append("step_done", {"step": step, "recipe": state.recipe_event, **over})
        number, total = following.numbered(made, step)
        said = phrases_led.STEP_PASSED if passed else phrases.STEP_DONE
        self.state = session.state()
        points = made.get("readings") or []
        through = following.current_step(self.state) is None or (points and step >= points[-1]["step"])
        told = Block("text", said.format(number=number, total=total))
        return [told, *(self.ask() if through else self.where())]

    def resumed(self) -> list[Block]:
        """Where a recipe stands on coming back: its next step, or the question for the reading after it."""
        made, state = self.state.recipe, self.state
        if not made or made["refused"] or following.is_spent(state):
            return []
        step = following.current_step(state)
        return self.where() if state.steps and step is not None else self.ask()

    def going_on(self) -> list[Block]:
        """The step that waits, of a recipe or of the list, once either is being walked."""
        if self.state.steps or self.state.passed:
            step = self.where()
            if step:
                return step
        return acting.going_on(self.session, self.state)

    def where(self) -> list[Block]:
        """The step that comes now."""
        step = following.current_step(self.state)
        if step is None:
            return []
        blocks = step_row(self.state.recipe or {}, step)
        return [*blocks, Block("ask", phrases_led.READ_IT)] if self.reading_due() else blocks

    def ask(self) -> list[Block]:
        """Ask for the reading after the fix."""
        self.session.last_move = policy.Move("ask", following.RECHECK)
        self.session.record.append("asked", {"move": "ask", "target": following.RECHECK})
        return [Block("ask", phrases_led.AFTER_ALL)]

    def recheck(self, text: str) -> list[Block]:
        """Compare a reading with what the recipe expects; a refused one wanted just that."""
        got = self._read(text)
        if isinstance(got, list):
            return got
        session, state = self.session, self.state
        made = state.recipe or {}
        if made.get("refused"):
            round_it = Fact("circulated", "yes", None, said=text)
            known = "circulated" in session.rules.observables
            return session.take(
                text, replace(got, facts=(*got.facts, *([round_it] if known else []))), state, answered=True
            )
        point = following.expected_at(state)
        view = session.view([*state.facts, *(replace(f, event=LATEST) for f in got.facts)], state)
        value = view.strength.value
        if not any(f.id in _STRENGTH for f in got.facts):
            return self._unusable(text, got)
        if self._slipped(text, point, value):
            return self._doubted(text, point, got)
        if value is None or point is None:
            session.record.append("recheck", {"recipe": state.recipe_event}, visit=state.visit + 1)
            session.record.said(text, got, state.expecting, answered=True)
            return [Block("text", phrases.NOTHING_TO_COMPARE)]
        result = following.result_of(state, point, value, view)
        return self._judged(text, got, point, value, result, view)

    def _unusable(self, text: str, got: Understood) -> list[Block]:
        """What was wrong with a line that gives no reading, and what would be right in the unit in use."""
        said = re.sub(rf"^({'|'.join(READ_AGAIN)})", "", text.strip(" .!"), flags=re.IGNORECASE).strip()
        if not said:
            return self.ask()
        self.session.record.said(text, Understood(unused=(text,)), self.state.expecting, answered=False)
        unit = "brix" if self._on_the_glass() else "%"
        wrong = [Block("text", why) for why in got.wrong]
        return wrong or [Block("text", phrases_led.NOT_READ.format(said=said[:40], unit=unit))]

    def _slipped(self, text: str, point: dict[str, Any] | None, value: float | None) -> bool:
        """Whether a reading looks like one without its point; said twice, it is believed."""
        most = max((self.state.recipe or {}).get("strength_before") or 0.0, (point or {}).get("high") or 0.0)
        typed = self.session.record.words.get(self.state.said[-1] if self.state.said else 0)
        return value is not None and most > 0.0 and value > SLIP * most and typed != text

    def _doubted(self, text: str, point: dict[str, Any] | None, got: Understood) -> list[Block]:
        self.session.record.said(text, Understood(unused=(text,)), self.state.expecting, answered=False)
        read = next(f for f in got.facts if f.id in _STRENGTH)
        unit = self.session.rules.observables[read.id].unit or "1"
        shown, tenth = (show(v, unit) for v in ((number(read) or 0.0), (number(read) or 0.0) / 10))
        return [Block("ask", phrases_led.A_SLIP.format(shown=shown, tenth=tenth))]

    def _on_the_glass(self) -> bool:
        """Whether the readings of this case are taken off the scale."""
        return any(f.id == "refractometer_reading" for f in self.state.facts)

    def _read(self, text: str) -> Understood | list[Block]:
        """The reading in a line, on the glass or as strength; the question which of them it is."""
        low, view = text.lower(), self.session.view(state=self.state)
        said = "%" in low or "percent" in low
        read = self._on_the_glass() or view.known.choice("factor_applied") == "no"
        factor = view.known.quantity("refractometer_factor") or 1.0
        on_the_glass = any(word in low for word in _GLASS) or (read and not said)
        if not said and not on_the_glass and abs(factor - 1) > 0.01:
            number = "".join(c for c in text if c.isdigit() or c in ".,").strip(".,") or "it"
            return [Block("ask", phrases.WHICH_READING.format(number=number))]
        got = self.session.understood(text, "refractometer_reading" if on_the_glass else "concentration")
        if not on_the_glass and any(f.id == "concentration" for f in got.facts):
            settled = Fact("factor_applied", "yes", None, said=text)  # per cent after a fix is the strength
            got = replace(got, facts=(*got.facts, settled))
        return got

    def _judged(
        self,
        text: str,
        got: Understood,
        point: dict[str, Any],
        value: float,
        result: str,
        view: Assessment,
    ) -> list[Block]:
        """Store a reading with what it came to, tell it, and go on."""
        session, state = self.session, self.state
        made = state.recipe or {}
        first = made["add_l"] if result == following.ON_THE_WAY else point["poured_l"]
        filled = following.fill_after(made, first, view.known.quantity("sump_volume"))
        open_pour = result == following.MISSED and bool(_not_ticked(state, point))
        later = open_pour or result in {following.SO_FAR, following.ON_THE_WAY}
        told = filled is not None and not later
        level = (Fact("sump_fill", filled, "fraction", said=FROM_FIX),) if told else ()
        if result == following.SO_FAR:
            session.record.append("step_done", {"step": point["step"], "recipe": state.recipe_event})
        else:
            data = _data(state, point, value, result) | {"asked": open_pour}
            session.record.append("recheck", data, visit=state.visit + 1)
        session.record.said(text, replace(got, facts=(*got.facts, *level)), state.expecting, answered=True)
        taken = [] if open_pour else _unticked(state, point, result)
        blocks = taken + result_blocks(
            view, point, value, result, Glass.of(made.get("glass"))
        )
        if result == following.MISSED and following.AFTER_A_MISS in state.concluded:
            session.record.append("concluded", {"procedure": following.AFTER_A_MISS, "end": ANEW})
        if result in {following.MISSED, following.OUTSIDE}:
            return blocks + session.go_on()
        self.state = session.state()
        return blocks + (self.where() or acting.going_on(session, self.state))


def recipe_anew(session: Session, state: CaseState, view: Assessment, kind: str | None) -> list[Block]:
    """Work out, store and tell a recipe; where one stands already, say that this one takes its place."""
    stood = following.stands(state)
    aim = session.shop.aim(state.sump, state.facts)
    if kind is None:
        held = str((state.recipe or {})["basis"]["kind"])
        made = following.kept(refuse(held, f"a recipe to {held}", phrases_led.NO_RECIPE_NOW), view, held)
        blocks = [Block("head", phrases_led.NO_RECIPE_NOW, "RECIPE")]
    else:
        made = following.kept(recipe(view, kind, session.shop.display, aim), view, kind)
        blocks = recipe_at_a_glance(view, made, session.shop.display)
        blocks = [Block("text", phrases_led.RECIPE_ANEW), *blocks] if stood else blocks
    if "basis" in made:
        made["basis"]["wanted"] = following.wanted(state)
    session.record.append("recipe", {"recipe": made, "action": None})
    return blocks


def _not_ticked(state: CaseState, point: dict[str, Any]) -> list[int]:
    """Numbers of the steps before a reading that nobody ticked."""
    made = state.recipe or {}
    acts = [i for i in following.doing(made) if i < int(point["step"]) and i not in state.steps]
    return [following.numbered(made, i)[0] for i in acts]


def _unticked(state: CaseState, point: dict[str, Any], result: str) -> list[Block]:
    """The steps before a reading that nobody ticked, where the reading is judged as if all were done."""
    left = _not_ticked(state, point)
    if not left or result in {following.SO_FAR, following.ON_THE_WAY}:
        return []
    if len(left) == 1:
        return [Block("text", phrases_led.NOT_TICKED_ONE.format(step=left[0]))]
    return [Block("text", phrases_led.NOT_TICKED.format(first=left[0], last=left[-1]))]


def _data(state: CaseState, point: dict[str, Any], value: float, result: str) -> dict[str, Any]:
    return {
        "recipe": state.recipe_event,
        "result": result,
        "strength": value,
        "poured_l": point["poured_l"],
        "predicted": point["strength"],
        "low": point["low"],
        "high": point["high"],
    }


def result_blocks(
    view: Assessment, point: dict[str, Any], value: float, result: str, glass: Glass
) -> list[Block]:
    """A reading against what was predicted, in one line, both on the glass too where that differs."""
    held = view.known.quantity("refractometer_reading")
    shown = held is not None and "refractometer_reading" in view.strength.parents
    got = show(value, "fraction") + (f" ({held:g} on the glass)" if shown else "")
    span = f"{point['low'] * 100:.1f} to {point['high'] * 100:.1f} %"
    aimed = f"{point['strength'] * 100:.1f} %"
    if shown and not glass.plain:
        read = glass.between(point["low"], point["high"])
        span += f" ({read})" if result == following.SO_FAR else f", {read}"  # the others stand in brackets
        aimed += glass.beside(point["strength"])
    label, text = phrases_led.RESULTS[result]
    return [Block("head", text.format(got=got, span=span, aimed=aimed), label)]


def settle(session: Session) -> list[Block]:
    """After the second reading: believed, it shows the fix worked, or what the miss says about the sump."""
    state = session.state()
    view = session.view(state=state)
    last, made = state.results[-1], state.recipe or {}
    value = view.strength.value if view.strength.value is not None else last["strength"]
    if last["low"] <= value <= last["high"]:
        inside = view.window.low <= value <= view.window.high
        result = following.WORKED if inside else following.OUTSIDE
        _confirm(session, last, value, result)
        return _ended(session, following.Told("spoiled"))
    _confirm(session, last, value, following.MISSED)
    factor = view.known.quantity("refractometer_factor") or 1.0
    apart = abs(value - last["strength"]) > following.SAME_WITHIN * factor
    told = [Block("text", phrases_led.SECOND_COUNTS)] if apart else []
    misses = sum(bool(r.get("confirmed")) and r["result"] == following.MISSED for r in state.results) + 1
    volume = view.known.quantity("sump_volume")
    return told + _ended(session, following.told_by(made, last["poured_l"], value, volume, factor, misses))


def _confirm(session: Session, last: dict[str, Any], value: float, result: str) -> None:
    data = {**last, "result": result, "strength": value, "confirmed": True}
    for key in ("event", "of", "asked"):
        data.pop(key, None)
    session.record.append("recheck", data)


def _ended(session: Session, told: following.Told) -> list[Block]:
    from advisor.dialogue.guiding import end_blocks

    facts = []
    if told.volume_l is not None:
        facts.append(Fact("sump_volume", told.volume_l, "L", said=FROM_FIX))
    if told.fill is not None:
        facts.append(Fact("sump_fill", told.fill, "fraction", said=FROM_FIX))
    data = {
        "procedure": following.AFTER_A_MISS,
        "end": told.end,
        "facts": [fact_data(f, "") for f in facts],
    }
    session.record.append("concluded", data)
    blocks = end_blocks(session, procedures.end_called(session.rules, following.AFTER_A_MISS, told.end))
    view = session.view(state=session.state())
    value = view.strength.value
    inside = value is not None and view.window.low <= value <= view.window.high
    missed = told.end not in {*following.CLOSING, "spoiled"}
    return [*blocks, Block("text", phrases_led.INSIDE)] if inside and missed else blocks
