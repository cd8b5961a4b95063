"""Figures that cannot be, and figures that want a second look before they are written down."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.errors import BadQuantity
from advisor.logbook.desk import Desk
from advisor.logbook.readings import Reading
from advisor.showing import show

#: Where used coolant usually lies, in canonical units. Outside it a slip is likelier than the truth, so
#: one more look is asked for. Common practice, no source.
USUAL: dict[str, tuple[float, float]] = {
    "ph": (6.5, 10.5),
    "concentration": (0.005, 0.25),
    "refractometer_reading": (0.5, 25.0),
    "nitrite": (0.0, 200.0),
    "fluid_temperature": (5.0, 50.0),
    "sump_hardness": (0.0, 3000.0),
    "tramp_oil_share": (0.0, 0.3),
    "sump_fill": (0.1, 1.1),
}
#: A step from one reading to the next that is more than a week usually brings. Common practice, no source.
STEP: dict[str, float] = {"ph": 1.0, "concentration": 0.05, "refractometer_reading": 5.0}


def refuse_impossible(desk: Desk, observable: str, value: float) -> None:
    """Refuse a figure outside what is possible at all.

    Raises:
        BadQuantity: says what would be right.
    """
    item = desk.rules.observables[observable]
    low, high = item.limits or (float("-inf"), float("inf"))
    if not low <= value <= high:
        unit = item.unit or ""
        span = f"{show(low, unit)} to {show(high, unit)}"
        what = f"{_said(item.name, value, unit)} is not possible"
        raise BadQuantity(what, value=value, right=f"give {span}")


def doubts_about(desk: Desk, sump: str, readings: Sequence[Reading]) -> list[str]:
    """What should be looked at again before these readings are written, as sentences."""
    found = _swapped(readings)
    if found:
        return found
    states = desk.book.states(sump)
    for reading in readings:
        value = reading.result
        if value is None:
            continue
        item = desk.rules.observables[reading.observable]
        unit = item.unit or ""
        low, high = USUAL.get(reading.observable, (float("-inf"), float("inf")))
        if not low <= value <= high:
            found.append(
                f"{_said(item.name, value, unit)} is far from what used coolant shows "
                f"({show(low, unit)} to {show(high, unit)})."
            )
            continue
        before = states.get((sump, reading.observable))
        step = STEP.get(reading.observable)
        if before and step and not reading.mark and abs(value - before.result) > step + 1e-9:
            last = show(before.result, unit)
            found.append(f"{_said(item.name, value, unit)} is a big step from the last one, {last}.")
    return found


def _said(name: str, value: float, unit: str) -> str:
    return show(value, unit) if unit == "pH" else f"{name[0].upper()}{name[1:]} {show(value, unit)}"


def _swapped(readings: Sequence[Reading]) -> list[str]:
    """Whether reading and pH were given the wrong way round: told by a pH that only fits as a reading."""
    glass = next((r.raw for r in readings if r.context.raw_unit == "°Bx"), None)
    ph = next((r.raw for r in readings if r.observable == "ph"), None)
    if glass is None or ph is None:
        return []
    if ph < 7.5 and 7.5 <= glass <= 10.5:
        return [f"Reading {glass:g} and pH {ph:g} look the wrong way round (the reading comes first)."]
    return []
