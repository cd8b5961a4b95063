"""A recipe that another conversation about the same sump left open: told before a second one is made."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from advisor.dialogue import phrases_led
from advisor.dialogue.blocks import Block
from advisor.dialogue.case import fold
from advisor.dialogue.following import doing, is_spent
from advisor.showing import local_time

#: A recipe that nobody touched for so many days is past; common practice, no source.
PAST_DAYS = 3.0
#: Cases of the sump that are looked into, the last touched first.
_LOOKED_INTO = 5


def told(store: Any, name: str, own: int | None, now: str) -> list[Block]:
    """The one recipe still open at a sump, as a warning; nothing where none is.

    Args:
        store: the logbook (`advisor.logbook.port.Store`).
        name: of the sump.
        own: number of the case that asks, which is passed over.
        now: the present, ISO-8601 UTC; what nobody touched for `PAST_DAYS` is no longer open work.
    """
    oldest = datetime.fromisoformat(now) - timedelta(days=PAST_DAYS)
    rows = [row for row in store.cases(sump=name, state="open") if row.id != own]
    rows = [row for row in rows if datetime.fromisoformat(row.touched) >= oldest]
    for row in rows[:_LOOKED_INTO]:
        events = store.events(row.id)
        state = fold(events)
        made = state.recipe
        if not made or made.get("refused") or is_spent(state):
            continue
        steps = doing(made)
        done = sum(step in state.steps for step in steps)
        text = phrases_led.LEFT_OPEN.format(
            case=row.id, who=row.who, when=local_time(events[-1].time), done=done, steps=len(steps)
        )
        return [Block("warn", text, "TAKE CARE")]
    return []
