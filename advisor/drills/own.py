"""A trainer's own drill from a YAML file, no programming needed; `EXAMPLE` is one.

What is not under ``facts`` shows nothing out of the ordinary when it is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from advisor.dialogue.case import SHOP_BOOK
from advisor.dialogue.given import given_facts
from advisor.drills.hidden import Hidden
from advisor.errors import BadInput
from advisor.inference.evidence import NOTHING_WRONG
from advisor.knowledge.facts import Fact
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import RuleBase

EXAMPLE = """\
title: The Monday lathe
story: Smells on Monday, oil on top.     # what the operator says
cause: anaerobic_growth                  # what is wrong; ids as in "sumpside rules list"
also: [low_ph]                           # what it has led to, if anything
sump: {sump_volume: 250 L, refractometer_factor: 1.5, target: [5 %, 8 %], pail: 20 L}
facts: {smell: rotten_egg, surface: oil_layer, ph: 8.1, concentration: 6.5 %, hazard_context: no_ventilation}
ruled_out: [skin, breathing]
must: [lock_out]                         # cautions to name besides those that follow from the facts
recipe: none                             # thin, strengthen, charge or none; left out: as the rules say
"""
_KEYS = ("title", "story", "cause", "also", "sump", "facts", "ruled_out", "must", "recipe")
_NEEDED = ("title", "story", "cause", "facts")
_RECIPES = ("thin", "strengthen", "charge", "none")


def own_drill(rules: RuleBase, file: Path) -> Hidden:
    """The drill a file describes.

    Raises:
        BadInput: the file cannot be read, lacks something, or holds a key, id or value that is unknown;
            with what would be right.
    """
    data = _read(file)
    place = str(file)
    for key in data:
        if key not in _KEYS:
            near = nearest(str(key), _KEYS)
            right = f'write "{near}"' if near else f"use {', '.join(_KEYS)}"
            raise BadInput(f'"{key}" is not part of a drill', value=key, place=place, right=right)
    missing = [key for key in _NEEDED if not data.get(key)]
    if missing:
        right = 'print one to copy with "sumpside drill --example"'
        raise BadInput(f"the drill lacks {', '.join(missing)}", place=place, right=right)
    causes = [_id(rules.causes, str(c), "cause", place) for c in [data["cause"], *_list(data, "also", place)]]
    must = [_id(rules.cautions, str(c), "caution", place) for c in _list(data, "must", place)]
    if causes[0] == NOTHING_WRONG or rules.causes[causes[0]].referral:
        right = "name what is wrong with the fluid; people's trouble is what it leads to"
        raise BadInput(f'"{causes[0]}" cannot be the hidden fault', value=causes[0], place=place, right=right)
    recipe = data.get("recipe")
    if recipe is not None and recipe not in _RECIPES:
        raise BadInput(f'no recipe is called "{recipe}"', place=place, right=f"use {', '.join(_RECIPES)}")
    sign = [replace(f, said=SHOP_BOOK) for f in given_facts({"facts": data.get("sump") or {}}, rules)]
    told = given_facts({"facts": data["facts"], "ruled_out": _list(data, "ruled_out", place)}, rules)
    answers: dict[str, tuple[Fact, ...]] = {}
    for fact in told:
        answers[fact.id] = (*answers.get(fact.id, ()), fact)
    _glass(sign, answers)
    opening = tuple(f for f in told if f.status == "present" and rules.observables[f.id].role == "sign")
    return Hidden(
        tuple(dict.fromkeys(causes)),
        answers,
        tuple(sign),
        opening[:2],
        title=str(data["title"]),
        story=str(data["story"]),
        must=tuple(must),
        recipe=recipe,
    )


def _read(file: Path) -> Mapping[str, Any]:
    from advisor.knowledge.yaml_source import read

    if not file.is_file():
        raise BadInput(f"there is no file {file}", value=str(file), right="give a YAML file with the drill")
    data = read(file).data
    if not isinstance(data, Mapping):
        raise BadInput("a drill is a list of keys and values", place=str(file), right="begin with: title: …")
    return data


def _list(data: Mapping[str, Any], key: str, place: str) -> list[Any]:
    held = data.get(key) or []
    if not isinstance(held, list):
        raise BadInput(f"{key} must be a list", value=held, place=place, right=f"write {key}: [one, another]")
    return held


def _id(there: Mapping[str, Any], name: str, what: str, place: str) -> str:
    if name in there:
        return name
    near = nearest(name, there)
    right = f'did you mean "{near}"?' if near else "see sumpside rules"
    raise BadInput(f'no {what} is called "{name}"', value=name, place=place, right=right)


def _glass(sign: list[Fact], answers: dict[str, tuple[Fact, ...]]) -> None:
    """What the glass shows for the strength the trainer gave, through the product's factor."""
    true = answers.get("concentration")
    if true and isinstance(true[0].value, float) and "refractometer_reading" not in answers:
        factor = next((f.value for f in sign if f.id == "refractometer_factor"), 1.0)
        reading = round(100 * true[0].value / float(str(factor)), 1)
        answers["refractometer_reading"] = (Fact("refractometer_reading", reading, "Brix"),)
