"""The one entry for every recipe: a kind and named inputs in, a recipe out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from advisor.errors import BadInput
from advisor.mixing.display import METRIC, Display
from advisor.mixing.recipe import Recipe
from advisor.mixing.request import Request, request_from
from advisor.mixing.strengthen import charge, strengthen
from advisor.mixing.thin import thin, top_up

_KINDS: dict[str, Callable[[Request, Display], Recipe]] = {
    "thin": thin,
    "strengthen": strengthen,
    "charge": charge,
    "top_up": top_up,
}
KINDS = tuple(_KINDS)


def plan(kind: str, inputs: Mapping[str, Any], show: Display = METRIC) -> Recipe:
    """Work out a recipe.

    Args:
        kind: ``thin``, ``strengthen``, ``charge`` or ``top_up``.
        inputs: fields of `Request` by name; None counts as not given. A charge needs no strength, and its
            ``fill`` is the rinse left behind, nothing unless said.
        show: how volumes are written in the steps.

    Raises:
        BadInput: an unknown kind or input, something missing, or something impossible.
    """
    if kind not in _KINDS:
        raise BadInput(
            f'"{kind}" is not a kind of recipe',
            place="kind",
            value=kind,
            right="use one of " + ", ".join(KINDS),
        )
    values = dict(inputs)
    if kind == "charge":
        if values.get("fill") is None:
            values["fill"] = 0.0
        if values.get("strength") is None and values.get("reading") is None:
            values["strength"], values["factor"] = 0.0, values.get("factor") or 1.0
    return _KINDS[kind](request_from(values), show)
