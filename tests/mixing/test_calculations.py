"""Every other ``mix`` subcommand from the command line."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from pathlib import Path

import pytest

from advisor.mix_command import add_parser, run

GOOD: dict[str, tuple[list[str], str, object]] = {
    "blend": (["--part", "40 L at 7 %", "--part", "20 L at 1 %"], "strength", 0.05),
    "ratio": (["--ratio", "1:20"], "one_to", 1 / 21),
    "vessel": (
        ["--shape", "box", "--length", "1 m", "--width", "500 mm", "--height", "40 cm"],
        "full_l",
        200.0,
    ),
    "hardness": (["--hardness", "25 °dH"], "mg/L CaCO3", 446.2),
    "water-blend": (
        ["--volume", "200 L", "--first", "260 ppm", "--second", "12 ppm", "--wanted", "100 ppm"],
        "first_l",
        70.97,
    ),
    "build-up": (
        ["--sump-volume", "1000 L", "--water", "10 °dH", "--evaporation", "50 L/day", "--days", "20"],
        "after",
        356.96,
    ),
    "dose": (
        ["--sump-volume", "200 L", "--label-amount", "1 L", "--label-per", "1000 L", "--label-most", "2 L"],
        "amount_l",
        0.2,
    ),
    "clean-out": (["--sump-volume", "110 L", "--target", "3.5 %"], "charge_concentrate_l", 3.85),
    "run-down": (["--strength", "13 %", "--to", "50 %"], "strength_after", 0.197),
    "split": (
        ["--sample", "100 mL", "--oil", "5 mL", "--strength", "7 %", "--oil-share", "40 %"],
        "tramp_oil",
        0.022,
    ),
    "pails": (["--volume", "50 L", "--strength", "7 %", "--pail", "10 L"], "strength", 0.07),
    "dump-or-keep": (
        [
            "--sump-volume",
            "200 L",
            "--target",
            "7 %",
            "--concentrate-price",
            "6",
            "--keep-days",
            "30",
            "--dump-days",
            "180",
        ],
        "dump_cost",
        84.0,
    ),
}
RANGED: dict[str, tuple[list[str], str, float]] = {
    "reading": (["--reading", "6.8 Brix", "--factor", "1", "--water-reading", "1.5"], "strength", 0.053),
    "titration": (["--acid", "6 mL", "--factor", "1.2"], "strength", 0.072),
    "combine": (
        ["--first", "7 %", "--first-sd", "0.4 %", "--second", "7 %", "--second-sd", "0.4 %"],
        "strength",
        0.07,
    ),
    "fit-factor": (["--sample", "3 %: 1.5; 6 %: 3; 9 %: 4.5"], "factor", 2.0),
    "volume": (
        ["--before", "13 %", "--after", "7 %", "--added", "100 L", "--added-strength", "1 %"],
        "after_l",
        200.0,
    ),
    "hold": (
        [
            "--target",
            "6 %",
            "--sump-volume",
            "1000 L",
            "--before",
            "6 %",
            "--after",
            "6 %",
            "--topped",
            "560 L",
            "--topped-strength",
            "2.4 %",
            "--days",
            "14",
        ],
        "top_up",
        0.024,
    ),
}


def mix(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Runs ``mix`` with these words: exit code, stdout, stderr."""
    parser = argparse.ArgumentParser()
    add_parser(parser.add_subparsers())
    code = run(parser.parse_args(["mix", *words]))
    out, err = capsys.readouterr()
    return code, out, err


@pytest.mark.parametrize("name", GOOD)
def test_figure_worked_by_hand(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """Each subcommand gives the hand-worked figure under its documented name."""
    words, key, value = GOOD[name]
    code, out, _ = mix(capsys, name, *words, "--json")
    assert code == 0
    assert json.loads(out)[key] == pytest.approx(value, rel=2e-3)


def test_pails_that_went_in_are_parts_of_a_blend(capsys: pytest.CaptureFixture[str]) -> None:
    """By hand: 142 L at 4 % and five pails of 8 L at 15 % are 11.68 L of concentrate in 182 L."""
    words = ("--part", "142 L at 4 %", "--part", "5 pails of 8 L at 15 %", "--json")
    code, out, _ = mix(capsys, "blend", *words)
    assert code == 0
    assert json.loads(out)["strength"] == pytest.approx(11.68 / 182.0, rel=1e-3)


@pytest.mark.parametrize("name", RANGED)
def test_figure_with_its_range(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """Where a reading enters, the figure comes with a low and a high end around it."""
    words, key, value = RANGED[name]
    code, out, _ = mix(capsys, name, *words, "--json")
    figure = json.loads(out)[key]
    assert code == 0
    assert figure["value"] == pytest.approx(value, rel=1e-3)
    assert figure["low"] <= figure["value"] <= figure["high"]


@pytest.mark.parametrize("name", [*GOOD, *RANGED])
def test_plain_face_and_card(capsys: pytest.CaptureFixture[str], tmp_path: Path, name: str) -> None:
    """Each subcommand speaks to people in 80 columns and writes a card."""
    words = (GOOD | RANGED)[name][0]
    card = tmp_path / "card.html"
    code, out, err = mix(capsys, name, *words, "--card", str(card))
    assert (code, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 80
    assert card.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.parametrize("name", [*GOOD, *RANGED, "share"])
def test_nothing_given_says_what_is_missing(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """Without its options a subcommand ends with code 2 and names the first one missing."""
    code, out, err = mix(capsys, name)
    assert (code, out) == (2, "")
    assert err.startswith("--")
    assert "missing" in err


def test_share_from_a_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A shop in a JSON file is planned, and its barred sump named."""
    shop = [
        {"name": "Mill", "product": "A", "volume": "100 L", "fill": "90 %", "strength": "14 %"},
        {"name": "Lathe", "product": "A", "volume": "60 L", "fill": "70 %", "strength": "4 %"},
        {"name": "Saw", "product": "A", "volume": "60 L", "fill": 0.7, "strength": 0.12, "bars": ["dosed"]},
    ]
    path = tmp_path / "shop.json"
    path.write_text(json.dumps(shop), encoding="utf-8")
    data = json.loads(mix(capsys, "share", "--file", str(path), "--pail", "6 L", "--json")[1])
    assert {move["giver"] for move in data["moves"]} == {"Mill"}
    assert data["barred"][0].startswith("Nothing is taken from Saw")


def test_a_dose_without_a_label_is_refused_not_failed(capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 0, no amount, and where to look."""
    code, out, _ = mix(capsys, "dose", "--sump-volume", "200 L", "--json")
    data = json.loads(out)
    assert (code, data["amount_l"]) == (0, None)
    assert "label" in data["refused"]["why"]


def test_heavy_packages_stay_out_of_a_recipe() -> None:
    """Working out a recipe from the command line loads neither pint nor scipy nor numpy."""
    script = (
        "import argparse, sys; from advisor.mix_command import add_parser, run; p = "
        "argparse.ArgumentParser(); add_parser(p.add_subparsers()); run(p.parse_args(['mix', 'thin', "
        "'--sump-volume', '50 US gal', '--strength', '13 %', '--target', '7 %'])); sys.exit(bool({'pint', "
        "'scipy', 'numpy', 'yaml'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
