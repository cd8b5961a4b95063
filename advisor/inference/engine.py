"""The only import of durable-rules: staged rules fired by its C engine, as a pure function.

Of durable-rules only what it does reliably is used: equality of single facts joined by "and", with
chaining. Its own negation, "or", joins, hosts, timers and Python actions are not (they are wrong, hang or
crash often enough), and what it does not check itself is checked here when rules are loaded.

How a stage is written for the engine: every literal that a rule waits for gets a slot and a value (``k``
and ``v``), both short words of our own, so no text of the rules or of a person ever reaches the engine.
A boot fact starts an action first; while that action is open nothing fires, so all facts are in before
the first rule does, and the order in which they came cannot matter.
"""

from __future__ import annotations

import os
import threading
import weakref
from collections.abc import Collection, Iterator, Sequence
from functools import lru_cache
from typing import Any

from advisor.errors import BadInput, EngineLimit
from advisor.inference.conditions import Literal
from advisor.inference.matcher import PlainStagedRules
from advisor.inference.staged import Rule, Staged

# Limits measured on durable-rules 2.0.28; beyond them it hangs, crashes or loses rules without a word.
MOST_FACTS_PER_RULE = 16  # a 17th is error 304, and only once a fact is asserted
MOST_RULES_PER_STAGE = 4000  # 4096 is the end
MOST_RULES_PER_FACT = 250  # 257 rules on one condition write past a list
MOST_SIBLINGS = 500  # 512 slots, or values of one slot, loop without end
_VALUES_PER_SLOT = 20  # fastest of 20, 50, 100, 400 with 100 to 1000 rules; more only where it must be

_SWITCH = "SUMPSIDE_ENGINE"
_SESSION = "0"
_BOOT = f'{{"id":"boot","sid":"{_SESSION}","k":"boot"}}'


@lru_cache(maxsize=1)
def _engine() -> Any | None:
    try:
        import durable_rules_engine
    except ImportError:  # not installed, or built for another Python
        return None
    return durable_rules_engine


def available() -> bool:
    """Whether durable-rules can be imported here."""
    return _engine() is not None


def chosen(prefer: str | None = None) -> str:
    """``"durable"`` or ``"plain"``: `prefer`, else the environment's SUMPSIDE_ENGINE, else durable-rules.

    Raises:
        BadInput: the choice is neither.
    """
    choice = prefer or os.environ.get(_SWITCH) or "durable"
    if choice not in ("durable", "plain"):
        raise BadInput(
            f'there is no rule engine "{choice}"',
            value=choice,
            place=_SWITCH,
            right='write "durable" or "plain"',
        )
    return choice if available() else "plain"


def notice(prefer: str | None = None) -> str:
    """One sentence when durable-rules was wanted and is missing, else nothing."""
    if available() or (prefer or os.environ.get(_SWITCH)) == "plain":
        return ""
    return (
        "The rule engine durable-rules cannot be loaded here, so the rules run on Sumpside's own matcher; "
        "the results are the same."
    )


def make(stages: Sequence[Sequence[Rule]], prefer: str | None = None) -> Staged:
    """Staged rules on the engine that is chosen and available.

    Raises:
        BadRules, EngineLimit: as `Staged` and `StagedRules` say.
        BadInput: there is no such engine.
    """
    return StagedRules(stages) if chosen(prefer) == "durable" else PlainStagedRules(stages)


class StagedRules(Staged):
    """Staged rules on durable-rules, one ruleset for each stage."""

    name = "durable"

    def __init__(self, stages: Sequence[Sequence[Rule]]) -> None:
        """Check the limits and build the rulesets.

        Raises:
            BadRules: as `Staged`.
            EngineLimit: a stage is larger than the engine can hold; names the rule.
            ImportError: durable-rules is missing; ask `available` first.
        """
        super().__init__(stages)
        self._lock = threading.Lock()
        self._rulesets = {stage: _Ruleset(stage, rules) for stage, rules in self.stages.items()}

    def _fired(self, stage: str, given: Collection[Literal]) -> set[int]:
        with self._lock:
            return self._rulesets[stage].fired(given)


class _Ruleset:
    """One stage in the engine."""

    def __init__(self, stage: str, rules: Sequence[Rule]) -> None:
        engine = _engine()
        if engine is None:
            raise ImportError("durable-rules cannot be imported; use engine.make")
        self._c = engine
        self._stage = stage
        self._facts: dict[Literal, list[str]] = {}
        #: engine rule -> (place of our rule when it is complete, the literal it gives)
        self._means: dict[str, tuple[int | None, Literal | None]] = {}
        self._handle = engine.create_ruleset("stage", self._define(rules))
        weakref.finalize(self, engine.delete_ruleset, self._handle).atexit = False
        self._open = False

    def _define(self, rules: Sequence[Rule]) -> str:
        parts = [part for i, rule in enumerate(rules) for part in _split(i, rule)]
        if len(parts) > MOST_RULES_PER_STAGE:
            raise EngineLimit(
                f'is one rule too many: stage "{self._stage}" comes to {len(parts)}, and the engine holds '
                f"{MOST_RULES_PER_STAGE}",
                value=len(parts),
                place=rules[parts[MOST_RULES_PER_STAGE][1] or -1].id,
                right="move some of the rules into another stage",
            )
        copies: dict[Literal, int] = {}
        used: list[list[tuple[Literal, int]]] = []
        for when, _, _ in parts:
            used.append([(literal, copies.get(literal, 0) // MOST_RULES_PER_FACT) for literal in when])
            copies.update((literal, copies.get(literal, 0) + 1) for literal in when)
        terms = self._name_facts(sorted({item for items in used for item in items}), rules)
        # written out by hand: every word is our own, and json.dumps of so many small dicts takes longer
        # than building the ruleset. dist 0: the engine need not check that a rule's facts differ; they do
        lines = ['"boot":{"all":[{"m":{"k":"boot"}}]}']
        for n, ((_, place, gives), items) in enumerate(zip(parts, used, strict=True)):
            conditions = ",".join([f'{{"a{j}":{terms[item]}}}' for j, item in enumerate(items)])
            lines.append(f'"r{n}":{{"all":[{conditions}],"dist":0}}')
            self._means[f"r{n}"] = (place, gives)
        return f"{{{','.join(lines)}}}"

    def _name_facts(
        self, items: Sequence[tuple[Literal, int]], rules: Sequence[Rule]
    ) -> dict[tuple[Literal, int], str]:
        """The condition on the slot and value of every literal (and copy of it); notes its facts."""
        slots = MOST_SIBLINGS - 1  # one place is the boot fact's
        if len(items) > slots * MOST_SIBLINGS:
            raise EngineLimit(
                f'is one rule too many: stage "{self._stage}" waits for {len(items)} different facts, more '
                "than the engine holds",
                value=len(items),
                place=rules[-1].id,
                right="move some of the rules into another stage",
            )
        width = max(_VALUES_PER_SLOT, -(-len(items) // slots))
        terms: dict[tuple[Literal, int], str] = {}
        for n, item in enumerate(items):
            slot, value = f"s{n // width}", f"v{n}"
            terms[item] = f'{{"$and":[{{"k":"{slot}"}},{{"v":"{value}"}}]}}'
            fact = f'{{"id":"f{n}","sid":"{_SESSION}","k":"{slot}","v":"{value}"}}'
            self._facts.setdefault(item[0], []).append(fact)
        return terms

    def fired(self, given: Collection[Literal]) -> set[int]:
        """Places of the rules that fire. What is raised meanwhile (Ctrl-C too) leaves nothing behind."""
        if self._open:
            self._clear()
        self._open = True
        self._assert(_BOOT)
        state = self._c.start_action(self._handle)[2]
        try:
            return self._drain(state, given)
        finally:
            self._c.delete_state(self._handle, _SESSION)
            self._open = False

    def _clear(self) -> None:
        """End a session that was interrupted, wherever that was.

        Deleting a session in which no action has started crashes the process, so one is started first;
        where the session is already gone, a new one is begun for it, and where its action has started
        there is none left to start.
        """
        self._c.assert_fact(self._handle, _BOOT)
        self._c.start_action(self._handle)
        self._c.delete_state(self._handle, _SESSION)
        self._open = False

    def _drain(self, state: int, given: Collection[Literal]) -> set[int]:
        known: set[Literal] = set()
        self._learn(sorted(given), known)
        places: set[int] = set()
        for name in self._actions(state):
            place, gives = self._means[name]
            if place is not None:
                places.add(place)
            if gives is not None:
                self._learn([gives], known)
        return places

    def _actions(self, state: int) -> Iterator[str]:
        while message := self._c.complete_and_start_action(self._handle, state):
            yield message.split('"', 2)[1]  # {"name": {...the facts matched...}}

    def _learn(self, literals: Sequence[Literal], known: set[Literal]) -> None:
        for literal in literals:
            if literal not in known:
                known.add(literal)
                for fact in self._facts.get(literal, ()):  # the engine refuses a fact that no rule reads
                    self._assert(fact)

    def _assert(self, fact: str) -> None:
        code, _ = self._c.assert_fact(self._handle, fact)
        if code:
            raise RuntimeError(f"durable-rules did not take {fact} (code {code}) in stage {self._stage}")


def _split(place: int, rule: Rule) -> Iterator[tuple[tuple[Literal, ...], int | None, Literal | None]]:
    """The rule as ``(when, place, gives)``; one with too many literals as several that lead on."""
    when = rule.when
    step = 0
    while len(when) > MOST_FACTS_PER_RULE:
        link = Literal(f"\0{place} {step}", True)  # no key of a rule base begins with NUL
        yield when[:MOST_FACTS_PER_RULE], None, link
        when = (link, *when[MOST_FACTS_PER_RULE:])
        step += 1
    yield when, place, rule.gives
