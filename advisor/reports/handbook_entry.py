"""One entry of the rule base as titled sections of lines, each with its sources: for screen and paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from advisor.dialogue import phrases
from advisor.dialogue.phrases_limits import published_line
from advisor.knowledge.coverage import raises
from advisor.knowledge.rulebase import UNLISTED, Cause, RuleBase, Sign
from advisor.showing import show

#: What has an entry of its own.
KINDS = ("causes", "cautions", "actions", "observables")
_LEVELS = {"emergency": "Emergency", "stop": "Stop", "warn": "Take care", "note": "Note"}
#: On paper there is no "you".
_WHO = {**phrases.WHO, "operator": "Operator"}
_ENDS = {"below": "below", "above": "above", "from": "at least", "to": "at most"}
_UNDER = "    "


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a section; `refs` as rules write them."""

    text: str
    refs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """A titled list. ``numbered`` where the order counts."""

    title: str
    lines: tuple[Line, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """One cause, caution, action or observable."""

    kind: str
    id: str
    title: str
    lead: str
    sections: tuple[Section, ...]
    refs: tuple[str, ...] = ()


@dataclass
class Marks:
    """Numbers for publications, in order of first use; each is listed once."""

    rules: RuleBase
    numbers: dict[str, int] = field(default_factory=dict)
    plain: set[str] = field(default_factory=set)

    def of(self, refs: Iterable[str]) -> list[tuple[str, int | None]]:
        """For each reference what to print, and its number: ``("3: Annex 3", 3)``, ``("practice", None)``."""
        made: list[tuple[str, int | None]] = []
        for ref in refs:
            name, _, where = (part.strip() for part in ref.partition(","))
            if name in UNLISTED:
                self.plain.add(name)
                made.append((name, None))
            else:
                number = self.numbers.setdefault(name, len(self.numbers) + 1)
                made.append((f"{number}: {where}" if where else f"{number}", number))
        return made

    def listed(self) -> list[tuple[str, str]]:
        """Every source used, as mark and full text."""
        told = [(str(number), self.rules.cite([name])) for name, number in self.numbers.items()]
        return told + [(name, UNLISTED[name]) for name in sorted(self.plain, reverse=True)]


def entry_of(rules: RuleBase, kind: str, name: str) -> Entry:
    """The entry called `name` among ``causes``, ``cautions``, ``actions`` or ``observables``."""
    if kind == "causes":
        return _cause(rules, rules.causes[name])
    return {"cautions": _caution, "actions": _action, "observables": _observable}[kind](rules, name)


def entries_called(rules: RuleBase, name: str) -> list[Entry]:
    """Every entry called `name`; a caution and an observable may share one."""
    return [entry_of(rules, kind, name) for kind in KINDS if name in getattr(rules, kind)]


# --- words -------------------------------------------------------------------------------------------


def words(name: str) -> str:
    """An id as words."""
    return " ".join("pH" if word == "ph" else word for word in name.split("_"))


def leaf_words(rules: RuleBase, leaf: str) -> str:
    """A leaf of a condition in plain words: ``surface: floating oil``."""
    key, _, value = (part.strip() for part in leaf.partition(":"))
    if key in ("cause", "caution", "action") and value:
        known = {"cause": {c: i.plain for c, i in rules.causes.items()}}.get(key, {})
        return known.get(value, words(value))
    if key in rules.findings:
        return str(rules.findings[key]["title"])
    item = rules.observables[key]
    return f"{item.name}: {item.answers[value]['means']}" if value else f"any {item.name}"


def condition_words(rules: RuleBase, when: Any) -> str:
    """A condition in plain words."""
    if isinstance(when, str):
        return leaf_words(rules, when)
    if "quantity" in when:
        item = rules.observables[when["quantity"]]
        ends = " and ".join(
            f"{_ENDS[k]} {show(float(v), item.unit or '1')}" for k, v in when.items() if k in _ENDS
        )
        return f"{item.name} {ends}"
    (key, parts), *_ = when.items()
    if key == "not":
        return f"not {condition_words(rules, parts)}"
    inner = [condition_words(rules, part) for part in parts]
    deep = [f"({text})" if isinstance(part, dict) and ("any" in part or "all" in part) else text
            for text, part in zip(inner, parts, strict=True)]  # fmt: skip
    return (" and " if key == "all" else "; or ").join(deep)


def _sentence(text: str) -> str:
    return phrases.sentence(text) if text else ""


# --- entries -----------------------------------------------------------------------------------------


def _cause(rules: RuleBase, cause: Cause) -> Entry:
    text = cause.text
    ups = [sign for sign in cause.signs if raises(rules, sign)]
    downs = [sign for sign in cause.signs if sign not in ups]
    sections = [
        Section("Can it run?", (Line(f"{phrases.RUN[cause.run]} {text['run_because']}"),)),
        Section("How often it starts by itself", (Line(_sentence(words(text["common"]))),)),
        Section("Speaks for it", tuple(_sign(rules, sign) for sign in ups)),
        Section("Speaks against it", tuple(_sign(rules, sign) for sign in downs)),
        Section(
            "Likelier or less likely with", tuple(_favour(rules, row) for row in text.get("favoured_by", []))
        ),
        Section("Leads to", tuple(_lead(rules, row) for row in text.get("leads_to", []))),
        Section(
            "Looks alike",
            tuple(
                Line(f"{_sentence(rules.causes[row['cause']].plain)} {row['tell_apart']}")
                for row in text.get("look_alikes", [])
            ),
        ),
        Section("Proven by", (Line(_sentence(rules.observables[text["prove_by"]].name)),)),
        Section("What proves nothing", _lines(text.get("proves_not", []))),
        Section("Until then", _actions(rules, [text["hold"]] if "hold" in text else [])),
        Section("What to do, in this order", _actions(rules, cause.do), numbered=True),
        Section("Never", _lines(text.get("never", []))),
        Section("Look again", _lines([text["recheck"]])),
        Section("Stop fixing and change it when", _lines([text["dump_when"]] if "dump_when" in text else [])),
        Section("What prevents it", _lines(text.get("prevent", []))),
    ]
    lead = f"{_sentence(cause.plain)} {text['means']}"
    return _entry("cause", cause.id, text["title"], lead, sections, text["sources"])


def _caution(rules: RuleBase, name: str) -> Entry:
    item = rules.cautions[name]
    closes = ", ".join(words(recipe) for recipe in item.get("closes", []))
    sections = [
        Section("Do now", _lines(item.get("do_now", [])), numbered=True),
        Section("Told when", _lines([_sentence(condition_words(rules, item["when"]))])),
        Section("Refused", _lines([_sentence(item["refuses"])] if "refuses" in item else [])),
        Section("Recipes not worked out meanwhile", _lines([_sentence(closes)] if closes else [])),
        Section("Lifted by", _lines([_sentence(item["lifted_by"])] if "lifted_by" in item else [])),
        Section("Goes to", _lines([_sentence(item["hands_to"])] if "hands_to" in item else [])),
    ]
    title = f"{_LEVELS[item['level']]}: {words(name)}"
    return _entry("caution", name, title, item["text"], sections, item["sources"])


def _action(rules: RuleBase, name: str) -> Entry:
    item = rules.actions[name]
    when = [condition_words(rules, item["when"])] if "when" in item else []
    forbidden = []
    if "forbidden_when" in item:
        forbidden.append(_sentence(condition_words(rules, item["forbidden_when"])))
        forbidden += [item["forbidden_because"]] if "forbidden_because" in item else []
    causes = [_sentence(cause.plain) for cause in rules.causes.values() if name in cause.do]
    how = tuple(Line(step["text"], tuple(step["sources"])) for step in item.get("how", []))
    sections = [
        Section("Who", (Line(_WHO[item["who"]] + "."),)),
        Section("How", how, numbered=True),
        Section("Finds out", _lines(_sentence(rules.observables[m].name) for m in item.get("measures", []))),
        Section("Called for, whatever the cause, when", _lines(_sentence(text) for text in when)),
        Section("Not when", _lines(forbidden)),
        Section("Belongs to", _lines(causes)),
    ]
    return _entry("action", name, _sentence(words(name)).rstrip("."), item["text"], sections, item["sources"])


def _observable(rules: RuleBase, name: str) -> Entry:
    item, data = rules.observables[name], rules.data["observables"][name]
    answers = [f"{answer['means']}" for answer in item.answers.values()]
    limits = []
    if item.limits and item.unit:
        limits = [f"Plausible from {item.limits[0]:g} to {item.limits[1]:g} {item.unit}."]
    effort = f"About {item.effort:g} min" + (f", then {item.wait_h:g} h of waiting." if item.wait_h else ".")
    told_by = [
        _sentence(cause.plain)
        for cause in rules.causes.values()
        if any(sign.node.partition(":")[0] == name for sign in cause.signs)
    ]
    bands = [
        line for band in rules.bands if name in (band["of"], band["fills"]) for line in _band(rules, band)
    ]
    sections = [
        Section("How to look", _lines(item.look), numbered=True),
        Section("Answers", _lines(_sentence(text) for text in answers)),
        Section("Range", _lines(limits)),
        Section("Limits", tuple(bands)),
        Section("Effort", _lines([effort] if item.question else [])),
        Section("What a wrong answer costs", _lines([item.costly] if item.costly else [])),
        Section("Says something about", _lines(told_by)),
    ]
    title = _sentence(item.name).rstrip(".")
    return _entry("observable", name, title, item.question or "", sections, data.get("sources", []))


def _band(rules: RuleBase, band: dict[str, Any]) -> Iterable[Line]:
    fills, of = rules.observables[band["fills"]], rules.observables[band["of"]]
    for scale in band["scales"]:
        refs = tuple(scale.get("sources", band["sources"]))
        yield Line(f"{_sentence(scale['name'])} {scale.get('note', '')}".strip(), refs)
        for step in scale["steps"]:
            end = next((f"{word} {_limit(step[key], of.unit)}" for key, word in
                        (("below", "below"), ("up_to", "up to")) if key in step), "above that")  # fmt: skip
            because = f" {_sentence(step['because'])}" if step.get("because") else ""
            text = f"{_UNDER}{fills.answers[step['answer']]['means']}: {end}.{because}"
            yield Line(text, tuple(step.get("sources", ())))
    if "by_sheet" in band:
        yield Line("A data sheet that the shop has entered goes before all of these.")
    if "published" in band:
        yield Line("Publications do not agree:")
    for row in band.get("published", []):
        where = condition_words(rules, row["when"]).removeprefix("rules of: ") if "when" in row else ""
        yield Line(f"{_UNDER}{published_line(_sentence(row['says']), _sentence(where).rstrip('.'))}",
                   tuple(row["sources"]))  # fmt: skip


def _limit(limit: float | str, unit: str | None) -> str:
    return words(limit) if isinstance(limit, str) else show(limit, unit or "1")


def _sign(rules: RuleBase, sign: Sign) -> Line:
    item = rules.observables.get(sign.node)
    if item is not None and item.kind == "one_of":
        told = [
            f"{item.answers[a]['means'] if a in item.answers else 'any'} ({words(w)})"
            for a, w in sign.words.items()
        ]
        what = f"{item.name}: {', '.join(told)}"
    else:
        what = f"{leaf_words(rules, sign.node)} ({words(sign.words['yes'])})"
    return Line(f"{_sentence(what)} {sign.because}", sign.sources)


def _favour(rules: RuleBase, row: dict[str, Any]) -> Line:
    word, factor = words(row["how_much"]), rules.words["how_much"][row["how_much"]]
    often = f"{word} as likely" if factor > 1 or word == "half" else f"a {word} as likely"
    what = f"{condition_words(rules, row['fact'])} ({often.replace('fold as', ' times as')})"
    return Line(f"{_sentence(what)} {row.get('because', '')}".strip(), tuple(row["sources"]))


def _lead(rules: RuleBase, row: dict[str, Any]) -> Line:
    where = f"; {condition_words(rules, row['when'])}" if "when" in row else ""
    what = f"{rules.causes[row['cause']].plain} ({words(row['how_often'])}{where})"
    return Line(f"{_sentence(what)} {row.get('because', '')}".strip(), tuple(row["sources"]))


def _actions(rules: RuleBase, names: Iterable[str]) -> tuple[Line, ...]:
    items = [rules.actions[name] for name in names]
    return tuple(Line(f"{_WHO[i['who']]}: {i['text']}", tuple(i["sources"])) for i in items)


def _lines(texts: Iterable[str]) -> tuple[Line, ...]:
    return tuple(Line(text) for text in texts)


def _entry(kind: str, key: str, title: str, lead: str, sections: list[Section], refs: Iterable[str]) -> Entry:
    return Entry(kind, key, title, lead, tuple(s for s in sections if s.lines), tuple(refs))
