"""Numbers in tables: a point or comma before three digits is never read a thousandfold wrong in silence."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.errors import BadInput
from advisor.logbook.cell_numbers import cell_number
from tests.logbook.readings_desk import desk_at
from tests.logbook.test_tables import taken


@pytest.mark.parametrize(
    ("cell", "number"),
    [("100,000", 100_000), ("1.234", 1.234), ("1,234.5", 1234.5), ("1.234,5", 1234.5), ("1.234.567", 1234567),
     ("6,5", 6.5), ("0.125", 0.125), ("1e5", 1e5), ("6.5 %", None)],
)  # fmt: skip
def test_a_comma_table_is_written_the_english_way(cell: str, number: float | None) -> None:
    """Where commas part the cells, decimals have a point (the worked values are read by hand)."""
    assert cell_number(cell, lambda _: True, whole=False, comma_table=True) == number


@pytest.mark.parametrize("cell", ["1.234", "1,234", "20.000"])
def test_what_can_be_two_numbers_is_refused_elsewhere(cell: str) -> None:
    """In a table parted by semicolons both readings are in use, so neither is taken."""
    with pytest.raises(BadInput, match="can be"):
        cell_number(cell, lambda _: True, whole=False, comma_table=False)


@pytest.mark.parametrize(("cell", "number"), [("9,123", 9.123), ("9.123", 9.123), ("9,1", 9.1)])
def test_only_one_of_the_two_may_be_possible(cell: str, number: float) -> None:
    """A pH ends at 14, so three decimals are decimals."""
    assert cell_number(cell, lambda v: 0 <= v <= 14, whole=False, comma_table=False) == number


@pytest.mark.parametrize("counted", ["100,000", "100.000", "100 000", "100000", "1e5", "10^5"])
def test_germs_are_counted_whole(tmp_path: Path, counted: str) -> None:
    """A hundred thousand germs are never taken for one hundred, whatever parts the thousands."""
    got = taken(desk_at(tmp_path), tmp_path, f"sump;date;bacteria\nM1;2025-03-01;{counted}\n")
    assert [r.result for r in got.readings] == [100_000.0]


def test_a_spreadsheets_unicode_text_is_read(tmp_path: Path) -> None:
    """UTF-16 with its mark, tabs, a date with two digits of the year."""
    got = taken(desk_at(tmp_path), tmp_path, "sump\tdate\tpH\nM1\t01.03.25\t9,1\n".encode("utf-16"))
    assert [(r.time, r.result) for r in got.readings] == [("2025-03-01T12:00:00Z", 9.1)]
