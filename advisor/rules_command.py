"""``sumpside rules``: the rule base shown, checked, locked and printed."""

from __future__ import annotations

import argparse
import sys
from typing import Any

_WHAT = {
    "check": "check every file, with file, line and advice",
    "show": "show one cause, caution, action or observable",
    "list": "list the causes",
    "map": "what leads to a cause and from it, its signs and look-alikes; or what a question separates",
    "lock": "note the versions of causes, cautions and actions once their changes have been reviewed",
    "handbook": "write the whole base as one page or one PDF",
}


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``rules`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser(
        "rules",
        help="show and check the rule base",
        description="; ".join(f"{name}: {text}" for name, text in _WHAT.items()) + ".",
    )
    parser.add_argument("what", choices=list(_WHAT), help="what to do with the rule base")
    parser.add_argument("id", nargs="?", help="with show and map: what, by its id or name")
    parser.add_argument("--table", action="store_true", help="with check: causes by kind of evidence")
    parser.add_argument("--quick", action="store_true", help="with check: leave out what needs judging cases")
    parser.add_argument("--errors", action="store_true", help="with check: leave out what is only advice")
    parser.add_argument("--anew", action="store_true", help="with lock: forget the versions noted before")
    parser.add_argument(
        "--out",
        metavar="FILE",
        help="with handbook: where to write it: a page (.html) or a PDF (.pdf); with map: a page",
    )
    parser.add_argument("--json", action="store_true", help="with map: answer as JSON")
    return parser


def run(args: argparse.Namespace) -> int:
    """Do it. 0 fine, 1 the check found errors, 2 a file cannot be used at all."""
    if args.what in {"show", "map"} and not (args.id or "").strip():
        _refuse_without_id(args.what)
    if args.what == "check":
        return _check(args)
    if args.what == "lock":
        return _lock(args)
    if args.what == "handbook":
        return _handbook(args)
    if args.what == "map":
        return _map(args)
    from advisor.knowledge.rulebase import load
    from advisor.reports.handbook import list_blocks, show_blocks
    from advisor.terminal.render import render

    rules = load()
    print(render(list_blocks(rules) if args.what == "list" else show_blocks(rules, args.id)))
    return 0


def _refuse_without_id(what: str) -> None:
    from advisor.errors import BadInput

    example = {"show": "sumpside rules show lean_mix", "map": "sumpside rules map tramp_oil"}[what]
    kinds = {"show": "a cause, caution, action or observable", "map": "a cause or a question"}[what]
    right = f'name {kinds}, such as "{example}"; "sumpside rules list" lists the causes'
    raise BadInput(f"{what} what?", right=right)


def _check(args: argparse.Namespace) -> int:
    import json

    from advisor.knowledge.checks import check, in_order
    from advisor.knowledge.loader import compile_rules, rules_folder
    from advisor.knowledge.rule_files import read_all
    from advisor.knowledge.rulebase import RuleBase

    folder = rules_folder()
    files, troubles = read_all(folder)
    if troubles:
        for trouble in troubles:
            print(f"sumpside: {trouble.sentence()}", file=sys.stderr)
        return 2
    rules = RuleBase(json.loads(compile_rules(folder)))
    found = check(files)
    if not args.quick:
        from advisor.reports.rule_proofs import prove

        found = in_order([*found, *prove(rules, files)])
    errors = [one for one in found if one.level == "error"]
    for one in errors if args.errors else found:
        print(("" if one.level == "error" else "(advice) ") + one.line(folder.parent))
    if args.table:
        from advisor.knowledge.coverage import coverage, table_lines

        print("\n".join(table_lines(coverage(rules, files))))
    print(
        f"{len(rules.causes)} causes, {len(rules.cautions)} cautions, {len(rules.actions)} actions, "
        f"{len(rules.sources)} publications: every name and source is known. Rule base {rules.hash}."
    )
    print(f"{len(errors)} errors, {len(found) - len(errors)} pieces of advice.")
    return 1 if errors else 0


def _lock(args: argparse.Namespace) -> int:
    from advisor.knowledge.loader import rules_folder
    from advisor.knowledge.rule_files import read_all
    from advisor.knowledge.version_lock import LOCK, write_lock

    files, troubles = read_all(rules_folder())
    if troubles:
        raise troubles[0]
    count = write_lock(files, anew=args.anew)
    print(f"{count} versions noted in {rules_folder() / LOCK}.")
    return 0


def _map(args: argparse.Namespace) -> int:
    import json

    from advisor.knowledge.rulebase import load
    from advisor.reports.rule_map import map_blocks, map_json, rule_map
    from advisor.terminal.render import render

    rules = load()
    made = rule_map(rules, args.id or "")
    if args.out:
        from advisor.reports.map_page import map_page
        from advisor.reports.page import write

        write(args.out, map_page(rules, made))
    if args.json:
        print(json.dumps(map_json(made), ensure_ascii=False))
    else:
        print(f"Written to {args.out}." if args.out else render(map_blocks(rules, made)))
    return 0


def _handbook(args: argparse.Namespace) -> int:
    from advisor.errors import BadInput
    from advisor.knowledge.rulebase import load

    if not args.out:
        right = 'add "--out handbook.html" or "--out handbook.pdf"'
        raise BadInput("where to write it is missing", place="--out", right=right)
    if args.out.lower().endswith(".pdf"):
        from advisor.reports.handbook_pdf import write_handbook

        write_handbook(args.out, load())
    else:
        from advisor.reports.handbook_page import page
        from advisor.reports.page import write

        write(args.out, page(load()))
    print(f"Written to {args.out}.")
    return 0
