"""The case on its way into the logbook: every event is stored before anything is shown."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from advisor import __version__
from advisor.dialogue.case import SHOP_BOOK, CaseState, fact_data, fold
from advisor.dialogue.events import Event, span
from advisor.dialogue.shop import Shop
from advisor.dialogue.understanding import Understood
from advisor.knowledge.facts import Fact, region_fact
from advisor.knowledge.rulebase import RuleBase


class Recorder:
    """Appends events to one case of a store and folds them.

    Args:
        store: a logbook (`advisor.logbook.port.Store`).
        rules: whose hash the case is judged with.
        clock: gives the present time as ISO-8601 UTC text.
        who: sign or role of the person.
        shop: whose figures the first event copies.
    """

    def __init__(self, store: Any, rules: RuleBase, clock: Callable[[], str], who: str, shop: Shop) -> None:
        self.store, self.rules, self.clock, self.who, self.shop = store, rules, clock, who, shop
        self.case: int | None = None
        self.events: list[Event] = []
        self.words: dict[int, str] = {}
        self._rules_kept = False

    def resume(self, case: int) -> None:
        """Take up a case where it was left."""
        self.case = case
        self.events = self.store.events(case)
        self.words = self.store.words(case)

    def state(self) -> CaseState:
        """The fold of the case so far."""
        return fold(self.events, self.words)

    def append(
        self, kind: str, data: dict[str, Any], words: str | None = None, visit: int | None = None
    ) -> Event:
        """Store one event; the first one opens the case."""
        if self.case is None:
            self.case = self.store.start_case(self.who, self.clock(), self._opened())
            self.events = self.store.events(self.case)
        event: Event = self.store.append(
            self.case, kind, data, words, time=self.clock(), who=self.who, visit=visit
        )
        self.case = event.case  # a case continued elsewhere meanwhile goes on under another number
        self.events.append(event)
        if words:
            self.words[event.number] = words
        return event

    def replace_words(self, number: int, words: str) -> None:
        """Keep other words beside an event, in the place of those typed."""
        self.store.replace_words(self.case, number, words)
        self.words[number] = words

    def _opened(self) -> dict[str, Any]:
        region = region_fact(self.shop.region, SHOP_BOOK)
        known = region is not None and region.id in self.rules.observables
        return {
            "facts": [fact_data(region, "")] if region is not None and known else [],
            "program": __version__,
            "sump": None,
            "product": None,
            "shop": self.shop.as_json(),
            "containers": self.shop.containers,
            "region": self.shop.region,
            "units": self.shop.system,
            "rules": self.rules.hash,
        }

    def said(
        self,
        text: str,
        got: Understood,
        expecting: str | None,
        *,
        answered: bool,
        sump: str | None = None,
        gone: bool = False,
    ) -> None:
        """Store what a line said; its words go into their own table. `gone`: that a step put it right."""
        data: dict[str, Any] = {
            "facts": [fact_data(f, text) for f in got.facts],
            "unused": [span(word, text) for word in got.unused],
            "corrections": [{"id": key} for key in got.corrections],
            "expecting": expecting,
            "answered": answered,
        }
        if gone:
            data["gone"] = True
        if sump:
            data["sump"], data["copy"] = sump, self.shop.copies.get(sump)
        self.append("said", data, text)

    def skipped(self, text: str, expecting: str) -> None:
        """Store that a question was refused or cannot be answered."""
        self.append(
            "said",
            {"facts": [], "unused": [], "expecting": expecting, "answered": True, "skipped": True},
            text,
        )

    def kept(self, facts: Sequence[Fact], text: str) -> None:
        """Store a trial answer that is taken into the case."""
        self.append("kept_what_if", {"facts": [fact_data(f, text) for f in facts]}, text)

    def shown(self, cautions: Sequence[str]) -> None:
        """Store which cautions were put before the person."""
        if cautions:
            held = self.rules.cautions
            items = [{"id": c, "level": held[c]["level"], "text": held[c]["text"]} for c in cautions]
            self.append("shown", {"cautions": items})

    def verdict(self, whole: dict[str, Any]) -> None:
        """Store a verdict with the rule base that gave it."""
        self.append("verdict", {"verdict": whole, "rules": self.rules.hash, "program": __version__})
        if self._rules_kept or self.store.rule_base(self.rules.hash) is not None:
            self._rules_kept = True
            return
        import json

        compiled = json.dumps(self.rules.data, ensure_ascii=False, separators=(",", ":"))
        self.store.keep_rule_base(self.rules.hash, compiled.encode())
        self._rules_kept = True
