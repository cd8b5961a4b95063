"""A drill talked over: the score, the truth, and what the advisor would have asked instead."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue import phrases, policy
from advisor.dialogue.answer import deciding_fact
from advisor.dialogue.blocks import Block
from advisor.dialogue.screens import fact_words
from advisor.drills.advice import Look
from advisor.drills.hidden import Hidden
from advisor.drills.scoring import (
    OTHER_KIND,
    POINTS,
    WAITING,
    Run,
    Score,
    cost_words,
    minutes_words,
    needed_minutes,
    wanted_recipe,
)
from advisor.inference.assess import Assessment, Reason, assess, judged_alone
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase

#: Reasons told of each kind.
_MOST = 3
_PARTS = {"cause": "right cause", "safety": "safety first", "effort": "effort", "recipe": "recipe"}
Part = tuple[str, list[Block]]


def score_blocks(
    rules: RuleBase, hidden: Hidden, run: Run, made: Score, advised: Sequence[Look]
) -> list[Block]:
    """The score in one screen: each part with what it hangs on, and every danger whole."""
    notes = {
        "cause": _cause_note(rules, hidden, run),
        "effort": _effort_note(run, made, advised),
        "recipe": _recipe(rules, hidden, run, made),
    }
    blocks = [Block("head", f"{made.points} of 100", "SCORE")]
    for name, part in made.parts.items():
        note = f". {notes[name]}" if notes.get(name) else ""
        blocks.append(Block("item", f"{POINTS[name] * part:.0f} of {POINTS[name]}{note}", _PARTS[name]))
    return blocks + _cautions(rules, run, made)


def debrief_parts(
    rules: RuleBase, hidden: Hidden, run: Run, advised: Sequence[Look], verdict: Assessment
) -> list[Part]:
    """What is told when more is asked for: each part with its name."""
    return [
        ("what showed it", _truth(rules, hidden, run)),
        ("what the advisor would have asked", _questions(rules, run, advised, verdict)),
    ]


def _cause_note(rules: RuleBase, hidden: Hidden, run: Run) -> str:
    was = f"It was: {_plain(rules, hidden.fault)}."
    if not run.causes:
        return f"{was} You named no cause."
    if run.causes[-1] != hidden.fault:
        half = ", which it led to" if run.causes[-1] in hidden.causes else ""
        return f"{was} You said: {_plain(rules, run.causes[-1])}{half}."
    return was


def _effort_note(run: Run, made: Score, advised: Sequence[Look]) -> str:
    if made.parts["cause"] == 0:
        return "Effort counts only with the right cause."
    return f"You took {minutes_words(run.looks)}; {round(needed_minutes(advised), 1):g} would do."


def _plain(rules: RuleBase, cause: str) -> str:
    item = rules.causes[cause]
    return phrases.lower_first(str(item.text["title"] if item.referral else item.plain).rstrip("."))


def _truth(rules: RuleBase, hidden: Hidden, run: Run) -> list[Block]:
    """What it was, and by what: first what was on show, then what nobody looked at."""
    blocks = [Block("head", phrases.sentence(_plain(rules, hidden.fault)), "IT WAS")]
    rest = [_plain(rules, c) for c in hidden.causes[1:]]
    if rest:
        blocks.append(Block("text", f"And with it: {'; '.join(rest)}."))
    if run.causes and run.causes[-1] != hidden.fault:
        both = (hidden.fault, run.causes[-1])
        held = [other for cause in both for other in rules.causes[cause].text.get("look_alikes", [])]
        told = [o["tell_apart"] for o in held if o["cause"] in set(both)]
        blocks += [Block("item", text, "apart by") for text in told[:1]]
    shown = _speaks(shown_to(hidden, run), rules, hidden.fault)
    for view, reason in shown[:_MOST]:
        fact = deciding_fact(view, reason)
        told_by = f"{phrases.sentence(fact_words(fact, rules))} " if fact else ""
        text = f"{told_by}{phrases.sentence(reason.because)} Rule {reason.sign}"
        blocks.append(Block("item", f"{text}; {rules.cite(reason.sources)}.", "shown by"))
    if not shown:
        blocks.append(Block("item", "nothing that you were shown speaks for it", "shown by"))
    missed = _missed(rules, hidden, run)
    if missed:
        blocks.append(Block("item", f"{'; '.join(missed[:_MOST])}: it would have shown there", "not asked"))
    return blocks


def shown_to(hidden: Hidden, run: Run) -> list[Fact]:
    """What the trainee has seen: the sign, the complaint, and what each look brought."""
    return [*hidden.sign, *hidden.opening, *(fact for one in run.looks for fact in one.facts)]


def _speaks(facts: list[Fact], rules: RuleBase, cause: str) -> list[tuple[Assessment, Reason]]:
    """The reasons these facts give for a cause, however unlikely they leave it."""
    view = assess(facts, rules, questions=False)
    return [(view, reason) for reason in judged_alone(view, cause).speaks_for]


def _missed(rules: RuleBase, hidden: Hidden, run: Run) -> list[str]:
    """Names of the looks that would have shown the fault and were not made, the strongest first."""
    shown = {fact.id for fact in shown_to(hidden, run)} | {one.id for one in run.looks}
    names = []
    for view, reason in _speaks(hidden.truth(), rules, hidden.fault):
        fact = deciding_fact(view, reason)
        if fact is not None and fact.id not in shown and rules.observables[fact.id].question:
            names.append(rules.observables[fact.id].name)
    return list(dict.fromkeys(names))


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


def _recipe(rules: RuleBase, hidden: Hidden, run: Run, made: Score) -> str:
    kind = wanted_recipe(rules, hidden)
    if "recipe" not in made.parts:
        return ""
    if run.recipe is None:
        return f"A recipe to {kind} was wanted, none was given."
    if made.strength_after is None:
        return "More goes out than is in, so it cannot be mixed."
    told = f"Yours ends at {100 * made.strength_after:.1f} %"
    if kind == "charge" and made.parts["recipe"] <= OTHER_KIND:
        told += "; wanted was a fresh charge: nearly all of the old out first"
    return f"{told}."


def _questions(
    rules: RuleBase, run: Run, advised: Sequence[Look], verdict: Assessment
) -> list[Block]:
    """What was asked by both, by you only, and by the advisor only, with the effort of each."""
    yours, its = _covered(run.looks), _covered(advised)
    blocks = [
        Block("head", "yours and the advisor's", "QUESTIONS"),
        Block("item", cost_words(run.looks), "you"),
        Block("item", cost_words(advised), "advisor"),
        Block("text", f"Effort is minutes of work; an hour of waiting counts as {WAITING:g}."),
    ]
    for label, wanted in (
        ("both", [one for one in advised if _told(one) in yours]),
        ("only you", [one for one in run.looks if _told(one) not in its]),
        ("only it", [one for one in advised if _told(one) not in yours]),
    ):
        names = dict.fromkeys(_name(rules, one.id) for one in wanted)
        if names:
            blocks.append(Block("item", "; ".join(names), label))
    lead = verdict.lead if verdict.verdict == "named" else None
    said = _plain(rules, lead) if lead else "not enough to name one cause"
    return [*blocks, Block("item", said, "it would say")]


def _told(one: Look) -> str:
    """What a look told: strength is read off the glass, whichever of them is asked for."""
    return one.id if one.id == policy.SAFETY or not one.facts else one.facts[0].id


def _covered(looks: Sequence[Look]) -> set[str]:
    return {one.id for one in looks} | {fact.id for one in looks for fact in one.facts}


def _name(rules: RuleBase, target: str) -> str:
    return rules.observables[target].name if target in rules.observables else "people and danger"


def steps(hidden: Hidden, looks: Sequence[Look]) -> list[tuple[str, str, list[Fact]]]:
    """A path as (question, answer's name, facts), the sign and complaint first, for the chart of belief."""
    made: list[tuple[str, str, list[Fact]]] = [("", "sign and complaint", [*hidden.sign, *hidden.opening])]
    return made + [(one.asked, one.name, list(one.facts)) for one in looks]
