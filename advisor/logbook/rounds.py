"""A round of all sumps: a sheet in walking order, the paper entered afterwards, pails per machine."""

from __future__ import annotations

import html
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput, SumpsideError
from advisor.logbook.limits import STRENGTHS
from advisor.logbook.line import Drafted, draft
from advisor.logbook.missed import missed
from advisor.logbook.moments import show_day
from advisor.logbook.reading_lines import limit_text, printable
from advisor.logbook.readings import NOT_MEASURED, Context, Reading, Record
from advisor.logbook.records import record
from advisor.logbook.shop_beside import ORDER
from advisor.logbook.watch import Watch, Watched
from advisor.mixing.display import IMPERIAL, METRIC, US
from advisor.mixing.glass import Glass
from advisor.mixing.plan import plan
from advisor.mixing.recipe import Recipe
from advisor.showing import show

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

#: From this many sumps on, one and the same figure everywhere is no measurement; common practice, no source.
SAME_EVERYWHERE = 4
#: Below this level a sump within its window is topped up in passing; common practice, no source.
TOP_UP_BELOW = 0.9
_STYLE = (
    "body{font:11pt sans-serif}table{border-collapse:collapse;width:100%}td,th{border:1px solid #000;"
    "padding:4pt;text-align:left}td.w{width:11%}tr{break-inside:avoid}@page{margin:12mm}"
)
_BLANKS = ("reading", "pH", "level", "seen, smelt, put in")


def walking_order(desk: Desk) -> list[str]:
    """Ids of all sumps in the order they are walked; those the order does not name come last."""
    row = desk.store.row("shop", ORDER)
    said = [sump for sump in (row.data["order"] if row else []) if sump in desk.shop.sumps]
    return [*said, *(sump for sump in desk.shop.sumps if sump not in said)]


def keep_order(desk: Desk, names: Sequence[str], who: str) -> list[str]:
    """Keep a walking order, given as names of sumps.

    Raises:
        UnknownId: no sump is called so.
    """
    order = list(dict.fromkeys(desk.sump_of(name.split())[0] for name in names))
    desk.store.put_row("shop", ORDER, {"order": order}, time=desk.time, who=who)
    return walking_order(desk)


@dataclass(frozen=True, slots=True)
class Row:
    """One sump on the sheet: its name, window, last strength and pH in words, and what is due."""

    name: str
    window: str
    last: str
    due: str


def sheet(desk: Desk) -> list[Row]:
    """The rows of the sheet in walking order."""
    watched: dict[str, Watched] = {w.sump: w for w in Watch(desk).all()}
    states = desk.book.states()
    rows = []
    for sump in walking_order(desk):
        last = []
        for observable in (*STRENGTHS[:1], "refractometer_reading", "ph"):
            state = states.get((sump, observable))
            if state is not None:
                unit = desk.rules.observables[observable].unit or ""
                last.append(f"{show(state.result, unit)} ({show_day(state.time, desk.now)})")
        factor = desk.limits.factor(sump)
        window = limit_text(desk.limits.of(sump, "concentration"), "fraction")
        if factor not in (None, 1.0):
            window += f", factor {factor:g}"
        due = ", ".join(d.check.replace("_", " ") for d in watched[sump].due)
        rows.append(Row(printable(desk.name(sump)), window, "; ".join(last), due))
    return rows


def sheet_text(desk: Desk, rows: Sequence[Row]) -> list[str]:
    """The sheet as text, 79 columns: a line of figures and a line to fill in for each sump."""
    made = [f"Round of {desk.now:%Y-%m-%d}, {len(rows)} sumps     who: ____________  instrument zeroed: ____"]
    for number, row in enumerate(rows, start=1):
        made.append(f"{number:>3} {row.name[:24]:<25}{row.window[:24]:<25}{row.last[:25]}".rstrip())
        made.append("    reading ______  pH ______  level ____ %  seen ____________________________")
    made.append('Enter it with "sumpside round --enter" (a dash for what was not read).')
    return made


def sheet_html(desk: Desk, rows: Sequence[Row]) -> str:
    """The sheet as one HTML page to print."""
    head = "".join(f"<th>{text}</th>" for text in ("", "sump", "window", "last", "due", *_BLANKS))
    body = []
    for number, row in enumerate(rows, start=1):
        cells = [str(number), row.name, row.window, row.last, row.due]
        told = "".join(f"<td>{html.escape(cell)}</td>" for cell in cells)
        body.append(f"<tr>{told}{'<td class=w></td>' * len(_BLANKS)}</tr>")
    title = f"Round of {desk.now:%Y-%m-%d}"
    return (
        f'<!doctype html><html lang="en"><meta charset="utf-8"><title>{title}</title><style>{_STYLE}</style>'
        f"<h1>{title}</h1><p>Who: ____________ Instrument: ____________ zeroed: ____________</p>"
        f"<table><tr>{head}</tr>{''.join(body)}</table></html>\n"
    )


@dataclass(frozen=True, slots=True)
class Entered:
    """A round as read from its lines, before it is written.

    Attributes:
        bad: lines that could not be read, with why; nothing is written while there are any.
        doubts: figures that want a "yes, it is so".
        flags: what was marked as not measured.
    """

    readings: tuple[Reading, ...]
    records: tuple[Record, ...]
    sumps: tuple[str, ...]
    bad: tuple[str, ...]
    doubts: tuple[str, ...]
    flags: tuple[str, ...]


def read_round(desk: Desk, lines: Iterable[str], *, time: str, context: Context) -> Entered:
    """Read the paper of a round: one sump to a line ("mill 1 6.5 9.1", "mill 2 missed: locked out")."""
    readings: list[Reading] = []
    records: list[Record] = []
    sumps: list[str] = []
    bad: list[str] = []
    doubts: list[str] = []
    for number, line in enumerate(lines, start=1):
        words = line.split("#")[0].split()
        if not words:
            continue
        try:
            sump, rest = desk.sump_of(words)
            if sump in sumps:
                raise BadInput(f"{desk.name(sump)} is there twice", right="Keep one line for each sump.")
            made = _one(desk, sump, rest, time, context)
        except SumpsideError as error:
            bad.append(f"line {number}: {error.sentence()}")
            continue
        sumps.append(sump)
        readings += made.readings
        records += made.records
        doubts += [f"{desk.name(sump)}: {doubt}" for doubt in made.doubts]
    readings, flags = _same_everywhere(desk, readings)
    return Entered(tuple(readings), tuple(records), tuple(sumps), tuple(bad), tuple(doubts), tuple(flags))


def _one(desk: Desk, sump: str, rest: list[str], time: str, context: Context) -> Drafted:
    not_done = missed(" ".join(rest), sump, time, "round")
    if not_done is not None:
        return Drafted(records=(not_done,))
    return draft(desk, sump, rest, time=time, context=context)


def _same_everywhere(desk: Desk, readings: Sequence[Reading]) -> tuple[list[Reading], list[str]]:
    """Mark figures that are one and the same for every sump of a round."""
    by_kind: dict[str, list[Reading]] = {}
    for reading in readings:
        kind = "refractometer_reading" if reading.context.raw_unit == "°Bx" else reading.observable
        by_kind.setdefault(kind, []).append(reading)
    marked: set[int] = set()
    flags = []
    for kind, rows in by_kind.items():
        if len(rows) >= SAME_EVERYWHERE and len({r.raw for r in rows}) == 1:
            marked |= {id(r) for r in rows}
            name = desk.rules.observables[kind].name
            flags.append(
                f"{name}: {rows[0].raw:g} in all {len(rows)} sumps is not a measurement; it is marked so and "
                "counts for nothing. If every sump was really read so, add --sure."
            )
    return [replace(r, mark=NOT_MEASURED) if id(r) in marked else r for r in readings], flags


@dataclass(frozen=True, slots=True)
class Advice:
    """What to pour into a sump after a round, in a line; `recipe` is what ``mix`` gives, None without one."""

    sump: str
    line: str
    recipe: Mapping[str, Any] | None


def advise(desk: Desk, entered: Entered) -> list[Advice]:
    """What to pour where after a round, one line for each sump that needs something."""
    made = []
    for sump in entered.sumps:
        own = {r.observable: r for r in entered.readings if r.sump == sump and r.measured}
        seen = [r for r in entered.records if r.sump == sump and r.kind == "look" and r.data["facts"]]
        line, recipe = _pails(desk, sump, own, bool(seen))
        if line:
            made.append(Advice(sump, printable(f"{desk.name(sump)}: {line}"), recipe))
    return made


def advice_records(advice: Sequence[Advice], time: str) -> list[Record]:
    """The recipes among the advice as records, so that pails are counted and the next reading judges them."""
    rows = []
    for one in advice:
        if one.recipe is not None and one.recipe.get("pails"):
            rows.append(record("advice", one.sump, time, {"recipe": dict(one.recipe)}))
    return rows


Told = tuple[str, Mapping[str, Any] | None]


def _pails(desk: Desk, sump: str, own: dict[str, Reading], seen: bool) -> Told:
    strength = own.get("concentration")
    if strength is None or strength.result is None:
        return "", None
    limit = desk.limits.of(sump, "concentration")
    side = limit.breach(strength.result)
    level = own["sump_fill"].result if "sump_fill" in own else None
    kind = {"low": "strengthen", "high": "thin", "": "top_up"}[side]
    if kind == "top_up" and (level is None or level >= TOP_UP_BELOW):
        return "", None
    if seen:
        told = 'something was seen there; talk it through first ("sumpside") before anything is poured'
        return told, None
    if level is None:
        where = {"low": "under", "high": "over"}.get(side, "within")
        return f"{show(strength.result, 'fraction')} is {where} its window; read the level too", None
    volume = desk.limits.volume(sump)
    pail = next((c["litres"] for c in desk.shop.containers.values() if c.get("kind") == "pail"), None)
    if volume is None or pail is None:
        return "its volume or the pail is not entered in the shop, so no pails are counted", None
    row = desk.shop.sumps[sump]
    inputs = {
        "sump_volume_l": volume,
        "fill": min(1.0, level),
        "strength": strength.result,
        "window": (limit.low, limit.high),
        "target": row.get("aim") or ((limit.low or 0.0) + (limit.high or 0.0)) / 2,
        "pail_l": pail,
    }
    display = {"metric": METRIC, "us": US, "imperial": IMPERIAL}[desk.system]
    try:
        glass = Glass(desk.limits.factor(sump) or 1.0)
        return _recipe_line(plan(kind, inputs, display), desk, volume * (1.0 - min(1.0, level)), glass)
    except SumpsideError as error:
        return error.sentence(), None


def _now(held: Mapping[str, Any], room: float) -> Mapping[str, Any]:
    """What can be poured at once: the recommended option, or the first that neither drains nor overflows."""
    if held["remove_l"] > 0.0 or held["add_l"] <= room + 0.5:
        return held
    fits = (o for o in held["options"] if o["remove_l"] == 0.0 and 0.0 < o["add_l"] <= room + 0.5)
    return next(fits, held)


def _recipe_line(made: Recipe, desk: Desk, room: float, glass: Glass) -> Told:
    whole: dict[str, Any] = made.as_json()
    if whole.get("refused"):
        return f"no recipe: {whole['refused']['why']}", None
    held = _now(whole, room)
    rows, parts = held["pails"], []
    for row in rows:
        water, concentrate = (show(row[key], "L", desk.system) for key in ("water_l", "concentrate_l"))
        what = f"{water} water" + (f" + {concentrate} concentrate" if row["concentrate_l"] > 0.0 else "")
        parts.append(f"{row['count']} pail{'s' if row['count'] != 1 else ''} of {what}")
    drain = held["remove_l"]
    first = f"take out {show(drain, 'L', desk.system)}, then " if drain > 0.0 else ""
    after = show(held["strength_after"], "fraction") + glass.beside(held["strength_after"])
    spread = " in portions, as room comes" if held["add_l"] > room + drain + 0.5 else ""
    poured = f"{', '.join(parts) or 'nothing to pour'}{spread}"
    keys = ("name", "remove_l", "add_l", "mix_strength", "pails", "strength_after", "strength_low",
            "strength_high", "steps")  # fmt: skip
    kept = {key: held.get(key, whole.get(key)) for key in keys}
    return f"{first}{poured}; then about {after}. Skim and circulate before, read again after.", kept
