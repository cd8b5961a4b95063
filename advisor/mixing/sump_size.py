"""What a sump holds, as it was written: never a thousandth of it because of a point between thousands."""

from __future__ import annotations

import re
from typing import Any

from advisor.errors import BadQuantity
from advisor.quantities import parse

#: A point before three digits: thousands to some, decimals to others.
_EITHER = re.compile(r"\s*([1-9]\d{0,2})\.(\d{3})(?!\d)(.*)", re.DOTALL)
#: A sump smaller than this that is written so is doubted, litres; common practice, no source.
SMALLEST_L = 20.0


def sump_litres(said: str, gallon: Any) -> float:
    """A sump's volume in litres.

    Raises:
        BadQuantity: it cannot be read, is not above zero, or can be two volumes ("1.200 L").
    """
    litres = parse(said, "L", gallon=gallon).value
    if litres <= 0.0:
        raise BadQuantity(f"{said} is not above zero", value=said, right="give a figure above 0")
    either = _EITHER.fullmatch(said)
    if either and litres < SMALLEST_L:
        before, after, unit = either.groups()
        many, few = f"{before}{after}{unit}", f"{float(f'{before}.{after}'):g}{unit}"
        few = few if few != said.strip() else f"{before}.{after}0{unit}"
        raise BadQuantity(f"{said} can be {many} or {few}", value=said, right=f'write "{many}" or "{few}"')
    return litres
