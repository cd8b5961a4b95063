"""Units and numbers: read, refused and shown. Figures come from NIST, ISO and the definitions of hardness."""

from __future__ import annotations

import pytest

from advisor import make_unit_table, quantities, unit_table
from advisor.errors import BadQuantity

# NIST HB 44 appendix C, ISO 80000, UK Weights and Measures; 1 °dH = 10 mg CaO/L by molar masses.
EXACT = [
    ("1 US gal", "L", 3.785411784),
    ("1 imp gal", "L", 4.54609),
    ("1 US qt", "L", 0.946352946),
    ("1 US fl oz", "L", 0.0295735295625),
    ("1 imp pt", "L", 0.56826125),
    ("1 cu ft", "L", 28.316846592),
    ("1 dH", "mg/L CaCO3", 17.848),
    ("1 °f", "mg/L CaCO3", 10.0),
    ("1 Clark", "mg/L CaCO3", 14.2538),
    ("1 gpg", "mg/L CaCO3", 17.118),
    ("1 mmol/L", "mg/L CaCO3", 100.0869),
    ("1 mS/cm", "µS/cm", 1000.0),
    ("212 °F", "°C", 100.0),
    ("1 MPa", "bar", 10.0),
    ("1000 psi", "bar", 68.9476),
    ("1 US gal per day", "L/day", 3.785411784),
    ("1 US gpm", "L/min", 3.785411784),
]


@pytest.mark.parametrize(("text", "unit", "value"), EXACT)
def test_factors_are_the_published_ones(text: str, unit: str, value: float) -> None:
    """Each spelling converts by the factor its definition gives."""
    assert quantities.parse(text, unit).value == pytest.approx(value, rel=1e-5)


def test_table_is_what_pint_says() -> None:
    """The written table equals one made afresh by pint, so neither can drift."""
    assert make_unit_table.table() == unit_table.UNITS
    for us, imperial in unit_table.BARE.values():
        assert any(us in rows for rows in unit_table.UNITS.values())
        assert any(imperial in rows for rows in unit_table.UNITS.values())


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("6,5 %", "fraction", 0.065),
        ("0.07", "fraction", 0.07),
        ("3/4", "fraction", 0.75),
        ("¾", "fraction", 0.75),
        ("half", "fraction", 0.5),
        ("1,000 ppm", "mg/L", 1000.0),
        ("1.3478 nD", "°Bx", 9.99),
        ("10⁶", "CFU/mL", 1e6),
        ("5x10^5 cfu/ml", "CFU/mL", 5e5),
        ("3 1/2 US gal", "L", 13.2489),
        ("2 wks", "day", 14.0),
        ("15 L am Tag", "L/day", 15.0),
    ],
)
def test_numbers_as_people_write_them(text: str, unit: str, value: float) -> None:
    """Commas, powers, fractions and words are numbers."""
    assert quantities.parse(text, unit).value == pytest.approx(value, rel=1e-3)


@pytest.mark.parametrize(
    ("text", "unit", "fragment"),
    [
        ("27", "pH", "0 to 14"),
        ("-3 gal", "L", "below zero"),
        ("−3 gal", "L", "below zero"),
        ("140 %", "fraction", "0 to 100 %"),
        ("16 %%", "fraction", "write it like this: 7 % or 0.07"),
        ("7", "fraction", "7 % or 0.07"),
        ("nan", "pH", "finite"),
        ("1e999", "mg/L", "finite"),
        ("5 gallns", "L", "did you mean gallons"),
        ("2 pails", "L", "what it holds"),
        ("5 kg", "L", "not a unit"),
        ("7 %", "L", "not a unit for this quantity"),
        ("", "L", "nothing was given"),
        ("9" * 10_000, "L", "too many"),
        ("5\x07 L", "L", "control characters"),
        ("1:0", "fraction", "no part"),
    ],
)
def test_bad_quantities_say_what_would_be_right(text: str, unit: str, fragment: str) -> None:
    """Every refusal names the fault and a right way to write it."""
    with pytest.raises(BadQuantity) as caught:
        quantities.parse(text, unit)
    assert fragment.lower() in caught.value.sentence().lower()
    assert caught.value.right


def test_bare_gallon_follows_the_shop() -> None:
    """A gallon without a country is the shop's; where that is unknown, a US one and loose."""
    unknown = quantities.parse("10 gal", "L")
    assert (unknown.loose, unknown.value) == (True, pytest.approx(37.854, rel=1e-4))
    assert "US gallon" in unknown.assumed
    assert quantities.parse("10 gal", "L", gallon="imperial").value == pytest.approx(45.4609)
    assert quantities.parse("20 oz", "L", gallon="imperial").value == pytest.approx(0.568261, rel=1e-5)
    assert not quantities.parse("10 gal", "L", gallon="us").loose


def test_ratio_is_loose() -> None:
    """1:20 has two readings, so the strength taken from it waits for confirmation."""
    parsed = quantities.parse("1:20", "fraction")
    assert parsed.loose
    assert parsed.value == pytest.approx(1 / 21)
    assert quantities.parse("1 in 20", "fraction").value == pytest.approx(0.05)


def test_window_shares_its_unit() -> None:
    """The unit at the end of a window holds for both ends."""
    low, high = quantities.parse_window("6-10 %", "fraction")
    assert (low.value, high.value) == (pytest.approx(0.06), pytest.approx(0.10))
    with pytest.raises(BadQuantity, match="lower end first"):
        quantities.parse_window("10-6 %", "fraction")


@pytest.mark.parametrize(
    ("value", "unit", "system", "text"),
    [
        (0.0533, "fraction", "metric", "5.3 %"),
        (0.7, "fraction", "metric", "70 %"),
        (9.0, "pH", "metric", "pH 9.0"),
        (189.27, "L", "us", "50 US gal"),
        (0.207, "L", "us", "7 US fl oz"),
        (113.65, "L", "imperial", "25 imperial gal"),
        (0.25, "L", "metric", "250 mL"),
        (4800.0, "µS/cm", "metric", "4.8 mS/cm"),
        (1e6, "CFU/mL", "metric", "10^6 CFU/mL"),
        (540.0, "day", "metric", "18 months"),
        (25.0, "°C", "us", "77 °F"),
    ],
)
def test_shown_without_false_digits(value: float, unit: str, system: quantities.System, text: str) -> None:
    """A figure shows the digits an instrument gives, in the person's own units."""
    assert quantities.show(value, unit, system) == text
