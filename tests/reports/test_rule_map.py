"""The map of a cause and of a question: what the rules say, no more, and readable as a page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from browser import CHROMIUM, run, with_script

from advisor.cli import main
from advisor.errors import UnknownId
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.map_page import map_page
from advisor.reports.rule_map import RuleMap, map_blocks, rule_map
from advisor.terminal.render import render

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="the browser chromium is not installed")


def keys(made: RuleMap, title: str) -> set[str]:
    """The causes in one group of a map."""
    return {link.key for group in made.groups if group.title == title for link in group.links}


def test_what_leads_where_is_what_the_files_say(rules: RuleBase) -> None:
    """For every cause, its map leads to what its file leads to, and from whatever names it."""
    for key in rules.causes:
        made = rule_map(rules, key)
        led = {r["cause"] for r in rules.data["causes"][key].get("leads_to", [])}
        assert keys(made, "What it leads to") == led
        origins = {c for c, item in rules.causes.items() if key in item.leads_to}
        assert keys(made, "What leads to it") == origins
        alike = {r["cause"] for r in rules.data["causes"][key].get("look_alikes", [])}
        assert keys(made, "Looks alike, and how to tell it apart") == alike


def test_a_question_names_the_causes_whose_signs_ask_it(rules: RuleBase) -> None:
    """Rotten eggs speak for germs without air, by the share of the rule's word over the base."""
    made = rule_map(rules, "smell")
    (group,) = [g for g in made.groups if "rotten eggs" in g.title]
    (link,) = [k for k in group.links if k.key == "anaerobic_growth"]
    sign = next(s for s in rules.causes["anaerobic_growth"].signs if s.node == "smell: rotten_egg")
    assert link.weight == pytest.approx(sign.chances["yes"] / rules.base("smell: rotten_egg"))
    assert link.refs == sign.sources


def test_a_number_is_mapped_through_its_band(rules: RuleBase) -> None:
    """The pH itself separates what low and high pH separate."""
    made = rule_map(rules, "ph")
    told = {link.key for group in made.groups for link in group.links}
    assert {"low_ph", "high_ph"} <= told
    assert any(g.title == "Look-alikes it tells apart" for g in made.groups)


def test_names_in_words_are_found_and_others_refused(rules: RuleBase) -> None:
    """An id, a title and plain words name the same cause; a slip gets the nearest."""
    plain = rules.causes["tramp_oil"].plain
    assert {rule_map(rules, name).id for name in ("tramp_oil", "Tramp oil", plain)} == {"tramp_oil"}
    with pytest.raises(UnknownId, match="tramp_oil"):
        rule_map(rules, "tramp oyl")


def test_every_map_fits_the_terminal(rules: RuleBase) -> None:
    """Every cause and every question has a map of at most 80 columns, its marks listed."""
    asked = [key for key, item in rules.observables.items() if item.question]
    for name in [*rules.causes, *asked, *rules.findings]:
        shown = render(map_blocks(rules, rule_map(rules, name)), 80)
        assert max(map(len, shown.splitlines())) <= 80, name


def test_every_box_leads_to_its_words(rules: RuleBase) -> None:
    """On the page each link in the drawing has the place in the words that it goes to, and only there."""
    for name in ("tramp_oil", "smell", "in_range"):
        page = map_page(rules, rule_map(rules, name))
        ids = re.findall(r' id="([^"]+)"', page)
        links = re.findall(r'href="([^"]*)"', page)
        assert links
        assert {link[:1] for link in links} == {"#"}
        assert {link[1:] for link in links} <= set(ids)
        assert len(ids) == len(set(ids))


def test_for_and_against_differ_without_colour(rules: RuleBase) -> None:
    """Bars and lines that speak against carry a class of their own, and that class a broken line."""
    page = map_page(rules, rule_map(rules, "tramp_oil"))
    assert page.count('class="bar against"') >= 2
    assert re.search(r"\.bar\.against \{[^}]*stroke-dasharray", page)
    assert re.search(r"\.against \{ stroke-dasharray", page)


def test_the_command_writes_the_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A page where asked, JSON where asked, and a sentence for what is not there."""
    assert main(["rules", "map", "foam", "--out", str(tmp_path / "map.html")]) == 0
    assert "map of the question" in (tmp_path / "map.html").read_text(encoding="utf-8")
    assert main(["rules", "map", "foam", "--json"]) == 0
    assert '"kind": "question"' in capsys.readouterr().out
    assert main(["rules", "map", "phlogiston"]) == 2


@needs_browser
def test_arrow_keys_walk_over_the_boxes(tmp_path: Path, rules: RuleBase) -> None:
    """Down and down and up stand on the first box; its link leads to words that are there."""
    script = (
        "['ArrowDown','ArrowDown','ArrowUp'].forEach(function (k) {document.dispatchEvent("
        "new KeyboardEvent('keydown', {key: k, cancelable: true}));});"
        "var on = document.activeElement.getAttribute('href');"
        "document.title = on + ' ' + !!document.querySelector(on);"
    )
    seen = run(tmp_path, with_script(map_page(rules, rule_map(rules, "tramp_oil")), script))
    assert "<title>#w0-0 true</title>" in seen
