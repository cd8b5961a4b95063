"""A verdict fits one screen, keeps its order, and hides no danger."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from advisor.dialogue import phrases
from advisor.dialogue.blocks import DETAIL, TALL, Block
from advisor.dialogue.glance import in_short, in_two_forms, verdict_at_a_glance, with_question
from advisor.dialogue.shortening import first_sentence, in_brief
from advisor.inference.assess import Assessment
from advisor.knowledge.rulebase import load
from advisor.terminal.render import SPARE, render
from tests.cases.report import cases, view_of

HERE = Path(__file__).resolve().parents[1] / "cases"
FILES = ("cases.jsonl", "own_cases.jsonl", "fresh_cases.jsonl")
ORDER = ["CAN IT RUN?", "STOP", "STILL: STOP", "WHAT IT IS", "UNTIL THEN", "FIRST"]


@cache
def views(file: str) -> list[tuple[str, Assessment]]:
    """Every narrative of a file with its judgement."""
    return [(case["id"], view_of(case, load())) for case in cases(HERE / file)]


def new(view: Assessment) -> list[str]:
    """The cautions of a judgement, all as if never told before."""
    return [c for c in view.cautions if view.known.rules.cautions[c]["level"] != "note"]


@pytest.mark.parametrize("file", FILES)
def test_a_verdict_fits_a_small_screen(file: str) -> None:
    """Told again after its cautions were, no verdict is longer than 80 by 24."""
    for name, view in views(file):
        screen = render(verdict_at_a_glance(view, [], new(view)), 80, rows=24)

        assert len(screen.splitlines()) <= 24 - SPARE, f"{name}\n{screen}"


def asked(view: Assessment) -> list[Block]:
    """A verdict with all its cautions new, as it is put before a person, and the question behind it."""
    told = verdict_at_a_glance(view, in_two_forms(view.known.rules, new(view)), new(view))
    return [*told, *in_short(view, told), Block("ask", phrases.ANYTHING_ELSE)]


@pytest.mark.parametrize("file", FILES)
def test_every_new_danger_is_told(file: str) -> None:
    """Each new caution stands there whole where there is room, in its first sentence where there is none."""
    for name, view in views(file):
        told = [view.known.rules.cautions[c] for c in new(view)]
        whole = " ".join(render(asked(view), 60, rows=None).split())
        small = " ".join(render(asked(view), 60, rows=20).split())

        wanted = [" ".join(text.split()) for c in told for text in (c["text"], *c.get("do_now", []))]
        assert [text for text in wanted if text not in whole] == [], name
        first = [" ".join(first_sentence(c["text"]).split()) for c in told]
        assert [text for text in first if text not in small] == [], name


@pytest.mark.parametrize("file", FILES)
def test_an_emergency_is_never_cut_short(file: str) -> None:
    """However small the screen, every step of it stands there."""
    for name, view in views(file):
        told = [view.known.rules.cautions[c] for c in new(view)]
        grave = [c for c in told if c["level"] == "emergency"]
        small = " ".join(render(asked(view), 40, rows=10).split())

        steps = [" ".join(text.split()) for c in grave for text in (c["text"], *c.get("do_now", []))]
        assert [text for text in steps if text not in small] == [], name


@pytest.mark.parametrize("file", FILES)
def test_new_cautions_leave_whether_it_can_run_in_sight(file: str) -> None:
    """With all cautions new, 80 by 24 holds verdict and question; an emergency stands alone before both."""
    for name, view in ((n, v) for n, v in views(file) if v.verdict != "outside"):
        if any(view.known.rules.cautions[c]["level"] == "emergency" for c in view.cautions):
            continue
        lines = render(asked(view), 80, rows=24).splitlines()

        assert len(lines) <= 24 - SPARE, name
        assert any(line.startswith("CAN IT RUN?") for line in lines), name


def test_the_mildest_is_cut_short_first() -> None:
    """Room for one whole caution: the one that stops the machine keeps its steps."""
    stop = Block("stop", "Stop it. " * 20, "STOP", briefs=("Stop it.",))
    care = Block("warn", "Take care. " * 20, "TAKE CARE", briefs=("Take care.",))
    steps = [Block("item", "a step", "1", rank=DETAIL)] * 2

    shown = render([care, *steps, stop, *steps], 80, rows=8 + SPARE)

    assert shown.startswith("TAKE CARE  Take care.\n")
    assert shown.split().count("Stop") == 20
    assert shown.count("a step") == 2


@pytest.mark.parametrize("file", FILES)
def test_what_stops_is_named_with_every_verdict(file: str) -> None:
    """A stop told before is on the screen again in its first sentence, before what it is."""
    for name, view in ((n, v) for n, v in views(file) if v.verdict != "outside"):
        levels = [view.known.rules.cautions[c]["level"] for c in view.cautions]

        heads = [b.label for b in verdict_at_a_glance(view, [], []) if b.label in ORDER]

        assert heads.count("STILL: STOP") == sum(level in {"stop", "emergency"} for level in levels), name
        assert heads == sorted(heads, key=ORDER.index), name


def test_what_can_wait_leaves_first() -> None:
    """Of what may go, the highest rank goes first and what must stay stays."""
    blocks = [Block("text", f"line {i}", rank=(0, 4, 5)[i % 3]) for i in range(30)]

    shown = render(blocks, rows=20 + SPARE).splitlines()

    assert shown == [f"line {i}" for i in range(30) if i % 3 < 2]


def test_an_overfull_screen_is_summed_up() -> None:
    """The summary is shown only where the rest does not fit."""
    short = Block("text", "in short", rank=TALL)
    many = [Block("text", "line")] * 40

    assert "in short" not in render([Block("text", "line"), short])
    assert render([*many, short]).endswith("in short")


@pytest.mark.parametrize(
    ("step", "brief"),
    [
        ("Read again: fresh sample, clean prism.", "Read again."),
        ("Bring the fluid below 30 °C: clean the cooler.", "Bring the fluid below 30 °C."),
        ("Bring it to pH 8.5 or more. Then wait.", "Bring it to pH 8.5 or more."),
        ("Wait", "Wait."),
    ],
)
def test_a_step_in_brief_is_its_first_part(step: str, brief: str) -> None:
    """Cut at a stop, a colon or a semicolon, never inside a number."""
    assert in_brief(step) == brief


def test_a_long_list_behind_a_verdict_is_told_in_running_text() -> None:
    """Nothing of the list is lost; where there is room it stays a list, and never half of one."""
    verdict = [Block("head", "It is weak.", "WHAT IT IS")] + [Block("text", "line")] * 8
    items = [Block("item", f"thing {i} is done", f"{i}") for i in range(1, 9)]
    blocks = with_question(verdict, [Block("ask", "Which are done?"), *items])

    small, large = render(blocks, rows=18), render(blocks, rows=40)

    assert "1 thing 1 is done; 2 thing 2 is done" in " ".join(small.split())
    assert "8 thing 8 is done." in " ".join(small.split())
    assert "\n  1 thing 1 is done\n" in large
    assert "done; 2" not in large


def test_a_new_stop_keeps_its_steps_and_the_question_loses_how_to_look() -> None:
    """What a person must do first is told whole; what a question needs to be safe stays beside it."""
    stop = in_two_forms(load(), ["irritation_after_biocide", "skin_trouble"])
    harmless = [Block("ask", "What changed?"), Block("item", "Ask the people of every shift.", "1.")]
    careful = [Block("ask", "What does it smell of?"), Block("item", "Never put your head over it.", "1.")]

    assert [b.rank for b in with_question(stop, harmless)[-2:]] != [0, 0]
    assert [b.rank for b in with_question(stop, careful)[-2:]] == [0, 0]
