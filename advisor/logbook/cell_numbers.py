"""Numbers in the cells of a table, where a point or a comma can be a decimal sign or part the thousands."""

from __future__ import annotations

import re
from collections.abc import Callable

from advisor.errors import BadInput

_PLAIN = re.compile(r"[+-]?\d+(?:[.,](?:\d{1,2}|\d{4,}))?|[+-]?\d*[.,]\d+[eE][+-]?\d+|[+-]?[.,]\d+")
_EITHER = re.compile(r"([+-]?)([1-9]\d{0,2})([.,])(\d{3})")
_ZERO = re.compile(r"[+-]?0+[.,]\d{3}|[+-]?\d{4,}[.,]\d{3}")
_GROUPS = re.compile(r"([+-]?[1-9]\d{0,2})((?:\.\d{3})+)(,\d+)?|([+-]?[1-9]\d{0,2})((?:,\d{3})+)(\.\d+)?")


def cell_number(
    cell: str, possible: Callable[[float], bool], *, whole: bool, comma_table: bool
) -> float | None:
    """The number a cell holds; None where it holds more than a number.

    ``1.234`` and ``1,234`` can each be read in two ways. What is counted whole has no decimals; else the
    one reading that is possible at all is taken; else a table whose cells stand apart by commas writes
    its decimals with a point. What stays open is refused: a thousandfold slip is worse than a row left out.

    Args:
        cell: the cell, without blanks around it.
        possible: whether the figure can have this value, in the unit of the column.
        whole: whether the figure is a count.
        comma_table: whether commas stand between the cells of the table.

    Raises:
        BadInput: it can be read in two ways.
    """
    if _PLAIN.fullmatch(cell) or _ZERO.fullmatch(cell):
        return float(cell.replace(",", "."))
    either = _EITHER.fullmatch(cell)
    if either is None:
        return _grouped(cell)
    sign, before, mark, after = either.groups()
    many, few = float(f"{sign}{before}{after}"), float(f"{sign}{before}.{after}")
    if whole or not possible(few):
        return many
    if not possible(many):
        return few
    if comma_table:
        return few if mark == "." else many
    right = f"Write {before}{after}, or {before}.{after}0 if it is less."
    what = f"{cell!r} can be {before}{after} or a little over {before}"
    raise BadInput(what, value=cell, right=right)


def _grouped(cell: str) -> float | None:
    """A number whose thousands and decimals are told apart by their marks, such as ``1.234,5``."""
    found = _GROUPS.fullmatch(cell)
    if found is None:
        try:
            return float(cell)  # as another program writes it: 1e5, nan
        except ValueError:
            return None
    lead, groups, rest = found.groups()[:3] if found[1] else found.groups()[3:]
    return float(lead + re.sub(r"\D", "", groups) + (rest or "").replace(",", "."))
