"""Every kind of page in a real browser: nothing fetched, nothing run, twice the size, the keyboard alone."""

from __future__ import annotations

import http.server
import re
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from browser import CHROMIUM, run, with_script

from advisor.drills.debrief import steps
from advisor.drills.hidden import draw
from advisor.drills.play import Drill
from advisor.knowledge.rulebase import RuleBase
from advisor.logbook.store import SqliteStore
from advisor.mixing.card import card_html
from advisor.mixing.display import METRIC
from advisor.mixing.plan import plan
from advisor.reports.cards import job_card, sump_sign
from advisor.reports.cases import open_case, path_of
from advisor.reports.compare import compare_page, path_from
from advisor.reports.handbook_page import page as handbook
from advisor.reports.map_page import map_page
from advisor.reports.path_page import path_page
from advisor.reports.record import record_sheet
from advisor.reports.rule_map import rule_map
from advisor.reports.sheet import sheet_html

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="the browser chromium is not installed")
NOON = "2025-03-04T12:00:00Z"
RICH = {"strength": 0.13, "sump_volume_l": 190.0, "fill": 1.0, "target": 0.07, "pail_l": 20.0}
KINDS = ("path", "two paths", "debrief", "job card", "sump sign", "record", "mixing card", "map of a cause",
         "map of a question", "handbook")  # fmt: skip
#: Looks at a page as someone with 640 pixels and no pointer does, and leaves what it found in the title.
LOOK = """
var wide = document.documentElement.scrollWidth <= innerWidth;
var live = [].slice.call(document.querySelectorAll('a, button, input, select, summary, [onclick]'));
var reached = live.filter(function (one) { one.focus(); return document.activeElement === one; });
var ahead = live.filter(function (one) { return one.tabIndex > 0; });
document.title = [wide, live.length - reached.length, ahead.length, document.title].join('|');
"""


class Listening(http.server.BaseHTTPRequestHandler):
    """Notes every address that is asked for."""

    asked: list[str]

    def do_GET(self) -> None:
        self.asked.append(self.path)
        self.send_response(200)
        self.end_headers()

    def log_message(self, *args: object) -> None:
        """Says nothing."""


@pytest.fixture
def asked() -> Iterator[tuple[str, list[str]]]:
    """An address on this machine, and what was asked of it."""
    handler = type("Handler", (Listening,), {"asked": []})
    with http.server.HTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/seen", handler.asked
        server.shutdown()


def made(kind: str, bad: str, store: SqliteStore, save: Callable[..., int], rules: RuleBase) -> str:
    """A page of this kind in which every text that a person or a file gave is `bad`."""
    if kind.startswith("map"):
        return map_page(rules, rule_map(rules, "smell" if kind.endswith("question") else "tramp_oil"))
    if kind == "handbook":
        return handbook(rules)
    if kind == "sump sign":
        sump = {"id": "m", "name": bad, "figures": {"sump_volume": 190.0, "target": [0.05, 0.08]}}
        return sheet_html(sump_sign(sump, {"name": bad, "figures": {}, "sds": bad}, METRIC))
    if kind == "mixing card":
        return card_html(bad, figures=[bad], steps=[bad], cautions=[bad], notes=[bad])
    if kind == "record":
        return sheet_html(record_sheet([{"nickname": bad, "drill": bad, "points": 1, "time": bad}], bad))
    if kind == "debrief":
        drill = Drill(rules, draw(rules, 3, "fair"), bad)
        drill.say("smell")
        drill.finish()
        told = [path_from(rules, steps(drill.hidden, looks)) for looks in (drill.run.looks, drill.advised)]
        return compare_page(f"Drill: {bad}", (bad, "Advisor"), told)
    case = open_case(store, save(((bad, {"foam": "heavy"}), (bad, {"ph": 8.9})), sump=bad))
    if kind == "path":
        return path_page(case)
    if kind == "two paths":
        return compare_page(bad, (bad, bad), [list(path_of(case))] * 2)
    data = {"recipe": plan("thin", RICH, METRIC).as_json(), "action": None}
    store.append(case.number, "recipe", data, time=NOON, who=bad)
    return sheet_html(job_card(open_case(store, case.number)))


@pytest.mark.parametrize("kind", KINDS)
def test_a_page_asks_nobody_and_serves_everyone(
    kind: str,
    asked: tuple[str, list[str]],
    tmp_path: Path,
    store: SqliteStore,
    save: Callable[..., int],
    rules: RuleBase,
) -> None:
    """Hostile texts fetch and run nothing; at 200 % nothing sticks out; every link and button is reached."""
    where, seen = asked
    bad = f"<img src='{where}' onerror=\"document.title='owned'\"><script>fetch('{where}')</script>\"'&"
    page = made(kind, bad, store, save, rules)
    assert "<title>owned</title>" not in run(tmp_path, page)
    document = run(tmp_path, with_script(page, LOOK), "--window-size=640,900")
    wide, unreached, ahead, title = re.findall(r"<title>(.*?)</title>", document, re.DOTALL)[0].split("|", 3)
    assert (wide, unreached, ahead) == ("true", "0", "0")
    assert title != "owned"
    assert seen == []


@pytest.mark.parametrize("kind", KINDS)
def test_what_has_the_focus_is_seen(
    kind: str, tmp_path: Path, store: SqliteStore, save: Callable[..., int], rules: RuleBase
) -> None:
    """A page that can be walked by keyboard shows where one is, by a frame and not by colour alone."""
    page = made(kind, "Mill", store, save, rules)
    if re.search(r"<a |<button|createElement\('button'\)", page):
        assert re.search(r":focus(-visible)?[^{]*\{[^}]*(outline: \dpx|stroke-width: [3-9])", page)
