"""Build the sdist, the wheel from it, and run the installed wheel in an empty folder.

Usage: check_wheel.py CHECKOUT WORK. Fails with a sentence when something is missing.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path


def build(checkout: Path, work: Path) -> tuple[Path, Path]:
    """The sdist, and the wheel that `build` makes from it."""
    subprocess.run([sys.executable, "-m", "build", "--outdir", str(work), str(checkout)], check=True,
                   stdout=subprocess.DEVNULL)
    (sdist,), (wheel,) = work.glob("*.tar.gz"), work.glob("*.whl")
    return sdist, wheel


def check_contents(sdist: Path, wheel: Path, checkout: Path) -> None:
    """The sdist has rules, tests and transcripts; the wheel has the rules and what they compile to."""
    with tarfile.open(sdist) as archive_of_sources:
        inside = {name.split("/", 2)[1] for name in archive_of_sources.getnames() if name.count("/") > 1}
    for folder in ("advisor", "rules", "tests", "transcripts_demo"):
        assert folder in inside, f"the sdist lacks {folder}/"
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        packed = json.loads(archive.read("advisor/_rules/rules.json"))
    for file in (checkout / "rules").rglob("*.yaml"):
        inner = f"advisor/_rules/{file.relative_to(checkout / 'rules')}"
        assert inner in names, f"the wheel lacks {inner}"
    strange = [name for name in names if not name.startswith(("advisor/", "sumpside-"))]
    assert not strange, f"the wheel holds what it should not: {strange}"
    sys.path.insert(0, str(checkout))
    from advisor.knowledge.loader import compile_rules

    fresh = json.loads(compile_rules(checkout / "rules"))
    different = [key for key in fresh if packed.get(key) != fresh[key]]
    assert not different, f"the rules compiled into the wheel differ from the checkout's in {different}"


def run_wheel(wheel: Path, work: Path) -> None:
    """Install the wheel alone and use every command for other programs from an empty folder."""
    subprocess.run([sys.executable, "-m", "venv", str(work / "venv")], check=True)
    subprocess.run([str(work / "venv/bin/pip"), "install", "-q", str(wheel)], check=True)
    empty = work / "empty"
    empty.mkdir()
    environment = {"PATH": os.defpath, "HOME": str(empty), "LANG": "C.UTF-8"}

    def sumpside(*words: str, stdin: str = "") -> str:
        return subprocess.run([str(work / "venv/bin/sumpside"), *words], check=True, cwd=empty, text=True,
                              input=stdin, env=environment, stdout=subprocess.PIPE).stdout

    print("version", sumpside("--version").strip())
    facts = json.loads(sumpside("read", "it smells of rotten eggs, ph 8.4", "--json"))["facts"]
    assert {"smell", "ph"} <= {fact["id"] for fact in facts}, facts
    verdict = json.loads(sumpside("assess", "-", "--json", stdin='{"text": "it smells of rotten eggs"}'))
    assert verdict["verdict"] in {"named", "unsettled", "outside"}, verdict
    recipe = json.loads(sumpside("mix", "thin", "--sump-volume", "50 US gal", "--fill", "75%", "--strength",
                                 "13%", "--target", "7%", "--pail", "5 US gal", "--json"))
    assert recipe["refused"] is None, recipe
    assert recipe["add_l"] > 0, recipe


if __name__ == "__main__":
    checkout, work = Path(sys.argv[1]), Path(sys.argv[2])
    work.mkdir(parents=True, exist_ok=True)
    sdist, wheel = build(checkout, work)
    check_contents(sdist, wheel, checkout)
    run_wheel(wheel, work)
    print("wheel and sdist are complete")
