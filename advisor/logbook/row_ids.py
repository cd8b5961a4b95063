"""Ids of what a person names: plain letters and digits, and never one that is taken."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container

_LONGEST = 40


def row_id(name: str, kind: str, taken: Container[str]) -> str:
    """An id for a new row of the shop.

    Accents fall away; of a name in other letters than Latin only its digits stay, after `kind`. Names that
    come to the same id are told apart by a number, so that no row ever takes the place of another.

    Args:
        name: as a person wrote it.
        kind: sump, product or container.
        taken: ids that rows have already.
    """
    plain = unicodedata.normalize("NFKD", name.casefold())
    joined = "".join(letter for letter in plain if not unicodedata.combining(letter))
    key = "_".join(re.findall(r"[a-z0-9]+", joined))[:_LONGEST].strip("_") or kind
    key = key if key[0].isalpha() else f"{kind}_{key}"
    made, number = key, 2
    while made in taken:
        made, number = f"{key}_{number}", number + 1
    return made
