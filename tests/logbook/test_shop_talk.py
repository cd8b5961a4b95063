"""The shop set up by answering questions, and who may change its limits."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.logbook.shop import Shop, stored_shop
from advisor.logbook.shop_file import export_shop
from advisor.logbook.shop_talk import _shape, talk
from advisor.logbook.store import open_store

ANSWERS = ("Demo works", "us", "us", "", "Demo Oil", "1.5", "6-9 %", "9.0-9.4", "", "", "", "", "Mill 1",
           "50 gal", "", "", "14", "minus three", "-3 gal", "40 gal", "4-5 %", "", "", "5 gal")  # fmt: skip
#: The same shop with everything that can be asked.
WHOLE = ("Works", "de", "metric", "y", "tap", "12 °dH", "EUR", "Oil", "1", "6-10 %", "", "", "y", "8.6-9.4",
         "up to 600 ppm", "4000 µS/cm", "100 mg/L", "", "2 %", "10-40 °C", "y", "soluble oil", "folder 7",
         "900 per 200 L", "biocide A: 0.1 %", "nonsense", "", "", "Mill", "1000 x 500 x 300 mm", "", "y",
         "7 %", "miling", "milling, drilling", "steel", "", "30 %", "8 L/day", "", "y", "",
         "10 L", "50 mL", "CD", "")  # fmt: skip


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user without a shop."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    return tmp_path


def told(monkeypatch: pytest.MonkeyPatch, *answers: str, who: str = "supervisor") -> int:
    """Exit code of a talk with these answers."""
    monkeypatch.setattr("sys.stdin", io.StringIO("\n".join(answers) + "\n"))
    return main(["shop", "--talk", "--who", who])


def shop(home: Path) -> Shop:
    """The shop as it is kept."""
    with open_store(home) as store:
        return stored_shop(store)


def test_answers_become_the_shop(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A bare gallon is the one of the shop's habit; 50 US gal are 189.27 L (NIST HB 44, App. C)."""
    assert told(monkeypatch, *ANSWERS) == 0
    kept = shop(home)
    assert (kept.shop["name"], kept.shop["region"], kept.shop["units"]) == ("Demo works", "us", "us")
    assert kept.products["demo_oil"]["figures"]["target"] == [0.06, 0.09]
    assert kept.sumps["mill_1"]["figures"]["sump_volume"] == pytest.approx(189.27, abs=0.01)
    assert kept.sumps["sump_14"]["figures"]["target"] == [0.04, 0.05]
    assert kept.containers["pail"]["litres"] == pytest.approx(18.927, abs=0.001)


def test_a_wrong_figure_is_explained_and_asked_again(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words and a negative volume each get a sentence; the next answer is taken."""
    told(monkeypatch, *ANSWERS)
    screen = capsys.readouterr().out
    assert "'minus three' cannot be read" in screen
    assert "below zero" in screen


@pytest.mark.parametrize("count", range(len(ANSWERS)))
def test_a_talk_may_stop_anywhere(count: int) -> None:
    """Whatever was answered is kept, and never a half row without its name."""
    answers = iter(ANSWERS[:count])

    def ask(question: str) -> str:
        try:
            return next(answers)
        except StopIteration:
            raise EOFError from None

    held = talk(ask, lambda sentence: None)
    rows = [*held.get("products", []), *held.get("sumps", [])]
    assert all(row["id"] and row["name"] for row in rows)
    assert len(rows) == (count > 4) + (count > 12) + (count > 16)


def test_an_operator_may_not_change_a_limit(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A window stays as it is, and a supervisor can change it."""
    told(monkeypatch, *ANSWERS)
    file = home / "shop.yaml"
    file.write_text(export_shop(shop(home)).replace("6-9 %", "6-12 %"), encoding="utf-8")
    for who in ((), ("--who", "operator")):
        assert main(["shop", "--import", str(file), *who]) == 2
        assert "may not change the target of Demo Oil" in capsys.readouterr().err
        assert shop(home).products["demo_oil"]["figures"]["target"] == [0.06, 0.09]
    assert main(["shop", "--import", str(file), "--who", "supervisor"]) == 0
    assert shop(home).products["demo_oil"]["figures"]["target"] == [0.06, 0.12]


def test_nothing_said_changes_nothing(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A talk without a sump or product leaves no shop."""
    assert told(monkeypatch, "x", "", "", "", "", "") == 2
    assert shop(home).shop == {}


def test_everything_can_be_told(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Shape, target, operations, metals, pit, data sheet, price, dose, containers, who may change limits."""
    assert told(monkeypatch, *WHOLE) == 0
    kept = shop(home)
    (mill,), (oil,) = kept.sumps.values(), kept.products.values()
    assert mill["figures"]["sump_volume"] == pytest.approx(150.0)
    assert (mill["aim"], mill["figures"]["operation"]) == (0.07, ["milling", "drilling"])
    assert (mill["figures"]["workpiece"], mill["figures"]["hazard_context"]) == (["steel"], ["pit"])
    assert (oil["sds"], oil["price"], oil["label_doses"]) == ("folder 7", 4.5, {"biocide A": "0.1 %"})
    assert (kept.shop["currency"], kept.people["CD"]["role"]) == ("EUR", "supervisor")
    assert kept.shop["figures"]["water_hardness"] == pytest.approx(214.2, abs=0.2)


def test_the_limits_of_the_data_sheet_are_asked_for(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A range, or the most; one figure is no range of pH, and what is left empty stays unknown."""
    answers = [*WHOLE]
    answers.insert(answers.index("8.6-9.4"), "9")

    assert told(monkeypatch, *answers) == 0

    (oil,), (mill,) = shop(home).products.values(), shop(home).sumps.values()
    assert oil["limits"]["ph"] == [8.6, 9.4]
    assert (oil["limits"]["sump_hardness"], oil["limits"]["tramp_oil"]) == (600.0, 0.02)
    assert oil["limits"]["temperature"] == [10.0, 40.0]
    assert "sulfate" not in oil["limits"]
    assert oil["figures"]["fluid_type"] == "soluble_oil"
    assert (mill["figures"]["pump_min_level"], mill["figures"]["daily_loss"]) == (0.3, 8.0)


def test_a_later_talk_asks_only_what_is_missing(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A sump begun at the machine is taken up by its name; nothing that was there is lost."""
    told(monkeypatch, *WHOLE)
    main(["log", "14", "6.5", "--new"])
    before = export_shop(shop(home))
    capsys.readouterr()
    assert told(monkeypatch, "", "14", "60 L", "", "", "", who="CD") == 0
    screen = capsys.readouterr().out
    assert "14 lacks its volume and its product" in screen
    assert "What is the shop called" not in screen
    kept = shop(home)
    row = kept.sumps["sump_14"]
    assert (row["figures"]["sump_volume"], row["product"]) == (60.0, "oil")
    assert [line for line in before.splitlines() if line not in export_shop(kept).splitlines()] == []


@pytest.mark.parametrize(
    ("said", "shape"),
    [("1000 x 500 x 300 mm", {"length": "1000 mm", "width": "500 mm", "depth": "300 mm"}),
     ("40x20x12 in", {"length": "40 in", "width": "20 in", "depth": "12 in"}),
     ("diameter 60 x 80 cm", {"diameter": "60 cm", "depth": "80 cm"}), ("190 L", {}), ("5 x 5", {})],
)  # fmt: skip
def test_a_tank_can_be_told_by_its_measures(said: str, shape: dict[str, str]) -> None:
    """A box by three, a round one by two."""
    assert _shape(said) == shape


def test_leaving_before_anything_is_named_is_no_mistake(
    home: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A sentence and exit 0; what was said of the shop is kept, and no shop is made of nothing."""
    assert told(monkeypatch, "q") == 0
    assert "No sump and no product is named yet." in capsys.readouterr().out
    assert shop(home).shop == {}

    assert told(monkeypatch, "Demo works", "us", "q") == 0
    assert (shop(home).shop["name"], shop(home).shop["region"]) == ("Demo works", "us")
