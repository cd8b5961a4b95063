"""A new drum checked before any of it goes into a sump: date, look, smell, and a jar of fresh mix.

The jar is compared with the product's sheet and with the last drum. A difference is told only where it is
larger than measuring explains (95 %): the made-up strength, the reading and the factor each wander by
themselves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from math import hypot
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput
from advisor.logbook.worklists import worklists
from advisor.mixing.instruments import FACTOR_SD, READING_SD
from advisor.mixing.sump_volume import ADDED_SD
from advisor.showing import show

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.readings import Record

USE, ASIDE, UNFINISHED = "use", "aside", "unfinished"
#: Parts without which a drum is not called fit; common practice, no source.
NEEDED = ("look", "mixed", "reading", "ph")
#: Two-sided 95 % point of the normal distribution.
SURE = 1.96
#: Words for a smell as it should be.
USUAL_SMELL = ("normal", "ok", "okay", "fine", "usual", "as always", "none", "mild")
#: Days of a month on the average of 400 years (Gregorian calendar).
MONTH_DAYS = 365.2425 / 12


@dataclass(frozen=True, slots=True)
class Finding:
    """What one part of the check came to.

    Attributes:
        about: date, look, mix, smell, reading, ph.
        fits: whether it is as it should be.
        text: in a sentence.
        sources: ids of what the comparison leans on.
    """

    about: str
    fits: bool
    text: str
    sources: tuple[str, ...]


#: Parts of the check, in order, and the question for each.
PARTS = {
    "made": "Date it was made, such as 2026-03-01",
    "best_before": "Best-before date",
    "look": "Look of the concentrate (normal, layered, thick, frozen_once, old)",
    "smell": "Smell of the concentrate (normal, or what it is like)",
    "mixed": "Strength the jar was made up to, such as 6 %",
    "reading": "Reading of the jar on the glass, Brix",
    "water": "Reading of your plain water, Brix",
    "ph": "pH of the jar",
    "mix_look": "Look of the jar after 15 minutes (normal, curdled, separated)",
}


def compare(desk: Desk, product: str, told: Mapping[str, Any]) -> list[Finding]:
    """Compare what was seen and read with the sheet and the last drum.

    Args:
        told: keys of `PARTS` as far as they are known; dates as ISO text, ``mixed`` a fraction, ``reading``
            and ``water`` °Bx; ``ph_method`` is strip or meter.
    """
    last = last_drum(desk, product)
    found = [*_dates(desk, told), *_looks(told)]
    found += list(_factor(desk, product, told, last))
    return found + list(_ph(desk, product, told, last))


def proposed(found: list[Finding], told: Mapping[str, Any]) -> str:
    """The outcome that the findings call for; what was not looked at is never found fit."""
    if not all(one.fits for one in found):
        return ASIDE
    return USE if all(told.get(part) is not None for part in NEEDED) else UNFINISHED


def missing(told: Mapping[str, Any]) -> list[str]:
    """Parts that were not looked at; either date will do."""
    held = {key for key in PARTS if told.get(key) is not None}
    dated = bool(held & {"made", "best_before"})
    return [key for key in PARTS if key not in held and key != "water" and not (dated and key in
            ("made", "best_before"))]  # fmt: skip


def last_drum(desk: Desk, product: str) -> Record | None:
    """The last drum of a product that was found fit for use."""
    fit = [r for r in desk.book.records("drum") if r.data["product"] == product and r.data["outcome"] == USE]
    return fit[-1] if fit else None


def factor_found(told: Mapping[str, Any]) -> float | None:
    """The factor a jar tells: strength in per cent over the reading less that of the water."""
    mixed, reading = told.get("mixed"), told.get("reading")
    net = None if reading is None else reading - (told.get("water") or 0.0)
    return 100.0 * mixed / net if mixed and net and net > 0.0 else None


def _dates(desk: Desk, told: Mapping[str, Any]) -> Iterator[Finding]:
    held = worklists()["drum"]
    sources = tuple(held["months_sources"])
    if told.get("best_before"):
        fits = date.fromisoformat(told["best_before"]) >= desk.now.date()
        past = "not past" if fits else "PAST"
        yield Finding("date", fits, f"best before {told['best_before']}: {past}", sources)
    if told.get("made"):
        made = date.fromisoformat(told["made"])
        if made > desk.now.date():
            right = "Give the day it was made."
            raise BadInput(f"{told['made']} has not come yet", value=told["made"], right=right)
        months = (desk.now.date() - made).days / MONTH_DAYS
        early, late = held["ask_after_months"], held["aside_after_months"]
        if months > late:
            text = f"{months:.0f} months old, over the {late} that concentrate keeps: ask the maker first"
        elif months > early:
            text = f"{months:.0f} months old; concentrate keeps {early} to {late}: use this drum next"
        else:
            text = f"{months:.0f} months old, of the {early} to {late} that concentrate keeps"
        yield Finding("date", months <= late, text, sources)


def _looks(told: Mapping[str, Any]) -> Iterator[Finding]:
    sources = tuple(worklists()["drum"]["look_sources"])
    for key, name in (("look", "concentrate"), ("mix_look", "jar")):
        said = told.get(key)
        if said:
            text = f"{name} looks {said.replace('_', ' ')}"
            yield Finding("look" if key == "look" else "mix", said == "normal", text, sources)
    smell = told.get("smell")
    if smell:
        usual = smell.casefold().strip() in USUAL_SMELL
        yield Finding("smell", usual, f"smells {smell}" + ("" if usual else ", not as it should"), sources)


def _factor(desk: Desk, product: str, told: Mapping[str, Any], last: Record | None) -> Iterator[Finding]:
    mixed, reading = told.get("mixed"), told.get("reading")
    if mixed is None or reading is None:
        return
    sources = tuple(worklists()["drum"]["reading_sources"])
    found = factor_found(told)
    if found is None:
        text = f"a jar at {show(mixed, 'fraction')} must read more than water"
        yield Finding("reading", False, text, sources)
        return
    sheet = desk.shop.products.get(product, {}).get("figures", {}).get("refractometer_factor")
    if sheet is None:
        text = f"the jar gives a factor of {found:.2f}; the sheet's is not entered"
        yield Finding("reading", True, text, sources)
    else:
        yield _beside(told, found, float(sheet), "the sheet's", FACTOR_SD, sources)
    before = factor_found(last.data) if last else None
    if last is not None and before is not None:
        whose = f"the last drum's (lot {last.data['lot']})"
        yield _beside(told, found, before, whose, _factor_sd(last.data), sources)


def _factor_sd(told: Mapping[str, Any]) -> float:
    """Relative standard uncertainty of a factor from one jar: made-up strength, reading, zero."""
    net = told["reading"] - (told.get("water") or 0.0)
    return hypot(ADDED_SD, READING_SD / net, READING_SD / 2.0 / net)


def _beside(
    told: Mapping[str, Any], found: float, other: float, whose: str, other_sd: float, sources: tuple[str, ...]
) -> Finding:
    """The factor found beside another one; an sd is relative."""
    wander = SURE * other * hypot(_factor_sd(told) * found / other, other_sd)
    fits = abs(found - other) <= wander
    how = "as near as measuring tells" if fits else "FURTHER OFF than measuring explains"
    text = f"factor {found:.2f} beside {whose} {other:.2f}: {how} (give or take {wander:.2f})"
    return Finding("reading", fits, text, sources)


def _ph(desk: Desk, product: str, told: Mapping[str, Any], last: Record | None) -> Iterator[Finding]:
    ph = told.get("ph")
    if ph is None:
        return
    held = worklists()["drum"]
    step = held["ph_step"][told.get("ph_method") or "strip"]
    sources = tuple(held["ph_sources"])
    sheet = desk.shop.products.get(product, {}).get("figures", {}).get("ph_first_fill")
    if sheet is None:
        yield Finding("ph", True, f"pH {ph:.1f}; the sheet's is not entered", sources)
    else:
        low, high = sheet if isinstance(sheet, list) else (sheet, sheet)
        fits = low - step - 1e-9 <= ph <= high + step + 1e-9
        span = f"{low:g} to {high:g}" if low != high else f"{low:g}"
        how = "fits" if fits else "DOES NOT FIT"
        text = f"pH {ph:.1f} beside the sheet's {span}: {how} (a step is {step:g})"
        yield Finding("ph", fits, text, sources)
    before = last.data.get("ph") if last else None
    if last is not None and before is not None:
        fits = abs(ph - before) <= 2 * step + 1e-9
        how = "alike" if fits else "NOT ALIKE"
        text = f"pH {ph:.1f}, the last drum (lot {last.data['lot']}) {before:.1f}: {how}"
        yield Finding("ph", fits, text, sources)
