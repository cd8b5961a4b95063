"""Daily work: ``pails``, ``handover``, ``idle``, ``restart``, ``spill``, ``waste``, ``stock``."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput, UnknownId

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.readings import Record


def _parser(commands: Any, name: str, text: str, sump: str | None = "*") -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(name, help=text)
    if sump:
        parser.add_argument("sump", nargs=sump, metavar="WORD", help="the sump")
    parser.add_argument("--who", default="operator", help="your sign or role")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    parser.set_defaults(part=name)
    return parser


def add_pails_parser(commands: Any) -> argparse.ArgumentParser:
    """``pails SUMP [N]``."""
    return _parser(commands, "pails", "pails of the open recipe that went in", "+")


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
    parser.add_argument("--what", required=True, help="coolant, concentrate, oil …")
    parser.add_argument("--where", required=True, help="where it went")
    answers = ("yes", "no", "unknown")
    parser.add_argument("--to-drain", required=True, choices=answers, help="did any reach a drain")
    parser.add_argument("--litres", metavar="VOLUME", help='how much, such as "20 L"')
    parser.add_argument("--told", help="sign or office that was told")
    return parser


def add_waste_parser(commands: Any) -> argparse.ArgumentParser:
    """``waste SUMP --litres …``."""
    parser = _parser(commands, "waste", "waste taken out of a sump, on record", "+")
    parser.add_argument("--litres", metavar="VOLUME", required=True, help='how much, such as "200 L"')
    for name, text in (("code", "waste code"), ("container", "container it is in"),
                       ("document", "document number"), ("carrier", "who took it away")):  # fmt: skip
        parser.add_argument(f"--{name}", help=text)
    return parser


def add_stock_parser(commands: Any) -> argparse.ArgumentParser:
    """``stock [--delivery VOLUME --product ID]``."""
    parser = _parser(commands, "stock", "concentrate: what is left, what each sump used by month", None)
    parser.add_argument("--delivery", metavar="VOLUME", help='a delivery, such as "200 L"')
    parser.add_argument("--product", help="its product")
    parser.add_argument("--lot", help="its lot")
    return parser


def run(args: argparse.Namespace) -> int:
    """Do what was asked and write it down."""
    from advisor.logbook.desk import open_desk

    desk = open_desk(args.demo)
    with desk.store:
        work = {"pails": _pails, "handover": _handover, "idle": _idle, "restart": _restart, "spill": _spill,
                "waste": _waste, "stock": _stock}  # fmt: skip
        work[args.part](desk, args)
    return 0


def _keep(desk: Desk, rows: Sequence[Record], args: argparse.Namespace, words: str | None = None) -> None:
    desk.book.enter((), rows, time=desk.time, who=args.who, how=args.part, words=words)


def _one_sump(desk: Desk, words: Sequence[str]) -> str:
    sump, rest = desk.sump_of(words)
    if rest:
        raise BadInput(f"{' '.join(rest)!r} does not belong to the sump's name", right="Name one sump.")
    return sump


def _sumps(desk: Desk, words: Sequence[str]) -> list[str]:
    return list(desk.shop.sumps) if list(words) == ["all"] else [_one_sump(desk, words)]


def _litres(desk: Desk, text: str | None) -> float | None:
    from advisor.quantities import parse

    return None if text is None else parse(text, "L", gallon=desk.gallon).value


def _pails(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.shift import pour

    sump, rest = desk.sump_of(args.sump)
    if len(rest) > 1 or (rest and not rest[0].isdigit()):
        raise BadInput(f"{' '.join(rest)!r} is no number of pails", right='Write "sumpside pails mill 1 2".')
    rows, case = pour(desk, sump, int(rest[0]) if rest else 1)
    _keep(desk, rows, args)
    done = case.pails_in + len(rows)
    tail = " Circulate, wait, and read it." if done == case.pails else ""
    print(f"{desk.name(sump)}: {done} of {case.pails} pails in.{tail}")


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
    from advisor.logbook.records import record

    sump = _one_sump(desk, args.sump)
    data = {"what": args.what, "where": args.where, "to_drain": args.to_drain, "told": args.told,
            "litres": _litres(desk, args.litres)}  # fmt: skip
    print("Keep people off the wet floor, stop it at its source, and keep it out of every drain.")
    if args.to_drain != "no":
        print("It may have reached a drain: call your environment or water officer NOW, before all else.")
    _keep(desk, [record("spill", sump, desk.time, data)], args)
    print("On record. What was soaked up is waste: \"sumpside waste\".")


def _waste(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook.records import record
    from advisor.showing import volume

    sump = _one_sump(desk, args.sump)
    litres = _litres(desk, args.litres) or 0.0
    held = {key: getattr(args, key) for key in ("code", "container", "document", "carrier")}
    _keep(desk, [record("waste", sump, desk.time, {"litres": litres, **held})], args)
    missing = [key for key, value in held.items() if not value]
    print(f"{volume(litres, desk.system)} out of {desk.name(sump)} on record.")
    if missing:
        print(f"Not given, and asked for by most auditors: {', '.join(missing)}.")


def _stock(desk: Desk, args: argparse.Namespace) -> None:
    from advisor.logbook import stock
    from advisor.logbook.reading_lines import printable
    from advisor.logbook.records import record
    from advisor.showing import volume

    if args.delivery:
        if args.product not in desk.shop.products:
            there = ", ".join(desk.shop.products) or "no products yet"
            raise UnknownId(f"there is no product {args.product!r}", right=f"The shop has: {there}.")
        data = {"litres": _litres(desk, args.delivery), "product": args.product, "lot": args.lot}
        _keep(desk, [record("delivery", "", desk.time, data)], args)
        print(f"{volume(data['litres'] or 0.0, desk.system)} of {args.product} on record.")
        return
    for product, litres in stock.left(desk).items():
        name = desk.shop.products.get(product, {}).get("name", product)
        print(printable(f"{name}: {volume(litres, desk.system)} left, by what is on record"))
    rows = stock.use(desk)
    if not rows:
        print("Nothing that was put in is on record yet.")
        return
    print(f"{'month':<9}{'sump':<24}{'concentrate':>14}{'water':>14}{'not said':>14}")
    for row in rows:
        parts = [volume(litres, desk.system) for litres in (row.concentrate, row.water, row.unknown)]
        print(printable(f"{row.month:<9}{desk.name(row.sump)[:23]:<24}" + "".join(f"{p:>14}" for p in parts)))
