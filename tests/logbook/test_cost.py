"""What coolant costs: prices as a shop writes them, and costs from what is on record."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.cli import main
from advisor.errors import BadQuantity
from advisor.logbook.cost import costs, lines, totals
from advisor.logbook.desk import Desk
from advisor.logbook.prices import read_price
from advisor.logbook.records import corrected, record, struck
from tests.logbook.readings_desk import day, desk_at, made_shop


def priced_desk(folder: Path, **shop: object) -> Desk:
    """A desk whose product costs 4.50 a litre of concentrate."""
    held = made_shop()
    held["products"][0]["price"] = 4.5
    held["shop"] |= {"currency": "EUR", **shop}
    return desk_at(folder, held)


def write(desk: Desk, *rows: object) -> None:
    """Keep records as one entry."""
    desk.book.enter((), rows, time=desk.time, who="AB", how="line")  # type: ignore[arg-type]


def added(litres: float, strength: float | None, ago: float, sump: str = "m1") -> object:
    """An addition so many days ago."""
    return record("addition", sump, day(ago), {"litres": litres, "strength": strength, "product": "p"})


@pytest.mark.parametrize(
    ("said", "per_litre"),
    [("900 per 200 L", 4.5), ("4,50 / L", 4.5), ("EUR 900 per 200 L", 4.5), ("900 EUR per 200 L", 4.5),
     ("17.034353 per US gal", 4.5), ("20.457405 per imp gal", 4.5), ("950 per drum", 4.75),
     ("1,800.00 per 400 L", 4.5), ("4500 per m3", 4.5), ("0 per L", 0.0)],
)  # fmt: skip
def test_a_price_is_an_amount_for_a_litre(said: str, per_litre: float) -> None:
    """A US gallon is 3.785411784 L, an imperial one 4.54609 L (NIST HB 44, App. C)."""
    assert read_price(said, drum_l=200.0, currency="EUR") == pytest.approx(per_litre, rel=1e-6)


@pytest.mark.parametrize(
    ("said", "why"),
    [("900", "no price"), ("dear per L", "no price"), ("-5 per L", "no price"), ("900 per 0 L", "no volume"),
     ("USD 900 per 200 L", "not this shop's currency"), ("950 per drum", "what a drum holds"),
     ("900 per 200 kg", "kg")],
)  # fmt: skip
def test_what_is_no_price_is_explained(said: str, why: str) -> None:
    """Each says what is wrong and what would be right."""
    with pytest.raises(BadQuantity) as caught:
        read_price(said, currency="EUR")
    assert why in caught.value.what
    assert caught.value.right


def test_concentrate_is_paid_by_its_share(tmp_path: Path) -> None:
    """20 L at 5 % and 2 L neat are 3 L of concentrate: 13.50 at 4.50 a litre."""
    desk = priced_desk(tmp_path)
    write(desk, added(20.0, 0.05, 1), added(2.0, 1.0, 2), added(7.0, None, 1))
    (march,) = costs(desk)
    assert (march.month, march.sump, march.unknown_l) == ("2025-03", "m1", 7.0)
    assert march.total == pytest.approx(13.5)
    assert "13.50+" in "\n".join(lines(desk, [march]))


def test_a_price_holds_from_its_day_on(tmp_path: Path) -> None:
    """What went in before a new price was noted keeps the old one."""
    desk = priced_desk(tmp_path)
    write(desk, record("price", "", day(5), {"product": "p", "per_litre": 9.0}))
    write(desk, added(10.0, 1.0, 20), added(10.0, 1.0, 1))
    assert [(c.month, c.total) for c in costs(desk)] == [("2025-02", 45.0), ("2025-03", 90.0)]


def test_water_and_waste_count_where_they_are_priced(tmp_path: Path) -> None:
    """100 L of water at 2 per 1000 L and 50 L of waste at 0.40 a litre are 0.20 and 20."""
    desk = priced_desk(tmp_path, water_price=0.002, waste_price=0.4)
    write(desk, added(100.0, 0.0, 1), record("waste", "m1", day(1), {"litres": 50.0}))
    (march,) = costs(desk)
    assert (march.water, march.waste, march.concentrate) == (pytest.approx(0.2), pytest.approx(20.0), 0.0)


def test_sums_are_those_of_their_rows(tmp_path: Path) -> None:
    """By sump and by month the same money is there."""
    desk = priced_desk(tmp_path)
    write(desk, *(added(float(n), 0.5, 7 * n, f"m{n % 3 + 1}") for n in range(1, 12)))
    rows = costs(desk)
    for by in ("sump", "month"):
        assert sum(c.total for c in totals(rows, by)) == pytest.approx(sum(c.total for c in rows))
    assert sum(c.total for c in rows) == pytest.approx(4.5 * 0.5 * 66)


def test_an_unpriced_product_is_said_and_not_guessed(tmp_path: Path) -> None:
    """Its amount is missing and marked."""
    desk = desk_at(tmp_path)
    write(desk, added(10.0, 1.0, 1))
    assert costs(desk)[0].unpriced == {"p"}
    assert any("No price is known of Demo" in line for line in lines(desk, costs(desk)))


def test_a_corrected_record_counts_once(tmp_path: Path) -> None:
    """25 L instead of 20 L; struck out it counts no more, and every version stays in the book."""
    desk = priced_desk(tmp_path)
    write(desk, added(20.0, 1.0, 1))
    write(desk, corrected(desk.book.record(1), "addition", "m1", {"litres": 25.0}, "misread"))
    assert costs(desk)[0].concentrate_l == 25.0
    write(desk, struck(desk.book.record(2), "another sump"))
    assert costs(desk) == []
    assert len(desk.book.records("addition", all_versions=True)) == 3
    assert desk.book.check() == []


@pytest.mark.parametrize(
    ("line", "code", "told"),
    [("cost --demo", 0, "Nothing that was put in"), ("cost --from 13 --demo", 2, "no month"),
     ("cost mill 9 --demo", 2, "no sump"), ("cost --from 2026-02 --to 2026-01 --demo", 2, "is after"),
     ("stock --price 9/L --demo", 2, "which product"),
     ("stock --price 9/L --product x --demo", 2, "no product"),
     ("stock --delivery 9L --product water --demo", 2, "no product that is delivered"),
     ("waste mill 1 --correct r9 --code 1 --demo", 2, "no record r9"),
     ("waste mill 1 --correct rr --demo", 2, "no number of a record")],
)  # fmt: skip
def test_as_a_person_types_it(
    line: str, code: int, told: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Each says what is there, or what would be right."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    assert main(line.split()) == code
    screen = capsys.readouterr()
    assert told in screen.out + screen.err


def test_what_was_none_is_struck_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """An addition and a delivery count no more; both stay in the audit."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    for line in ("log mill 1 added 20 L at 5 %", "stock --delivery 200L --product demo_emulsion"):
        main([*line.split(), "--demo"])
    assert main(["log", "mill", "2", "--strike", "r1", "--demo"]) == 2
    assert main(["stock", "--strike", "r1", "--demo"]) == 2
    assert main(["log", "mill", "1", "--strike", "nine", "--demo"]) == 2
    assert main(["log", "mill", "1", "--strike", "r1", "--reason", "twice", "--demo"]) == 0
    assert main(["stock", "--strike", "r2", "--reason", "twice", "--demo"]) == 0
    capsys.readouterr()
    main(["stock", "--demo"])
    assert "Nothing that was put in" in capsys.readouterr().out
    main(["audit", "mill", "1", "--demo"])
    assert "struck out: added 20 L of mix at 5 %" in " ".join(capsys.readouterr().out.split())
