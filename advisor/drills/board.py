"""Results of drills: one JSON object a line, a scoreboard by nickname, and a table for other programs."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from advisor.dialogue.blocks import Block
from advisor.errors import BadInput, StoreTrouble

FILE = "drills.jsonl"
#: Columns of the table, in order; a line may hold more.
COLUMNS = (
    "time", "nickname", "drill", "points", "cause", "safety", "effort", "recipe", "minutes", "looks",
    "dangerous", "named", "fault", "rules", "with",
)  # fmt: skip
#: A cell that begins with one of these is a formula to a spreadsheet; a quote before it makes it text
#: (OWASP, CSV Injection, from memory, unverified).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%")
LONGEST_NAME = 24


def nickname(text: str) -> str:
    """A nickname that can be kept.

    Raises:
        BadInput: empty, too long, or with signs that cannot be printed.
    """
    name = " ".join(text.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        raise BadInput(
            "that nickname cannot be kept",
            value=text[:60],
            right=f"give 1 to {LONGEST_NAME} printable characters, no real name needed",
        )
    return name


def keep(folder: Path, row: Mapping[str, Any]) -> None:
    """Add one result.

    Raises:
        StoreTrouble: the file cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with (folder / FILE).open("a", encoding="utf-8") as file:
            file.write(json.dumps(dict(row), ensure_ascii=False, sort_keys=True) + "\n")
    except OSError as trouble:
        raise StoreTrouble(
            f"the result cannot be written to {folder / FILE} ({trouble.strerror})", right="free the file"
        ) from None


def results(folder: Path) -> list[dict[str, Any]]:
    """All results, oldest first; a line that is not one (a torn write) is passed over."""
    file = folder / FILE
    if not file.is_file():
        return []
    found = []
    for line in file.read_text(encoding="utf-8", errors="replace").splitlines():
        try:
            row = json.loads(line)
        except ValueError:
            continue
        if isinstance(row, dict) and isinstance(row.get("points"), int) and row.get("nickname"):
            found.append(row)
    return found


def forget(folder: Path, name: str) -> int:
    """Take one nickname's results out for good; how many went."""
    held = results(folder)
    left = [row for row in held if name not in (row["nickname"], row.get("with"))]
    if len(left) < len(held):
        fresh = folder / (FILE + ".new")
        lines = [json.dumps(row, ensure_ascii=False, sort_keys=True) + "\n" for row in left]
        fresh.write_text("".join(lines), encoding="utf-8")
        fresh.replace(folder / FILE)
    return len(held) - len(left)


def board_blocks(rows: Iterable[Mapping[str, Any]]) -> list[Block]:
    """The class by nickname: what was done, mean and best points, dangerous acts; the best mean first."""
    by_name: dict[str, list[Mapping[str, Any]]] = {}
    for row in rows:
        by_name.setdefault(str(row["nickname"]), []).append(row)
    if not by_name:
        return [Block("text", "No drill has been finished yet.")]
    listed = sorted(by_name.items(), key=lambda item: (-_mean(item[1]), item[0]))
    blocks = [Block("head", "mean points of drills and exercises", "SCOREBOARD")]
    for i, (name, held) in enumerate(listed, 1):
        best, danger = max(int(r["points"]) for r in held), sum(int(r.get("dangerous", 0)) for r in held)
        text = f"{name}: {_mean(held):.0f}, {len(held)} done, best {best}, dangerous acts {danger or 'none'}"
        blocks.append(Block("item", text, f"{i}"))
    return blocks


def _mean(rows: list[Mapping[str, Any]]) -> float:
    return sum(int(r["points"]) for r in rows) / len(rows)


def table(rows: Iterable[Mapping[str, Any]]) -> str:
    """The results as CSV (RFC 4180), with no cell that a spreadsheet would run as a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows:
        writer.writerow([harmless(row.get(key, "")) for key in COLUMNS])
    return out.getvalue()


def harmless(value: object) -> object:
    """A cell that stays text: numbers as they are, a leading formula sign behind a quote."""
    if isinstance(value, int | float) or value is None:
        return value
    text = str(value)
    return f"'{text}" if text.startswith(_FORMULA) else text
