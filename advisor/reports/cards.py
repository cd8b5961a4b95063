"""The job card of a case and the sign of a sump: one page each, for the shop floor, from the log.

A job card has the cautions on top, then what to do with boxes to tick, the recipe as a table, and the
line for the reading after. A sump sign says what the sump holds and what it is topped up with.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.recipe_screens import CONCENTRATE
from advisor.errors import BadInput
from advisor.mixing.display import IMPERIAL, METRIC, US, Display
from advisor.mixing.glass import Glass
from advisor.mixing.holding import keep_strength
from advisor.mixing.request import EVAPORATED
from advisor.reports.cases import Opened
from advisor.reports.path import cause_words
from advisor.reports.sheet import BOX, Part, Sheet
from advisor.showing import local_time

_UNITS = {"metric": METRIC, "us": US, "imperial": IMPERIAL}
#: What every sump sign says: no more than is so for every water-mixed coolant.
SIGN_CAUTIONS = (
    "Read the safety data sheet before you handle it. Gloves and goggles for concentrate.",
    "Concentrate into water, stirred. Never neat concentrate into the sump.",
    "Nothing else goes in: no cleaner, no bleach, no food, no other product.",
    "Sore skin, stinging eyes, a bad chest: stop, tell your supervisor.",
)
#: Pails of one row that get a box each, so that the next shift sees how many are in.
_MOST_BOXES = 30
#: A sign is read from further away than a card.
_SIGN_SCALE = 1.4


def job_card(case: Opened) -> Sheet:
    """The job card of a case.

    Raises:
        BadInput: the case has no verdict yet.
    """
    state = case.state
    if state.verdict is None:
        raise BadInput(
            f"case {case.number} has no verdict yet", value=case.number, right="let it come to one first"
        )
    show = _UNITS.get(state.opened.get("units") or "metric", METRIC)
    cautions = [c for c in state.verdict["cautions"] if c["level"] != "note"]
    made = state.recipe if state.recipe and not state.recipe["refused"] else None
    option = made["options"][0] if made else None
    steps = list(option["steps"]) if option else []
    doing = [a for a in state.verdict["actions"] if not a.get("recipe")]
    todo = [f"{phrases.WHO.get(a['who'], a['who'])}: {a['text']}" for a in doing]
    where = state.sump or phrases.NO_MACHINE[:1].upper() + phrases.NO_MACHINE[1:]
    title = f"{where}: what to do"
    parts = [
        Part("title", title),
        Part("text", f"{phrases.RUN.get(state.verdict['run'], '')} {_lead(case)}".strip()),
        *_mind(cautions, [*_handling(case, option), *(made["warnings"] if made else [])]),
        *_ticks("Do, in this order", todo),
        *(_recipe_table(option, show) if option else _no_recipe(state.recipe)),
        *_ticks("Mixing, step by step", steps),
        _after(option, show, Glass.of((made or {}).get("glass"))),
        Part("small", _foot(case)),
    ]
    return Sheet(title, tuple(parts), letter=show is US)


def _lead(case: Opened) -> str:
    verdict, rules = case.state.verdict or {}, case.rules
    causes = verdict.get("causes") or []
    if verdict.get("verdict") != "named" or not causes or causes[0]["id"] not in rules.causes:
        return phrases.UNSETTLED if verdict.get("verdict") == "unsettled" else ""
    return phrases.sentence(cause_words(rules, causes[0]["id"]))


def _mind(cautions: Sequence[Mapping[str, Any]], warnings: Sequence[str]) -> Iterable[Part]:
    if not cautions and not warnings:
        return
    parts: list[Part] = []
    for caution in cautions:
        stop = caution["level"] in {"emergency", "stop"}
        parts.append(Part("text", f"{'STOP. ' if stop else ''}{caution['text']}"))
        parts += _ticks("", caution.get("do_now", []))
    parts += [Part("text", text) for text in warnings]
    yield Part("frame", "First mind this", parts=tuple(parts))


def _handling(case: Opened, option: Mapping[str, Any] | None) -> list[str]:
    """What handling neat concentrate asks for, where the recipe uses any."""
    held = case.rules.cautions.get(CONCENTRATE)
    pours = option is not None and any(pail["concentrate_l"] > 0 for pail in option["pails"])
    return [str(held["text"])] if held and pours else []


def _ticks(title: str, lines: Sequence[str]) -> list[Part]:
    return [Part("ticks", title, tuple(lines))] if lines else []


def _recipe_table(option: Mapping[str, Any], show: Display) -> Iterable[Part]:
    rows: list[tuple[str, ...]] = [("How many", "Water", "Concentrate", "Done")]
    for pail in option["pails"]:
        conc = show.measure(pail["concentrate_l"]) if pail["concentrate_l"] > 0 else "none"
        each = BOX * pail["count"] if pail["count"] <= _MOST_BOXES else BOX
        rows.append((f"{pail['count']} x", show.volume(pail["water_l"]), conc, each))
    out = option.get("remove_l") or 0.0
    title = f"Recipe: {option['name']}"
    if out:
        yield Part("ticks", title, (f"Take out first: {show.volume(out)}",))
        title = ""
    if len(rows) > 1:
        yield Part("table", title, rows=tuple(rows))
    elif title:
        yield Part("head", title)


def _no_recipe(recipe: Mapping[str, Any] | None) -> Iterable[Part]:
    if recipe and recipe.get("refused"):
        yield Part("head", "No recipe yet")
        yield Part("text", recipe["refused"]["why"])


def _after(option: Mapping[str, Any] | None, show: Display, glass: Glass) -> Part:
    expect = ""
    if option:
        span = show.between(option["strength_low"], option["strength_high"])
        after = show.strength(option["strength_after"]) + glass.beside(option["strength_after"])
        said = glass.between(option["strength_low"], option["strength_high"])
        expect = f"Expected after: {after}, likely {span}{f' ({said})' if said else ''}. "
    return Part(
        "line", f"{expect}Read: ________  Next day: ________  Date: ________  Initials: ________"
    )


def _foot(case: Opened) -> str:
    last = case.verdict_event
    when = local_time(last.time)[:10] if last else ""
    seal = last.hash[:16] if last else ""
    return (
        f"Case {case.number}, {when}, rule base {case.rules.hash}, seal {seal}. The safety data sheet, "
        f"local rules and your supervisor come before this card."
    )


def sump_sign(
    sump: Mapping[str, Any],
    product: Mapping[str, Any] | None,
    show: Display,
    holds: tuple[float, float, float] | None = None,
) -> Sheet:
    """The sign of a sump: product, volume, window, factor, top-up strength, cautions.

    Args:
        sump, product: rows of the shop with ``name`` and ``figures``; the sump's figure wins.
        show: how volumes are written.
        holds: top-up strength that would hold the sump by its log, with its 90 % range (fractions).
    """
    figures = {**(product or {}).get("figures", {}), **sump.get("figures", {})}
    rows = [("Product", str((product or {}).get("name") or "not entered"))]
    if figures.get("sump_volume"):
        rows.append(("Holds, full to the mark", show.volume(float(figures["sump_volume"]))))
    low, high = _window(figures.get("target"))
    if low is not None and high is not None:
        span = f"{100 * low:g} to {100 * high:g} %" if high > low else f"{100 * low:g} %"
        rows.append(("Strength wanted", span))
    factor = figures.get("refractometer_factor")
    if factor:
        text = f"glass reading x {factor:g}"
        if low is not None and high is not None:
            text += f" (wanted on the glass: {100 * low / factor:.1f} to {100 * high / factor:.1f})"
        rows.append(("Factor", text))
    rows.append(("Top up with", _top_up(sump, low, high, holds)))
    title = str(sump.get("name") or sump.get("id") or "")
    sheet = str((product or {}).get("sds") or "ask your supervisor")
    parts = [
        Part("big", title),
        Part("pairs", rows=tuple(rows)),
        Part("frame", "Mind", parts=tuple(Part("text", text) for text in SIGN_CAUTIONS)),
        Part("text", f"Safety data sheet: {sheet}"),
        Part("line", "Read: ______  pH: ______  Date: ______  Initials: ______"),
    ]
    return Sheet(title, tuple(parts), _SIGN_SCALE, letter=show is US)


def _window(target: object) -> tuple[float | None, float | None]:
    if isinstance(target, list | tuple):
        return float(target[0]), float(target[1])
    return (float(str(target)), float(str(target))) if target else (None, None)


def _top_up(
    sump: Mapping[str, Any],
    low: float | None,
    high: float | None,
    holds: tuple[float, float, float] | None,
) -> str:
    """What keeps the strength aimed at: by the sump's log, else by the usual share that evaporates."""
    aim = sump.get("aim") or (((low or 0.0) + (high or 0.0)) / 2 if low and high else None)
    text = "______ % mix (set by your supervisor), low-mineral water; read first"
    if not aim:
        return text
    kept = f"{100 * float(aim):g} %"
    if holds:
        value, least, most = (100 * max(0.0, share) for share in holds)
        return f"{text}. By its log, {value:.1f} % ({least:.1f} to {most:.1f} %) keeps {kept}."
    keeps = 100 * keep_strength(float(aim), EVAPORATED)
    share = f"{100 * EVAPORATED:g} % of the loss evaporates (common practice)"
    return f"{text}. About {keeps:.1f} % keeps {kept} where {share}."
