"""What is put before a person, as plain blocks: a label, a text, and how it stands on the page.

The terminal wraps and colours; a test compares. No block needs colour or a box to be understood.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from advisor.dialogue import phrases, phrases_asked
from advisor.dialogue.answer import deciding_fact, may_be_repeated, next_checks
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import SHOP_BOOK, CaseState
from advisor.dialogue.shortening import first_sentence
from advisor.inference.assess import Assessment, Judged, Reason, complaints, second_sure
from advisor.inference.evidence import NOTHING_WRONG
from advisor.knowledge.facts import Fact, number
from advisor.knowledge.rulebase import RuleBase
from advisor.quantities import System, show

#: Reasons shown for and against; the rest are told by "why".
REASONS = 4
#: Another cause at least this likely is named beside the leading one.
ALSO = 0.08
#: With nothing seen that speaks for it, it is named only when this likely (common practice, no source).
LIKELY = 0.3
#: What says that people are well; and quantities that say nothing of the coolant's state.
PEOPLE = ("skin", "breathing", "eyes_nose")
_OF_THE_SHOP = frozenset({"target", "sump_volume", "pail", "people_affected", "people_total"})
#: Things to do shown at once; "more" shows the rest.
STEPS = 6


def fact_words(fact: Fact, rules: RuleBase, system: System = "metric") -> str:
    """A fact said back in short plain words."""
    item = rules.observables[fact.id]
    maybe = "" if fact.firm else "maybe "
    if fact.status == "ruled_out":
        what = item.answers[fact.value]["means"] if isinstance(fact.value, str) else item.name
        no = "not so: " if what.startswith(("no ", "not ", "nothing")) else "no "
        return f"{maybe}{no}{what}"
    if isinstance(fact.value, str):
        return f"{maybe}{item.name}: {item.answers[fact.value]['means']}"
    if isinstance(fact.value, tuple):
        low, high = fact.value
        unit = item.unit or "1"
        if low is None or (low == 0 and high is not None):
            return f"{maybe}{item.name} under {show(high or 0.0, unit, system)}"
        if high is None:
            return f"{maybe}{item.name} over {show(low, unit, system)}"
        first = show(low, unit, system).removeprefix("pH ")
        return f"{maybe}{item.name} {first} to {show(high, unit, system).removeprefix('pH ')}"
    told = show(number(fact) or 0.0, item.unit or "1", system)
    told = told.removeprefix("pH ") if unit_in_name(item.name) else told
    return f"{maybe}{item.name} {told}"


def facts_words(facts: Iterable[Fact], rules: RuleBase) -> list[str]:
    """Facts said back in order, several values of one thing under its name once."""
    told: dict[str, str] = {}
    for fact in facts:
        words = fact_words(fact, rules)
        name, colon, value = words.partition(": ")
        key = f"{fact.id} {name}" if colon else words
        told[key] = f"{told[key]}, {value}" if key in told and colon else words
    return list(told.values())


def standing_facts(state: CaseState, rules: RuleBase) -> list[Fact]:
    """What was said and still stands, each thing once, without how it was read."""
    last = {f.id if rules.observables[f.id].kind == "quantity" else f.key: f for f in state.facts}
    return [f for f in last.values() if f.said != SHOP_BOOK and rules.observables[f.id].role != "trust"]


def unit_in_name(name: str) -> bool:
    """Whether an observable's name already says pH."""
    return name.startswith("pH") or name.endswith("pH")


def caution_blocks(rules: RuleBase, cautions: Iterable[str]) -> list[Block]:
    """Cautions with their steps, worst first."""
    found = []
    for key in cautions:
        item = rules.cautions[key]
        kind = {"emergency": "emergency", "stop": "stop", "warn": "warn", "note": "care"}[item["level"]]
        label = {"emergency": "EMERGENCY", "stop": "STOP", "warn": "TAKE CARE", "note": "NOTE"}[item["level"]]
        found.append(Block(kind, item["text"], label))
        found += [Block("item", step, f"{i}") for i, step in enumerate(item.get("do_now", []), 1)]
        if item.get("hands_to") and item["level"] in {"emergency", "stop"}:
            found.append(Block("text", phrases.HANDS_TO.format(who=item["hands_to"])))
    return found


def verdict_blocks(view: Assessment, shown: Iterable[str]) -> list[Block]:
    """The whole verdict in its fixed order, without the recipe, which has a screen of its own."""
    rules = view.known.rules
    fresh = [c for c in view.cautions if c not in set(shown)]
    if view.verdict == "outside":
        straight = view.known.status("fluid_type: straight_oil") is True
        said = phrases.OUTSIDE_STRAIGHT_OIL if straight else phrases.OUTSIDE
        return [*caution_blocks(rules, fresh), Block("head", said, "NOT A CASE FOR THIS")]
    blocks = [Block("head", run_words(view), "CAN IT RUN?")]
    blocks += [Block("text", why) for why in run_because(view, fresh)]
    blocks += caution_blocks(rules, [c for c in fresh if rules.cautions[c]["level"] != "note"])
    blocks += led_by(view) + _what_else(view)
    if view.hold and view.verdict != "named":
        blocks.append(Block("head", rules.actions[view.hold]["text"], "UNTIL THEN"))
    return blocks + step_blocks(view, STEPS) + after(view)


def run_words(view: Assessment) -> str:
    """Whether it may run, in a sentence; what only has to be done first is told as "not yet"."""
    rules = view.known.rules
    if view.run == "run" and knows_too_little(view):
        if view.verdict == "named":
            return phrases_asked.IF_WELL
        return f"{phrases_asked.TOO_LITTLE} {phrases_asked.TOO_LITTLE_WHY}"
    grave = [rules.cautions[c] for c in view.cautions if rules.cautions[c]["level"] in {"emergency", "stop"}]
    if view.run == "limits" and grave:
        people = any(item.get("hold") == "cut_exposure" for item in grave)
        return phrases_asked.PEOPLE_OFF if people else phrases_asked.STOP_FIRST
    first = {rules.cautions[c]["text"] for c in view.cautions if rules.cautions[c]["level"] == "warn"}
    waits = view.run == "stop" and view.run_because and first.issuperset(view.run_because)
    return phrases.NOT_YET_RUN if waits else phrases.RUN[view.run]


def knows_too_little(view: Assessment) -> bool:
    """Whether nothing about the coolant was told, or people were never told to be well, so that nothing
    speaks for running; "nothing wrong" found by readings speaks for it."""
    known = view.known
    told = [
        f
        for f in known.present.values()
        if f.said != SHOP_BOOK and not f.derived and known.rules.observables[f.id].role in {"sign", "reading"}
    ]
    about = [f for f in told if known.rules.observables[f.id].place != "person" and f.id not in _OF_THE_SHOP]
    asked = all(known.status(p) is not None for p in PEOPLE)
    return not about or not (asked or view.chain[:1] == (NOTHING_WRONG,))


def run_because(view: Assessment, told: Collection[str] = ()) -> list[str]:
    """Why it may run or not, the causes' reasons first, less what a caution told beside it says.

    A caution told before is the reason only where there is no other, and then in its first sentence.
    """
    texts = {view.known.rules.cautions[c]["text"]: c for c in view.cautions}
    left = [why for why in view.run_because[:2] if texts.get(why) not in told]
    return [why for why in left if why not in texts] or [first_sentence(why) for why in left]


def led_by(view: Assessment) -> list[Block]:
    """What it is, with its chain and how sure, what it means, and what speaks for and against."""
    rules = view.known.rules
    by_id = {j.id: j for j in view.causes}
    if view.verdict == "unsettled" or not view.chain:
        return [Block("head", phrases.UNSETTLED, "WHAT IT IS")]
    lead = by_id.get(view.chain[0])
    if view.chain[0] == NOTHING_WRONG:
        return [
            Block("head", f"Nothing wrong found{_how_sure(lead)}.", "WHAT IT IS"),
            *[Block("item", phrases.sentence(text), "-") for text in _why_nothing(view)],
        ]
    text = phrases.sentence(f"{rules.causes[view.chain[0]].plain.rstrip('.')}{sure_words(view, lead)}")
    rest = [phrases.lower_first(rules.causes[c].plain.rstrip(".")) for c in view.chain[1:4]]
    if rest:
        text += f" So {phrases.listed(rest)}."
    other = second_sure(rules, view.causes, view.chain)
    if other is not None:
        also = phrases.lower_first(rules.causes[other].plain.rstrip("."))
        text += f" {phrases.ALSO} {also}{sure_words(view, by_id.get(other))}."
    blocks = [Block("head", text, "WHAT IT IS"), Block("text", rules.causes[view.chain[0]].text["means"])]
    return blocks + reason_blocks(view, [by_id[c] for c in view.chain if c in by_id])


def _how_sure(judged: Judged | None) -> str:
    return f" ({phrases.chance(judged.probability)})" if judged else ""


def sure_words(view: Assessment, judged: Judged | None) -> str:
    """How sure a cause is, in brackets; no number on what may be an illness."""
    if judged is None or view.known.rules.causes[judged.id].referral:
        return ""
    return f" ({phrases.chance(judged.probability)})"


def _why_nothing(view: Assessment) -> list[str]:
    frame, found = view.window, view.strength
    strength = show(found.value or 0.0, "fraction")
    text = [
        f"the strength is {strength}, inside {frame.low * 100:g} to {frame.high * 100:g} % ({frame.origin})"
    ]
    known = view.known
    factor = known.quantity("refractometer_factor")
    if factor and "refractometer_factor" in found.parents and abs(factor - 1) > 0.01:
        raw = 100 * (found.value or 0.0) / factor
        text.insert(0, f"{raw:.2g} on the glass times the product's factor {factor:g} is {strength}")
    if not complaints(known):
        text.append(phrases.NOTHING_LEFT)
    return text


def reason_blocks(view: Assessment, judged: list[Judged], most: int = REASONS) -> list[Block]:
    """What speaks for and against the causes given, strongest first."""
    speaks = sorted((r for j in judged for r in j.speaks_for), key=lambda r: -r.weight)
    against = sorted((r for j in judged[:1] for r in j.against), key=lambda r: r.weight)
    blocks = [Block("item", _reason_text(view, r), "for") for r in _distinct(speaks)[:most]]
    blocks += [Block("item", _reason_text(view, r), "against") for r in _distinct(against)[: most // 2]]
    if judged and not against:
        blocks.append(Block("item", phrases.NOTHING_AGAINST, "against"))
    return blocks + _hangs_on(view, _distinct(speaks))


def _hangs_on(view: Assessment, speaks: list[Reason]) -> list[Block]:
    """The single answer a verdict rests on, when it rests on one far more than on any other."""
    if not speaks or (len(speaks) > 1 and speaks[0].weight < 3 * speaks[1].weight):
        return []
    fact = deciding_fact(view, speaks[0])
    if fact is None or fact.status == "ruled_out":
        return []
    said = phrases.HANGS_ON if may_be_repeated(fact) else phrases.HANGS_ON_ONLY
    return [Block("item", said.format(what=fact_words(fact, view.known.rules)), "hangs on")]


def _distinct(reasons: list[Reason]) -> list[Reason]:
    seen: set[str] = set()
    return [r for r in reasons if not (r.node in seen or seen.add(r.node))]  # type: ignore[func-returns-value]


def _reason_text(view: Assessment, reason: Reason) -> str:
    fact = deciding_fact(view, reason)
    what = fact_words(fact, view.known.rules) if fact else view.known.rules.findings[reason.node]["title"]
    if reason.weight < 1:
        return phrases.AGAINST.format(what=what, because=phrases.sentence(reason.because))
    return f"{what}. {phrases.sentence(reason.because)}"


def full_reason(view: Assessment, reason: Reason) -> str:
    """A reason with its weight in words, the rule and its source, as "why" tells it."""
    return (
        f"{_reason_text(view, reason)} Weight: {phrases.weight_words(reason.weight)}. "
        f"Rule {reason.sign}; {view.known.rules.cite(reason.sources)}."
    )


def others(view: Assessment) -> list[Judged]:
    """Up to three other causes worth naming beside the leading chain, likeliest first.

    A cause that only the setting makes a little likelier, and nothing seen, is not worth a tired
    person's look.
    """
    named = view.verdict == "named"
    if view.chain[:1] == (NOTHING_WRONG,):
        return []
    second = second_sure(view.known.rules, view.causes, view.chain) if named else None
    found = [
        j
        for j in view.causes
        if j.probability >= ALSO
        and j.id != second
        and (j.speaks_for or j.because_of or j.probability >= LIKELY)
        and not (named and j.id in view.chain)
        and tellable(view, j)
    ]
    return sorted(found, key=lambda j: -j.probability)[:3]


def _what_else(view: Assessment) -> list[Block]:
    rules = view.known.rules
    named, found = view.verdict == "named", others(view)
    if view.chain[:1] == (NOTHING_WRONG,):
        return []
    blocks = []
    if found:
        told = [
            phrases.lower_first(rules.causes[j.id].plain.rstrip(".") + sure_words(view, j)) for j in found
        ]
        head = "WHAT ELSE" if named else "COULD BE"
        blocks.append(Block("head", phrases.sentence("; ".join(told)), head))
    checks = next_checks(view)
    if checks and (found or not named):
        most = 1 if named else 3
        for check in checks[:most]:
            wait = f" (takes about {check['wait_h']:g} hours)" if check["wait_h"] else ""
            blocks.append(Block("item", f"{check['question']}{wait} {check['why']}", "check"))
    return blocks


def actions_listed(view: Assessment) -> list[str]:
    """What to do, in order; what only holds until a cause is named stands apart."""
    held = view.hold if view.verdict != "named" else None
    return [a for a in view.actions if a != held]


def step_blocks(
    view: Assessment,
    most: int = 99,
    *,
    told: Sequence[str] | None = None,
    acts: Mapping[str, str] | None = None,
) -> list[Block]:
    """What to do, in order, each with who may do it, and what not to do.

    Args:
        view: the judgement.
        most: steps shown.
        told: the list a person was told, where that is being walked.
        acts: what of it is ``done`` or ``skipped``.
    """
    rules, acts = view.known.rules, acts or {}
    listed = actions_listed(view) if told is None else told
    actions = [*acts, *(a for a in listed if a not in acts)]
    if not actions:
        return []
    blocks = [Block("head", "", "WHAT TO DO")]
    for i, key in enumerate(actions[:most], 1):
        item = rules.actions[key]
        mark = {"done": phrases.TICKED, "skipped": phrases.PASSED_OVER}.get(acts.get(key, ""), "")
        blocks.append(Block("item", f"{mark}{phrases.WHO[item['who']]}: {item['text']}", f"{i}"))
    if len(actions) > most:
        blocks.append(Block("item", phrases.MORE_STEPS.format(left=len(actions) - most), "…"))
    never = [n for c in view.chain[:1] for n in rules.causes[c].text.get("never", [])]
    blocks += [Block("item", text, "not") for text in never[:3]]
    return blocks


def after(view: Assessment) -> list[Block]:
    """When to look again, which parts to check, and when to stop fixing."""
    rules = view.known.rules
    blocks = []
    if view.verdict == "named":
        text = rules.causes[view.chain[0]].text
        blocks.append(Block("head", text["recheck"], "LOOK AGAIN"))
        if view.run != "run" or any(view.known.values(k) for k in ("rust", "stain", "finish")):
            blocks.append(Block("text", phrases.PARTS))
        if text.get("dump_when"):
            blocks.append(Block("head", text["dump_when"], "STOP FIXING"))
    return blocks


def tellable(view: Assessment, judged: Judged) -> bool:
    """Whether a cause is told to a person: never "nothing wrong" beside others, and what may be an
    illness only where somebody has complained."""
    if judged.id == NOTHING_WRONG:
        return False
    people = any(view.known.status(p) is True for p in ("skin", "breathing", "eyes_nose"))
    return people or not view.known.rules.causes[judged.id].referral
