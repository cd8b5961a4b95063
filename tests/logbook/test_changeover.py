"""A sump changed to another product or metal: plan, answers, gates, and the shop's figures at the end."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.cli import main
from advisor.errors import BadInput, Refused
from advisor.logbook.changeover import (
    cautions,
    changed_row,
    filled,
    needed,
    plan,
    planned,
    refuse_unready,
    tick,
    under_way,
)
from advisor.logbook.desk import Desk, open_desk
from tests.logbook.readings_desk import desk_at, made_shop


def two_products(folder: Path, **figures: object) -> Desk:
    """A desk with an old product ``p`` of factor 1 and a new one ``q`` of factor 2, 5 to 8 %."""
    shop = made_shop()
    shop["products"].append({"id": "q", "name": "New", "figures": {"refractometer_factor": 2.0,
                                                                  "target": [0.05, 0.08]}})  # fmt: skip
    shop["sumps"][0]["figures"] |= {"target": [0.06, 0.10], "workpiece": ["steel"], **figures}
    shop["sumps"][0] |= {"aim": 0.07, "written": {"id": "m1", "window": "6-10 %", "target": "7 %"}}
    return desk_at(folder, shop)


def begun(desk: Desk, to: str | None, *metals: str) -> None:
    """A plan in the book."""
    made = plan(desk, "m1", to, metals)
    desk.book.enter((), [planned(made, desk.time)], time=desk.time, who="AB", how="changeover")


def do(desk: Desk, *, until: str = "") -> None:
    """Tick every step in order, up to the one of this id."""
    made = needed(desk, "m1")
    for number, step in enumerate(made.steps, start=1):
        if step["id"] == until or step.get("fills"):
            return
        if step["id"] not in made.done:
            rows = tick(made, [number], desk.time, says="fits", document="letter", note=None)
            desk.book.enter((), rows, time=desk.time, who="AB", how="changeover")


@pytest.mark.parametrize(
    ("metals", "ids"),
    [(["magnesium"], {"magnesium_rules", "magnesium_hardness"}), (["aluminium"], {"light_metal_ph"}),
     (["titanium"], {"halogens"}), (["carbide"], {"cobalt"}), (["steel", "cast_iron"], set())],
)  # fmt: skip
def test_each_metal_brings_its_steps(metals: list[str], ids: set[str], tmp_path: Path) -> None:
    """Beside those of every change of metal; the charge stays in."""
    made = plan(two_products(tmp_path), "m1", None, metals)
    there = {step["id"] for step in made.steps}
    every = {"ask_metal", "chips_apart", "measure_metals", "test_part", "watch"}
    assert there == every | ids
    assert not {"drain", "fill"} & there


def test_a_new_product_needs_a_clean_circuit(tmp_path: Path) -> None:
    """Asked first, then drained, cleaned, flushed, rinsed, filled, in this order."""
    ids = [step["id"] for step in plan(two_products(tmp_path), "m1", "q", []).steps]
    wanted = ["ask_together", "ask_nitrite", "cleaner", "drain", "hand_clean", "flush", "rinse", "fill",
              "first_fill"]  # fmt: skip
    assert [step for step in ids if step in wanted] == wanted


@pytest.mark.parametrize(
    ("to", "metals", "words"),
    [("q", [], ["Do not mix two products", "hazardous waste"]), (None, ["magnesium"], ["make hydrogen"]),
     (None, ["carbide"], ["cobalt"]), ("q", ["magnesium"], ["Do not mix two products", "make hydrogen"])],
)  # fmt: skip
def test_the_gravest_caution_comes_first(
    to: str | None, metals: list[str], words: list[str], tmp_path: Path
) -> None:
    """Nitrosamines and hydrogen are named before any step; each with its source."""
    desk = two_products(tmp_path)
    held = cautions(desk, plan(desk, "m1", to, metals))
    levels = [("emergency", "stop", "warn", "note").index(level) for level, _, _ in held]
    assert levels == sorted(levels)
    assert all(any(word in text for _, text, _ in held) for word in words)
    assert all(source for _, _, source in held)


def test_a_pit_is_minded(tmp_path: Path) -> None:
    """Where the shop says that the tank stands in one."""
    desk = two_products(tmp_path, hazard_context=["pit"])
    assert any("confined space" in text for _, text, _ in cautions(desk, plan(desk, "m1", "q", [])))


@pytest.mark.parametrize(("to", "metals"), [(None, []), ("p", []), ("p", ["steel"]), (None, ["unobtanium"])])
def test_no_change_is_no_plan(to: str | None, metals: list[str], tmp_path: Path) -> None:
    """The same product and metals, or none that is known, are refused."""
    with pytest.raises(BadInput):
        plan(two_products(tmp_path), "m1", to, metals)


def test_a_question_needs_its_answer(tmp_path: Path) -> None:
    """Each by itself, with what the supplier said."""
    desk = two_products(tmp_path)
    begun(desk, "q")
    made = needed(desk, "m1")
    with pytest.raises(BadInput, match="what was the answer"):
        tick(made, [1], desk.time, says=None, document=None, note=None)
    with pytest.raises(BadInput, match="are questions"):
        tick(made, [1, 2], desk.time, says="fits", document=None, note=None)
    (row,) = tick(made, [2], desk.time, says="no nitrite", document="letter 7", note=None)
    assert (row.data["step"], row.data["says"]) == ("ask_nitrite", "no nitrite")


def test_nothing_is_filled_before_it_is_clean(tmp_path: Path) -> None:
    """Every step before it must be done, and only a supervisor changes product and limits."""
    desk = two_products(tmp_path)
    begun(desk, "q")
    do(desk, until="rinse")
    with pytest.raises(Refused, match="not done"):
        filled(desk, needed(desk, "m1"), desk.time, "supervisor", None, None)
    do(desk)
    with pytest.raises(Refused, match="may not"):
        filled(desk, needed(desk, "m1"), desk.time, "operator", None, None)
    assert filled(desk, needed(desk, "m1"), desk.time, "supervisor", None, None).data["to"] == "q"


def test_limits_of_the_old_product_do_not_stay(tmp_path: Path) -> None:
    """Without a window of its own the sump has that of the new data sheet."""
    desk = two_products(tmp_path)
    begun(desk, "q")
    desk.shop.sumps["m1"] = changed_row(desk, needed(desk, "m1"), None, None)
    limit = desk.limits.of("m1", "concentration")
    assert (limit.low, limit.high, desk.limits.factor("m1")) == (0.05, 0.08, 2.0)
    assert desk.shop.sumps["m1"]["written"] == {"id": "m1", "product": "q"}


def test_a_new_window_and_target_are_kept(tmp_path: Path) -> None:
    """As figures and as written; a target outside the window is refused."""
    desk = two_products(tmp_path)
    begun(desk, "q", "aluminium")
    row = changed_row(desk, needed(desk, "m1"), "5-7 %", "6 %")
    assert (row["figures"]["target"], row["aim"]) == ([0.05, 0.07], 0.06)
    assert row["figures"]["workpiece"] == row["written"]["metals"] == ["aluminium"]
    with pytest.raises(BadInput, match="outside the window"):
        changed_row(desk, needed(desk, "m1"), "5-7 %", "9 %")


def test_a_change_of_metal_is_closed_by_its_steps(tmp_path: Path) -> None:
    """No first fill is asked for where the charge stays in."""
    desk = two_products(tmp_path)
    begun(desk, None, "aluminium")
    with pytest.raises(Refused, match="not done"):
        refuse_unready(desk, needed(desk, "m1"), "supervisor")
    do(desk)
    refuse_unready(desk, needed(desk, "m1"), "supervisor")


def test_a_whole_changeover(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From the plan to the first fill, which is read with the new factor, and everything in the audit."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))

    def run(line: str, code: int = 0) -> None:
        assert main([*line.split(), "--demo"]) == code, line

    run("changeover lathe 2 --to demo_synthetic")
    run("changeover lathe 2 --to demo_emulsion", 2)
    run("changeover lathe 2 --done 1 --says fits")
    run("changeover lathe 2 --done 2 --says none")
    run("changeover lathe 2 --leave 6 --reason new", 2)
    run("changeover lathe 2 --leave 6 --reason new --who sup")
    run("changeover lathe 2 --done 3,4,5,7,8,9,10")
    run("changeover lathe 2 --filled --who sup --target 7%")
    run("log lathe 2 added 250 L at 7.5 %")
    run("changeover lathe 2 --done 12,13,14")
    run("changeover lathe 2 --finish --who sup", 2)
    run("log lathe 2 3.7 9.4 first fill")
    run("changeover lathe 2 --finish --who sup")
    desk = open_desk(demo=True)
    row = desk.shop.sumps["lathe_2"]
    assert (row["product"], row["aim"]) == ("demo_synthetic", 0.07)
    assert desk.book.of("lathe_2", "concentration")[0].result == pytest.approx(0.074)
    assert desk.book.records("addition")[0].data["product"] == "demo_synthetic"
    assert under_way(desk, "lathe_2") is None
    assert desk.book.check() == []
    run("audit lathe 2")


@pytest.mark.parametrize(
    ("line", "code", "says"),
    [("changeover --demo", 0, "No changeover is under way"), ("changeover mill 1 --demo", 2, "Begin one"),
     ("changeover mill 1 --to oil --demo", 2, "no product"),
     ("changeover mill 9 --to x --demo", 2, "no sump"),
     ("changeover mill 1 --metals magnesium --demo", 0, "make hydrogen"),
     ("changeover mill 1 --to demo_synthetic --demo", 0, "FIRST MIND THIS")],
)  # fmt: skip
def test_as_a_person_types_it(
    line: str, code: int, says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """Each says what it did, or what would be right, in 80 columns."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    assert main(line.split()) == code
    screen = capsys.readouterr()
    assert says in screen.out + screen.err
    assert max(map(len, [*screen.out.splitlines(), ""])) < 81


@pytest.mark.parametrize(
    "more", ["--done x", "--done 99", "--done 1", "--drop", "--leave 2", "--filled --who sup"]
)
def test_a_plan_typed_at_badly_stays(more: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is ticked by what is refused."""
    monkeypatch.setenv("SUMPSIDE_HOME", str(tmp_path))
    main(["changeover", "mill", "1", "--to", "demo_synthetic", "--demo"])
    assert main(f"changeover mill 1 {more} --demo".split()) == 2
    assert len(open_desk(demo=True).book.records("changeover")) == 1
    assert main(["changeover", "mill", "1", "--drop", "--reason", "no", "--demo"]) == 0
    assert under_way(open_desk(demo=True), "mill_1") is None
