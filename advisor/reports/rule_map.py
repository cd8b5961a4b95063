"""The map of one cause or one question, out of the rules alone: what leads where, and what it separates."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from advisor.dialogue import phrases
from advisor.dialogue.blocks import Block
from advisor.errors import UnknownId
from advisor.inference.evidence import NOTHING_WRONG, node_bases, sign_index
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import RuleBase
from advisor.reports.handbook_entry import Marks, condition_words, words
from advisor.reports.path import cause_words

#: An answer that is this much likelier, or less likely, speaks for or against a cause.
SPEAKS = 1.5
#: Causes that one answer sets apart by at least this factor are told apart by it.
APART = 3.0
#: Causes told for each answer in the terminal, and pairs told apart.
_MOST, _PAIRS = 6, 10


@dataclass(frozen=True, slots=True)
class Link:
    """One line of a map.

    Attributes:
        key: the cause it goes to or comes from, "" where there is none.
        name: what stands there in words.
        how: how often or how much, in words.
        because, refs: why, and by which publications.
        weight: how much likelier (above 1) or less likely (below 1) it makes its end; 1 where it is
            not a matter of weight.
    """

    key: str
    name: str
    how: str = ""
    because: str = ""
    refs: tuple[str, ...] = ()
    weight: float = 1.0


@dataclass(frozen=True, slots=True)
class Group:
    """Links of one kind; ``side`` says where they stand: before, after, or under what is mapped."""

    title: str
    side: str
    links: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class RuleMap:
    """A cause or a question with everything the rules tie to it."""

    kind: str
    id: str
    title: str
    lead: str
    groups: tuple[Group, ...]


def rule_map(rules: RuleBase, name: str) -> RuleMap:
    """The map of a cause, observable or finding, by id or by its name in words.

    Raises:
        UnknownId: nothing is called so; with the nearest that exists.
    """
    key = _called(rules, name)
    return _cause(rules, key) if key in rules.causes else _question(rules, key)


def _called(rules: RuleBase, name: str) -> str:
    wanted = " ".join(name.lower().replace("_", " ").split())
    given = wanted.replace(" ", "_")
    if given in rules.causes or given in rules.observables or given in rules.findings:
        return given
    there: dict[str, str] = {}
    for key, finding in rules.findings.items():
        there |= {key.replace("_", " "): key, str(finding["title"]).lower(): key}
    for key, item in rules.observables.items():
        there |= {item.name.lower(): key, key.replace("_", " "): key}
    for key, cause in rules.causes.items():
        there |= {cause.plain.lower(): key, str(cause.text["title"]).lower(): key, key.replace("_", " "): key}
    if wanted in there:
        return there[wanted]
    near = nearest(wanted, there)
    right = f'did you mean "{there[near]}"?' if near else 'list the causes with "sumpside rules list"'
    raise UnknownId(f'no cause and no question is called "{name}"', value=name, right=right)


# --- a cause ------------------------------------------------------------------------------------------


def _cause(rules: RuleBase, key: str) -> RuleMap:
    cause = rules.causes[key]
    settings = [
        Link("", condition_words(rules, f.fact), likelier(f.factor), f.because, f.sources, f.factor)
        for f in cause.favours
    ]
    before = [
        Link(other.id, cause_words(rules, other.id), *_lead(row))
        for other in rules.causes.values()
        for row in other.text.get("leads_to", [])
        if row["cause"] == key
    ]
    after = [
        Link(row["cause"], cause_words(rules, row["cause"]), *_lead(row))
        for row in cause.text.get("leads_to", [])
    ]
    alike = [
        Link(row["cause"], cause_words(rules, row["cause"]), "", row["tell_apart"])
        for row in cause.text.get("look_alikes", [])
    ]
    signs = sorted(_signs(rules, key), key=lambda link: -link.weight)
    title = str(cause.text["title"])
    groups = (
        Group("What makes it likelier", "before", tuple(f for f in settings if f.weight > 1)),
        Group("What makes it less likely", "before", tuple(f for f in settings if f.weight <= 1)),
        Group("What leads to it", "before", tuple(before)),
        Group("What it leads to", "after", tuple(after)),
        Group("Signs that speak for it", "under", tuple(s for s in signs if s.weight > 1)),
        Group("Signs that speak against it", "under", tuple(s for s in reversed(signs) if s.weight <= 1)),
        Group("Looks alike, and how to tell it apart", "under", tuple(alike)),
        Group("Proven by", "under", (Link("", rules.observables[cause.text["prove_by"]].name),)),
    )
    return RuleMap("cause", key, title, str(cause.text["means"]), tuple(g for g in groups if g.links))


def _lead(row: dict[str, str]) -> tuple[str, str, tuple[str, ...]]:
    return words(row["how_often"]), row.get("because", ""), tuple(row["sources"])


def _signs(rules: RuleBase, key: str) -> Iterable[Link]:
    """Every answer that a sign of the cause makes likelier or less likely, with how far."""
    for sign in rules.causes[key].signs:
        bases = node_bases(rules, sign.node)
        for answer, chance in sign.chances.items():
            if answer in bases:
                name, how = _answer(rules, sign.node, answer), words(sign.words.get(answer, ""))
                yield Link("", name, how, sign.because, sign.sources, chance / bases[answer])


def _answer(rules: RuleBase, node: str, answer: str) -> str:
    """An answer of a node in words."""
    key, _, value = (part.strip() for part in node.partition(":"))
    if key in rules.findings:
        return str(rules.findings[key]["title"])
    item = rules.observables[key]
    named = value or (answer if answer in item.answers else "")
    if named:
        return f"{item.name}: {item.answers[named]['means']}"
    return f"any {item.name}" if answer == "yes" else f"{item.name}: none of these"


# --- a question ---------------------------------------------------------------------------------------


def _question(rules: RuleBase, key: str) -> RuleMap:
    item = rules.observables.get(key)
    title = item.name if item else str(rules.findings[key]["title"])
    if item:
        lead = item.question or ""
    else:
        lead = f"A combination: {condition_words(rules, rules.findings[key]['when'])}."
    groups = [Group(name, "after", tuple(links)) for name, links in _answers(rules, key) if links]
    fills = [rules.observables[of].name for of in (rules.filled_by.get(key, []) if item else [])]
    tells = [band["fills"] for band in rules.bands if band["of"] == key]
    groups += [
        Group(f"As a number it tells: {rules.observables[f].name}", "after", tuple(_flat(rules, f)))
        for f in tells
    ]
    groups.append(Group("Told by", "before", tuple(Link("", name) for name in fills)))
    counted = dict.fromkeys(link for one in (key, *tells) for link in _counts_in(rules, one))
    groups.append(Group("Settings and combinations it counts in", "before", tuple(counted)))
    groups.append(Group("Look-alikes it tells apart", "under", tuple(_pairs(rules, key, tells))))
    return RuleMap("question", key, title, lead, tuple(g for g in groups if g.links))


def _answers(rules: RuleBase, key: str) -> Iterable[tuple[str, list[Link]]]:
    """Each answer with the causes it speaks for and against, the strongest first."""
    for node, answer in _nodes(rules, key):
        base = node_bases(rules, node).get(answer)
        shown = sign_index(rules).shown.get(node, {})
        links = []
        for cause, chances in shown.items():
            weight = chances.get(answer, base or 0.0) / base if base else 1.0
            if weight >= SPEAKS or weight <= 1 / SPEAKS:
                sign = next((s for s in rules.causes[cause].signs if s.node == node), None)
                how = likelier(weight)
                because, refs = (sign.because, sign.sources) if sign else ("", ())
                links.append(Link(cause, cause_words(rules, cause), how, because, refs, weight))
        yield _answer(rules, node, answer), sorted(links, key=lambda one: (-one.weight, one.key))


def _nodes(rules: RuleBase, key: str) -> Iterable[tuple[str, str]]:
    """The nodes and answers of a question: one node with several answers, or one a value."""
    item = rules.observables.get(key)
    if item is None:
        yield key, "yes"
    elif item.kind == "one_of":
        yield from ((key, answer) for answer in item.answers)
    elif item.kind == "any_of":
        yield key, "yes"
        yield from ((f"{key}: {answer}", "yes") for answer in item.answers)


def _flat(rules: RuleBase, key: str) -> Iterable[Link]:
    """A band's answers with what they speak for, told at the number that fills it."""
    for name, links in _answers(rules, key):
        for link in links:
            if link.weight >= SPEAKS:
                told = f"{name.partition(': ')[2]}: {link.name}"
                yield Link(link.key, told, link.how, link.because, link.refs, link.weight)


def _counts_in(rules: RuleBase, key: str) -> Iterable[Link]:
    """Findings that combine it, cautions it calls, and causes whose odds it moves as a setting."""
    for name, finding in rules.findings.items():
        if name != key and _names(finding["when"], key):
            yield Link("", str(finding["title"]), "combination")
    for name, caution in rules.cautions.items():
        if _names(caution["when"], key):
            yield Link("", f"caution, {caution['level']}: {words(name)}", "safety")
    for cause in rules.causes.values():
        for favour in cause.favours:
            if _names(favour.fact, key):
                how = likelier(favour.factor)
                told = f"{cause_words(rules, cause.id)}, with {condition_words(rules, favour.fact)}"
                yield Link(cause.id, told, how, favour.because, favour.sources, favour.factor)


def _names(condition: object, key: str) -> bool:
    """Whether a condition as written names this observable or finding."""
    if isinstance(condition, str):
        return condition.partition(":")[0].strip() == key
    if isinstance(condition, dict):
        return condition.get("quantity") == key or any(_names(part, key) for part in condition.values())
    return isinstance(condition, list) and any(_names(part, key) for part in condition)


def _pairs(rules: RuleBase, key: str, tells: list[str]) -> Iterable[Link]:
    """Look-alikes whose chances of one answer differ by `APART` or more, the furthest apart first."""
    found: dict[frozenset[str], tuple[float, Link]] = {}
    for node, answer in [pair for one in (key, *tells) for pair in _nodes(rules, one)]:
        base = node_bases(rules, node).get(answer, 0.0)
        shown = sign_index(rules).shown.get(node, {})
        for cause in rules.causes.values():
            for row in cause.text.get("look_alikes", []):
                other = row["cause"]
                if NOTHING_WRONG in (cause.id, other) or (cause.id not in shown and other not in shown):
                    continue
                one, two = (shown.get(c, {}).get(answer, base) for c in (cause.id, other))
                ratio = max(one, two) / max(1e-9, min(one, two))
                pair = frozenset((cause.id, other))
                if ratio >= APART and ratio > found.get(pair, (0.0,))[0]:
                    first, second = (cause.id, other) if one > two else (other, cause.id)
                    names = f"{cause_words(rules, first)}, rather than {cause_words(rules, second)}"
                    how = f"{_answer(rules, node, answer)}, {likelier(ratio)}"
                    found[pair] = ratio, Link(first, names, how, row["tell_apart"], (), ratio)
    for _, link in sorted(found.values(), key=lambda item: (-item[0], item[1].name)):
        yield link


# --- in the terminal ----------------------------------------------------------------------------------


def map_blocks(rules: RuleBase, made: RuleMap) -> list[Block]:
    """The map for the terminal: groups in order, sources as numbers."""
    marks = Marks(rules)
    blocks = [Block("head", made.title, f"MAP OF THE {made.kind.upper()}"), Block("text", made.lead)]
    order = {"before": 0, "after": 1, "under": 2}
    if made.kind == "question":
        order = {"after": 0, "under": 1, "before": 2}
    for group in sorted(made.groups, key=lambda g: order[g.side]):
        blocks.append(Block("head", "", group.title.upper()))
        most = _PAIRS if group.side == "under" else _MOST if made.kind == "question" else len(group.links)
        most = len(group.links) if made.kind == "cause" else most
        for link in group.links[:most]:
            sign = {"before": "<-", "after": "->"}.get(group.side, "-")
            blocks.append(Block("item", link_words(link, marks), sign))
        if len(group.links) > most:
            blocks.append(Block("item", f"and {len(group.links) - most} more; the page holds them all", " "))
    if marks.listed():
        blocks.append(Block("head", "", "SOURCES"))
        blocks += [Block("item", text, mark) for mark, text in marks.listed()]
    return blocks


def likelier(weight: float) -> str:
    """A factor in words: ``8 times likelier``, ``3 times less likely``."""
    times = max(weight, 1 / max(weight, 1e-6))
    way = "likelier" if weight > 1 else "less likely"
    return f"{times:.0f} times {way}" if times >= 1.95 else f"{times:.1f} times {way}"


def link_words(link: Link, marks: Marks) -> str:
    """A link in one line: what, how much, why, and by which source."""
    told = link.name + (f" ({link.how})" if link.how else "")
    because = f" {link.because}" if link.because else ""
    refs = ", ".join(text for text, _ in marks.of(link.refs))
    return phrases.sentence(told) + because + (f" [{refs}]" if refs else "")


def map_json(made: RuleMap) -> dict[str, object]:
    """The map for other programs."""
    return {
        "kind": made.kind,
        "id": made.id,
        "title": made.title,
        "groups": [
            {
                "title": group.title,
                "side": group.side,
                "links": [
                    {"cause": k.key or None, "text": k.name, "how": k.how, "because": k.because,
                     "sources": list(k.refs), "weight": round(k.weight, 3)}
                    for k in group.links
                ],
            }
            for group in made.groups
        ],
    }  # fmt: skip
