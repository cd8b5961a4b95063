"""The job card of a case and the sign of a sump: one page each, for the shop floor, from the log.

A job card has the cautions on top, then what to do with boxes to tick, the recipe as a table, and the
line for the reading after. A sump sign says what the sump holds and what it is topped up with.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from advisor.dialogue import phrases
from advisor.errors import BadInput
from advisor.mixing.card import print_size
from advisor.mixing.display import IMPERIAL, METRIC, US, Display
from advisor.reports.cases import Opened
from advisor.reports.page import page, tag, wrap
from advisor.reports.path import cause_words

_UNITS = {"metric": METRIC, "us": US, "imperial": IMPERIAL}
#: What every sump sign says: no more than is so for every water-mixed coolant.
SIGN_CAUTIONS = (
    "Read the safety data sheet before you handle it. Gloves and goggles for concentrate.",
    "Concentrate into water, stirred. Never neat concentrate into the sump.",
    "Nothing else goes in: no cleaner, no bleach, no food, no other product.",
    "Sore skin, stinging eyes, a bad chest: stop, tell your supervisor.",
)
#: Lines that headings, frames and the line to fill in take on the paper.
_HEADINGS = 10
_STYLE = """
body { font-size: 1.3rem; max-width: 50rem; margin: 0 auto; }
.mind { border: 5px solid #000; padding: .3rem 1rem; margin: .6rem 0; }
.mind p { font-weight: 700; }
ul.tick { list-style: none; margin: .3rem 0; padding: 0; }
ul.tick li { padding-left: 2em; text-indent: -2em; margin: .25em 0; break-inside: avoid; }
.box { display: inline-block; width: 1.1em; height: 1.1em; border: 3px solid #000; margin-right: .9em;
  vertical-align: -.15em; }
table { border-collapse: collapse; width: 100%; margin: .3rem 0; }
th, td { border: 2px solid #000; padding: .2em .5em; text-align: left; }
.line { border: 2px solid #000; padding: .4em .6em; margin-top: .6rem; }
.big { font-size: 2.2em; font-weight: 700; }
@media print { body { font-size: SIZEpt; line-height: 1.25; } h1 { font-size: 1.35em; }
  h2 { font-size: 1.1em; } .small { font-size: .75em; } }
"""


def job_card(case: Opened) -> str:
    """The job card of a case, as a page.

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
    mind = [step for c in cautions for step in (c["text"], *c.get("do_now", []))]
    mind += list(made["warnings"]) if made else []
    size = _size([*todo, *steps], mind, rows=len(option["pails"]) if option else 0)
    title = f"{state.sump or phrases.NO_MACHINE}: what to do"
    body = [
        tag("h1", title),
        tag("p", f"{phrases.RUN.get(state.verdict['run'], '')} {_lead(case)}"),
        _mind(cautions, made["warnings"] if made else []),
        _ticks("Do, in this order", todo),
        _recipe_table(option, show) if option else _no_recipe(state.recipe),
        _ticks("Mixing, step by step", steps),
        _after(case, option, show),
        tag("p", _foot(case), class_="small"),
    ]
    return page(title, "".join(body), style=_STYLE.replace("SIZE", f"{size:g}"))


def _size(lines: Sequence[str], bold: Sequence[str], *, rows: int) -> float:
    """Largest type at which the card fits its page: bold is wider, rows of tables are taller."""
    wider = [line + "x" * (len(line) // 6) for line in bold]
    return print_size([*lines, *wider, *["x"] * (2 * rows + _HEADINGS)])


def _lead(case: Opened) -> str:
    verdict, rules = case.state.verdict or {}, case.rules
    causes = verdict.get("causes") or []
    if verdict.get("verdict") != "named" or not causes or causes[0]["id"] not in rules.causes:
        return phrases.UNSETTLED if verdict.get("verdict") == "unsettled" else ""
    return phrases.sentence(cause_words(rules, causes[0]["id"]))


def _mind(cautions: Sequence[Mapping[str, Any]], warnings: Sequence[str]) -> str:
    if not cautions and not warnings:
        return ""
    rows = []
    for caution in cautions:
        stop = caution["level"] in {"emergency", "stop"}
        rows.append(tag("p", f"{'STOP. ' if stop else ''}{caution['text']}"))
        if caution.get("do_now"):
            rows.append(_boxes(caution["do_now"]))
    rows += [tag("p", text) for text in warnings]
    return wrap("div", tag("h2", "First mind this"), *rows, class_="mind")


def _boxes(lines: Sequence[str]) -> str:
    rows = [wrap("li", tag("span", class_="box"), tag("span", line)) for line in lines]
    return wrap("ul", *rows, class_="tick")


def _ticks(title: str, lines: Sequence[str]) -> str:
    return tag("h2", title) + _boxes(lines) if lines else ""


def _recipe_table(option: Mapping[str, Any], show: Display) -> str:
    head = wrap("tr", *(tag("th", text) for text in ("How many", "Water", "Concentrate", "Done")))
    rows = []
    for pail in option["pails"]:
        conc = show.measure(pail["concentrate_l"]) if pail["concentrate_l"] > 0 else "none"
        cells = (f"{pail['count']} x", show.volume(pail["water_l"]), conc)
        box = wrap("td", tag("span", class_="box"))
        rows.append(wrap("tr", *(tag("td", text) for text in cells), box))
    out = option.get("remove_l") or 0.0
    first = tag("p", f"Take out first: {show.volume(out)}") if out else ""
    title = tag("h2", f"Recipe: {option['name']}")
    return title + first + (wrap("table", head, *rows) if rows else "")


def _no_recipe(recipe: Mapping[str, Any] | None) -> str:
    if recipe and recipe.get("refused"):
        return tag("h2", "No recipe yet") + tag("p", recipe["refused"]["why"])
    return ""


def _after(case: Opened, option: Mapping[str, Any] | None, show: Display) -> str:
    expect = ""
    if option:
        span = show.between(option["strength_low"], option["strength_high"])
        expect = f"Expected after: {show.strength(option['strength_after'])}, likely {span}. "
    return tag(
        "p", f"{expect}Read: ________  Next day: ________  Date: ________  Initials: ________", class_="line"
    )


def _foot(case: Opened) -> str:
    last = case.verdict_event
    when = last.time[:10] if last else ""
    seal = last.hash[:16] if last else ""
    return (
        f"Case {case.number}, {when}, rule base {case.rules.hash}, seal {seal}. The safety data sheet, "
        f"local rules and your supervisor come before this card."
    )


def sump_sign(sump: Mapping[str, Any], product: Mapping[str, Any] | None, show: Display) -> str:
    """The sign of a sump: product, volume, window, factor, top-up strength, cautions.

    Args:
        sump, product: rows of the shop with ``name`` and ``figures``; the sump's figure wins.
        show: how volumes are written.
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
    rows.append(("Top up with", _top_up(sump, low, high)))
    title = str(sump.get("name") or sump.get("id") or "")
    sheet = str((product or {}).get("sds") or "ask your supervisor")
    cells = [wrap("tr", tag("th", name), tag("td", value)) for name, value in rows]
    size = 1.4 * _size([], [f"{name} {value}" for name, value in rows] + list(SIGN_CAUTIONS), rows=len(rows))
    body = [
        tag("p", title, class_="big"),
        wrap("table", *cells),
        wrap("div", tag("h2", "Mind"), *(tag("p", text) for text in SIGN_CAUTIONS), class_="mind"),
        tag("p", f"Safety data sheet: {sheet}"),
        tag("p", "Read: ______  pH: ______  Date: ______  Initials: ______", class_="line"),
    ]
    return page(title, "".join(body), style=_STYLE.replace("SIZE", f"{size:g}"))


def _window(target: object) -> tuple[float | None, float | None]:
    if isinstance(target, list | tuple):
        return float(target[0]), float(target[1])
    return (float(str(target)), float(str(target))) if target else (None, None)


def _top_up(sump: Mapping[str, Any], low: float | None, high: float | None) -> str:
    """A line to fill in: the right make-up depends on what is lost, which a sign cannot know."""
    aim = sump.get("aim") or (((low or 0.0) + (high or 0.0)) / 2 if low and high else None)
    text = "______ % mix, low-mineral water (set by your supervisor, read first)"
    return f"{text}; the sump aims at {100 * float(aim):g} %" if aim else text
