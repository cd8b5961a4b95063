"""The whole verdict of an assessment as the ``assess`` contract has it: plain data, our own sentences."""

from __future__ import annotations

from typing import Any

from advisor import __version__
from advisor.dialogue import phrases
from advisor.dialogue.recipes import recipe
from advisor.inference.assess import Assessment, Judged, Reason
from advisor.inference.evidence import NOTHING_WRONG
from advisor.knowledge.facts import Fact
from advisor.mixing.display import METRIC, Display

#: How many next checks are told, and how many of them by worth before those that prove a likely cause.
CHECKS, RANKED = 8, 4


def verdict_json(
    view: Assessment,
    unused: tuple[str, ...] = (),
    assumed: tuple[str, ...] = (),
    show: Display = METRIC,
    aim: float | None = None,
) -> dict[str, Any]:
    """The object ``sumpside assess --json`` prints, fields as in the README."""
    rules = view.known.rules
    actions, refused, assumptions = _actions(view, show, aim)
    return {
        "verdict": view.verdict,
        "run": view.run,
        "run_because": list(view.run_because),
        "causes": [_cause(view, judged) for judged in view.causes],
        "cautions": [
            {
                "id": c,
                "level": rules.cautions[c]["level"],
                "text": rules.cautions[c]["text"],
                "source": rules.cite(rules.cautions[c]["sources"]),
                "do_now": list(rules.cautions[c].get("do_now", [])),
            }
            for c in view.cautions
        ],
        "next_checks": next_checks(view),
        "actions": actions,
        "hold": rules.actions[view.hold]["text"] if view.hold else None,
        "refused": _refusals(view) + refused,
        "assumptions": list(dict.fromkeys([*assumed, *assumptions, *_taken(view)])),
        "unused": list(unused),
        "version": __version__,
        "rules": rules.hash,
    }


def next_checks(view: Assessment) -> list[dict[str, Any]]:
    """What to look at or measure next: what the numbers stand on, then what tells most for its effort."""
    rules = view.known.rules
    found: list[dict[str, Any]] = []
    if view.verdict == "outside":
        return found
    wanted: list[tuple[str, str]] = []
    if view.strength.ask:
        wanted.append((view.strength.ask, f"Because {view.strength.doubt}."))
    looks = [q for q in view.questions if rules.observables[q.id].role != "context"][:RANKED]
    first, rest = ([(q.id, between(view, q.between)) for q in some] for some in (looks, view.questions))
    for key, why in [*first, *_proofs(view), *rest]:
        if key not in {k for k, _ in wanted}:
            wanted.append((key, why))
    for key, why in wanted[:CHECKS]:
        item = rules.observables[key]
        found.append(
            {
                "id": key,
                "question": item.question or phrases.WHAT_IS.format(name=item.name),
                "why": why,
                "effort": item.effort,
                "wait_h": item.wait_h,
            }
        )
    return found


def _proofs(view: Assessment) -> list[tuple[str, str]]:
    """The checks that prove the likeliest causes and are still open."""
    found = []
    for judged in [j for j in view.causes if j.id != NOTHING_WRONG][:3]:
        key = str(view.known.rules.causes[judged.id].text["prove_by"])
        if view.known.status(key) is None and view.known.rules.observables[key].question:
            found.append((key, phrases.PROVES.format(cause=_plain(view, judged.id))))
    return found


def between(view: Assessment, pair: tuple[str, str] | None) -> str:
    """Why a question is worth asking, in one sentence."""
    if pair is None:
        return phrases.TELLS_APART
    plain = [_plain(view, cause) for cause in pair]
    return phrases.TELLS_APART_PAIR.format(one=plain[0], other=plain[1])


def _plain(view: Assessment, cause: str) -> str:
    text = view.known.rules.causes[cause].plain.rstrip(".")
    return text[0].lower() + text[1:] if text[1:2].islower() else text


def _cause(view: Assessment, judged: Judged) -> dict[str, Any]:
    cause = view.known.rules.causes[judged.id]
    return {
        "id": judged.id,
        "title": cause.text["title"],
        "probability": round(judged.probability, 4),
        "because_of": judged.because_of,
        "for": [_reason(view, r) for r in judged.speaks_for],
        "against": [_reason(view, r) for r in judged.against],
    }


def _reason(view: Assessment, reason: Reason) -> dict[str, Any]:
    """A reason: ``fact`` names the answer it rests on as rules write it, or the finding."""
    fact = deciding_fact(view, reason)
    return {
        "text": reason.because,
        "fact": fact.key if fact else reason.node,
        "status": fact.status if fact else "present" if reason.seen else "ruled_out",
        "said": fact.said if fact else "",
        "rule": reason.sign,
        "source": view.known.rules.cite(reason.sources),
        "weight": round(reason.weight, 3),
    }


#: Nobody is sent to smell foul air or to look for a danger a second time.
NEVER_AGAIN = frozenset(
    {"skin", "breathing", "eyes_nose", "mist_seen", "hydrogen_signs", "danger_now", "injury",
     "hazard_context", "smell: rotten_egg", "smell: sharp",
     "smell: solvent", "smell: ammonia", "smell: burnt"}
)  # fmt: skip


def may_be_repeated(fact: Fact) -> bool:
    """Whether somebody may be asked to smell, look at or read this once more."""
    return {fact.id, fact.key}.isdisjoint(NEVER_AGAIN)


def deciding_fact(view: Assessment, reason: Reason) -> Fact | None:
    """The fact a reason rests on; for a worked-out one, what was said that it came from."""
    known = view.known
    if reason.node in known.findings:
        return None
    fact = known.fact_for(reason.node)
    seen: set[str] = set()
    while fact is not None and fact.derived and fact.id not in seen:  # two may be worked out of each other
        seen.add(fact.id)
        parent = known.present.get(fact.parents[0])
        if parent is None:
            break
        fact = parent
    return fact


def _actions(
    view: Assessment, show: Display, aim: float | None
) -> tuple[list[dict[str, Any]], list[dict[str, str]], list[str]]:
    rules = view.known.rules
    listed, refused, assumptions = [], [], []
    given = False
    for key in view.actions:
        item = rules.actions[key]
        made = None
        if "recipe" in item and not given:
            result = recipe(view, item["recipe"], show, aim)
            given = True
            if result.refused:
                refused.append(result.refused.as_json())
            else:
                made = result.as_json()
            assumptions += list(result.assumptions)
        listed.append({"id": key, "text": item["text"], "who": item["who"], "recipe": made})
    return listed, refused, assumptions


def _refusals(view: Assessment) -> list[dict[str, str]]:
    rules = view.known.rules
    found = [
        {"what": rules.cautions[c]["refuses"], "why": rules.cautions[c]["text"]}
        for c in view.cautions
        if "refuses" in rules.cautions[c]
    ]
    wanted = {a for j in view.causes if j.id in view.chain for a in rules.causes[j.id].do}
    found += [
        {"what": rules.actions[a]["text"], "why": rules.actions[a].get("forbidden_because", "Not here.")}
        for a in view.forbidden
        if a in wanted
    ]
    return found


def _taken(view: Assessment) -> list[str]:
    found = []
    if view.window.assumed and view.strength.value is not None:
        found.append(phrases.WINDOW_IS.format(origin=view.window.origin))
    if view.strength.assumption:
        found.append(view.strength.assumption)
    return found
