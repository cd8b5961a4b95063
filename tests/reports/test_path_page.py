"""The decision path as a page: escaped, self-contained, readable without script, colour or numbers on
people."""

from __future__ import annotations

import re
from collections.abc import Callable
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest
from browser import CHROMIUM, run, with_script

from advisor.knowledge.rulebase import RuleBase
from advisor.logbook.store import SqliteStore
from advisor.reports.cases import open_case
from advisor.reports.chart import LOOKS, spread
from advisor.reports.path_page import path_page

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="the browser chromium is not installed")
HOSTILE = "<script>document.title='owned'</script>\"'&<img src=x onerror=document.title='owned'>"
CHEST = (
    ("mist all over, two coughing", {"mist_seen": "heavy", "breathing": ["cough", "wheeze"]}),
    ("worse at work", {"symptom_pattern": "worse_at_work"}),
)


class Tags(HTMLParser):
    """Collects tags, attributes and text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.named: list[tuple[str, str | None]] = []
        self.words = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.named += attrs

    def handle_data(self, data: str) -> None:
        self.words += data


@pytest.fixture
def page(store: SqliteStore, save: Callable[..., int]) -> str:
    """The page of an evaporated sump."""
    return path_page(open_case(store, save()))


def test_hostile_names_and_words_are_shown_not_run(store: SqliteStore, save: Callable[..., int]) -> None:
    """A sump and an answer full of markup add no element and no attribute."""
    clean = Tags(path_page(open_case(store, save((("cat", {"ph": 8.9}),), sump="Mill"))))
    bad = Tags(path_page(open_case(store, save(((HOSTILE, {"ph": 8.9}),), sump=HOSTILE))))
    assert bad.tags == clean.tags
    assert {name for name, _ in bad.named} == {name for name, _ in clean.named}
    assert bad.words.count(HOSTILE) >= 2


def test_page_needs_nothing_from_outside(page: str) -> None:
    """No address is loaded or linked, and the policy in the page forbids it."""
    wanted = {"src", "href", "action", "data", "poster", "srcset"}
    assert not wanted & {name for name, _ in Tags(page).named}
    assert "default-src 'none'" in page
    assert not re.search(r"@import|url\(", page)


def test_every_step_is_there_without_script(page: str) -> None:
    """The answers stand in the page itself, each with its rule and source, none hidden."""
    held = Tags(page)
    assert [v for n, v in held.named if n == "class" and v == "step"] == ["step"] * 3
    assert "hidden" not in {name for name, _ in held.named}
    assert held.words.count("Rule ") + held.words.count("Setting of ") >= 2


def test_people_get_no_number_and_no_illness(
    store: SqliteStore, save: Callable[..., int], rules: RuleBase
) -> None:
    """A referral has no line and no chance, and its id is not on the page."""
    made = path_page(open_case(store, save(CHEST)))
    referrals = [c for c in rules.causes.values() if c.referral]
    told = re.findall(r"people report chest trouble, the air needs looking at \(([^)]*)\)", made)
    assert told
    assert set(told) == {"a referral, no number"}
    assert not [c.id for c in referrals if c.id in made]
    assert not re.search("asthma|alveolitis", made, re.I)


def test_lines_differ_without_colour() -> None:
    """Every line has its own dashes and its own mark, so that grey is enough."""
    assert len({dashes for _, dashes, _ in LOOKS}) == len({mark for *_, mark in LOOKS}) == len(LOOKS)


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2 definition."""
    parts = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_lines_stand_out_from_the_paper() -> None:
    """Each colour has at least 3 to 1 against white (WCAG 2.2, 1.4.11, non-text contrast)."""
    assert all(1.05 / (luminance(colour) + 0.05) >= 3 for colour, *_ in LOOKS)


def test_names_never_lie_on_each_other() -> None:
    """Labels whose lines end at one height are moved apart and stay inside."""
    tops = spread([100, 100, 100, 480, 485], [40] * 5, 0, 500)
    boxes = sorted((top, top + 40) for top in tops)
    assert all(a[1] <= b[0] for a, b in pairwise(boxes))
    assert boxes[0][0] >= 0
    assert boxes[-1][1] <= 500


@needs_browser
def test_hostile_page_runs_nothing_in_a_browser(
    tmp_path: Path, store: SqliteStore, save: Callable[..., int]
) -> None:
    """In a real browser the title stays ours, and the page's own script does run."""
    seen = run(tmp_path, path_page(open_case(store, save(((HOSTILE, {"ph": 8.9}),), sump=HOSTILE))))
    assert "<title>How case 1 was decided</title>" in seen
    assert "all 1 answers" in seen


@needs_browser
def test_arrow_keys_step_through(tmp_path: Path, page: str) -> None:
    """Two steps on and one back: the first answer is marked, the later ones stand back."""
    keys = (
        "['ArrowRight','ArrowRight','ArrowLeft'].forEach(function (k) {document.dispatchEvent("
        "new KeyboardEvent('keydown', {key: k, cancelable: true}));});"
    )
    seen = run(tmp_path, with_script(page, keys))
    assert "answer 1 of 3" in seen
    assert seen.count('class="step now"') == 1
    assert seen.count('class="step later"') == 2


@needs_browser
def test_pointer_over_the_chart_marks_the_answer(tmp_path: Path, page: str) -> None:
    """The column of an answer under the pointer marks that answer."""
    enter = "document.querySelectorAll('.column')[2].dispatchEvent(new MouseEvent('mouseenter'));"
    seen = run(tmp_path, with_script(page, enter))
    assert re.findall(r'<li class="(step[^"]*)"', seen) == ["step", "step now", "step"]


@needs_browser
def test_twice_the_size_needs_no_sideways_scrolling(tmp_path: Path, page: str) -> None:
    """At 200 % zoom of a 1280 wide screen nothing sticks out, and the picture is not blank."""
    shot = tmp_path / "shot.png"
    script = "document.title = document.documentElement.scrollWidth + ' of ' + innerWidth;"
    seen = run(tmp_path, with_script(page, script), "--window-size=640,900", f"--screenshot={shot}")
    wide, screen = re.search(r"<title>(\d+) of (\d+)</title>", seen).groups()  # type: ignore[union-attr]
    assert int(wide) <= int(screen)
    assert shot.stat().st_size > 20_000


def test_a_reading_after_the_fix_is_no_part_of_the_path(store: SqliteStore, save: Callable[..., int]) -> None:
    """The path ends at the verdict; what was read after the fix stands under it."""
    case = save()
    before = path_page(open_case(store, case))
    span = {"strength_low": 0.065, "strength_high": 0.08, "strength_after": 0.07}
    made = {"refused": None, "options": [], "warnings": [], "assumptions": [], "steps": [], **span}
    fact = {"id": "concentration", "value": 0.072, "unit": "fraction", "status": "present", "firm": True}
    store.append(case, "recipe", {"recipe": made}, time="2025-03-05T08:00:00Z", who="op")
    store.append(case, "recheck", {"recipe": None}, time="2025-03-05T08:00:00Z", who="op", visit=2)
    store.append(
        case, "said", {"facts": [{**fact, "said": None}]}, "7.2", time="2025-03-05T08:00:00Z", who="op"
    )
    after = path_page(open_case(store, case))
    assert after.count('class="step"') == before.count('class="step"')
    assert "After the fix: read 7.2 %" in after
