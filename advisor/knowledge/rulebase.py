"""The compiled rule base as a conversation uses it: plain objects, words already turned into numbers.

Built from the dict that `advisor.knowledge.loader.compiled` returns; no YAML and no pydantic here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from advisor.errors import UnknownId

#: Words that stand for a source without an entry of its own.
UNLISTED = {"practice": "common practice, no source", "memory": "from memory, unverified"}
_STANDING = {
    "read": "",
    "read_in_reproduction": ", read in a reproduction",
    "from_memory": ", from memory, unverified",
}


@dataclass(frozen=True, slots=True)
class Observable:
    """One observable; fields as in `advisor.knowledge.schema.Observable`."""

    id: str
    kind: str
    name: str
    role: str
    answers: dict[str, dict[str, Any]]
    bases: dict[str, float]
    unit: str | None = None
    limits: tuple[float, float] | None = None
    step: float | None = None
    count: str = "each"
    belongs_to: str | None = None
    question: str | None = None
    look: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    place: str = "sump"
    effort: float = 1.0
    wait_h: float = 0.0
    slip: float = 0.05
    costly: str | None = None
    example: str | None = None
    yes: str | None = None
    no: str | None = None

    def offered(self) -> list[str]:
        """Answer ids a person is offered, in order."""
        return [key for key, answer in self.answers.items() if answer.get("offer", True)]


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign of one cause: ``node`` is what is observed, ``chances`` what the cause makes of it.

    For a yes/no node ``chances`` has the single key ``"yes"``; for a one_of node one key per answer.
    """

    id: str
    cause: str
    node: str
    chances: dict[str, float]
    words: dict[str, str]
    because: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Favour:
    """Context that multiplies the odds of a cause."""

    fact: Any
    factor: float
    word: str
    because: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause; prose fields as in `advisor.knowledge.schema.Cause`."""

    id: str
    prior: float
    state: bool
    referral: bool
    run: str
    signs: tuple[Sign, ...]
    favours: tuple[Favour, ...]
    leads_to: dict[str, float]
    do: tuple[str, ...]
    text: dict[str, Any] = field(repr=False)

    @property
    def plain(self) -> str:
        """The cause in words for the shop floor."""
        return str(self.text["plain"])


class RuleBase:
    """Everything the rules know, looked up by id."""

    def __init__(self, data: dict[str, Any]) -> None:
        self.data = data
        self.hash: str = data["hash"]
        self.words: dict[str, dict[str, float]] = data["words"]
        self.sources: dict[str, Any] = data["sources"]
        self.observables = {
            key: _observable(key, item, self.words) for key, item in data["observables"].items()
        }
        self.bands: list[dict[str, Any]] = data["bands"]
        self.windows: list[dict[str, Any]] = data["windows"]
        self.findings: dict[str, dict[str, Any]] = data["findings"]
        self.causes = {key: self._cause(key, item) for key, item in data["causes"].items()}
        self.cautions: dict[str, dict[str, Any]] = data["cautions"]
        self.actions: dict[str, dict[str, Any]] = data["actions"]
        #: checks a person is led through; a rule base kept before there were any has none
        self.procedures: dict[str, dict[str, Any]] = data.get("procedures", {})
        #: which band's answers a quantity fills, and the other way round
        self.filled_by: dict[str, list[str]] = {}
        for band in self.bands:
            self.filled_by.setdefault(band["fills"], []).append(band["of"])

    def _cause(self, key: str, item: dict[str, Any]) -> Cause:
        signs = tuple(self._sign(key, i, sign) for i, sign in enumerate(item["signs"], 1))
        favours = tuple(
            Favour(
                f["fact"],
                self.words["how_much"][f["how_much"]],
                f["how_much"],
                f.get("because", ""),
                tuple(f["sources"]),
            )
            for f in item.get("favoured_by", [])
        )
        leads: dict[str, float] = {}
        for lead in item.get("leads_to", []):  # the strongest; what holds on a sump is chosen with its facts
            chance = self.words["how_often"][lead["how_often"]]
            leads[lead["cause"]] = max(chance, leads.get(lead["cause"], 0.0))
        return Cause(
            key,
            self.words["common"][item["common"]],
            item.get("state", False),
            item.get("referral", False),
            item.get("run", "run"),
            signs,
            favours,
            leads,
            tuple(item["do"]),
            item,
        )

    def _sign(self, cause: str, i: int, sign: dict[str, Any]) -> Sign:
        often = self.words["how_often"]
        node, words = str(sign.get("observable") or ""), dict(sign.get("answers") or {})
        if not node:
            node, words = str(sign["finding"]), {"yes": sign["how_often"]}
            key, _, value = (part.strip() for part in node.partition(":"))
            if value and self.observables[key].kind == "one_of":
                node, words = key, {value: sign["how_often"]}
            elif value:
                node = f"{key}: {value}"
        return Sign(
            f"{cause}.{i}",
            cause,
            node,
            {a: often[w] for a, w in words.items()},
            dict(words),
            sign["because"],
            tuple(sign["sources"]),
        )

    def observable(self, key: str) -> Observable:
        """The observable called `key`.

        Raises:
            UnknownId: no observable has this id; with the nearest that exist.
        """
        try:
            return self.observables[key]
        except KeyError:
            from difflib import get_close_matches

            near = get_close_matches(key, self.observables, n=2, cutoff=0.5)
            right = (
                "did you mean " + " or ".join(f'"{n}"' for n in near) + "?"
                if near
                else "see rules/vocabulary"
            )
            raise UnknownId(f'nothing is called "{key}"', value=key, right=right) from None

    def base(self, node: str) -> float:
        """Chance that a yes/no node is seen with none of the causes that show it."""
        if node in self.findings:
            return self.words["base"][self.findings[node].get("base", "seldom")]
        key, _, value = (part.strip() for part in node.partition(":"))
        item = self.observables[key]
        if value:
            return item.bases[value]
        nothing = 1.0
        for chance in item.bases.values():
            nothing *= 1 - chance
        return min(1 - nothing, 0.5)

    def cite(self, refs: tuple[str, ...] | list[str]) -> str:
        """Sources in words: body, title, year, place, and how they were read."""
        return "; ".join(self._cite(ref) for ref in refs)

    def _cite(self, ref: str) -> str:
        name, _, where = (part.strip() for part in ref.partition(","))
        if name in UNLISTED:
            return UNLISTED[name]
        return publication(self.sources[name], where)


def publication(entry: Mapping[str, Any], where: str = "") -> str:
    """A publication in words, as `RuleBase.cite` says it; `where` in it, else the part that was read."""
    year = f", {entry['year']}" if entry.get("year") else ""
    where = where or entry.get("section", "")
    where = f", {where}" if where else ""
    return f"{entry['body']}, {entry['title']}{year}{where}{_STANDING[entry['standing']]}"


def _observable(key: str, item: dict[str, Any], words: dict[str, dict[str, float]]) -> Observable:
    base = words["base"]
    bases = {a: base[answer.get("base", "seldom")] for a, answer in item["answers"].items()}
    keep = {
        k: item[k]
        for k in (
            "unit",
            "step",
            "count",
            "belongs_to",
            "question",
            "place",
            "effort",
            "wait_h",
            "slip",
            "costly",
            "example",
            "yes",
            "no",
        )
        if k in item
    }
    limits = tuple(item["limits"]) if "limits" in item else None
    return Observable(
        key,
        item["kind"],
        item["name"],
        item["role"],
        item["answers"],
        bases,
        limits=limits,
        look=tuple(item.get("look", ())),
        asked=tuple(item.get("asked", ())),
        **keep,
    )


@lru_cache(maxsize=4)
def load(folder: Path | None = None) -> RuleBase:
    """The rule base of `folder`, or the one that ships with the program.

    Raises:
        BadRules: a rules file is wrong.
    """
    from advisor.knowledge.loader import compiled

    return RuleBase(compiled(folder))
