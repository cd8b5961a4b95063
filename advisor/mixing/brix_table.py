"""Temperature correction of a Brix reading to 20 °C, and the scale of refractive index.

Below 20 °C and from 10 °Bx up: OIV-MA-AS2-02, Table I (Oeno 21/2004, rev. 466/2012). Elsewhere the
"international temperature correction table" of AOAC 932.14; from memory, unverified. The two agree to
0.02 °Bx where they meet. Both are for sugar water and only a good approximation for coolant.
"""

from __future__ import annotations

from bisect import bisect_right
from itertools import pairwise

from advisor.errors import BadInput
from advisor.quantities import brix_from_index

_OIV_BRIX = (10.0, 15.0, 20.0, 25.0, 30.0)
_OIV: dict[int, tuple[float, ...]] = {
    5: (-0.82, -0.87, -0.92, -0.95, -0.99),
    6: (-0.80, -0.82, -0.87, -0.90, -0.94),
    7: (-0.74, -0.78, -0.82, -0.84, -0.88),
    8: (-0.69, -0.73, -0.76, -0.79, -0.82),
    9: (-0.64, -0.67, -0.71, -0.73, -0.75),
    10: (-0.59, -0.62, -0.65, -0.67, -0.69),
    11: (-0.54, -0.57, -0.59, -0.61, -0.63),
    12: (-0.49, -0.51, -0.53, -0.55, -0.56),
    13: (-0.43, -0.45, -0.47, -0.48, -0.50),
    14: (-0.38, -0.39, -0.40, -0.42, -0.43),
    15: (-0.32, -0.33, -0.34, -0.35, -0.36),
    16: (-0.26, -0.27, -0.28, -0.28, -0.29),
    17: (-0.20, -0.20, -0.21, -0.21, -0.22),
}
_AOAC_BRIX = (0.0, 5.0, 10.0, 15.0)
_AOAC: dict[int, tuple[float, ...]] = {
    10: (-0.50, -0.54, -0.58, -0.61),
    11: (-0.46, -0.49, -0.53, -0.55),
    12: (-0.42, -0.45, -0.48, -0.50),
    13: (-0.37, -0.40, -0.42, -0.44),
    14: (-0.33, -0.35, -0.37, -0.39),
    15: (-0.27, -0.29, -0.31, -0.33),
    16: (-0.22, -0.24, -0.25, -0.26),
    17: (-0.17, -0.18, -0.19, -0.20),
    18: (-0.12, -0.13, -0.13, -0.14),
    19: (-0.06, -0.06, -0.06, -0.07),
    20: (0.0, 0.0, 0.0, 0.0),
    21: (0.06, 0.07, 0.07, 0.07),
    22: (0.13, 0.13, 0.14, 0.14),
    23: (0.19, 0.20, 0.21, 0.22),
    24: (0.26, 0.27, 0.28, 0.29),
    25: (0.33, 0.35, 0.36, 0.37),
    26: (0.40, 0.42, 0.43, 0.44),
    27: (0.48, 0.50, 0.52, 0.53),
    28: (0.56, 0.57, 0.60, 0.61),
    29: (0.64, 0.66, 0.68, 0.69),
    30: (0.72, 0.74, 0.77, 0.78),
}


def correction(reading: float, temperature: float) -> float:
    """°Bx to add to a reading taken at `temperature` (°C) to bring it to 20 °C.

    Straight between the cells of the tables. From 10 °C to 30 °C and 0 to 15 °Bx, or from 5 °C to 17 °C
    and 10 to 30 °Bx.

    Raises:
        BadInput: outside both tables.
    """
    if 10.0 <= reading <= 30.0 and 5.0 <= temperature <= 17.0:
        return _between(_OIV, _OIV_BRIX, reading, temperature)
    if 0.0 <= reading <= 15.0 and 10.0 <= temperature <= 30.0:
        return _between(_AOAC, _AOAC_BRIX, reading, temperature)
    raise BadInput(
        f"there is no correction for {reading:g} °Bx at {temperature:g} °C",
        place="temperature",
        value=temperature,
        right="let sample and instrument come to the same temperature between 10 and 30 °C and read again",
    )


def index_from_brix(brix: float) -> float:
    """Refractive index at 20 °C and 589.3 nm for 0 to 40 °Bx (ICUMSA 1974 scale), to about 0.00005.

    The inverse of `quantities.brix_from_index`.

    Raises:
        BadInput: outside 0 to 40 °Bx.
    """
    if not 0.0 <= brix <= 40.0:
        raise BadInput(f"{brix:g} °Bx lies off the scale", place="brix", value=brix, right="give 0 to 40 °Bx")
    low, high = 1.33299, 1.39986
    while high - low > 1e-9:
        middle = (low + high) / 2.0
        low, high = (middle, high) if brix_from_index(middle) < brix else (low, middle)
    return (low + high) / 2.0


def _between(
    table: dict[int, tuple[float, ...]], brixes: tuple[float, ...], brix: float, celsius: float
) -> float:
    rows = sorted(table)
    at = min(max(bisect_right(rows, celsius) - 1, 0), len(rows) - 2)
    t0, t1 = rows[at], rows[at + 1]
    upper, lower = _across(table[t0], brixes, brix), _across(table[t1], brixes, brix)
    return upper + (lower - upper) * (celsius - t0) / (t1 - t0)


def _across(row: tuple[float, ...], brixes: tuple[float, ...], brix: float) -> float:
    for (b0, b1), (c0, c1) in zip(pairwise(brixes), pairwise(row), strict=True):
        if brix <= b1:
            return c0 + (c1 - c0) * (brix - b0) / (b1 - b0)
    return row[-1]
