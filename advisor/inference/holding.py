"""What standing cautions do to the advice: the recipes they close, and what holds until help comes."""

from __future__ import annotations

from advisor.knowledge.rulebase import RuleBase

#: The levels of cautions, gravest first.
LEVELS = ("emergency", "stop", "warn", "note")


def closed(rules: RuleBase, cautions: tuple[str, ...], brought: frozenset[str] = frozenset()) -> set[str]:
    """Actions by a recipe that a standing caution closes; they are not advised while it stands.

    What stands from a case before (`brought`) closes every one.
    """
    shut = {kind for c in cautions for kind in rules.cautions[c].get("closes", ())}
    by_recipe = {a: item["recipe"] for a, item in rules.actions.items() if item.get("recipe")}
    return {a for a, kind in by_recipe.items() if brought or kind in shut}


def stops(rules: RuleBase, cautions: tuple[str, ...]) -> frozenset[str]:
    """What the standing stop and emergency cautions hold the machine with; it is done first."""
    grave = [rules.cautions[c] for c in cautions if rules.cautions[c]["level"] in LEVELS[:2]]
    return frozenset(item["hold"] for item in grave if item.get("hold"))


def holding(
    rules: RuleBase, chain: tuple[str, ...], cautions: tuple[str, ...], forbidden: set[str]
) -> tuple[str | None, str | None]:
    """What holds until slow tests or the supervisor arrive: of the gravest caution, else of the chain;
    and the same once more where a stop caution holds the machine with it: it is done first."""
    graded = sorted(cautions, key=lambda c: LEVELS.index(rules.cautions[c]["level"]))
    held = [rules.cautions[c].get("hold") for c in graded]
    held += [rules.causes[c].text.get("hold") for c in chain]
    hold = next((action for action in held if action and action not in forbidden), None)
    return hold, hold if hold in stops(rules, cautions) else None
