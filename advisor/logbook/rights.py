"""Who may change what belongs to the shop: limits, targets, the roles of people.

The shop says which roles may (``limits_by``; supervisor and specialist where it says nothing). Where people
are listed, only a listed sign counts; while nobody is listed, the sign itself is taken as the role.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from advisor.errors import Refused
from advisor.logbook.shop import Shop

#: Roles that may change limits where the shop does not say; an operator never may.
BY_DEFAULT = ("supervisor", "specialist")
OPERATOR = "operator"
#: Figures of a sump or product that are limits, targets, or turn a reading into a strength.
LIMITS = ("target", "aim", "product", "ph_first_fill", "refractometer_factor", "water_hardness")


def role(shop: Shop, who: str) -> str:
    """The role of a sign in this shop."""
    if shop.people:
        return str(shop.people.get(who, {}).get("role", OPERATOR))
    return who


def may_change_limits(shop: Shop, who: str) -> bool:
    """Whether a sign's role may change limits here."""
    allowed = shop.shop.get("limits_by") or BY_DEFAULT
    return role(shop, who) in allowed and role(shop, who) != OPERATOR


def refuse_without_right(shop: Shop, who: str, deed: str) -> None:
    """Refuse what only those may who may change limits; `deed` is what, such as ``change the target``.

    Raises:
        Refused: says what may not be done, and who can.
    """
    if may_change_limits(shop, who):
        return
    allowed = shop.shop.get("limits_by") or BY_DEFAULT
    signs = [sign for sign, row in shop.people.items() if row.get("role") in allowed]
    known = f" such as {', '.join(signs)}" if signs else ""
    whose = "an operator" if role(shop, who) == OPERATOR else f"{who!r}"
    right = f"A {' or '.join(allowed)} can: --who with the sign of one{known}. Nothing was changed."
    raise Refused(f"{whose} may not {deed}", value=who, right=right)


def refuse_changes(before: Shop, after: Shop, who: str) -> None:
    """Refuse a new form of the shop that changes a limit by somebody who may not.

    Figures that nobody has entered yet may be completed by anyone.

    Raises:
        Refused: a limit, target, right or role would change.
    """
    if may_change_limits(before, who):
        return
    for what in changed(before, after):
        refuse_without_right(before, who, f"change {what}")


def changed(before: Shop, after: Shop) -> Iterator[str]:
    """What belongs to the shop and would change, in words."""
    for section in ("products", "sumps"):
        for key, row in getattr(after, section).items():
            there = getattr(before, section).get(key)
            if there is None:
                continue
            old, new = _limits(there), _limits(row)
            for figure, value in old.items():
                if new.get(figure) != value:
                    yield f"the {figure.replace('_', ' ')} of {row['name']}"
    for key in ("limits_by", "checks"):
        if before.shop and after.shop and (before.shop.get(key) or None) != (after.shop.get(key) or None):
            yield "who may change limits" if key == "limits_by" else "how often a check is due"
    for sign, row in after.people.items():
        held = before.people.get(sign)
        if (held is not None and held.get("role") != row.get("role")) or (
            held is None and before.people and row.get("role") != OPERATOR
        ):
            yield f"the role of {sign}"


def _limits(row: Mapping[str, Any]) -> dict[str, Any]:
    """The limits among a row's figures that are entered."""
    held = {**row.get("figures", {}), "aim": row.get("aim"), "product": row.get("product")}
    held |= {f"limit of {key}": value for key, value in row.get("limits", {}).items()}
    held |= {f"label dose of {key}": value for key, value in row.get("label_doses", {}).items()}
    return {
        key: value
        for key, value in held.items()
        if value is not None and (key in LIMITS or key.startswith(("limit of", "label dose")))
    }
