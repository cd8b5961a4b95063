"""``sumpside rules``: the rule base shown and checked."""

from __future__ import annotations

import argparse
from typing import Any


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``rules`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("rules", help="show and check the rule base")
    parser.add_argument(
        "what", choices=["check", "show", "list"], help="check the files, show one, list causes"
    )
    parser.add_argument("id", nargs="?", help="with show: a cause, caution or action")
    return parser


def run(args: argparse.Namespace) -> int:
    """Check the files, list the causes, or show one entry with its sources."""
    from advisor.knowledge.loader import compile_rules, rules_folder
    from advisor.knowledge.rulebase import RuleBase, load

    if args.what == "check":
        import json

        rules = RuleBase(json.loads(compile_rules(rules_folder())))
        print(
            f"{len(rules.causes)} causes, {len(rules.cautions)} cautions, {len(rules.actions)} actions, "
            f"{len(rules.sources)} publications: every name and source is known. Rule base {rules.hash}."
        )
        return 0
    rules = load()
    from advisor.reports.handbook import list_blocks, show_blocks
    from advisor.terminal.render import render

    print(render(list_blocks(rules) if args.what == "list" else show_blocks(rules, args.id)))
    return 0
