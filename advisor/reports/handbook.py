"""Entries of the rule base as pages a coolant person reads, with their sources."""

from __future__ import annotations

from advisor.dialogue import phrases
from advisor.dialogue.screens import Block
from advisor.errors import UnknownId
from advisor.knowledge.loader import nearest
from advisor.knowledge.rulebase import Cause, RuleBase, Sign


def list_blocks(rules: RuleBase) -> list[Block]:
    """Every cause in one line."""
    return [Block("item", c.plain, key) for key, c in sorted(rules.causes.items())]


def show_blocks(rules: RuleBase, name: str | None) -> list[Block]:
    """One cause, caution or action.

    Raises:
        UnknownId: nothing is called so; with the nearest that exists.
    """
    if name in rules.causes:
        return cause_blocks(rules, rules.causes[name])
    if name in rules.cautions:
        item = rules.cautions[name]
        steps = [Block("item", step, f"{i}") for i, step in enumerate(item.get("do_now", []), 1)]
        return [Block("head", item["text"], item["level"].upper()), *steps, _source(rules, item["sources"])]
    if name in rules.actions:
        item = rules.actions[name]
        return [
            Block("head", item["text"], phrases.WHO[item["who"]].upper()),
            _source(rules, item["sources"]),
        ]
    near = nearest(name or "", [*rules.causes, *rules.cautions, *rules.actions])
    right = f'did you mean "{near}"?' if near else 'list the causes with "sumpside rules list"'
    raise UnknownId(f'nothing is called "{name or ""}"', value=name, right=right)


def cause_blocks(rules: RuleBase, cause: Cause) -> list[Block]:
    """A cause, whole."""
    text = cause.text
    blocks = [
        Block("head", phrases.sentence(cause.plain), text["title"].upper()),
        Block("text", text["means"]),
        Block("item", f"by itself: {text['common'].replace('_', ' ')}", "common"),
        Block("item", text["run_because"], f"may it run: {cause.run}"),
    ]
    ups = [s for s in cause.signs if _raises(rules, s)]
    blocks += _signs(rules, "SPEAKS FOR IT", ups)
    blocks += _signs(rules, "SPEAKS AGAINST IT", [s for s in cause.signs if s not in ups])
    for title, key in (("LIKELIER WITH", "favoured_by"), ("LEADS TO", "leads_to")):
        if text.get(key):
            blocks.append(Block("head", "", title))
        for row in text.get(key, []):
            what = rules.causes[row["cause"]].plain if "cause" in row else _condition(row["fact"])
            word = row.get("how_often") or row.get("how_much")
            blocks.append(
                Block("item", f"{what}: {str(word).replace('_', ' ')}. {row.get('because', '')}", "-")
            )
    for title, lines in (
        (
            "LOOKS ALIKE",
            [f"{rules.causes[r['cause']].plain}: {r['tell_apart']}" for r in text.get("look_alikes", [])],
        ),
        ("PROVEN BY", [rules.observables[text["prove_by"]].name, *text.get("proves_not", [])]),
        (
            "WHAT TO DO",
            [f"{phrases.WHO[rules.actions[a]['who']]}: {rules.actions[a]['text']}" for a in cause.do],
        ),
        ("NEVER", text.get("never", [])),
        ("LOOK AGAIN", [text["recheck"]]),
        ("STOP FIXING", [text["dump_when"]] if text.get("dump_when") else []),
        ("PREVENT", text.get("prevent", [])),
    ):
        if lines:
            blocks.append(Block("head", "", title))
            blocks += [Block("item", line, "-") for line in lines]
    return [*blocks, _source(rules, text["sources"])]


def _raises(rules: RuleBase, sign: Sign) -> bool:
    item = rules.observables.get(sign.node)
    bases = item.bases if item is not None and item.kind == "one_of" else {"yes": rules.base(sign.node)}
    return any(chance > bases.get(answer, 0.5) for answer, chance in sign.chances.items())


def _signs(rules: RuleBase, title: str, signs: list[Sign]) -> list[Block]:
    if not signs:
        return []
    blocks = [Block("head", "", title)]
    for sign in signs:
        words = ", ".join(
            (f"{a.replace('_', ' ')} " if a != "yes" else "") + w.replace("_", " ")
            for a, w in sign.words.items()
        )
        blocks.append(
            Block(
                "item",
                f"{sign.node.replace('_', ' ')}: {words}. {sign.because} [{rules.cite(sign.sources)}]",
                "-",
            )
        )
    return blocks


def _condition(when: object) -> str:
    if isinstance(when, dict):
        if "quantity" in when:
            ends = ", ".join(f"{k} {v:g}" for k, v in when.items() if k != "quantity")
            return f"{str(when['quantity']).replace('_', ' ')} {ends}"
        key = next(iter(when))
        if key == "not":
            return f"not {_condition(when[key])}"
        return f" {'and' if key == 'all' else 'or'} ".join(_condition(part) for part in when[key])
    return str(when).replace("_", " ")


def _source(rules: RuleBase, refs: list[str]) -> Block:
    return Block("item", rules.cite(refs), "sources")
