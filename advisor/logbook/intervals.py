"""How often each check is due, as data with sources: `intervals.yaml`, read here from its compiled form."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.logbook.shop import Shop

_YAML = Path(__file__).with_name("intervals.yaml")
OTHER = "other"


@dataclass(frozen=True, slots=True)
class Interval:
    """A check is due every so many days.

    Attributes:
        check: id of the check.
        days: how often.
        says: what makes it so, "" for the region's plain interval.
        sources: ids of the sources.
    """

    check: str
    days: float
    says: str
    sources: tuple[str, ...]


@lru_cache(maxsize=1)
def intervals() -> dict[str, Any]:
    """The compiled list: ``checks``, ``regions``, ``risks``."""
    held: dict[str, Any] = json.loads(_YAML.with_suffix(".json").read_text(encoding="utf-8"))
    return held


def region_list(region: str | None) -> str:
    """The list a region goes by: its own, else the one for other regions."""
    return region if region and region in intervals()["regions"] else OTHER


def plain(region: str | None) -> dict[str, Interval]:
    """The plain interval of each check due in a region, by check."""
    listed = intervals()["regions"][region_list(region)]
    return {
        check: Interval(check, float(row["days"]), "", tuple(row["sources"]))
        for check, row in listed.items()
        if check != "note"
    }


def of_shop(shop: Shop, region: str | None) -> dict[str, Interval]:
    """The plain interval of each check in a shop: the region's, or its own where it asks for one."""
    found = plain(region)
    for check, days in shop.shop.get("checks", {}).items():
        found[check] = Interval(check, float(days), "", ("shop",))
    return found


def kept_for(region: str | None) -> list[dict[str, Any]]:
    """How long records are kept in a region; empty where nothing is known."""
    held = intervals()["retention"]
    fallback = held["eu"] if region in intervals()["in_eu"] else []
    rows: list[dict[str, Any]] = held.get(region or "", fallback)
    return rows


def of_sump(shop: Shop, region: str | None, signs: Mapping[str, Sequence[str]]) -> dict[str, Interval]:
    """The intervals of one sump.

    Args:
        shop: its own intervals take the place of the region's.
        region: of the shop.
        signs: for each risk of the list that holds, the checks it holds for.
    """
    found = of_shop(shop, region)
    risks = intervals()["risks"]
    for name, checks in signs.items():
        risk = risks[name]
        for check in checks:
            if check not in found:
                continue
            made = Interval(check, float(risk["days"]), risk["says"], tuple(risk["sources"]))
            if risk.get("instead") or made.days < found[check].days:
                found[check] = made
    return found


def compile_intervals() -> None:
    """Write the compiled form beside the YAML file.

    Raises:
        BadInput: a region or risk names a check that is not listed.
    """
    from advisor.knowledge.yaml_source import read

    document = read(_YAML)
    held = document.data
    for part in ("regions", "risks"):
        for name, row in held[part].items():
            listed = [k for k in row if k != "note"]
            for check in listed if part == "regions" else row.get("checks", [row.get("check")]):
                if check not in held["checks"] and check != "any":
                    raise BadInput(f"no check is called {check!r}", place=document.place((part, name)))
    text = json.dumps(held, ensure_ascii=False, indent=1)
    _YAML.with_suffix(".json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    compile_intervals()
