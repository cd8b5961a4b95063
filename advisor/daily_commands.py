"""Daily work: ``pails``, ``handover``, ``idle``, ``restart``, ``spill``, ``waste``."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.readings import Record


_EXAMPLES = {
    "pails": "sumpside pails mill 1 2 --approved SUP     two more pails are in",
    "handover": "sumpside handover                          what the last shift left open\n"
    '  sumpside handover --give --note "pump noisy"    for the next one',
    "idle": "sumpside idle all --days 14                what to do before a holiday",
    "restart": "sumpside restart mill 1                    what to do before it runs again",
    "spill": "sumpside spill mill 1 --what coolant --where aisle --to-drain no --litres 20L\n"
    "  sumpside spill mill 1 --correct r12 --cleaned-by AB",
    "waste": 'sumpside waste mill 1 --litres 200L --code "12 01 09*" --container IBC-4\n'
    "  sumpside waste mill 1 --correct r13 --document D-77     the paper came later",
}


def _parser(commands: Any, name: str, text: str, sump: str | None = "*") -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(
        name,
        help=text,
        epilog=f"examples:\n  {_EXAMPLES[name]}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    if sump:
        parser.add_argument("sump", nargs=sump, metavar="WORD", help="the sump")
    parser.add_argument("--who", default="operator", help="your sign or role")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.set_defaults(part=name)
    return parser


def correctable(parser: argparse.ArgumentParser) -> argparse.ArgumentParser:
    """The options by which a record is corrected; the first one stays in the book."""
    parser.add_argument("--correct", metavar="N", help="corrects record N of the audit; give what changes")
    parser.add_argument("--reason", help="with --correct: why")
    return parser


def add_pails_parser(commands: Any) -> argparse.ArgumentParser:
    """``pails SUMP [N]``."""
    parser = _parser(commands, "pails", "pails of the open recipe that went in", "+")
    parser.add_argument("--approved", metavar="SIGN", help="who approved it")
    return parser


def add_handover_parser(commands: Any) -> argparse.ArgumentParser:
    """``handover [--give]``."""
    parser = _parser(commands, "handover", "what the last shift left open", None)
    parser.add_argument("--give", action="store_true", help="write down what is open now, for the next shift")
    parser.add_argument("--note", help="with --give: a note; kept outside the hash, so it can be erased")
    return parser


def add_idle_parser(commands: Any) -> argparse.ArgumentParser:
    """``idle SUMP|all --days N``."""
    parser = _parser(commands, "idle", "a sump (or all) will stand still: what to do before", "+")
    parser.add_argument("--days", type=float, required=True, help="for how many days")
    return parser


def add_restart_parser(commands: Any) -> argparse.ArgumentParser:
    """``restart SUMP|all``."""
    return _parser(commands, "restart", "a sump (or all) runs again: what to do before", "+")


def add_spill_parser(commands: Any) -> argparse.ArgumentParser:
    """``spill SUMP --what … --where … --to-drain yes|no``."""
    parser = _parser(commands, "spill", "a spill, on record", "+")
    parser.add_argument("--what", help="coolant, concentrate, oil …")
    parser.add_argument("--where", help="where it went")
    answers = ("yes", "no", "unknown")
    parser.add_argument("--to-drain", choices=answers, help="did any reach a drain")
    parser.add_argument("--litres", metavar="VOLUME", help='how much, such as "20 L"')
    parser.add_argument("--told", help="sign or office that was told")
    parser.add_argument("--cleaned-by", help="who cleaned it up")
    return correctable(parser)


def add_waste_parser(commands: Any) -> argparse.ArgumentParser:
    """``waste SUMP --litres …``."""
    parser = _parser(commands, "waste", "waste taken out of a sump, on record", "+")
    parser.add_argument("--litres", metavar="VOLUME", help='how much, such as "200 L"')
    for name, text in (("code", "waste code"), ("container", "container it is in"),
                       ("document", "document number"), ("carrier", "who took it away")):  # fmt: skip
        parser.add_argument(f"--{name}", help=text)
    return correctable(parser)


def run(args: argparse.Namespace) -> int:
    """Do what was asked and write it down."""
    from advisor.logbook.desk import open_desk

    desk = open_desk(args.demo)
    with desk.store:
        work = {"pails": _pails, "handover": _handover, "idle": _idle, "restart": _restart, "spill": _spill,
                "waste": _waste}  # fmt: skip
        work[args.part](desk, args)
    return 0


def _keep(desk: Desk, rows: Sequence[Record], args: argparse.Namespace, words: str | None = None) -> int:
    return desk.book.enter((), rows, time=desk.time, who=args.who, how=args.part, words=words).id


def keep_record(
    desk: Desk, kind: str, sump: str, data: dict[str, Any], args: argparse.Namespace, time: str | None = None
) -> Record:
    """Write one record, or the correction of one; as it stands in the book now.

    Args:
        time: when it happened; now when left out.

    Raises:
        BadInput: a key missing, or no such record to correct.
    """
    from advisor.logbook.records import corrected, record, record_number

    if args.correct:
        old = desk.book.record(record_number(args.correct))
        row = corrected(old, kind, sump, data, args.reason)
    else:
        given = {key: value for key, value in data.items() if value is not None}
        row = record(kind, sump, time or desk.time, given)
    entry = _keep(desk, [row], args)
    if args.correct:
        print(f"r{row.corrects} is corrected; the first entry stays in the book.")
    return next(r for r in reversed(desk.book.records(kind, sump)) if r.entry == entry)


def _sumps(desk: Desk, words: Sequence[str]) -> list[str]:
    return list(desk.shop.sumps) if list(words) == ["all"] else [desk.sump_only(words)]


def litres_of(desk: Desk, text: str | None) -> float | None:
    """A volume as typed, in litres. Raises BadQuantity."""
    from advisor.quantities import parse

    return None if text is None else parse(text, "L", gallon=desk.gallon).value


def _pails(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.shift import made_by, pour

    sump, rest = desk.sump_of(args.sump)
    if len(rest) > 1 or (rest and not rest[0].isdigit()):
        raise BadInput(f"{' '.join(rest)!r} is no number of pails", right='Write "sumpside pails mill 1 2".')
    rows, case = pour(desk, sump, int(rest[0]) if rest else 1, args.approved)
    _keep(desk, rows, args)
    done = case.pails_in + len(rows)
    tail = " Circulate, wait, and read it." if done == case.pails else ""
    strength = made_by(desk, case, done)
    makes = f" That makes about {strength}." if strength else ""
    print(f"{desk.name(sump)}: {done} of {case.pails} pails in.{makes}{tail}")


def _handover(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.reading_lines import printable
    from advisor.logbook.shift import hand_over, last_handover

    if not args.give:
        print("\n".join(printable(line) for line in last_handover(desk)))
        return
    told, row = hand_over(desk)
    _keep(desk, [row], args, args.note)
    print("Handed over:" if told else "Handed over: nothing is open.")
    for line in told:
        print(f"  {printable(line)}")


def _steps(desk: Desk, title: str, steps: Sequence[dict[str, Any]]) -> None:
    from advisor.logbook.morning import wrapped

    print(title)
    for step in steps:
        print("\n".join(wrapped(f"- {step['text']} [{desk.rules.cite(step['sources'])}]")))


def _idle(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.standstill import before, stopped

    if not 0.0 < args.days <= 3650:
        right = "Give how many days it will stand, above 0."
        raise BadInput(f"{args.days:g} days is not possible", right=right)
    sumps = _sumps(desk, args.sump)
    _keep(desk, [stopped(desk, sump, args.days)[1] for sump in sumps], args)
    names = ", ".join(desk.name(sump) for sump in sumps)
    stands = "stands" if len(sumps) == 1 else "stand"
    _steps(desk, f"Before {names} {stands} still for {args.days:g} days:", before(args.days))
    print('On record. No check is due there until "sumpside restart".')


def _restart(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.standstill import after, restarted

    sumps = _sumps(desk, args.sump)
    found = {sump: restarted(desk, sump) for sump in sumps}
    _keep(desk, [row for _, _, row in found.values()], args)
    longest = max(days for days, _, _ in found.values())
    names = ", ".join(desk.name(sump) for sump in sumps)
    stood = f"stood {longest:.1f} days" if longest else "no shutdown is on record; as after a weekend"
    runs = "runs" if len(sumps) == 1 else "run"
    _steps(desk, f"Before {names} {runs} again ({stood}):", after(max(longest, 1.0) if longest else 2.0))
    print("On record. Checks are due again from today.")


def _spill(desk: Desk, args: argparse.Namespace) -> None:
    sump = desk.sump_only(args.sump)
    data = {"what": args.what, "where": args.where, "to_drain": args.to_drain, "told": args.told,
            "cleaned_by": args.cleaned_by, "litres": litres_of(desk, args.litres)}  # fmt: skip
    print("Keep people off the wet floor, stop it at its source, and keep it out of every drain.")
    if args.to_drain in ("yes", "unknown"):
        print("It may have reached a drain: call your environment or water officer NOW, before all else.")
    row = keep_record(desk, "spill", sump, data, args)
    print(f'On record as r{row.id}. What was soaked up is waste: "sumpside waste".')


def _waste(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.showing import volume

    sump = desk.sump_only(args.sump)
    held = {key: getattr(args, key) for key in ("code", "container", "document", "carrier")}
    row = keep_record(desk, "waste", sump, {"litres": litres_of(desk, args.litres), **held}, args)
    missing = [key for key in held if not row.data.get(key)]
    print(f"{volume(row.data['litres'], desk.system)} out of {desk.name(sump)} on record as r{row.id}.")
    if missing:
        print(f"Not given, and asked for by most auditors: {', '.join(missing)}.")
        print(f'Later: "sumpside waste {desk.name(sump)} --correct r{row.id} --{missing[0]} …".')
