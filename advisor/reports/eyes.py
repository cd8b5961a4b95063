"""Which saved cases need a second pair of eyes, and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from advisor.dialogue.case import SHOP_BOOK, CaseState, at_verdict, fact_from, fold
from advisor.dialogue.events import Event, standing
from advisor.dialogue.phrases import lower_first
from advisor.dialogue.screens import fact_words
from advisor.inference.derive import strength
from advisor.inference.evidence import NOTHING_WRONG
from advisor.inference.knowns import Knowns
from advisor.knowledge.facts import Fact
from advisor.knowledge.rulebase import RuleBase
from advisor.showing import local_time

#: A named verdict that rests on fewer reasons than this is thin (judgement, common practice, no source).
THIN = 2
_STRENGTHS = {"concentration", "refractometer_reading", "titration"}
#: Rank of each reason: what can hurt first, then what is open, then what is weak. A signed case is last.
_RANK = {
    "emergency": 0, "stop": 1, "overruled": 2, "missed": 3, "unsettled": 4, "thin": 5, "loose": 6, "open": 7,
    "none": 8, "signed": 9,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Eyes:
    """Why a case needs eyes: reasons as (name, sentence), the gravest first."""

    reasons: tuple[tuple[str, str], ...]

    @property
    def rank(self) -> int:
        """Place in the list; smaller comes first."""
        return min((_RANK[name] for name, _ in self.reasons), default=_RANK["none"])


def eyes(
    row: Any, events: Sequence[Event], words: Mapping[int, str], rules: RuleBase, by_log: str = ""
) -> Eyes:
    """Why one case needs eyes.

    Args:
        row: its row in the list of cases (`advisor.logbook.port.CaseRow`).
        events, words: its events and words.
        rules: today's rule base, for names; nothing is judged here.
        by_log: what the logbook read after a recipe, where that is not what it promised.
    """
    state = fold(events, words)
    signed = signatures(events)
    alike = {e.data.get("cause") for e in signed}
    if alike == {None}:
        return Eyes((("signed", f"agreed by {_named(signed)}"),))
    found: list[tuple[str, str]] = []
    if row.level in {"emergency", "stop"}:
        found.append((row.level, _caution_words(state, row.level)))
    if len(alike) > 1:
        found.append(("overruled", f"signed, not alike: {_said_by(signed, rules)}"))
    elif signed:
        found.append(("overruled", _said_by(signed[-1:], rules)))
    missed = missed_prediction(events, words, rules) or by_log
    if missed:
        found.append(("missed", missed))
    held = state.verdict or {}
    if held.get("verdict") == "unsettled":
        found.append(("unsettled", "no cause named"))
    thin = _thin(at_verdict(events, words).facts, held, rules)
    if thin:
        found.append(("thin", thin))
    loose = [f for f in state.facts if not f.firm and f.said != SHOP_BOOK and f.id in rules.observables]
    if loose:
        names = dict.fromkeys(rules.observables[f.id].name for f in loose)
        found.append(("loose", f"not sure of: {', '.join(names)}"))
    if row.state != "closed" and not held:
        found.append(("open", "no verdict yet"))
    return Eyes(tuple(sorted(found, key=lambda pair: _RANK[pair[0]])))


def _caution_words(state: CaseState, level: str) -> str:
    held = {c["id"]: c["level"] for c in (state.verdict or {}).get("cautions", [])}
    named = [c for c in (*state.shown, *held) if held.get(c) == level]
    told = ", ".join(dict.fromkeys(c.replace("_", " ") for c in named))
    return f"{level} caution{f': {told}' if told else ''}"


def signatures(events: Sequence[Event]) -> list[Event]:
    """Every review that was signed after the last verdict that stands, in order."""
    held = [e for e in standing(events) if e.kind in {"verdict", "review"}]
    last = max((i for i, e in enumerate(held) if e.kind == "verdict"), default=-1)
    return [e for e in held[last + 1 :] if e.kind == "review"]


def signed_words(event: Event, rules: RuleBase) -> str:
    """What one signature says and who gave it; the cause in the words a person is told."""
    if event.data["agrees"]:
        return f"agreed by {event.who}{', the stop put right' if event.data.get('put_right') else ''}"
    cause = str(event.data.get("cause"))
    return f"overruled by {event.who}: {cause_title(rules, cause)}"


def signature_words(event: Event, rules: RuleBase) -> str:
    """A whole signature in one sentence: what it says, why, when, and on which rules."""
    reason = f", because {event.data['reason']}" if event.data.get("reason") else ""
    when = local_time(event.time)
    return f"{signed_words(event, rules)}{reason}, {when}, rule base {event.data.get('rules')}."


def cause_title(rules: RuleBase, cause: str) -> str:
    """The name of a cause, or its id where these rules no longer know it."""
    return lower_first(str(rules.causes[cause].text["title"])) if cause in rules.causes else cause


def _said_by(signed: Sequence[Event], rules: RuleBase) -> str:
    return "; ".join(signed_words(event, rules) for event in signed)


def _named(signed: Sequence[Event]) -> str:
    return " and ".join(dict.fromkeys(event.who for event in signed))


def _thin(told: Sequence[Fact], held: Mapping[str, Any], rules: RuleBase) -> str:
    """Why a named verdict rests on little, or ""."""
    causes = held.get("causes") or []
    if held.get("verdict") != "named" or not causes or causes[0]["id"] == NOTHING_WRONG:
        return ""
    reasons = causes[0].get("for", [])
    if len({str(r.get("rule")) for r in reasons}) >= THIN:
        return ""
    on = _stands_on(told, causes, rules)
    return f"rests on one thing: {on}" if on else "rests on the setting alone"


def _stands_on(facts: Sequence[Fact], causes: Sequence[Mapping[str, Any]], rules: RuleBase) -> str:
    """What a thin verdict stands on in words, its own sign first, else a sign of what it has led to."""
    lead = causes[0]
    led = [c for c in causes[1:] if c.get("because_of") == lead["id"]]
    for cause in (lead, *led):
        for reason in cause.get("for", []):
            key = str(reason.get("fact"))
            fact = next((f for f in reversed(facts) if f.key == key), None)
            told = fact_words(fact, rules) if fact and fact.id in rules.observables else _finding(rules, key)
            if told and cause is lead:
                return told
            if told:
                return f"{told}, which shows that {_plain(rules, cause['id'])}"
    return ""


def _finding(rules: RuleBase, key: str) -> str:
    return str(rules.findings[key]["title"]) if key in rules.findings else ""


def _plain(rules: RuleBase, cause: str) -> str:
    return lower_first(rules.causes[cause].plain.rstrip(".")) if cause in rules.causes else cause


def missed_prediction(events: Sequence[Event], words: Mapping[int, str], rules: RuleBase) -> str:
    """What the last recheck read against what its recipe predicted, when it lies outside; else ""."""
    checked = rechecks(events, words, rules)
    return "" if not checked or checked[-1].held else checked[-1].text


@dataclass(frozen=True, slots=True)
class Recheck:
    """A reading after a fix, as a fraction, and the span its recipe predicted."""

    value: float
    low: float
    high: float

    @property
    def held(self) -> bool:
        """Whether the reading lies in what was predicted."""
        return self.low - 1e-9 <= self.value <= self.high + 1e-9

    @property
    def text(self) -> str:
        """The comparison in words."""
        span = f"{100 * self.low:.1f} to {100 * self.high:.1f} %"
        return f"read {100 * self.value:.1f} % where {span} was predicted"


def rechecks(events: Sequence[Event], words: Mapping[int, str], rules: RuleBase) -> list[Recheck]:
    """Every reading after a fix against what the recipe before it predicted, in order."""
    told: list[Any] = []
    found: list[Recheck] = []
    predicted: Mapping[str, Any] | None = None
    waiting: Mapping[str, Any] | None = None
    for event in standing(events):
        if event.kind == "recipe":
            predicted = event.data["recipe"]
        elif event.kind == "recheck" and event.data.get("strength") is not None:
            held = event.data
            if held.get("confirmed") and found:
                found.pop()  # read a second time: that one counts
            found.append(Recheck(held["strength"], held["low"], held["high"]))
        elif event.kind == "recheck":
            waiting = predicted
        elif event.kind in {"said", "kept_what_if"}:
            facts = [fact_from(f, words.get(event.number), event.number) for f in event.data["facts"]]
            told += [f for f in facts if f.id in rules.observables]
            if waiting and {f.id for f in facts} & _STRENGTHS:
                value = strength(Knowns(rules, told)).value
                low, high = waiting.get("strength_low"), waiting.get("strength_high")
                if value is not None and low is not None and high is not None:
                    found.append(Recheck(value, low, high))
                waiting = None
    return found
