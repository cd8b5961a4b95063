"""One line of a person at a sump ("6.5 9.1", "6.5 brix ph 9.1 level 80 %, bit of foam") as readings.

Two bare numbers at the start are the reading on the glass and the pH, in that order; a dash leaves one
out. All else is read like a line of the conversation.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from advisor.dialogue.understanding import Lexicon, Understood, understand
from advisor.errors import BadInput, BadQuantity
from advisor.knowledge.facts import Fact, number
from advisor.logbook.desk import Desk
from advisor.logbook.missed import missed
from advisor.logbook.plausible import doubts_about, refuse_impossible
from advisor.logbook.readings import FIRST_FILL, Context, Reading, Record
from advisor.logbook.records import record
from advisor.quantities import parse, spelling_key, split_number
from advisor.unit_table import UNITS

LONGEST = 400
BARE = ("refractometer_reading", "ph")
_DASHES = {"-", "–", "—", "x", "?"}
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
_ADDED = re.compile(
    r"(?:\+\s*|\b(?:added|topped\s+up(?:\s+with)?|top[- ]?up|put\s+in)\s+(?:with\s+)?)"
    r"(?P<volume>\d+(?:[.,]\d+)?\s*[a-z]+\.?(?:\s+(?:gal(?:lons?)?|fl\.?\s*oz))?)"
    r"(?:\s+(?:of\s+)?(?P<what>water|mix|premix|concentrate|neat))?"
    r"(?:\s+(?:at|of)?\s*(?P<strength>\d+(?:[.,]\d+)?\s*%))?"
    r"(?:,?\s+lot\s+(?P<lot>[\w./-]+))?",
    re.IGNORECASE,
)
_FINE = re.compile(r"\b(?:looks?|all|looked|smells?)?\s*(?:ok(?:ay)?|fine|good|well)\b", re.IGNORECASE)
_SHARE = re.compile(r"%|per ?cent|prozent|:")
_PH = re.compile(r"\bph\s*[:=]?\s*((?:(?<=\s)-)?\d+(?:[.,]\d+)?)", re.IGNORECASE)
_NEW_FILL = re.compile(r"\b(?:new|fresh|first)[ -]*(?:fill|charge)\b", re.IGNORECASE)
#: Figures that describe a sump's fluid or level now; others said in passing are not readings of it.
READ = frozenset(
    {
        "concentration", "refractometer_reading", "titration", "ph", "sump_hardness", "conductivity",
        "chloride", "sulfate", "nitrite", "bacteria", "fungi", "tramp_oil_share", "sump_fill",
        "fluid_temperature", "alkalinity", "dissolved_oxygen", "cobalt", "copper", "lead", "nickel", "zinc",
        "nitrate_water", "water_hardness",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Drafted:
    """What a line comes to, before it is written.

    Attributes:
        doubts: sentences; each wants a "yes, it is so" before the line is written.
        notes: what was assumed, and what was not used.
    """

    readings: tuple[Reading, ...] = ()
    records: tuple[Record, ...] = ()
    doubts: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())


def draft(desk: Desk, sump: str, words: Sequence[str], *, time: str, context: Context) -> Drafted:
    """Read a line about one sump.

    Args:
        words: the line after the sump's name.
        time: when it was measured.
        context: who measured, where and with what; factor and limit are filled in here.

    Raises:
        BadInput: nothing that can be kept, or a figure that cannot be.
    """
    text = " ".join(" ".join(words).split())
    if len(text) > LONGEST:
        right = "Write the figures, and a few words."
        raise BadInput(f"{len(text)} characters are too many for one line", value=text[:40], right=right)
    not_done = missed(text, sump, time)
    if not_done is not None:
        return Drafted(records=(not_done,))
    figures, rest = _leading(text)
    additions, rest = _additions(rest, desk, sump, time)
    filled = bool(_NEW_FILL.search(rest))
    fine = bool(_FINE.search(rest))
    got = _understood(desk, _FINE.sub(" ", _NEW_FILL.sub(" ", rest)))
    figures += _figures(got, text)
    notes = [f'Not used: "{word}".' for word in got.unused if _NUMBER.search(word) or len(word) > 2]
    mark = FIRST_FILL if filled else ""
    readings = [_reading(desk, sump, time, fact, context, mark, notes) for fact in figures]
    looked = [fact for fact in got.facts if fact.unit is None]
    records = list(additions)
    if looked or fine:
        facts = [{"id": f.id, "value": f.value, "status": f.status} for f in looked]
        records.append(record("look", sump, time, {"facts": facts}))
    _refuse_unread_ph(rest, got)
    if not readings and not records:
        right = 'Write "6.5 9.1" for reading and pH, or "6.5 brix ph 9.1 level 80 %".'
        raise BadInput(f"{text!r} holds no reading", value=text, right=right)
    doubts = [*doubts_about(desk, sump, readings), *_aside(desk, records)]
    return Drafted(tuple(readings), tuple(records), tuple(doubts), tuple(dict.fromkeys(notes)))


def _leading(text: str) -> tuple[list[Fact], str]:
    """The bare numbers a line begins with, as facts, and the rest of the line."""
    words = re.sub(r"(?<=\d),\s", " ", text).split()
    found: list[Fact] = []
    place = 0
    for observable in BARE:
        if place >= len(words):
            break
        word = words[place].rstrip(";")
        after = words[place + 1] if place + 1 < len(words) else ""
        if word in _DASHES:
            place += 1
        elif _NUMBER.fullmatch(word) and not _is_unit(after):
            unit = "pH" if observable == "ph" else "°Bx"
            found.append(Fact(observable, split_number(word)[0], unit, said=word))
            place += 1
        else:
            break
    return found, " ".join(words[place:])


def _is_unit(word: str) -> bool:
    key = spelling_key(word.strip(",;"))
    return bool(key) and key not in ("ph",) and any(key in rows for rows in UNITS.values())


def _additions(text: str, desk: Desk, sump: str, time: str) -> tuple[list[Record], str]:
    """What the line says was put in, as records, and the line without it."""
    made = []
    for found in _ADDED.finditer(text):
        try:
            litres = parse(found["volume"], "L", gallon=desk.gallon).value
        except BadQuantity:
            continue
        strength = parse(found["strength"], "fraction").value if found["strength"] else None
        what = (found["what"] or "").casefold()
        if strength is None:
            strength = {"water": 0.0, "concentrate": 1.0, "neat": 1.0}.get(what)
        product = desk.shop.sumps.get(sump, {}).get("product")
        lot = found["lot"] or (desk.lot(product) if strength else None)
        data = {"litres": litres, "strength": strength, "product": product, "lot": lot}
        made.append(record("addition", sump, time, data))
        text = text.replace(found[0], " ", 1)
    return made, text


def _aside(desk: Desk, records: Sequence[Record]) -> list[str]:
    """Additions from a drum that was set aside."""
    last = {r.data["lot"]: r.data["outcome"] for r in desk.book.records("drum")} if records else {}
    lots = [str(r.data["lot"]) for r in records if r.kind == "addition" and r.data.get("lot")]
    return [f"Lot {lot} was checked and set aside." for lot in lots if last.get(lot) == "aside"]


def _understood(desk: Desk, text: str) -> Understood:
    if not text.strip(" ,.;"):
        return Understood()
    lexicon = Lexicon.from_data(desk.rules.data["phrases"], desk.rules.data["observables"])
    return understand(text, lexicon=lexicon, gallon=desk.gallon)


def _figures(got: Understood, text: str) -> list[Fact]:
    """The readings among the facts; a bare "reading 6.5" is the glass's own figure, not a strength."""
    kept: list[Fact] = []
    for fact in got.facts:
        value = number(fact)
        if fact.id not in READ or value is None or fact.status != "present":
            continue
        if fact.id == "concentration" and not _SHARE.search(fact.said + _after(text, fact)):
            fact = replace(fact, id="refractometer_reading", value=value * 100, unit="°Bx")
        kept.append(fact)
    return kept


def _refuse_unread_ph(text: str, got: Understood) -> None:
    """Say why a pH that was written could not be read, instead of passing over it."""
    found = _PH.search(text)
    if found and (found[1].startswith("-") or all(fact.id != "ph" for fact in got.facts)):
        parse(found[1], "pH")


def _after(text: str, fact: Fact) -> str:
    """The few characters after the words of a fact."""
    place = text.find(fact.said) if fact.said else -1
    return text[place + len(fact.said) :][:3] if place >= 0 else ""


def _reading(
    desk: Desk, sump: str, time: str, fact: Fact, context: Context, mark: str, notes: list[str]
) -> Reading:
    value = number(fact)
    assert value is not None
    raw, unit = float(value), str(fact.unit)
    refuse_impossible(desk, fact.id, raw)
    return finish(desk, sump, time, fact.id, raw, unit, context, mark=mark, notes=notes)


def finish(
    desk: Desk,
    sump: str,
    time: str,
    observable: str,
    raw: float,
    unit: str,
    context: Context,
    *,
    mark: str = "",
    notes: list[str] | None = None,
) -> Reading:
    """A reading from what the instrument showed: factor applied where it is known, limit in force added.

    A glass reading of a product whose factor is not known stays a reading: it is no strength.
    """
    said: list[str] = [] if notes is None else notes
    factor: float | None = None
    result = raw
    method = context.method
    if observable == "refractometer_reading":
        factor = desk.limits.factor(sump)
        method = method or "refractometer"
        if factor is None:
            said.append("The product's factor is not known: the reading is kept, without a strength.")
        else:
            observable, result = "concentration", raw / 100.0 * factor
            refuse_impossible(desk, observable, result)
    elif observable == "concentration":
        known = desk.limits.factor(sump)
        if known not in (None, 1.0) and not method:
            said.append(
                f"Taken as the true strength, already multiplied by {known:g}. "
                'If it is straight off the glass, write it with "brix".'
            )
        method = method or "as said"
    limit = desk.limits.of(sump, observable)
    how: dict[str, Any] = {"method": method, "factor": factor, "raw_unit": unit}
    full = replace(context, **how, low=limit.low, high=limit.high, source=limit.source)
    fill_mark = mark if observable in ("ph", "concentration", "refractometer_reading") else ""
    return Reading(sump, observable, time, result, raw, full, fill_mark)
