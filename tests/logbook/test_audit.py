"""The record of a sump for an auditor: complete, with its corrections, and checked."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from advisor.cli import main
from advisor.errors import BadInput
from advisor.logbook.audit import Audit, audit, period
from advisor.logbook.audit_text import lines
from advisor.logbook.desk import Desk
from advisor.logbook.readings import Context, Reading
from advisor.logbook.records import record
from tests.logbook.behind import change
from tests.logbook.readings_desk import day, desk_at, keep, made_shop, reading
from tests.logbook.test_morning import RECIPE, opened_case


def seen(desk: Desk, first: float = 30) -> Audit:
    """The record of the first sump over the last days."""
    return audit(desk, "m1", day(first), day(0))


def text(desk: Desk, first: float = 30) -> str:
    """The record as one line."""
    return " ".join(" ".join(lines(desk, seen(desk, first))).split())


def test_a_reading_holds_how_it_was_got(tmp_path: Path) -> None:
    """Who, when, point, method, instrument with its zero, lot, raw, factor, result, limit with its source."""
    desk = desk_at(tmp_path)
    how = Context("AB", "nozzle", "refractometer", "R2", "2025-03-01", "L77", 2.0, "°Bx", 0.06, 0.10, "sheet")
    keep(desk, Reading("m1", "concentration", day(1), 0.072, 3.6, how))
    told = text(desk)
    for part in ("strength 7.2 % (3.6 Brix x 2)", "within 6 to 10 % [1]", "refractometer", "instrument R2",
                 "zeroed 2025-03-01", "lot L77", "sample from nozzle", "measured by AB",
                 "[1] sheet"):  # fmt: skip
        assert part in told


def test_no_check_was_missed_before_the_sump_was_there(tmp_path: Path) -> None:
    """First read 5 days ago: nothing was late. Last read 9 days ago: late, though the record begins later."""
    desk = desk_at(tmp_path)
    keep(desk, reading("concentration", 0.07, 5))
    assert [gap for gap in seen(desk).gaps if gap.check == "strength"] == []
    keep(desk, reading("concentration", 0.07, 9, sump="m2"))
    late = [gap for gap in audit(desk, "m2", day(3), day(0)).gaps if gap.check == "strength"]
    assert [(gap.begin, gap.end) for gap in late] == [(day(9), day(0))]


def test_a_sump_that_stood_still_missed_nothing(tmp_path: Path) -> None:
    """14 days with 8 at rest leave 6 to the weekly check; 20 days leave 12, which is late."""
    desk = desk_at(tmp_path)
    for ago in (34, 14, 0.1):
        keep(desk, reading("concentration", 0.07, ago))
    for begin, end in ((30, 22), (10, 2)):
        rows = [record("idle", "m1", day(begin), {"days": 8.0}), record("restart", "m1", day(end), {})]
        desk.book.enter((), rows, time=day(end), who="AB", how="line")
    late = [gap for gap in seen(desk, 40).gaps if gap.check == "strength"]
    assert [(gap.begin, gap.stood) for gap in late] == [(day(34), 8.0)]
    assert "stood still 8 days of it" in text(desk, 40)


def test_what_was_poured_names_product_lot_litres_and_who(tmp_path: Path) -> None:
    """Water is no product; a mix is told with what it was made of, its lot, its advice and its approval."""
    desk = desk_at(tmp_path)
    data = {"litres": 8.0, "strength": 0.01, "product": "p", "lot": "4711", "case": 3, "approved": "SUP"}
    rows = [record("addition", "m1", day(1), data)]
    rows.append(record("addition", "m1", day(1), {"litres": 5.0, "strength": 0.0, "product": "p"}))
    desk.book.enter((), rows, time=day(1), who="AB", how="pails")
    told = text(desk)
    assert "added 8 L of mix at 1 %, product Demo, lot 4711, case 3, approved by SUP by AB" in told
    assert "added 5 L of water by AB" in told


def test_who_moved_a_limit_is_told(tmp_path: Path) -> None:
    """The window before and after, when, and by whom; what was changed before the stretch is left out."""
    desk = desk_at(tmp_path)
    for ago, who, window in ((50, "SUP", "6-10 %"), (40, "SUP", "6-9 %"), (2, "BOSS", "3-9 %")):
        row = {"id": "m1", "name": "M1", "product": "p", "written": {"id": "m1", "window": window}}
        desk.store.put_row("sump", "m1", row, time=day(ago), who=who)
    told = text(desk)
    assert "SHOP ENTRIES CHANGED (1;" in told
    assert "window of M1: 6-9 %, now 3-9 % by BOSS" in told


def test_corrections_stand_beside_what_they_correct(tmp_path: Path) -> None:
    """Both are printed, each naming the other, with the reason."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 8.1, 2))
    keep(desk, reading("ph", 9.1, 2, corrects=1, reason="typing"))
    told = text(desk)
    assert "corrected by 2" in told
    assert "corrects 1: typing" in told


def test_advice_deeds_and_signatures_are_there(tmp_path: Path) -> None:
    """Cautions shown and acknowledged, recipe, step with real litres, overrule, closure, and the seal."""
    desk = desk_at(tmp_path)
    case = opened_case(
        desk,
        ("shown", {"cautions": [{"id": "gas", "level": "stop", "text": "x"}]}),
        ("acknowledged", {"cautions": ["gas"]}),
        ("recipe", RECIPE),
        ("step_done", {"step": 0, "litres": 12.0}),
        ("review", {"agrees": False, "cause": "lean_mix", "reason": "seen before"}),
        ("closed", {"how": "finished"}),
    )
    told = text(desk)
    for part in ("cautions shown: gas (stop)", "acknowledged: gas", "put in 50 L at 0 %, promised 7 %",
                 "step 1 done, really 12 L", "overruled: lean_mix", "closed: finished"):  # fmt: skip
        assert part in told
    assert desk.store.head(case) in told.replace(" ", "")


def test_waste_and_missed_checks_are_there(tmp_path: Path) -> None:
    """Waste with its papers, and a check that was missed with its reason."""
    desk = desk_at(tmp_path)
    waste = {"litres": 200.0, "code": "12 01 09*", "document": "D7"}
    missed = {"check": "round", "reason": "locked out"}
    rows = [record("waste", "m1", day(2), waste), record("missed", "m1", day(1), missed)]
    desk.book.enter((), rows, time=desk.time, who="AB", how="line")
    told = text(desk)
    assert "code 12 01 09*" in told
    assert "document D7" in told
    assert "missed: round, locked out" in told


@pytest.mark.parametrize(("ago", "late"), [((28, 21, 14, 7, 0.5), 0), ((28, 21, 7, 0.5), 1), ((), 1)])
def test_late_checks_are_listed(ago: tuple[float, ...], late: int, tmp_path: Path) -> None:
    """Weekly pH: a fortnight between two readings is one late check (DGUV Regel 109-003, Annex 3)."""
    desk = desk_at(tmp_path)
    if ago:
        keep(desk, *(reading("ph", 9.1, n) for n in ago))
    assert len([gap for gap in seen(desk).gaps if gap.check == "ph"]) == late


def test_a_changed_record_is_named(tmp_path: Path) -> None:
    """The print says which entry was changed, instead of that all is as written."""
    desk = desk_at(tmp_path)
    keep(desk, reading("ph", 8.1, 2))
    assert "all as it was written" in text(desk)
    change(desk.store, "UPDATE entries SET who = 'someone'")
    assert "entry 1 of the readings was changed after it was written" in text(desk)
    assert "all as it was written" not in text(desk)


@pytest.mark.parametrize(("region", "told"), [("gb", "5 years [UK Lubricants"), ("us", "40 CFR 262.40"),
    ("de", "3 years [Germany, Nachweisverordnung"), ("nl", "3 years [European Union, Directive 2008/98/EC"),
    ("at", "7 years [Austria"), ("br", "no period")])
def test_how_long_to_keep_it(region: str, told: str, tmp_path: Path) -> None:
    """Fluid tests five years in the UK (UKLA/HSE guide); waste by each law; elsewhere nothing is made up."""
    assert told in text(desk_at(tmp_path, made_shop(region=region)))


def test_a_period_is_whole_days(tmp_path: Path) -> None:
    """The last day belongs to it; the wrong way round is refused."""
    desk = desk_at(tmp_path)
    assert period(desk, "2025-02-01", "2025-02-28") == ("2025-02-01T00:00:00Z", "2025-03-01T00:00:00Z")
    with pytest.raises(BadInput, match="not before"):
        period(desk, "2025-02-10", "2025-02-01")


def test_the_command_prints_and_answers_json(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Lines fit 80 columns; the JSON holds the same readings."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    main(["log", "mill", "1", "7", "9.1", "--demo"])
    capsys.readouterr()
    assert main(["audit", "mill", "1", "--demo"]) == 0
    assert max(map(len, capsys.readouterr().out.splitlines())) < 80
    assert main(["audit", "mill", "1", "--demo", "--json"]) == 0
    held = json.loads(capsys.readouterr().out)
    assert [row["observable"] for row in held["readings"]] == ["concentration", "ph"]
    assert held["problems"] == []
