"""Everything the commands of the logbook work with: the file, the shop, the rules, and the present."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any

from advisor.errors import BadInput, UnknownId
from advisor.knowledge.rulebase import RuleBase, load, publication
from advisor.logbook.book import ReadingBook
from advisor.logbook.limits import Limits
from advisor.logbook.moments import stamp
from advisor.logbook.place import book_place
from advisor.logbook.row_ids import row_id
from advisor.logbook.shop import Shop, demo_shop, keep_shop, stored_shop
from advisor.logbook.store import open_store
from advisor.logbook.tables import TableStore
from advisor.logbook.worklists import worklists
from advisor.showing import HERE, System


class Desk:
    """The logbook with its shop.

    Args:
        store: the logbook.
        shop: the shop's figures.
        now: the present, with the shop's time zone.
    """

    def __init__(self, store: TableStore, shop: Shop, now: datetime) -> None:
        self.store, self.shop, self.now = store, shop, now
        self.book = ReadingBook(store)

    @cached_property
    def rules(self) -> RuleBase:
        """The rule base, loaded when first needed."""
        return load()

    @cached_property
    def limits(self) -> Limits:
        """Limits in force in this shop."""
        return Limits(self.rules, self.shop)

    @property
    def time(self) -> str:
        """The present as the logbook keeps it."""
        return stamp(self.now)

    @property
    def system(self) -> System:
        """The units this shop reads volumes in."""
        system: System = self.shop.shop.get("units", "metric")
        return system

    @property
    def region(self) -> str | None:
        """The shop's region."""
        return self.shop.shop.get("region")

    @property
    def gallon(self) -> Any:
        """Which gallon a bare one is: us, imperial, or None while nobody said."""
        return self.shop.shop.get("gallon")

    def cite(self, refs: Sequence[str]) -> str:
        """Sources in words: those of the rules, and those that only the logbook's own lists lean on."""
        own = {key: publication(row) for key, row in worklists()["sources"].items()}
        own["shop"] = "shop's entry"
        return "; ".join(own[ref] if ref in own else self.rules.cite([ref]) for ref in refs)

    def lot(self, product: str | None) -> str | None:
        """Lot of the drum of a product that was last found fit for use, None where none was checked."""
        fit = [row for row in self.book.records("drum") if row.data["product"] == product]
        fit = [row for row in fit if row.data["outcome"] == "use"]
        return str(fit[-1].data["lot"]) if fit else None

    def zeroed(self, instrument: str) -> str:
        """When an instrument was last set to zero, "" where nothing is on record."""
        held = [r for r in self.book.records("zeroed") if r.data["instrument"] == instrument]
        return held[-1].time if held else ""

    def name(self, sump: str) -> str:
        """A sump's name, or its id when it has none."""
        return str(self.shop.sumps.get(sump, {}).get("name") or sump)

    def sump_of(self, words: Sequence[str]) -> tuple[str, list[str]]:
        """The sump that the first words name, and the words that follow.

        Raises:
            UnknownId: no sump is called so; says which are nearest.
        """
        for count in range(min(len(words), 6), 0, -1):
            if not plain_name(words[count - 1]):
                continue  # a dash belongs to the figures
            wanted = plain_name(" ".join(words[:count]))
            found = self._names.get(wanted)
            if found:
                return found, list(words[count:])
        called = words[0] if words else ""
        raise UnknownId(f"There is no sump {called!r}", value=called, right=self._offer(words))

    def sump_only(self, words: Sequence[str]) -> str:
        """The sump that all the words name.

        Raises:
            UnknownId: no sump is called so.
            BadInput: words are left over.
        """
        sump, rest = self.sump_of(words)
        if rest:
            raise BadInput(f"{' '.join(rest)!r} does not belong to the sump's name", right="Name one sump.")
        return sump

    @cached_property
    def _names(self) -> dict[str, str]:
        names = {plain_name(key): key for key in self.shop.sumps}
        for key, row in self.shop.sumps.items():  # a name goes before the id of another sump
            names[plain_name(str(row.get("name") or key))] = key
        return names

    def _offer(self, words: Sequence[str]) -> str:
        tries = [plain_name(" ".join(words[:count])) for count in (2, 1)]
        near = [hit for text in tries for hit in difflib.get_close_matches(text, self._names, 2, 0.7)]
        names = ", ".join(dict.fromkeys(self.name(self._names[hit]) for hit in near))
        start = 'to begin a new sump, add --new ("log" and "import" take it)'
        if names:
            return f"Did you mean {names}? Or, {start}."
        there = ", ".join(self.name(key) for key in list(self.shop.sumps)[:8])
        return f"This shop has {there or 'no sumps yet'}; {start}."

    def keep_sump(self, key: str, who: str) -> None:
        """Keep the row of a sump in the shop's book."""
        self.store.put_row("sump", key, self.shop.sumps[key], time=self.time, who=who)

    def new_sump(self, called: str) -> str:
        """A new sump on this desk alone, until it is kept; its id, which no other sump has.

        Raises:
            BadInput: the name holds no letter or digit, or is too long.
        """
        if not plain_name(called) or len(called) > 60:
            right = "Give a short name or number."
            raise BadInput(f"{called!r} cannot be the name of a sump", value=called, right=right)
        key = row_id(called, "sump", self.shop.sumps)
        row: dict[str, Any] = {"id": key, "name": called.strip(), "product": None, "aim": None, "figures": {}}
        row["written"] = {"id": key, "name": called.strip()}
        self.shop.sumps[key] = row
        self.__dict__.pop("_names", None)
        return key


def plain_name(text: str) -> str:
    """A name as it is compared: small letters, words apart."""
    return " ".join("".join(c if c.isalnum() else " " for c in text.casefold()).split())


def open_desk(demo: bool = False, now: datetime | None = None, folder: Path | None = None) -> Desk:
    """Open the user's logbook, or the demo shop's, with its shop.

    Raises:
        StoreTrouble: the logbook cannot be used.
    """
    store = open_store(folder or book_place(demo))
    moment = now or datetime.now(HERE)
    if demo and not store.rows("sump"):
        keep_shop(store, demo_shop(), time=stamp(moment), who="demo")
    return Desk(store, stored_shop(store), moment)
