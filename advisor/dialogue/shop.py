"""The shop as a conversation knows it: its sumps with their figures as facts, and its habits."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Any

from advisor.dialogue.case import SHOP_BOOK
from advisor.knowledge.facts import Fact, number
from advisor.knowledge.loader import nearest
from advisor.mixing.display import IMPERIAL, METRIC, US, Display
from advisor.quantities import Gallon, System, show

#: What says that the machine is none of those listed; the whole line is one of them.
_NONE_OF_THESE = {
    "another", "another one", "another machine", "other", "other one", "a different one", "no", "nope", "nah",
    "none", "none of these", "none of them", "none of those", "neither", "not listed", "not on the list",
    "not in the list", "not there", "isnt there", "isnt listed", "its not there", "nein", "keine", "keiner",
    "keine davon", "keiner davon", "keins", "eine andere", "andere", "nee", "nö", "noe", "ne", "nix davon",
    "keine von denen", "keiner von denen", "eine andere maschine", "andere maschine", "nicht dabei",
    "nicht in der liste", "nicht auf der liste", "ist nicht dabei", "steht nicht da", "new one", "a new one",
}  # fmt: skip
#: How like a name its misspelling in a longer line must be, so that "fill 1" is never "mill 1".
_NEAR_NAME = 0.86
#: German words for machines that a book may hold in English; umlauts are written either way.
_GERMAN = {
    "mill": "fr(?:ä|ae)se|fr(?:ä|ae)smaschine|m(?:ü|ue)hle", "lathe": "drehbank|drehmaschine|drehe",
    "grinder": "schleifmaschine|schleife|schleifer", "saw": "s(?:ä|ae)ge|bands(?:ä|ae)ge",
    "drill": "bohrmaschine|bohrwerk", "machine": "maschine", "centre": "zentrum|bearbeitungszentrum",
}  # fmt: skip
#: Words that stand before a machine's number.
_MACHINE = r"(?:machine|maschine|mill|lathe|grinder|saw|sump|tank|no|nr|number|nummer)"


@dataclass(slots=True)
class Shop:
    """What the shop book says.

    Attributes:
        sumps: sump name -> the facts its book entry gives (said "shop book").
        copies: sump name -> copy of its and its product's figures, kept in the case.
        system: units people of this shop read volumes in.
        gallon: what a bare gallon means here, None while nobody has said.
    """

    name: str = ""
    sumps: dict[str, list[Fact]] = field(default_factory=dict)
    copies: dict[str, dict[str, Any]] = field(default_factory=dict)
    containers: list[dict[str, Any]] = field(default_factory=list)
    system: System = "metric"
    gallon: Gallon | None = None
    region: str | None = None

    @property
    def display(self) -> Display:
        """How the mixing engine writes volumes for this shop."""
        return {"metric": METRIC, "us": US, "imperial": IMPERIAL}[self.system]

    def as_json(self) -> dict[str, Any] | None:
        """The shop's name and habits, for the first event of a case."""
        if not (self.name or self.gallon or self.sumps):
            return None
        return {"name": self.name, "units": self.system, "gallon": self.gallon, "region": self.region}

    def sump_named(self, text: str, *, only: bool = False) -> str | None:
        """The sump a line names: its whole name, or a last word no other sump has.

        `only`: the line is nothing but the answer to "which machine", so a number picks from the list and
        a near spelling is enough.
        """
        low = _plain(text)
        names = {_plain(name): name for name in self.sumps}
        if only and low in names:
            return names[low]
        if only and low.isdigit() and 1 <= int(low) <= len(self.sumps):
            return list(self.sumps)[int(low) - 1]
        for plain in sorted(names, key=len, reverse=True):
            before = rf"{_MACHINE} " if plain.isdigit() else ""  # "reads 3 brix" names no machine
            said = re.search(rf"\b{before}{re.escape(plain)}\b", low)
            if said or (not before and plain.replace(" ", "") in low.split()):
                return names[plain]
        for name, last in self._unique_words(names):
            if re.search(rf"\b{re.escape(last)}\b", low):
                return name
        found = self._in_german(low) or (None if only else self.misspelt(text))
        return found[0] if found else (self._near(low, names) if only else None)

    def misspelt(self, text: str) -> tuple[str, str] | None:
        """A sump named in a line with a slip, and the words that name it; the figures are never guessed."""
        said = _plain(text).split()
        best: tuple[float, str, str] = (_NEAR_NAME, "", "")
        for name in self.sumps:
            plain = _plain(name)
            many = len(plain.split())
            for at in range(len(said) - many + 1):
                words = " ".join(said[at : at + many])
                if len(plain) < 5 or re.findall(r"\d+", words) != re.findall(r"\d+", plain):
                    continue
                best = max(best, (SequenceMatcher(None, words, plain).ratio(), name, words))
        return (best[1], best[2]) if best[1] else self._in_german(_plain(text))

    def _in_german(self, low: str) -> tuple[str, str] | None:
        """A sump named by the German words for its kind ("Fräse 1" for Mill 1), and those words."""
        for name in self.sumps:
            plain = _plain(name)
            found = re.search(rf"\b{_either_language(plain)}\b", low)
            if found and not _GERMAN.keys().isdisjoint(plain.split()):
                return name, found[0]
        return None

    def _near(self, low: str, names: dict[str, str]) -> str | None:
        """The sump a misspelt answer means: the same figures, and the nearest words; or its place in the
        list, where a number is all that tells it."""
        figures = re.findall(r"\d+", low)
        same = {plain: name for plain, name in names.items() if re.findall(r"\d+", plain) == figures}
        near = nearest(low, same)
        if near:
            return same[near]
        word, _, number = low.rpartition(" ")
        if len(figures) != 1 or not number.isdigit() or not _says_machine(word):
            return None
        if len(same) == 1:
            return next(iter(same.values()))
        place = int(number)
        return list(self.sumps)[place - 1] if not same and 1 <= place <= len(self.sumps) else None

    def taken_as(self, text: str, name: str) -> bool:
        """Whether a line that chose a sump did not say its name, so that the choice has to be said back."""
        low, plain = _plain(text), _plain(name)
        others = [other for other in self.sumps if low in re.findall(r"\d+", other) and other != name]
        said = plain in low or plain.replace(" ", "") in low.split() or (low.isdigit() and not others)
        return not said and not any(last in low for sump, last in self._unique_words({plain: name}))

    def ruled(self, name: str | None, facts: Sequence[Fact]) -> list[Fact]:
        """The facts with the shop's window in force: limits belong to the shop, not to who is talking."""
        entered = any(f.id == "target" for f in self.sumps.get(name or "", []))
        return [f for f in facts if not (entered and f.id == "target" and f.said != SHOP_BOOK)]

    def aim(self, name: str | None, facts: Sequence[Fact] = ()) -> float | None:
        """The single strength aimed for: as said, when the shop's window holds it, else as entered."""
        window = next((f.value for f in self.sumps.get(name or "", []) if f.id == "target"), None)
        told = [f.value for f in facts if f.id == "target" and f.said != SHOP_BOOK]
        said = [value for value in told if isinstance(value, float)]
        if said and isinstance(window, tuple) and (window[0] or 0) <= said[-1] <= (window[1] or 1):
            return said[-1]
        aimed = (self.copies.get(name or "", {}).get("sump") or {}).get("aim")
        return float(aimed) if aimed else None

    def summary(self, name: str) -> str:
        """One line about a sump: name, volume, product, window, and its product's factor."""
        facts = {f.id: f for f in self.sumps.get(name, [])}
        product = (self.copies.get(name, {}).get("product") or {}).get("name", "")
        parts = [name]
        if "sump_volume" in facts:
            parts.append(show(number(facts["sump_volume"]) or 0.0, "L", self.system))
        if product:
            parts.append(product)
        target = facts.get("target")
        if target is not None and isinstance(target.value, tuple):
            low, high = target.value
            parts.append(f"window {100 * (low or 0):g} to {100 * (high or 0):g} %")
        elif target is not None:
            parts.append(f"target {show(number(target) or 0.0, 'fraction')}")
        if "refractometer_factor" in facts and "factor" not in product:
            parts.append(f"factor {number(facts['refractometer_factor']):g}")
        return ", ".join(parts)

    def without_name(self, text: str, name: str) -> str:
        """The line without the machine's name, so that "mill 1" is not read as milling."""
        words = _plain(name).split()
        loose = r"[\W_]*".join(re.escape(w) for w in words)
        found = re.sub(rf"\b{loose}\b", " ", text, count=1, flags=re.I)
        near = self.misspelt(text) if found == text else None
        if near is not None and near[0] == name:
            loose = r"[\W_]*".join(re.escape(w) for w in near[1].split())
            return re.sub(rf"\b{loose}\b", " ", text, count=1, flags=re.I)
        if found == text and len(words[-1]) > 3:
            found = re.sub(rf"\b{re.escape(words[-1])}\b", " ", text, count=1, flags=re.I)
        return found

    def _unique_words(self, names: dict[str, str]) -> list[tuple[str, str]]:
        words = [
            (name, word) for plain, name in names.items() for word in plain.split()[-1:] if len(word) > 3
        ]
        return [
            (name, word)
            for name, word in words
            if sum(word in plain.split() for plain in names) == 1 and not word.isdigit()
        ]

    def another(self, text: str) -> bool:
        """Whether a line says that the machine is none of those listed."""
        low = _plain(text)
        if low == str(len(self.sumps) + 1) or low in _NONE_OF_THESE:
            return True
        word, _, number = low.rpartition(" ")
        return number.isdigit() and (_says_machine(word) or word in _GERMAN)

    def sump_facts(self, name: str, facts: Sequence[Fact] = ()) -> list[Fact]:
        """The facts of one sump's entry that nothing said already holds."""
        held = {f.id for f in facts}
        return [f for f in self.sumps.get(name, []) if f.id not in held]


def _says_machine(word: str) -> bool:
    """Whether a word means no more than "machine" or "number", however it is spelt."""
    return nearest(word, ("machine", "maschine", "sump", "tank", "number", "no", "nr")) is not None


def _either_language(plain: str) -> str:
    """What finds a machine's name with its own words or the German ones ("Mill 1" as "Fräse 1")."""
    words = [re.escape(w) + (f"|{_GERMAN[w]}" if w in _GERMAN else "") for w in plain.split()]
    return r"[\W_]*".join(f"(?:{w})" for w in words)


def _plain(text: str) -> str:
    """Small letters, one space between words and between letters and figures."""
    spaced = re.sub(r"(?<=[a-z])(?=\d)", " ", text.lower())
    return " ".join(re.sub(r"[^\w]+", " ", spaced).split())
