"""Two paths beside each other."""

from __future__ import annotations

from collections.abc import Callable

from advisor.logbook.store import SqliteStore
from advisor.reports.cases import StepOfPath, open_case, path_of
from advisor.reports.compare import compare_blocks, compare_page, comparison, path_from

SHORT = (("reads strong, level low", {"concentration": "11.5 %", "target": "8 %", "sump_level": "low"}),)
LONG = (("foam", {"foam": "light"}), ("it smells", {"smell": "musty"}), *SHORT)


def paths(store: SqliteStore, save: Callable[..., int]) -> list[list[StepOfPath]]:
    """A long and a short path to the same end."""
    return [list(path_of(open_case(store, save(answers)))) for answers in (LONG, SHORT)]


def test_what_only_one_of_them_asked_is_told(store: SqliteStore, save: Callable[..., int]) -> None:
    """Foam and smell are the long path's own; the strength both know; effort is the sum of the looks."""
    rows = dict(comparison(paths(store, save)))
    assert rows["answers"] == ["3", "1"]
    assert "strength" in rows["both know"][0]
    assert {"foam", "smell"} <= set(rows["only here"][0].split("; "))
    assert rows["only here"][1] == "nothing"
    assert float(rows["effort"][0].split()[0]) > float(rows["effort"][1].split()[0])


def test_the_page_charts_both_on_the_same_causes(store: SqliteStore, save: Callable[..., int]) -> None:
    """Both charts have the same number of lines, and a hostile name is text."""
    page = compare_page("<b>two</b>", ("one", "other"), paths(store, save))
    first, second = page.split("<section>")[1:]
    assert first.count('class="belief"') == second.count('class="belief"') >= 2
    assert "<b>two" not in page


def test_a_path_with_nothing_told_is_no_error(store: SqliteStore, save: Callable[..., int]) -> None:
    """An empty path stands beside the other and says so."""
    long, _ = paths(store, save)
    assert "nothing told" in compare_page("t", ("one", "none"), [long, []])
    assert compare_blocks(("one", "none"), [long, []])


def test_a_path_from_facts_is_the_path_of_the_case(store: SqliteStore, save: Callable[..., int]) -> None:
    """The same answers give the same belief, saved as a case or not."""
    case = open_case(store, save(SHORT))
    (step,) = path_of(case)
    (made,) = path_from(case.rules, [("", "x", list(step.facts))])
    assert made.after.belief.marginals == step.after.belief.marginals
