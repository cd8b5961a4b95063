"""Counts of germs in a line: groups of three digits are thousands, whatever stands between them."""

from __future__ import annotations

import pytest

from advisor.dialogue.understanding import understand
from advisor.quantities import parse
from tests.understanding.measure import lexicon


def read(line: str, name: str) -> list[object]:
    """The values a line gives of one observable."""
    return [f.value for f in understand(line, lexicon=lexicon()).facts if f.id == name]


@pytest.mark.parametrize(
    ("line", "count"),
    [("bacteria 100.000", 1e5), ("Keimzahl 100.000 KBE/ml", 1e5), ("bacteria 1.000.000 cfu/ml", 1e6),
     ("bacteria 100 000 cfu/ml", 1e5), ("bacteria 100,000", 1e5), ("bacteria 10^5", 1e5)],
)  # fmt: skip
def test_a_count_is_whole(line: str, count: float) -> None:
    """A million germs must never be noted as none, nor a hundred thousand as a hundred."""
    assert read(line, "bacteria") == [count]


def test_other_figures_keep_their_decimals() -> None:
    """Only what is counted is whole; a number of a machine does not join the volume behind it."""
    assert read("pH 9.123", "ph") == [9.123]
    assert read("sump 14 200 L", "sump_volume") == [200.0]
    assert parse("100.000", "CFU/mL").value == 1e5
