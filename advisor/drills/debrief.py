"""A drill talked over: the score, the truth, and what the advisor would have asked instead."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.drills.advice import Look, hours, minutes
from advisor.drills.hidden import Hidden
from advisor.drills.scoring import OTHER_KIND, POINTS, Run, Score, wanted_recipe
from advisor.inference.assess import Assessment, assess
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase

_PARTS = {"cause": "right cause", "safety": "safety first", "effort": "effort", "recipe": "recipe"}


def debrief_blocks(
    rules: RuleBase,
    hidden: Hidden,
    run: Run,
    made: Score,
    advised: Sequence[Look],
    verdict: Assessment,
) -> list[Block]:
    """The debrief as blocks."""
    blocks = [Block("head", f"{made.points} of 100", "SCORE")]
    blocks += [
        Block("item", f"{POINTS[name] * part:.0f} of {POINTS[name]}", _PARTS[name])
        for name, part in made.parts.items()
    ]
    blocks += _truth(rules, hidden, run)
    blocks += _cautions(rules, run, made)
    blocks += _recipe(rules, hidden, run, made)
    blocks += _questions(rules, hidden, run, advised)
    lead = verdict.lead if verdict.verdict == "named" else None
    said = _plain(rules, lead) if lead else "not enough to name one cause"
    return [*blocks, Block("item", f"{said}", "it would say")]


def _plain(rules: RuleBase, cause: str) -> str:
    item = rules.causes[cause]
    return phrases.lower_first(str(item.text["title"] if item.referral else item.plain).rstrip("."))


def _truth(rules: RuleBase, hidden: Hidden, run: Run) -> list[Block]:
    blocks = [Block("head", phrases.sentence(_plain(rules, hidden.fault)), "IT WAS")]
    rest = [_plain(rules, c) for c in hidden.causes[1:]]
    if rest:
        blocks.append(Block("text", f"And with it: {'; '.join(rest)}."))
    if run.causes and run.causes[-1] != hidden.fault:
        blocks.append(Block("item", _plain(rules, run.causes[-1]), "you said"))
        both = (hidden.fault, run.causes[-1])
        held = [other for cause in both for other in rules.causes[cause].text.get("look_alikes", [])]
        told = [o["tell_apart"] for o in held if o["cause"] in {hidden.fault, run.causes[-1]}]
        blocks += [Block("item", text, "apart by") for text in told[:1]]
    view = assess(hidden.truth(), rules, questions=False)
    judged = next((j for j in view.causes if j.id == hidden.fault), None)
    for reason in (judged.speaks_for if judged else ())[:3]:
        text = f"{phrases.sentence(reason.because)} Rule {reason.sign}; {rules.cite(reason.sources)}."
        blocks.append(Block("item", text, "shown by"))
    return blocks


def _cautions(rules: RuleBase, run: Run, made: Score) -> list[Block]:
    blocks = []
    for key in made.must:
        how = "said" if key in run.cautions else "NOT SAID"
        blocks.append(Block("stop", f"{rules.cautions[key]['text']} [{how}]", "STOP"))
    if not run.asked_people:
        blocks.append(Block("warn", "No one asked about people and danger.", "TAKE CARE"))
    elif run.acted_first:
        blocks.append(
            Block("warn", "You asked about people and danger after you decided.", "TAKE CARE")
        )
    for deed in made.dangerous:
        blocks.append(Block("stop", _danger(rules, deed), "DANGEROUS"))
    return blocks


def _danger(rules: RuleBase, deed: str) -> str:
    if deed == "recipe":
        return "A recipe was given while a caution closes it."
    told = [item["text"] for item in rules.cautions.values() if item.get("when") == deed]
    if told:
        return str(told[0])
    item = rules.actions[deed]
    return f"{item['text']} {item.get('forbidden_because', 'Not here.')}"


def _recipe(rules: RuleBase, hidden: Hidden, run: Run, made: Score) -> list[Block]:
    kind = wanted_recipe(rules, hidden)
    if "recipe" not in made.parts:
        return []
    if run.recipe is None:
        return [Block("item", f"a recipe to {kind} was wanted, none was given", "recipe")]
    if made.strength_after is None:
        return [Block("item", "more goes out than is in, so it cannot be mixed", "recipe")]
    told = f"yours ends at {100 * made.strength_after:.1f} %"
    if kind == "charge" and made.parts["recipe"] <= OTHER_KIND:
        told += "; wanted was a fresh charge: nearly all of the old out first"
    return [Block("item", told, "recipe")]


def _questions(rules: RuleBase, hidden: Hidden, run: Run, advised: Sequence[Look]) -> list[Block]:
    """What was asked by both, by you only, and by the advisor only, with the cost of each path."""
    yours, its = {one.id for one in run.looks}, {one.id for one in advised}
    blocks = [Block("head", "you and the advisor", "QUESTIONS")]
    for label, looks in (("you", run.looks), ("advisor", list(advised))):
        waits = hours(looks)
        cost = f"{len(looks)} questions, {minutes(looks):g} minutes" + (f", {waits:g} hours" if waits else "")
        blocks.append(Block("item", cost, label))
    for label, wanted in (
        ("both", [one for one in advised if one.id in yours]),
        ("only you", [one for one in run.looks if one.id not in its]),
        ("only it", [one for one in advised if one.id not in yours]),
    ):
        names = dict.fromkeys(_name(rules, one.id) for one in wanted)
        if names:
            blocks.append(Block("item", "; ".join(names), label))
    return blocks


def _name(rules: RuleBase, target: str) -> str:
    return rules.observables[target].name if target in rules.observables else "people and danger"


def steps(hidden: Hidden, looks: Sequence[Look]) -> list[tuple[str, str, list[Fact]]]:
    """A path as (question, answer's name, facts), the sign and complaint first, for the chart of belief."""
    made: list[tuple[str, str, list[Fact]]] = [("", "sign and complaint", [*hidden.sign, *hidden.opening])]
    return made + [(one.asked, one.name, list(one.facts)) for one in looks]
