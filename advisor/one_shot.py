"""``sumpside read`` and ``sumpside assess``: one answer for other programs, or plain text for people."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from advisor.dialogue.answer import verdict_json
from advisor.dialogue.blocks import Block
from advisor.dialogue.given import given_facts
from advisor.dialogue.recipe_screens import recipe_blocks
from advisor.dialogue.screens import fact_words, verdict_blocks
from advisor.dialogue.understanding import Lexicon, Understood, understand
from advisor.errors import BadInput, SumpsideError
from advisor.inference.assess import Assessment
from advisor.inference.assess import assess as judge
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase, load
from advisor.mixing.display import METRIC

#: A text longer than this is not one operator's line.
LONGEST_TEXT = 8000


def _lexicon(rules: RuleBase) -> Lexicon:
    return Lexicon.from_data(rules.data["phrases"], rules.data["observables"])


def read(args: argparse.Namespace) -> int:
    """``sumpside read "TEXT" [--json] | --lines FILE``."""
    rules = load()
    lexicon = _lexicon(rules)
    if args.lines:
        return _each_line(args.lines, lambda text: _read_json(text, lexicon))
    if args.text is None:
        raise BadInput("no text was given", right='write sumpside read "foam since the new drum"')
    found = _read_json(args.text, lexicon)
    if args.json:
        print(json.dumps(found, ensure_ascii=False))
        return 0
    got = _understood(args.text, lexicon)
    for fact in got.facts:
        print(f"{fact_words(fact, rules)}" + (f'   ("{fact.said}")' if fact.said else ""))
    if got.unused:
        print("not used: " + ", ".join(got.unused))
    if not got.facts:
        print("nothing in it that I know")
    return 0


def _understood(text: str, lexicon: Lexicon) -> Understood:
    if not text.strip():
        raise BadInput("the text is empty", value=text, right="write what was seen, smelt or read")
    if len(text) > LONGEST_TEXT:
        raise BadInput(
            f"the text is too long ({len(text)} characters)", right=f"keep it under {LONGEST_TEXT}"
        )
    return understand(text, lexicon=lexicon)


def _read_json(text: str, lexicon: Lexicon) -> dict[str, Any]:
    got = _understood(text, lexicon)
    return {"facts": [fact.as_json() for fact in got.facts], "unused": list(got.unused)}


def assess(args: argparse.Namespace) -> int:
    """``sumpside assess FILE|- [--json] | --lines FILE``."""
    rules = load()
    lexicon = _lexicon(rules)
    if args.lines:
        return _each_line(args.lines, lambda line: assess_json(_json_line(line), rules, lexicon))
    if args.file is None:
        raise BadInput("no file was given", right='give a YAML or JSON file, or "-" for standard input')
    data = _document(args.file)
    view, got = _judged(data, rules, lexicon)
    if args.json:
        print(json.dumps(_whole(view, got), ensure_ascii=False))
        return 0
    from advisor.terminal.render import render

    made = _whole(view, got)
    blocks = verdict_blocks(view, ())
    recipe = next((a["recipe"] for a in made["actions"] if a["recipe"]), None)
    if recipe:
        blocks += recipe_blocks(recipe, METRIC)
    blocks += [Block("item", f"{r['what']}: {r['why']}", "not") for r in made["refused"]]
    blocks += [Block("item", text, "taken") for text in made["assumptions"]]
    blocks += [Block("item", text, "unused") for text in made["unused"]]
    print(render(blocks, rows=None))
    return 0


def assess_json(data: Any, rules: RuleBase, lexicon: Lexicon) -> dict[str, Any]:
    """The ``assess`` contract for one object.

    Raises:
        BadInput: the object cannot be used, with what would be right.
    """
    return _whole(*_judged(data, rules, lexicon))


def _judged(data: Any, rules: RuleBase, lexicon: Lexicon) -> tuple[Assessment, Understood]:
    if not isinstance(data, Mapping) or not data:
        raise BadInput("there is nothing to judge", value=data, right="give text:, facts:, or both")
    facts: list[Fact] = []
    got = Understood()
    text = data.get("text")
    if text is not None:
        if not isinstance(text, str):
            raise BadInput("text must be text", value=text, place="text", right="put it in quotes")
        got = _understood(text, lexicon)
        facts += got.facts
    facts += given_facts(data, rules)
    return judge(facts, rules), got


def _whole(view: Assessment, got: Understood) -> dict[str, Any]:
    assumed = [f"{a.said}: taken as {a.choices[0]}." for a in got.ask if a.choices]
    return verdict_json(view, got.unused, tuple(assumed))


def _document(name: str) -> Any:
    from advisor.knowledge.yaml_source import parse

    if name == "-":
        return parse(sys.stdin.read(), Path("standard input")).data
    try:
        text = Path(name).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as trouble:
        raise BadInput(
            f"{name} cannot be read ({trouble})", value=name, right="give a YAML or JSON file"
        ) from None
    return parse(text, Path(name)).data


def _json_line(line: str) -> Any:
    if not line.lstrip().startswith("{"):
        return {"text": line}
    try:
        return json.loads(line)
    except ValueError as trouble:
        raise BadInput(
            f"the line is not JSON ({trouble})", value=line[:80], right="write one JSON object, or plain text"
        ) from None


def _each_line(name: str, work: Callable[[str], dict[str, Any]]) -> int:
    """One JSON object out per line in; a bad line's object says what is wrong and the rest go on."""
    try:
        stream = sys.stdin if name == "-" else Path(name).open(encoding="utf-8", errors="replace")  # noqa: SIM115
    except OSError as trouble:
        raise BadInput(
            f"{name} cannot be read ({trouble.strerror})", value=name, right="give a text file"
        ) from None
    good = 0
    with stream:
        for line in stream:
            try:
                made = work(line.rstrip("\r\n"))
                good += 1
            except SumpsideError as trouble:
                made = {"error": trouble.sentence()}
            print(json.dumps(made, ensure_ascii=False), flush=True)
    return 0 if good else 2
