"""What a supervisor says about a verdict, in plain words: agree, overrule with cause and reason, or another
answer on trial."""

from __future__ import annotations

import re
from collections.abc import Sequence
from difflib import get_close_matches
from typing import Any

from advisor.dialogue.given import given_facts
from advisor.dialogue.understanding import Lexicon, understand
from advisor.errors import BadInput, SumpsideError
from advisor.knowledge.facts import Fact
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.cases import Opened
from advisor.reports.path import cause_words

_BECAUSE = re.compile(
    r"\s*(?:[,;:]\s*)?\b(?:because|becaus|becuase|becasue|becouse|cuz|since|as|for|cos|coz|bc)\b\s+|\s*[;:]\s+",
    re.I,
)
#: What may stand before the cause in a sentence that holds another one for right.
_LEAD_IN = re.compile(
    r"^(?:(?:no|nope|nah|but|i|we|you|think|believe|guess|say|reckon|am|sure|is|are|was|were|been|be|it|it's"
    r"|its|this|that|that's|thats|verdict|diagnosis|wrong|incorrect|not right|not so|disagree\w*|don't|dont"
    r"|do not|agree|overr?ul\w*|rather|actually|really|more like|maybe|probably|should|must|have|with|here"
    r"|clearly|just|the (?:cause|fault|verdict))(?![\w'-])[\s,:;.-]*)+",
    re.I,
)
_IT_WAS = re.compile(r".*\b(?:it|this|that|cause|fault)(?:\s+(?:was|is|were|must be|should be)|'?s)\s+", re.I)
#: Somebody does not hold with the verdict; and what may be that, or another answer to be tried.
_DISPUTES = re.compile(
    r"\b(?:overr?ul\w*|wrong|incorrect|disagree\w*|not right|(?:don'?t|do not) agree|nonsense|rubbish)\b",
    re.I,
)
_MAY_DISPUTE = re.compile(
    r"^\s*(?:no\b.*\b)?(?:i (?:think|say|believe|reckon)|it (?:was|is)|it'?s|the cause|more like|rather"
    r"|actually)\b",
    re.I,
)
#: Causes offered where none is called as it was said.
_MOST = 6
#: Shorter words are not mended; how close a mended word must be (judgement, common practice, no source).
_SHORT, _CLOSE = 4, 0.75
#: Words of a cause's name that tell it from no other.
_PLAIN = {"a", "an", "the", "is", "are", "has", "have", "in", "into", "of", "on", "to", "it", "was", "not",
          "been", "got", "too", "coolant", "and", "or", "with", "by", "so", "that"}  # fmt: skip


def disputes(text: str) -> bool | None:
    """Whether a line says that the verdict is wrong; None where it may, or may be an answer to be tried."""
    return True if _DISPUTES.search(text) else None if _MAY_DISPUTE.match(text) else False


def overruling(rules: RuleBase, text: str) -> tuple[str, str]:
    """Cause and reason out of a sentence such as ``it was tramp oil because the jar showed oil``; the reason
    is "" where none is told.

    Raises:
        BadInput: no cause, or more than one, is in it.
    """
    named, reason = _parted(text)
    return cause_called(rules, named), reason


def _parted(text: str) -> tuple[str, str]:
    """The words that name a cause, and the reason after them."""
    parts = _BECAUSE.split(_LEAD_IN.sub("", text.strip(), count=1), maxsplit=1)
    named = _LEAD_IN.sub("", _IT_WAS.sub("", parts[0], count=1), count=1)
    return named, parts[1].strip(" .") if len(parts) > 1 else ""


def nearly_called(rules: RuleBase, text: str) -> str | None:
    """The one cause that a line with slips of the pen may mean, to be asked about; else None."""
    names: dict[str, str] = {name.lower(): key for key in rules.causes for name in _names(rules, key)}
    near = nearest(_parted(text)[0].lower(), names)
    if near:
        return names[near]
    known = sorted({word for name in names for word in _words(name)})
    mended = []
    for word in re.findall(r"[^\W\d_]+", _parted(text)[0].lower()):
        close = [word] if word in known or len(word) < _SHORT else get_close_matches(word, known, 1, _CLOSE)
        mended += close or [word]
    try:
        return cause_called(rules, " ".join(mended))
    except BadInput:
        return None


def _names(rules: RuleBase, cause: str) -> tuple[str, ...]:
    item = rules.causes[cause]
    return cause.replace("_", " "), str(item.text["title"]), item.plain


def cause_called(rules: RuleBase, text: str) -> str:
    """The cause that somebody means by an id, a title, or words of either.

    Raises:
        BadInput: none or several could be meant; names them.
    """
    wanted = " ".join(text.lower().replace("_", " ").split()).strip(" .,!?\"'")
    names: dict[str, str] = {}
    for key in rules.causes:
        for name in _names(rules, key):
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
    cause = None
    if overrule:
        cause, told = overruling(case.rules, overrule)
        reason = reason.strip() or told
        if not reason:
            title = case.rules.causes[cause].text["title"].lower()
            right = f'say why: "it was {title} because ..."'
            raise BadInput("an overruling needs a reason", value=overrule, right=right)
    return signed_data(case, cause, reason)


def signed_data(
    case: Opened, cause: str | None, reason: str = "", right: Sequence[str] = ()
) -> dict[str, Any]:
    """Data of a signature: the cause held for right (None agrees) and why; what it is about and stands on.

    Args:
        right: cautions of this case that are signed to be put right; only who agrees signs that.

    Raises:
        BadInput: the case has no verdict.
    """
    about = case.verdict_event
    if about is None:
        right = "let it come to one first"
        raise BadInput(f"case {case.number} has no verdict to sign", value=case.number, right=right)
    return {
        "agrees": not cause,
        "cause": cause,
        "reason": reason.strip() or None,
        "verdict": about.number,
        "rules": case.rules.hash,
        "seal": case.events[-1].hash,
    } | ({"put_right": [*right]} if right and not cause else {})
