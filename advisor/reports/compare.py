"""Two decision paths beside each other: a trainee's and the advisor's, or two cases."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.inference.assess import assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.cases import StepOfPath
from advisor.reports.chart import MOST
from advisor.reports.page import page, tag, wrap
from advisor.reports.path import said_words, standing_words
from advisor.reports.path_page import STYLE, belief_chart, shown_causes, steps_html

Path = Sequence[StepOfPath]
_STYLE = """
.two { display: flex; flex-wrap: wrap; gap: 1.5rem; align-items: flex-start; }
.two > section { flex: 1 1 24rem; min-width: 0; } .chart { max-height: 60vh; }
table { border-collapse: collapse; margin: .5rem 0; width: 100%; table-layout: fixed; }
th, td { border: 1px solid #000; padding: .2rem .6rem; text-align: left; vertical-align: top; }
th:first-child { width: 6.5rem; }
"""


def path_from(rules: RuleBase, entries: Iterable[tuple[str, str, list[Fact]]]) -> list[StepOfPath]:
    """A path that is not a saved case: (question, words, facts) in order."""
    facts: list[Fact] = []
    before, made = assess([], rules, questions=False), []
    for i, (asked, words, brought) in enumerate(entries, 1):
        facts += brought
        after = assess(facts, rules, questions=False)
        made.append(StepOfPath(i, words, tuple(brought), before, after, asked))
        before = after
    return made


def comparison(
    paths: Sequence[Path], efforts: Sequence[str] | None = None
) -> list[tuple[str, list[str]]]:
    """Rows that set the paths against each other: label, then one text a path.

    Args:
        efforts: what each path cost, in words, where it was counted as it was walked; None takes each
            look once.
    """
    told = [_ids(path) for path in paths]
    counted = [
        ("answers", [str(len(path)) for path in paths]),
        ("effort", [f"{_minutes(path):g} minutes" for path in paths]),
    ]
    rows = [
        *([("effort", list(efforts))] if efforts else counted),
        ("decided", [_decided(path) for path in paths]),
        ("ends", [standing_words(path[-1].after) if path else "nothing told" for path in paths]),
        ("can run", [phrases.RUN[path[-1].after.run] if path else "" for path in paths]),
    ]
    shared = [key for key in told[0] if all(key in other for other in told[1:])]
    rules = next((path[-1].after.known.rules for path in paths if path), None)
    names = {key: rules.observables[key].name for held in told for key in held} if rules else {}
    rows.append(("both know", ["; ".join(names[k] for k in shared) or "nothing"] * len(paths)))
    rows.append(
        ("only here", ["; ".join(names[k] for k in held if k not in shared) or "nothing" for held in told])
    )
    return rows


def _ids(path: Path) -> list[str]:
    return list(dict.fromkeys(f.id for step in path for f in step.told))


def _minutes(path: Path) -> float:
    rules = path[-1].after.known.rules if path else None
    return sum(rules.observables[key].effort for key in _ids(path)) if rules else 0.0


def _decided(path: Path) -> str:
    """From which answer on the final lead led, and was named."""
    if not path or path[-1].after.verdict != "named":
        return "never named"
    lead, at = path[-1].after.lead, len(path)
    while at > 1 and (path[at - 2].after.verdict, path[at - 2].after.lead) == ("named", lead):
        at -= 1
    return f"by step {at}"


def compare_blocks(
    names: Sequence[str], paths: Sequence[Path], efforts: Sequence[str] | None = None
) -> list[Block]:
    """The comparison for the terminal; `efforts` as in `comparison`."""
    blocks = [Block("head", " and ".join(names), "TWO PATHS")]
    for label, texts in comparison(paths, efforts):
        if len(set(texts)) == 1:
            blocks.append(Block("item", f"{texts[0]} (both)", label))
            continue
        for i, (name, text) in enumerate(zip(names, texts, strict=True)):
            blocks.append(Block("item", f"{name}: {text}", label if i == 0 else " " * len(label)))
    for name, path in zip(names, paths, strict=True):
        blocks.append(Block("head", "", name.upper()))
        before = ""
        for i, step in enumerate(path, 1):
            now = standing_words(step.after)
            told = now if now != before else "no change"
            blocks.append(Block("item", f"{said_words(step)} -> {told}", f"{i}"))
            before = now
    return blocks


def compare_page(
    title: str, names: Sequence[str], paths: Sequence[Path], efforts: Sequence[str] | None = None
) -> str:
    """The comparison as a page: both charts on the same causes, both lists of answers."""
    rows = [wrap("tr", tag("th", ""), *(tag("th", name) for name in names))]
    rows += [
        wrap("tr", tag("th", label), *(tag("td", text) for text in texts))
        for label, texts in comparison(paths, efforts)
    ]
    found = dict.fromkeys(cause for path in paths if path for cause in shown_causes(path))
    causes = list(found)[:MOST]
    parts = []
    for name, path in zip(names, paths, strict=True):
        inner = [belief_chart(path, causes), steps_html(path)] if path else [tag("p", "nothing told")]
        parts.append(wrap("section", tag("h2", name), *inner))
    body = tag("h1", title) + wrap("table", *rows) + wrap("div", *parts, class_="two")
    return page(title, body, style=STYLE + _STYLE)
