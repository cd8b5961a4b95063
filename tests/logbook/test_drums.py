"""A new drum checked, and its lot in what goes in afterwards."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from advisor.cli import main
from advisor.logbook.desk import Desk, open_desk
from advisor.logbook.drums import ASIDE, UNFINISHED, USE, compare, factor_found, missing, proposed
from advisor.logbook.records import record
from tests.logbook.readings_desk import day, desk_at, made_shop

#: What a drum as it should be shows, beside a sheet of factor 1 and pH 9.2 to 9.4.
GOOD = {"made": "2025-01-01", "look": "normal", "smell": "normal", "mixed": 0.06, "reading": 6.0, "ph": 9.3,
        "mix_look": "normal"}  # fmt: skip


def told(**changes: Any) -> dict[str, Any]:
    """What was seen and read, with some of it changed; None leaves a part out."""
    held = {**GOOD, **changes}
    return {key: value for key, value in held.items() if value is not None}


def outcome(desk: Desk, **changes: Any) -> str:
    """What a check comes to."""
    held = told(**changes)
    return proposed(compare(desk, "p", held), held)


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """A desk of 2025-03-04."""
    return desk_at(tmp_path)


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [({}, USE), ({"look": "layered"}, ASIDE), ({"mix_look": "curdled"}, ASIDE), ({"smell": "sour"}, ASIDE),
     ({"made": "2024-03-05"}, USE), ({"made": "2024-02-01"}, ASIDE), ({"best_before": "2025-03-04"}, USE),
     ({"best_before": "2025-03-03"}, ASIDE), ({"reading": 4.0}, ASIDE), ({"reading": 8.0}, ASIDE),
     ({"ph": 8.9}, USE), ({"ph": 8.8}, ASIDE), ({"ph": 9.8}, ASIDE), ({"ph": None}, UNFINISHED),
     ({"look": None}, UNFINISHED), ({"mixed": None}, UNFINISHED), ({"made": None, "smell": None}, USE),
     ({"ph": 9.0, "ph_method": "meter"}, ASIDE), ({"reading": 0.2, "water": 0.2}, ASIDE)],
)  # fmt: skip
def test_what_does_not_fit_sets_a_drum_aside(desk: Desk, changes: dict[str, Any], wanted: str) -> None:
    """Keeps 6 to 12 months (DGUV Information 209-051); a strip's step is 0.3 (DGUV Regel 109-003, 7.1)."""
    assert outcome(desk, **changes) == wanted


@pytest.mark.parametrize("factor", [0.8, 1.0, 1.5, 2.0, 3.0])
def test_the_jar_tells_the_factor(factor: float) -> None:
    """Strength is reading times factor, the water's own reading taken off (IFA coolant lexicon)."""
    held = {"mixed": 0.06, "reading": 6.0 / factor + 0.3, "water": 0.3}
    assert factor_found(held) == pytest.approx(factor)


@pytest.mark.parametrize("off", [-0.2, 0.0, 0.2])
def test_what_measuring_explains_is_no_fault(desk: Desk, off: float) -> None:
    """One step of a hand scale up or down does not set a drum aside."""
    assert outcome(desk, reading=6.0 + off) == USE


def test_the_last_drum_is_compared_with(desk: Desk) -> None:
    """A jar within the sheet's word but far from the last drum is told."""
    last = {"product": "p", "lot": "A1", "outcome": USE, **told(ph=9.4, reading=6.4)}
    desk.book.enter((), [record("drum", "", day(9), last)], time=desk.time, who="AB", how="drum")
    found = compare(desk, "p", told(ph=8.9, reading=6.4))
    assert [one.fits for one in found if "last drum" in one.text] == [True, True]
    assert not all(one.fits for one in compare(desk, "p", told(ph=8.7)) if "last drum" in one.text)


def test_a_sheet_without_figures_judges_nothing(tmp_path: Path) -> None:
    """What is not entered is said, and is no fault."""
    shop = made_shop()
    shop["products"][0]["figures"] = {}
    found = compare(desk_at(tmp_path, shop), "p", told(reading=3.0))
    assert [one.fits for one in found if "not entered" in one.text] == [True, True]


def test_either_date_will_do() -> None:
    """And what was not looked at is named."""
    assert missing(told()) == []
    assert missing(told(made=None, best_before="2026-01-01", smell=None)) == ["smell"]
    assert set(missing({})) == {"made", "best_before", "look", "smell", "mixed", "reading", "ph", "mix_look"}


CHECK = "drum demo_emulsion --lot 4711 --look normal --smell ok --mixed 6% --reading 6 --ph 9.2 --demo"


def test_the_lot_goes_into_what_is_added(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After the check an addition carries the lot; water does not; a lot that was said goes first."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    main(CHECK.split())
    for line in ("added 20 L at 5 %", "added 9 L water", "added 20 L at 5 % lot B-7"):
        main(["log", "mill", "1", *line.split(), "--demo"])
    with open_desk(demo=True).store as store:
        rows = Desk(store, open_desk(demo=True).shop, open_desk(demo=True).now).book.records("addition")
    assert [row.data.get("lot") for row in rows] == ["4711", None, "B-7"]


@pytest.mark.parametrize(
    ("line", "code", "says"),
    [("drum --demo", 0, "before any of it goes into a sump"), ("drum demo_emulsion --demo", 2, "which lot"),
     ("drum demo_emulsion --lot 1 --demo", 2, "nothing was looked at"), (CHECK, 0, "FIT FOR USE"),
     (CHECK.replace("--ph 9.2", "--ph 8"), 0, "SET ASIDE"), (CHECK.replace("6%", "6"), 2, "6 % or 0.06"),
     (CHECK.replace("6%", "80%"), 2, "no fresh mix"), (CHECK.replace("normal", "nice"), 2, "layered"),
     (CHECK + " --made 2026-13-01", 2, "no date"), (CHECK + " --made 2999-01-01", 2, "has not come"),
     (CHECK + " --outcome aside", 2, "Say why"), (CHECK + " --outcome aside --reason dented", 0, "SET ASIDE"),
     (CHECK.replace("--ph 9.2", "--ph 8") + " --outcome use --reason x", 2, "may not overrule"),
     (CHECK.replace("--ph 9.2", "--ph 8") + " --outcome use --reason x --who sup", 0, "FIT FOR USE"),
     (CHECK.replace("demo_emulsion", "oil"), 2, "no product")],
)  # fmt: skip
def test_as_a_person_types_it(
    line: str, code: int, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Each says what it comes to, or what would be right; what was refused is not on record."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    assert main(line.split()) == code
    screen = capsys.readouterr()
    assert says in screen.out + screen.err
    kept = open_desk(demo=True).book.records("drum")
    assert len(kept) == (code == 0 and "--lot" in line)


def test_a_lot_set_aside_is_not_poured_unseen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It wants a yes; --sure is one."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    main(CHECK.replace("--ph 9.2", "--ph 8").split())
    line = ["log", "mill", "1", "added", "20", "L", "at", "5", "%", "lot", "4711", "--demo"]
    assert main(line) == 2
    assert "Lot 4711 was checked and set aside" in capsys.readouterr().err
    assert main([*line, "--sure"]) == 0
