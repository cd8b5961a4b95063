"""A stop of a saved case that somebody who may signs to be put right."""

from __future__ import annotations

from advisor.dialogue.blocks import Block
from advisor.dialogue.carried import own_stops
from advisor.dialogue.dealt_with import says_put_right, speaks_of_it
from advisor.dialogue.shortening import first_sentence
from advisor.dialogue.understanding import Lexicon
from advisor.errors import BadInput
from advisor.reports.cases import Opened

STANDS = "STOP, NOT PUT RIGHT"
HOW = 'Type "put right" to sign that it is, where you have seen to it.'


def standing_blocks(case: Opened) -> list[Block]:
    """The stops of a case that stand yet, and how to sign that they are put right."""
    stops = own_stops(case.events, case.rules)
    told = [Block("head", first_sentence(stop.text), STANDS) for stop in stops]
    return [*told, Block("text", HOW)] if told and case.verdict_event is not None else told


def signed_right(case: Opened, text: str, lexicon: Lexicon) -> tuple[str, ...] | None:
    """The stops that a line wants signed as put right; None where it is about something else.

    Raises:
        BadInput: it leaves a doubt, or no stop of the case stands.
    """
    if not speaks_of_it(text, lexicon):
        return None
    if not says_put_right(text, lexicon):
        right = 'Type "put right" once it is, and you have seen to it.'
        raise BadInput("that leaves a doubt, and a doubt lifts no stop", value=text, right=right)
    stops = own_stops(case.events, case.rules)
    if not stops:
        right = 'Type "agree" to sign the verdict.'
        raise BadInput(f"no stop of case {case.number} stands", value=case.number, right=right)
    return tuple(stop.caution for stop in stops)


def right_words(case: Opened, cautions: tuple[str, ...]) -> str:
    """What is signed to be put right, in words; "" for nothing."""
    told = [first_sentence(str(case.rules.cautions[c]["text"])).rstrip(".") for c in cautions]
    return f". Put right: {'; '.join(told)}" if told else ""
