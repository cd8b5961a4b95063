"""What a supervisor says about a verdict, in plain words: agree, overrule with cause and reason, or another
answer on trial."""

from __future__ import annotations

import re
from typing import Any

from advisor.dialogue.given import given_facts
from advisor.dialogue.understanding import Lexicon, understand
from advisor.errors import BadInput, SumpsideError
from advisor.knowledge.facts import Fact
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.cases import Opened
from advisor.reports.path import cause_words

_BECAUSE = re.compile(r"\s*(?:[,;:]\s*)?\b(?:because|since|as|for)\b\s+|\s*[;:]\s+", re.I)
_LEAD_IN = re.compile(
    r"^\s*(?:overruled?|wrong|no)?[\s,:;-]*"
    r"(?:(?:it|this|that)\s+(?:was|is|were)|it's|the cause (?:was|is))?\s+",
    re.I,
)
#: Causes offered where none is called as it was said.
_MOST = 6
#: Words of a cause's name that tell it from no other.
_PLAIN = {"a", "an", "the", "is", "are", "has", "have", "in", "into", "of", "on", "to", "it", "was", "not",
          "been", "got", "too", "coolant", "and", "or", "with", "by", "so", "that"}  # fmt: skip


def overruling(rules: RuleBase, text: str) -> tuple[str, str]:
    """Cause and reason out of a sentence such as ``it was tramp oil because the jar showed oil``.

    Raises:
        BadInput: no cause, more than one, or no reason in it.
    """
    body = _LEAD_IN.sub("", f" {text.strip()}", count=1)
    parts = _BECAUSE.split(body, maxsplit=1)
    cause = cause_called(rules, parts[0])
    reason = parts[1].strip(" .") if len(parts) > 1 else ""
    if not reason:
        raise BadInput(
            "an overruling needs a reason",
            value=text,
            right=f'say why: "it was {rules.causes[cause].text["title"].lower()} because ..."',
        )
    return cause, reason


def cause_called(rules: RuleBase, text: str) -> str:
    """The cause that somebody means by an id, a title, or words of either.

    Raises:
        BadInput: none or several could be meant; names them.
    """
    wanted = " ".join(text.lower().replace("_", " ").split()).strip(" .,!?\"'")
    names: dict[str, str] = {}
    for key, cause in rules.causes.items():
        for name in (key.replace("_", " "), str(cause.text["title"]), cause.plain):
            names[name.lower().strip(" .")] = key
    if wanted in names:
        return names[wanted]
    found = _sharing(names, _words(wanted))
    if len(found) == 1:
        return found[0]
    if not found:
        near = nearest(wanted, names) if wanted else None
        part = [key for name, key in names.items() if _words(wanted) & _words(name)]
        right = 'list the causes with "sumpside rules list"'
        if near:
            right = f'did you mean "{near}"?'
        elif part:
            right = f"did you mean one of {', '.join(list(dict.fromkeys(part))[:_MOST])}?"
        raise BadInput(f'no cause is called "{text.strip()[:60]}"', value=text, right=right)
    listed = "; ".join(f"{key} ({cause_words(rules, key)})" for key in found[:5])
    raise BadInput(f'"{text.strip()[:60]}" could be several causes', value=text, right=f"say which: {listed}")


def _sharing(names: dict[str, str], said: set[str]) -> list[str]:
    """The causes one of whose names has every word said; a name said whole comes before a part of one."""
    held = [name for name in names if said and said <= _words(name)]
    whole = [name for name in held if _words(name) == said]
    return list(dict.fromkeys(names[name] for name in whole or held))


def _words(text: str) -> set[str]:
    found = re.findall(r"[^\W\d_]+", text.lower())
    return {word.removesuffix("s") for word in found if word not in _PLAIN}


def changes(case: Opened, texts: list[str], lexicon: Lexicon) -> list[Fact]:
    """Changed answers as facts: by id (``ph: 8.2``, ``not foam``) or as a person says them.

    Raises:
        BadInput: a text that says no answer, with what was heard in it.
    """
    return [fact for text in texts for fact in _change(case, text, lexicon)]


def _change(case: Opened, text: str, lexicon: Lexicon) -> list[Fact]:
    try:
        return _by_id(case, text)
    except SumpsideError as first:
        made = understand(
            text, lexicon=lexicon, gallon=case.state.opened.get("gallon"), known=case.state.facts
        )
        if made.facts:
            return list(made.facts)
        if made.wrong:
            right = "give a value within the limits"
            raise BadInput(made.wrong[0].rstrip("."), value=text, right=right) from None
        if made.ask:
            choices = ", ".join(made.ask[0].choices)
            right = "say which, with its name"
            raise BadInput(f'"{text}" could be {choices}', value=text, right=right) from None
        if ":" in text or text.strip().lower().startswith("not "):
            raise first from None
        right = 'write it as you would say it, such as "strength was 6.5 %", "no foam", or "ph: 8.2"'
        raise BadInput(f'I hear no answer in "{text[:60]}"', value=text, right=right) from None


def _by_id(case: Opened, text: str) -> list[Fact]:
    body = text.strip()
    if body.lower().startswith("not "):
        return given_facts({"ruled_out": [body[4:].strip()]}, case.rules)
    key, colon, value = (part.strip() for part in body.partition(":"))
    if not colon or not value:
        raise BadInput(f'"{text}" is not a change', value=text, right='write "ph: 8.2" or "not foam"')
    return given_facts({"facts": {key: value}}, case.rules)


def signature(case: Opened, overrule: str | None, reason: str) -> dict[str, Any]:
    """Data of the ``review`` event that agrees, or holds another cause for right: what it is about, the
    rule base, and the seal of the chain as it was signed.

    Args:
        overrule: the cause held instead, in words or by id, None to agree; the reason may follow it.
        reason: why, "" where it stands in `overrule`.

    Raises:
        BadInput: the case has no verdict, the cause is unknown, or an overruling has no reason.
    """
    if case.verdict_event is None:
        raise BadInput(
            f"case {case.number} has no verdict to sign", value=case.number, right="let it come to one first"
        )
    cause = None
    if overrule and reason.strip():
        cause = cause_called(case.rules, _LEAD_IN.sub("", f" {overrule.strip()}", count=1))
    elif overrule:
        cause, reason = overruling(case.rules, overrule)
    return {
        "agrees": not cause,
        "cause": cause,
        "reason": reason.strip() or None,
        "verdict": case.verdict_event.number,
        "rules": case.rules.hash,
        "seal": case.events[-1].hash,
    }
