"""Written numbers: ``6,5``, ``1,000``, ``10^6``, ``5x10^5``, ``3 1/2``, and the few words a form accepts;
and the number a refractometer's index of refraction stands for on the Brix scale.
"""

from __future__ import annotations

import itertools
import re
import unicodedata

from advisor.errors import BadQuantity

_NUMBER_WORDS = {
    "half": 0.5, "a half": 0.5, "one half": 0.5, "quarter": 0.25, "a quarter": 0.25, "third": 1 / 3,
    "a third": 1 / 3, "two thirds": 2 / 3, "three quarters": 0.75, "full": 1.0, "empty": 0.0,
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
    "ten": 10, "eleven": 11, "twelve": 12, "fifteen": 15, "twenty": 20, "thirty": 30, "forty": 40,
    "fifty": 50, "a hundred": 100, "hundred": 100,
}  # fmt: skip
SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹", "0123456789")
MANTISSA = r"[+\-−]?(?:\d{1,3}(?:[ ,']\d{3})+(?!\d)(?:\.\d+)?|\d+(?:[.,]\d+)?|[.,]\d+)"
NUMERAL = re.compile(
    rf"(?P<power>(?:(?P<m>{MANTISSA})\s*[x*×·]\s*)?10\s*(?:\^|\*\*|e\+?)\s*(?P<p>[+-]?\d{{1,3}}))"
    rf"|(?P<frac>(?:(?P<whole>\d+)\s+)?(?P<num>\d+)/(?P<den>\d+)(?![\d/]))"
    rf"|(?P<plain>{MANTISSA})(?:[eE](?P<e>[+-]?\d{{1,4}}))?"
)


def numeral(text: str) -> float:
    """One written number: ``6,5``, ``1,000``, ``10^6``, ``5x10^5``, ``1/2``, ``3 1/2``, ``1e6``.

    A comma followed by exactly three digits separates thousands, any other comma is a decimal one.
    Raises ValueError for anything else.
    """
    clean = fold_numeral(text)
    match = NUMERAL.fullmatch(clean)
    if match is None:
        raise ValueError(f"not a number: {text!r}")
    if match["power"]:
        return (_plain(match["m"]) if match["m"] else 1.0) * 10.0 ** int(match["p"])
    if match["frac"]:
        if int(match["den"]) == 0:
            raise ValueError("a fraction cannot have zero below the line")
        return float(int(match["whole"] or 0) + int(match["num"]) / int(match["den"]))
    return _plain(match["plain"]) * 10.0 ** int(match["e"] or 0)


def fold_numeral(text: str) -> str:
    clean = re.sub(r"(?<=\d)([⁰¹²³⁴⁵⁶⁷⁸⁹]+)", lambda m: "^" + m[1].translate(SUPERSCRIPTS), text)
    clean = re.sub(r"(?<=\d)(?=[½¼¾⅓⅔⅛])", " ", clean)
    return unicodedata.normalize("NFKC", clean).replace("⁄", "/").replace("−", "-").strip()


def _plain(text: str) -> float:
    sign = -1.0 if text[0] == "-" else 1.0
    digits = text.lstrip("+-")
    if re.fullmatch(r"[1-9]\d{0,2}(?:[ ,']\d{3})+(?:\.\d+)?", digits):
        digits = re.sub(r"[ ,']", "", digits)
    return sign * float(digits.replace(",", ".").replace(" ", ""))


def whole_groups(text: str) -> str:
    """A count as it stands at the start of a text, points between its thousands taken out.

    Germs are counted whole, so ``100.000`` is a hundred thousand of them and never one hundred.
    """
    return re.sub(r"^[1-9]\d{0,2}(?:\.\d{3})+(?![\d.,])", lambda m: m[0].replace(".", ""), text)


def split_number(text: str) -> tuple[float, str]:
    """A leading number and what stands after it. Raises ValueError when no number leads."""
    clean = fold_numeral(text)
    match = NUMERAL.match(clean)
    if match is not None:
        return numeral(match[0]), clean[match.end() :].strip()
    low = clean.casefold()
    for word in sorted(_NUMBER_WORDS, key=len, reverse=True):
        if low == word or low.startswith(word + " "):
            return float(_NUMBER_WORDS[word]), clean[len(word) :].strip()
    raise ValueError(f"no number leads in {text!r}")


# ---- the Brix scale

# Index of refraction at 589.3 nm and 20 °C at 0, 1, ... 15 and 20 °Bx. Source: ICUMSA 1974 table; the points
# 10-15 and 20 agree with OIV Table II in the French arrêté of 14 September 2011, annex IV.
_INDEX = (
    (0, 1.33299), (1, 1.33442), (2, 1.33586), (3, 1.33732), (4, 1.33879), (5, 1.34026), (6, 1.34175),
    (7, 1.34325), (8, 1.34477), (9, 1.34629), (10, 1.34782), (11, 1.34937), (12, 1.35093), (13, 1.35250),
    (14, 1.35408), (15, 1.35568), (16, 1.35729), (18, 1.36054), (20, 1.36384), (25, 1.37233), (30, 1.38115),
    (35, 1.39032), (40, 1.39986),
)  # fmt: skip


def brix_from_index(index: float) -> float:
    """°Bx for an index of refraction (589.3 nm, 20 °C), 1.33299 to 1.39986; linear between table points.

    Raises BadQuantity outside the table. Source: ICUMSA 1974 scale, see `_INDEX`.
    """
    if not _INDEX[0][1] - 0.0005 <= index <= _INDEX[-1][1]:
        right = "write one between 1.3330 and 1.3998"
        raise BadQuantity(f"an index of {index} lies off the scale", value=index, right=right)
    for (b0, n0), (b1, n1) in itertools.pairwise(_INDEX):
        if index <= n1:
            return max(0.0, b0 + (b1 - b0) * (index - n0) / (n1 - n0))
    return float(_INDEX[-1][0])
