"""From what is known to a recipe: the figures it stands on, what is assumed, and what closes it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from advisor.dialogue import phrases, phrases_led
from advisor.dialogue.blocks import Block
from advisor.dialogue.procedures import forbids
from advisor.errors import BadInput
from advisor.inference.assess import Assessment
from advisor.knowledge.facts import number
from advisor.mixing.balance import run_down
from advisor.mixing.display import METRIC, Display
from advisor.mixing.plan import plan
from advisor.mixing.recipe import Recipe, refuse
from advisor.mixing.request import EVAPORATED
from advisor.quantities import show as shown

_DIRECT = {
    "sump_volume": "sump_volume_l",
    "sump_fill": "fill",
    "pail": "pail_l",
    "cup": "cup_l",
    "weak_mix": "weak_mix",
    "premix": "premix",
    "daily_loss": "daily_loss_l",
    "pump_min_level": "pump_min_fill",
    "pump_flow": "pump_flow_l_min",
    "water_hardness": "water_hardness",
}


#: What a lean sump does while it waits; once it shows, the fix is not left to the losses.
_SHOWS = {"rust", "smell"}


@dataclass(frozen=True, slots=True)
class Need:
    """Something a recipe still needs, and the observable to ask for it."""

    ask: str
    why: str


def needs(view: Assessment, kind: str) -> list[Need]:
    """What has to be asked before a recipe of this kind can be worked out in conversation."""
    known, found = view.known, []
    if kind != "charge":
        if view.strength.ask:
            found.append(Need(view.strength.ask, view.strength.doubt or ""))
        elif view.strength.value is None:
            found.append(Need("refractometer_reading", "the recipe stands on the present strength"))
    wanted = [("sump_volume", "the litres come from the sump's volume")]
    if kind != "charge":
        wanted.append(("sump_fill", "how much room there is decides between filling and draining"))
    wanted.append(("pail", "the recipe is told in the containers you have"))
    if known.choice("sump_level") in {"ok", "overfull"}:  # at the mark is full: said already
        wanted = [(key, why) for key, why in wanted if key != "sump_fill"]
    found += [Need(key, why) for key, why in wanted if not known.values(key) and key not in known.ruled_out]
    return found


def closing(view: Assessment, kind: str) -> str | None:
    """The caution that closes a recipe, or None. What stands from a case before closes every one."""
    rules = view.known.rules
    return next(
        (c for c in view.cautions if c in view.carried or kind in rules.cautions[c].get("closes", [])), None
    )


def shut_by(view: Assessment, kind: str | None) -> str | None:
    """The caution because of which there is no recipe: of this kind, or of any where none is called for."""
    if kind:
        return closing(view, kind)
    closes = {c for c in view.cautions if view.known.rules.cautions[c].get("closes")} | view.carried
    return next((c for c in view.cautions if c in closes), None)


def recipe(view: Assessment, kind: str, show: Display = METRIC, aim: float | None = None) -> Recipe:
    """Work out a recipe, or refuse it with what would lift the refusal.

    Args:
        view: the judged facts.
        kind: thin, strengthen or charge.
        show: how volumes are written in the steps.
        aim: the strength the shop aims for inside its window, a fraction; the middle when None.
    """
    closed = closing(view, kind)
    if closed:
        item = view.known.rules.cautions[closed]
        lifted = item.get("lifted_by") or item["text"]
        lifted = f"{lifted} {phrases_led.STILL_LIFT}" if closed in view.carried else lifted
        return refuse(kind, f"a recipe to {kind}", lifted)
    barred = forbids(view) if kind != "charge" else None
    if barred:
        return refuse(kind, f"a recipe to {kind}", barred)
    known = view.known
    if known.quantity("sump_volume") is None:
        return refuse(kind, f"a recipe to {kind}", phrases.SAY_VOLUME)
    if kind != "charge" and (view.strength.value is None or view.strength.ask):
        doubt = view.strength.doubt or phrases.STRENGTH_UNKNOWN
        lift = {
            "factor_applied": phrases.SAY_FACTOR_USED,
            "refractometer_factor": phrases.GIVE_FACTOR,
        }
        return refuse(
            kind,
            f"a recipe to {kind}",
            f"{doubt[0].upper()}{doubt[1:].rstrip('.')}. "
            f"{lift.get(view.strength.ask or '', 'Read the refractometer and give its factor.')}",
        )
    try:
        return plan(kind, _inputs(view, kind, aim), show)
    except BadInput as trouble:
        return refuse(kind, f"a recipe to {kind}", trouble.sentence())


def _inputs(view: Assessment, kind: str, aim: float | None) -> dict[str, Any]:
    known = view.known
    made: dict[str, Any] = {"window": (view.window.low, view.window.high), "target": aim or _target(view)}
    for key, name in _DIRECT.items():
        value = known.quantity(key)
        if value is not None:
            made[name] = value
    if "fill" not in made and known.choice("sump_level") in {"ok", "overfull"}:
        made["fill"] = 1.0  # told, not assumed
    if kind != "charge":
        made["strength"] = view.strength.value
        made["factor"] = known.quantity("refractometer_factor")
        made["reading"] = known.quantity("refractometer_reading") if made["factor"] else None
    else:
        made["fill"] = None
    if made.get("fill") and made["fill"] > 1:
        made["fill"] = 1.0
    made["fuzzy_line"] = {"instrument: fuzzy_line", "instrument: off_scale"} & {*known.present} != set()
    made["repeated_reading"] = "reading_care: read_twice" in known.present
    made["circulated"] = {"yes": True, "no": False}.get(known.choice("circulated") or "")
    oil = known.status("surface: oil_layer")
    skimmed = "reading_care: skimmed" in known.present
    made["oil_skimmed"] = True if skimmed else None if oil is None else not oil
    made["split"] = known.choice("appearance") in {"separated", "curdled"}
    made["ph_normal"] = {"ok": True, "low": False, "high": False}.get(known.choice("ph_band") or "")
    made["doubtful_emulsion"] = (
        known.status("surface: cream_layer") is True
        or known.choice("age_band") == "old"
        or known.status("jar_layers: cream") is True
    )
    made["cannot_wait"] = any(f.id in _SHOWS for f in known.present.values())
    made["taken_for_granted"] = tuple(_assumed(view, kind))
    return made


def _assumed(view: Assessment, kind: str) -> list[str]:
    known, found = view.known, []
    loose = [
        known.rules.observables[f.id].name
        for f in known.present.values()
        if not f.firm and f.id in {*_DIRECT, "concentration", "refractometer_reading", "refractometer_factor"}
    ]
    if loose:
        found.append(phrases.NOT_SURE_OF.format(what=", ".join(dict.fromkeys(loose))))
    if view.window.assumed:
        found.append(phrases.WINDOW_IS.format(origin=view.window.origin))
    if kind != "charge" and known.choice("circulated") is None:
        found.append(phrases.TAKEN_AS_RUN)
    return found


def _target(view: Assessment) -> float:
    fact = view.known.present.get("target")
    aimed = number(fact) if fact else None
    return aimed if aimed is not None else view.window.middle


def run_down_block(view: Assessment) -> Block | None:
    """What letting the level fall in use would do to the strength, when it is planned and computable.

    The evaporated share of the loss is assumed (common practice, no source) until the log knows it.
    """
    value, fill = view.strength.value, view.known.quantity("sump_fill") or 1.0
    if "proposed_action: run_down" not in view.known.present or not value or fill <= 0.5:
        return None
    then = run_down(value, fill, 0.5, EVAPORATED)
    text = phrases.RUN_DOWN.format(
        now=shown(value, "fraction"), then=shown(then, "fraction"), share=f"{100 * EVAPORATED:.0f}"
    )
    return Block("item", text, "sum")
