"""The job card and the sump sign: cautions first, recipe whole, escaped, on one page."""

from __future__ import annotations

import re
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import pytest
from browser import CHROMIUM, pdf_pages

from advisor.errors import BadInput
from advisor.knowledge.rulebase import RuleBase
from advisor.logbook.store import SqliteStore
from advisor.mixing.display import METRIC, US
from advisor.mixing.plan import plan
from advisor.reports.cards import job_card, sump_sign
from advisor.reports.cases import open_case
from advisor.reports.sheet import Sheet, sheet_html

NOON = "2025-03-04T12:00:00Z"
FOUL = (("rotten eggs in a closed room", {"smell": "rotten_egg", "hazard_context": "no_ventilation"}),)
RICH = {"strength": 0.13, "sump_volume_l": 190.0, "fill": 1.0, "target": 0.07, "pail_l": 20.0}
SUMP = {"id": "m", "name": "<b>Mill & 'Co'</b>", "figures": {"sump_volume": 190.0, "target": [0.05, 0.08]}}
PRODUCT = {"name": "Demo", "figures": {"refractometer_factor": 2.0, "target": [0.06, 0.1]}, "sds": "sheet 7"}


class Page(HTMLParser):
    """Tags and text, in order."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words = ""
        self.feed(text.partition("<body>")[2])

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.words += data + " "


def with_recipe(store: SqliteStore, case: int) -> Sheet:
    """The card of a case that ended in a thinning recipe."""
    made = plan("thin", RICH, METRIC).as_json()
    store.append(case, "recipe", {"recipe": made, "action": None}, time=NOON, who="op")
    return job_card(open_case(store, case))


def test_cautions_stand_before_anything_to_do(store: SqliteStore, save: Callable[..., int]) -> None:
    """The stop is read first, with its steps as boxes to tick."""
    words = Page(sheet_html(job_card(open_case(store, save(FOUL))))).words
    assert words.index("STOP. Foul fluid") < words.index("Open doors, stand back")
    assert words.index("Open doors, stand back") < words.index("Do, in this order")


def test_pails_of_the_card_sum_to_the_recipe(store: SqliteStore, save: Callable[..., int]) -> None:
    """Counts and litres of the table sum to the litres added, within their rounding."""
    card = sheet_html(with_recipe(store, save()))
    added = plan("thin", RICH, METRIC).as_json()["add_l"]
    rows = re.findall(r"<tr><td>(\d+) x</td><td>([\d.]+) L</td><td>(?:none|([\d.]+) (mL|L))</td>", card)
    total = sum(int(n) * (float(w) + (float(c or 0) / (1000 if u == "mL" else 1))) for n, w, c, u in rows)
    assert rows
    assert total == pytest.approx(added, rel=0.02)


def test_a_recipe_with_concentrate_says_how_it_is_handled(
    store: SqliteStore, save: Callable[..., int], rules: RuleBase
) -> None:
    """Goggles and gloves stand in the frame above the recipe, and a box for each pail beside it."""
    card = sheet_html(with_recipe(store, save()))
    words = Page(card).words
    handled = rules.cautions["neat_concentrate_handling"]["text"]
    assert handled in words
    assert words.index(handled) < words.index("Do, in this order")
    pails = re.findall(r"<td>(\d+) x</td>.*?<td>((?:<span class=\"box\"></span>)+)</td></tr>", card)
    assert pails
    assert all(boxes.count("box") == int(count) for count, boxes in pails)


def test_a_hostile_name_is_shown_not_run(store: SqliteStore, save: Callable[..., int]) -> None:
    """Markup in a name adds no element to card or sign."""
    bad = Page(sheet_html(job_card(open_case(store, save(sump=str(SUMP["name"]))))))
    sign = Page(sheet_html(sump_sign(SUMP, PRODUCT, METRIC)))
    assert "b" not in {*bad.tags, *sign.tags}
    assert "<b>Mill & 'Co'</b>" in bad.words
    assert "<b>Mill & 'Co'</b>" in sign.words


def test_a_case_without_a_verdict_has_no_card(store: SqliteStore, save: Callable[..., int]) -> None:
    """There is nothing to do yet, and the sentence says so."""
    with pytest.raises(BadInput, match="no verdict yet"):
        job_card(open_case(store, save(verdict=False)))


def test_the_sign_tells_the_glass_reading() -> None:
    """A window of 5 to 8 % on a product of factor 2 is 2.5 to 4.0 on the glass; the sump's window wins."""
    words = Page(sheet_html(sump_sign(SUMP, PRODUCT, METRIC))).words
    assert "5 to 8 %" in words
    assert "2.5 to 4.0" in words
    assert "190 L" in words
    assert "2.6 % keeps 6.5 %" in words  # 6.5 x (1 - 0.6), the mass balance
    by_log = Page(sheet_html(sump_sign(SUMP, PRODUCT, METRIC, (0.023, 0.019, 0.027)))).words
    assert "By its log, 2.3 % (1.9 to 2.7 %) keeps 6.5 %" in by_log
    assert "50 US gal" in Page(sheet_html(sump_sign(SUMP, PRODUCT, US))).words


@pytest.mark.skipif(CHROMIUM is None, reason="the browser chromium is not installed")
def test_card_and_sign_print_on_one_page(
    tmp_path: Path, store: SqliteStore, save: Callable[..., int]
) -> None:
    """A real browser prints each on a single sheet."""
    assert pdf_pages(tmp_path, sheet_html(with_recipe(store, save()))) == 1
    assert pdf_pages(tmp_path, sheet_html(sump_sign(SUMP, PRODUCT, METRIC))) == 1
