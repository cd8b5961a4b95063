"""The JSON other programs read: names, sums, and the first option on top."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from advisor.mix_command import add_parser, run

TOP = {
    "remove_l",
    "add_l",
    "mix_strength",
    "pails",
    "strength_after",
    "strength_low",
    "strength_high",
    "options",
    "steps",
    "warnings",
    "refused",
    "assumptions",
}
LINE = [
    "--sump-volume",
    "50 US gal",
    "--fill",
    "75%",
    "--strength",
    "13%",
    "--target",
    "7%",
    "--pail",
    "5 US gal",
]


def mix(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Runs ``mix`` with these words: exit code, stdout, stderr."""
    parser = argparse.ArgumentParser()
    add_parser(parser.add_subparsers())
    code = run(parser.parse_args(["mix", *words]))
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize(("kind", "strength"), [("thin", "13%"), ("strengthen", "4%"), ("charge", "0%")])
def test_keys_are_exactly_the_contract(capsys: pytest.CaptureFixture[str], kind: str, strength: str) -> None:
    """The object carries the agreed names and no other; options carry name, days and waste besides."""
    fill = "0%" if kind == "charge" else "75%"
    words = ["--sump-volume", "50 US gal", "--fill", fill, "--strength", strength, "--target", "7%"]
    code, out, _ = mix(capsys, kind, *words, "--json")
    data = json.loads(out)
    assert (code, set(data)) == (0, TOP)
    assert data["options"]
    assert all(set(option) == (TOP - {"options"}) | {"name", "days", "waste_l"} for option in data["options"])


def test_top_level_equals_first_option(capsys: pytest.CaptureFixture[str]) -> None:
    """What stands on top is the recommended option."""
    data = json.loads(mix(capsys, "thin", *LINE, "--json")[1])
    first = data["options"][0]
    shared = TOP - {"options", "warnings"}
    assert {name: data[name] for name in shared} == {name: first[name] for name in shared}
    assert set(first["warnings"]) <= set(data["warnings"])


@pytest.mark.parametrize("kind", ["thin", "strengthen"])
def test_pails_sum_to_what_is_added(capsys: pytest.CaptureFixture[str], kind: str) -> None:
    """Count times litres, part pail included, is add_l in every option."""
    words = [
        *LINE[:4],
        "--strength",
        "14%" if kind == "thin" else "3%",
        *LINE[6:],
        "--daily-loss",
        "3 US gal/day",
    ]
    data = json.loads(mix(capsys, kind, *words, "--json")[1])
    for option in data["options"]:
        total = sum(row["count"] * (row["water_l"] + row["concentrate_l"]) for row in option["pails"])
        assert total == pytest.approx(option["add_l"], abs=1e-5)
        assert option["strength_low"] <= option["strength_after"] <= option["strength_high"]


def test_reading_times_factor_is_the_strength(capsys: pytest.CaptureFixture[str]) -> None:
    """6.5 on the scale with factor 2 is 13 %, and the recipe is the same."""
    by_reading = ["--reading", "6.5", "--factor", "2"]
    one = json.loads(mix(capsys, "thin", *LINE[:4], *by_reading, *LINE[6:], "--json")[1])
    other = json.loads(mix(capsys, "thin", *LINE, "--json")[1])
    assert one["remove_l"] == pytest.approx(other["remove_l"])
    assert one["add_l"] == pytest.approx(other["add_l"])


def test_refusal_is_exit_zero_with_reason(capsys: pytest.CaptureFixture[str]) -> None:
    """A raw reading without its factor is refused, not failed."""
    code, out, _ = mix(capsys, "thin", *LINE[:4], "--reading", "6.5", *LINE[6:], "--json")
    data = json.loads(out)
    assert code == 0
    assert "factor" in data["refused"]["why"]
    assert (data["add_l"], data["options"], data["pails"]) == (None, [], [])


def test_bare_gallon_is_us_and_said_so(capsys: pytest.CaptureFixture[str]) -> None:
    """A gallon without a country is taken as US and listed among the assumptions."""
    words = ["--sump-volume", "50 gal", *LINE[2:8]]
    data = json.loads(mix(capsys, "thin", *words, "--json")[1])
    assert data["remove_l"] == pytest.approx(12.5 * 3.785411784, abs=1e-4)
    assert any("US gallon" in line for line in data["assumptions"])
    imperial = json.loads(mix(capsys, "thin", *words, "--gallon", "imperial", "--json")[1])
    assert imperial["remove_l"] == pytest.approx(12.5 * 4.54609, abs=1e-4)


BAD = (
    ("fill", "120%"),
    ("fill", "16 %%"),
    ("strength", "7"),
    ("strength", "nan"),
    ("strength", "1e999"),
    ("strength", "140 %"),
    ("sump-volume", "−3 gal"),
    ("sump-volume", "0 L"),
    ("pail", "0 L"),
    ("pail", "5 imp gal"),
    ("factor", "0"),
    ("window", "10-6%"),
    ("pump-min", "-5 %"),
    ("sump-volume", ""),
    ("sump-volume", "9" * 10000),
    ("pail", "5\x07 L"),
    ("units", "firkin"),
    ("gallon", "dry"),
    ("target", "0 %"),
    ("weak-mix", "9 %"),
)


@pytest.mark.parametrize(("option", "value"), BAD)
def test_bad_input_is_exit_two_with_a_sentence(
    capsys: pytest.CaptureFixture[str], option: str, value: str
) -> None:
    """Input that cannot be used gets a sentence on stderr, nothing on stdout, and exit code 2."""
    code, out, err = mix(capsys, "thin", *LINE, f"--{option}", value, "--json")
    assert (code, out) == (2, "")
    assert len(err.strip()) > 20
    assert err.count("\n") == 1


def test_card_is_whole_and_escaped(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The card stands alone: no outside address, boxes to tick, cautions before steps."""
    target = tmp_path / "card.html"
    assert mix(capsys, "thin", *LINE, "--card", str(target))[0] == 0
    page = target.read_text(encoding="utf-8")
    assert page.count('class="box"') >= 8
    assert "http" not in page
    assert page.index("Mind first") < page.index("Do, in this order")
    assert mix(capsys, "thin", *LINE, "--card", str(tmp_path / "no" / "card.html"))[0] == 2


def test_people_read_it_in_their_own_gallons(capsys: pytest.CaptureFixture[str]) -> None:
    """The plain face speaks the units it was asked in, within 80 columns."""
    out = mix(capsys, "thin", *LINE)[1]
    assert "12.5 US gal" in out
    assert max(map(len, out.splitlines())) <= 80


def test_cost_only_when_prices_are_given(capsys: pytest.CaptureFixture[str]) -> None:
    """25 gal of 1 % at 6 a litre of concentrate, and 12.5 gal taken out at 0.5 a litre."""
    prices = ["--concentrate-price", "6", "--disposal-price", "0.5"]
    data = json.loads(mix(capsys, "thin", *LINE, *prices, "--json")[1])
    assert data["options"][0]["cost"] == pytest.approx(3.785411784 * (0.25 * 6 + 12.5 * 0.5), abs=0.01)
    assert set(data) == TOP


def test_the_unit_a_volume_is_said_in_changes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """50 US gal, 41.6337 imperial gallons and 189.27 L are one sump, and give one recipe."""
    figures = []
    for volume in ("50 US gal", "41.633711 imp gal", "189.2705892 L"):
        words = ["--sump-volume", volume, *LINE[2:8], "--pail", "20 L", "--json"]
        data = json.loads(mix(capsys, "thin", *words)[1])
        figures.append((data["remove_l"], data["add_l"], data["strength_after"]))
    assert figures[1] == pytest.approx(figures[0], rel=1e-6)
    assert figures[2] == pytest.approx(figures[0], rel=1e-6)


def test_a_sump_volume_without_a_unit(capsys: pytest.CaptureFixture[str]) -> None:
    """Alone it is taken as litres and said so; beside gallons the unit is asked for."""
    words = ["thin", "--sump-volume", "100", "--fill", "75%", "--strength", "13%", "--target", "7%"]

    alone, beside = mix(capsys, *words), mix(capsys, *words, "--pail", "5 US gal")

    assert (alone[0], beside[0]) == (0, 2)
    assert "100 has no unit: it is taken as litres" in alone[1]
    assert 'Write "100 L", "100 US gal"' in beside[2]
