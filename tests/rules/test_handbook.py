"""The rule base as a person reads it, on the screen and as one page to print."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from advisor.cli import main
from advisor.errors import UnknownId
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.handbook import show_blocks
from advisor.reports.handbook_page import page
from advisor.terminal.render import render

#: HTML elements that have no end tag, as far as the page uses them.
VOID = {"meta"}


@pytest.fixture(scope="session")
def printed(rules: RuleBase) -> str:
    """The page."""
    return page(rules)


class Tags(HTMLParser):
    """Collects ids, links, tags and attributes, and what is opened and not closed."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.seen: set[str] = set()
        self.attributes: set[str] = set()
        self.open: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)
        self.attributes |= {name for name, _ in attrs}
        self.ids += [value or "" for name, value in attrs if name == "id"]
        self.links += [value or "" for name, value in attrs if name in ("href", "src")]
        self.open += [] if tag in VOID else [tag]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_page_is_well_formed(printed: str) -> None:
    """Every element is closed in its order, also for a reader of XML."""
    assert Tags(printed).open == []
    bare = re.sub(r"<!DOCTYPE html>|<meta[^>]*>", "", printed)
    assert ElementTree.fromstring(bare).tag == "html"


def test_page_holds_every_entry_once(printed: str, rules: RuleBase) -> None:
    """Every cause, caution and action has its own anchor, and no anchor comes twice."""
    ids = Tags(printed).ids
    wanted = {f"cause-{key}" for key in rules.causes} | {f"caution-{key}" for key in rules.cautions}
    wanted |= {f"action-{key}" for key in rules.actions}
    wanted |= {f"observable-{key}" for key, item in rules.observables.items() if item.question}
    assert wanted <= set(ids)
    assert len(ids) == len(set(ids))


def test_page_needs_nothing_else(printed: str) -> None:
    """No script, no handler, nothing fetched; every link leads to a place in the page."""
    tags = Tags(printed)
    assert tags.seen.isdisjoint({"script", "link", "img", "iframe", "object", "embed", "base", "form"})
    assert not any(name.startswith("on") for name in tags.attributes)
    assert {link[:1] for link in tags.links} == {"#"}
    assert {link[1:] for link in tags.links} <= set(tags.ids)
    assert "url(" not in printed
    assert "@import" not in printed


def test_page_says_what_the_files_say(printed: str, rules: RuleBase) -> None:
    """What each cause means and each caution says stands on the page, and each publication once."""
    text = re.sub(r"<[^>]+>", "", printed).replace("&#x27;", "'").replace("&quot;", '"').replace("&amp;", "&")
    assert [c for c, cause in rules.causes.items() if cause.text["means"] not in text] == []
    assert [c for c, item in rules.cautions.items() if item["text"] not in text] == []
    titles = [rules.cite([name]) for name in rules.sources if rules.cite([name]) in text]
    assert len(titles) > 50
    assert [title for title in titles if len(re.findall(re.escape(f"] {title}\n"), text)) != 1] == []


def test_text_is_escaped(rules: RuleBase) -> None:
    """A text that looks like HTML is shown as written."""
    import copy

    data = copy.deepcopy(rules.data)
    data["causes"]["lean_mix"]["means"] = 'Below <script>alert("1 & 2")</script>.'
    printed = page(RuleBase(data))
    assert "<script" not in printed
    assert "&lt;script&gt;alert(&quot;1 &amp; 2&quot;)" in printed


def test_written_where_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command writes the page; a folder that is not there is told."""
    assert main(["rules", "handbook", "--out", str(tmp_path / "book.html")]) == 0
    assert (tmp_path / "book.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert "book.html" in capsys.readouterr().out
    assert main(["rules", "handbook", "--out", str(tmp_path / "none" / "book.html")]) == 2
    assert main(["rules", "handbook"]) == 2


def test_every_entry_can_be_shown(rules: RuleBase) -> None:
    """On 80 columns, each source listed once, every mark listed, no id with underscores in the text."""
    for name in [*rules.causes, *rules.cautions, *rules.actions, *rules.observables]:
        shown = render(show_blocks(rules, name), 80)
        assert max(map(len, shown.splitlines())) <= 80, name
        body, _, sources = shown.partition("\nSOURCES\n")
        listed = re.findall(r"^  (\d+|practice|memory) ", sources, re.MULTILINE)
        assert len(listed) == len(set(listed))
        flat = " ".join(body.split())
        used = {
            int(n)
            for mark in re.findall(r"\[([^\]]*)\]", flat)
            for n in re.findall(r"(?:^|, )(\d+)(?=[:,]|$)", mark)
        }
        assert {int(n) for n in listed if n.isdigit()} == used, name


def test_two_entries_of_one_name(rules: RuleBase) -> None:
    """The caution about mist and the mist that is measured are both shown."""
    both = [name for name in rules.cautions if name in rules.observables]
    assert both
    shown = render(show_blocks(rules, both[0]))
    assert "TOLD WHEN" in shown
    assert "HOW TO LOOK" in shown


def test_a_name_mistyped(rules: RuleBase) -> None:
    """The nearest name is offered."""
    with pytest.raises(UnknownId, match='Did you mean "tramp_oil"'):
        show_blocks(rules, "tramp_oyl")


def test_an_action_is_told_in_steps_with_its_figures_and_sources(rules: RuleBase) -> None:
    """The clean-out names strength and time of the cleaner and both masks, each with where it stands."""
    screen = render(show_blocks(rules, "clean_out"), 80)

    for said in ("1 to 2 %", "8 to 12 hours", "at least 2 hours", "6 where", "FFP3", "FFP2", "0.5 to 1 %"):
        assert said in " ".join(screen.split()), said
    assert "[1: Annex 5, 2.3]" in " ".join(screen.split())
