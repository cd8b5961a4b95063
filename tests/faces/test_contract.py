"""The faces other programs rely on: field names, units, exit codes, one object per line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from advisor.cli import main

CAUSE = {"id", "probability", "because_of", "for", "against"}
VERDICT = {
    "verdict", "run", "causes", "cautions", "next_checks", "actions", "hold", "refused", "assumptions",
    "unused", "version", "rules",
}  # fmt: skip
RECIPE = {
    "remove_l", "add_l", "mix_strength", "pails", "strength_after", "strength_low", "strength_high",
    "options", "steps", "warnings", "refused", "assumptions",
}  # fmt: skip


def answer(capsys: pytest.CaptureFixture[str], *argv: str) -> Any:
    """The JSON a command prints; it must exit with 0."""
    assert main([*argv, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def judged(capsys: pytest.CaptureFixture[str], tmp_path: Path, data: dict[str, Any]) -> Any:
    """The verdict of one object."""
    file = tmp_path / "case.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    return answer(capsys, "assess", str(file))


def test_read_gives_facts_with_unit_status_and_words(capsys: pytest.CaptureFixture[str]) -> None:
    """Each fact has exactly the fields of the contract; nothing is derived."""
    made = answer(capsys, "read", "no smell, pH 8.2, sump holds 50 gal")
    facts = {f["id"]: f for f in made["facts"]}

    assert all(set(f) == {"id", "value", "unit", "status", "firm", "said"} for f in made["facts"])
    assert facts["smell"] == {**facts["smell"], "value": None, "unit": None, "status": "ruled_out"}
    assert facts["ph"] == {**facts["ph"], "value": 8.2, "unit": "pH", "status": "present", "firm": True}
    assert facts["sump_volume"]["value"] == pytest.approx(189.27, abs=0.01)  # 50 x 3.785411784, NIST HB 44
    assert facts["sump_volume"]["firm"] is False
    assert set(facts) == {"smell", "ph", "sump_volume"}


def test_a_choice_with_several_values_comes_once_per_value(capsys: pytest.CaptureFixture[str]) -> None:
    """Two metals are two facts."""
    made = answer(capsys, "read", "we cut brass and steel")

    assert {f["value"] for f in made["facts"] if f["id"] == "workpiece"} == {"brass", "steel"}


def test_assess_gives_the_whole_verdict(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Every field of the contract, reasons with rule and source, cautions with level."""
    made = judged(capsys, tmp_path, {"facts": {"smell": "rotten_egg", "surface": "oil_layer", "ph": 7.9}})

    assert set(made) >= VERDICT
    assert made["verdict"] in {"named", "unsettled", "outside"}
    assert made["run"] in {"run", "limits", "stop"}
    assert all(set(c) >= CAUSE for c in made["causes"])
    assert all(set(r) >= {"text", "fact", "rule", "source"} for c in made["causes"] for r in c["for"])
    assert all(c["level"] in {"emergency", "stop", "warn", "note"} for c in made["cautions"])
    assert all(set(c) >= {"id", "question", "why", "effort", "wait_h"} for c in made["next_checks"])
    assert all(set(a) == {"id", "text", "who", "recipe"} for a in made["actions"])


def test_probabilities_are_of_each_cause(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Each lies between 0 and 1; they need not sum to 1."""
    made = judged(
        capsys, tmp_path, {"facts": {"concentration": "4 %", "target": "7 %", "surface": "oil_layer"}}
    )

    assert all(0 <= c["probability"] <= 1 for c in made["causes"])


def test_a_recipe_in_a_verdict_is_what_mix_returns(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Same fields, and litres in the pails sum to what is added."""
    facts = {
        "concentration": "4 %",
        "target": "7 %",
        "sump_volume": "300 L",
        "sump_fill": "80 %",
        "pail": "10 L",
    }
    made = judged(capsys, tmp_path, {"facts": facts})
    recipe = next(a["recipe"] for a in made["actions"] if a["recipe"])
    poured = sum(p["count"] * (p["water_l"] + p["concentrate_l"]) for p in recipe["pails"])

    assert set(recipe) == RECIPE
    assert poured == pytest.approx(recipe["add_l"])


def test_top_level_of_mix_is_its_first_option(capsys: pytest.CaptureFixture[str]) -> None:
    """The recommended option's figures stand at the top."""
    made = answer(
        capsys, "mix", "thin", "--sump-volume", "50 US gal", "--fill", "75%", "--strength", "13%",
        "--target", "7%", "--pail", "5 US gal",
    )  # fmt: skip
    first = made["options"][0]

    assert set(made) == RECIPE
    assert {k: made[k] for k in RECIPE - {"options", "warnings"}} == {
        k: first[k] for k in RECIPE - {"options", "warnings"}
    }
    assert set(first) >= {"name", "days", "waste_l"}


def test_lines_answers_each_line_in_order(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A bad or empty line's object says so, and the rest go on."""
    file = tmp_path / "lines.txt"
    file.write_text("pH 8.2\n\nno foam\n", encoding="utf-8")

    code = main(["read", "--lines", str(file)])
    made = [json.loads(line) for line in capsys.readouterr().out.splitlines()]

    assert code == 0
    assert [sorted(m) for m in made] == [["facts", "unused"], ["error"], ["facts", "unused"]]


def test_no_good_line_is_bad_input(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """When no line succeeds the exit code is 2."""
    file = tmp_path / "lines.txt"
    file.write_text("{not json}\n", encoding="utf-8")

    assert main(["assess", "--lines", str(file)]) == 2
    assert "error" in json.loads(capsys.readouterr().out)


def test_straight_oil_is_outside(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Neat oil is not a case for this tool."""
    assert (
        judged(capsys, tmp_path, {"facts": {"fluid_type": "straight_oil", "smell": "burnt"}})["verdict"]
        == "outside"
    )


def test_a_factor_not_applied_refuses_the_recipe(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """With a factor other than 1 known and unanswered, no recipe; the answer that lifts it is asked first."""
    facts = {"concentration": "3.6 %", "refractometer_factor": 2, "target": "7 %", "sump_volume": "100 L"}
    made = judged(capsys, tmp_path, {"facts": facts})

    assert made["next_checks"][0]["id"] == "factor_applied"
    assert not any(a["recipe"] for a in made["actions"])


def test_factor_applied_settles_it(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """3.6 straight off the glass at factor 2 is 7.2 %: nothing wrong."""
    facts = {"concentration": "3.6 %", "refractometer_factor": 2, "target": "7 %", "factor_applied": "no"}
    made = judged(capsys, tmp_path, {"facts": facts})

    assert (made["verdict"], made["causes"][0]["id"]) == ("named", "in_range")


def test_nothing_known_is_never_nothing_wrong(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A single harmless fact names no verdict."""
    assert judged(capsys, tmp_path, {"facts": {"workpiece": "steel"}})["verdict"] == "unsettled"


BAD = [
    ({"facts": {"ph": 27}}, "0 to 14"),
    ({"facts": {"sump_volume": "-3 gal"}}, "gal"),
    ({"facts": {"concentration": "140 %"}}, "0 to 100"),
    ({"facts": {"concentration": "16 %%"}}, "%%"),
    ({"facts": {"concentration": 7}}, "7 % or 0.07"),
    ({"facts": {"ph": "nan"}}, "nan"),
    ({"facts": {"bacteria": "1e999"}}, "1e999"),
    ({"facts": {"sump_volume": "3 furlongs"}}, "furlongs"),
    ({"facts": {"sump_fill": "170 %"}}, "170"),
    ({"facts": {"refractometer_factor": 0}}, "0.1"),
    ({"facts": {"smel": "musty"}}, "smell"),
    ({"facts": {"smell": "mustie"}}, "musty"),
    ({"fact": {"ph": 8}}, "facts"),
    ({"facts": {"ph": ""}}, "pH"),
    ({"text": ""}, "empty"),
    ({"text": "x" * 10_000}, "too long"),
    ({}, "nothing to judge"),
]


@pytest.mark.parametrize(("data", "says"), BAD, ids=[str(d)[:40] for d, _ in BAD])
def test_bad_input_says_what_would_be_right(
    data: dict[str, Any], says: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Exit code 2 and one sentence on stderr, nothing on stdout."""
    file = tmp_path / "case.json"
    file.write_text(json.dumps(data), encoding="utf-8")

    code = main(["assess", str(file), "--json"])
    out, err = capsys.readouterr()

    assert (code, out) == (2, "")
    assert says in err


def test_control_characters_never_reach_the_screen(capsys: pytest.CaptureFixture[str]) -> None:
    """An escape sequence in the words comes back as blanks."""
    main(["read", "pH 8.2 \x1b[2J\x07 no foam"])

    assert "\x1b" not in capsys.readouterr().out


def test_a_typo_in_a_rules_file(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: Any) -> None:
    """File, line and what would be right."""
    import shutil

    from advisor.knowledge.loader import rules_folder

    copy = tmp_path / "rules"
    shutil.copytree(rules_folder(), copy)
    cause = copy / "causes" / "lean_mix.yaml"
    lines = cause.read_text(encoding="utf-8").splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("common:"))
    lines[at] = "comon: common"
    cause.write_text("\n".join(lines), encoding="utf-8")
    monkeypatch.setenv("SUMPSIDE_RULES", str(copy))

    code = main(["rules", "check"])
    err = capsys.readouterr().err

    assert code == 2
    assert f"lean_mix.yaml:{at + 1}" in err or "common" in err
