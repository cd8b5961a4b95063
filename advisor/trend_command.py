"""``sumpside trend SUMP``: its figures over time, as a plot in the terminal or a picture in a file."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from advisor.errors import BadInput

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk
    from advisor.logbook.series import Series


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """The ``trend`` command's options."""
    parser: argparse.ArgumentParser = commands.add_parser("trend", help="a sump's figures over time")
    parser.add_argument("sump", nargs="+", help="name of the sump")
    parser.add_argument("--of", metavar="FIGURE", help="one figure only, such as ph or nitrite")
    parser.add_argument("--days", type=float, default=90.0, help="how far back; 90 when left out")
    parser.add_argument("--all", action="store_true", help="everything in the book")
    parser.add_argument("--svg", type=Path, metavar="FILE", help="write a picture (SVG)")
    parser.add_argument("--png", type=Path, metavar="FILE", help="write a picture (PNG, needs matplotlib)")
    parser.add_argument("--demo", action="store_true", help="in the demo shop")
    return parser


def run(args: argparse.Namespace) -> int:
    """Print the plots, or write the picture."""
    from advisor.logbook.case_readings import take_over
    from advisor.logbook.desk import open_desk

    if not 0.0 < args.days < 1e5:
        right = "Give how many days back to look, above 0."
        raise BadInput(f"{args.days:g} days is not possible", right=right)
    desk = open_desk(args.demo)
    with desk.store:
        take_over(desk)
        sump, rest = desk.sump_of(args.sump)
        if rest:
            raise BadInput(f"{' '.join(rest)!r} does not belong to the sump's name", right="Name one sump.")
        found = _series(desk, sump, args)
        if args.svg or args.png:
            _pictures(desk, found, args)
        else:
            _show(desk, sump, found)
    return 0


def _series(desk: Desk, sump: str, args: argparse.Namespace) -> list[Series]:
    from advisor.logbook.series import kinds_read, series

    kinds = kinds_read(desk, sump)
    if args.of:
        wanted = {"strength": "concentration", "reading": "refractometer_reading"}.get(args.of, args.of)
        if wanted not in kinds:
            there = ", ".join(kinds) or "nothing yet"
            raise BadInput(f"{desk.name(sump)} has no readings of {args.of}", right=f"It has: {there}.")
        kinds = [wanted]
    else:
        kinds = kinds[:2] if not (args.svg or args.png) else kinds
    days = None if args.all else args.days
    found = [made for made in (series(desk, sump, kind, days) for kind in kinds) if made]
    if not found:
        right = "Write one down (`sumpside log`), or look further back with --days or --all."
        raise BadInput(f"{desk.name(sump)} has no readings in these days", right=right)
    return found


def _show(desk: Desk, sump: str, found: list[Series]) -> None:
    from advisor.logbook import outlook
    from advisor.logbook.morning import wrapped
    from advisor.logbook.trend_text import plot, sentences

    for seen in found:
        print("\n".join(plot(desk, seen)))
        for sentence in sentences(desk, seen):
            print("\n".join(wrapped(sentence)))
        print()
    ahead = outlook.lines(desk, outlook.outlook(desk, sump))
    if ahead:
        print("LOOKING AHEAD")
        for sentence in ahead:
            print("\n".join(wrapped(sentence)))


def _pictures(desk: Desk, found: list[Series], args: argparse.Namespace) -> None:
    from advisor.logbook.trend_svg import legend, picture

    if args.svg:
        try:
            args.svg.write_text(picture(desk, found), encoding="utf-8")
        except OSError as error:
            what, right = f"{args.svg} cannot be written ({error.strerror})", "Name a file that can be."
            raise BadInput(what, value=str(args.svg), right=right) from error
        print(f"The picture is in {args.svg}.")
    if args.png:
        from advisor.logbook.moments import moment
        from advisor.reports.trend_png import Panel, draw

        scale = {"fraction": 100.0}
        units = {"fraction": " (%)", "pH": ""}
        panels = [
            Panel(
                f"{seen.name}: {seen.title}{units.get(seen.unit, f' ({seen.unit})')}",
                [moment(r.time) for r in seen.readings],
                [(r.result or 0.0) * scale.get(seen.unit, 1.0) for r in seen.readings],
                [
                    None if end is None else end * scale.get(seen.unit, 1.0)
                    for end in (seen.limit.low, seen.limit.high)
                ],
                [(moment(event.time), event.letter) for event in seen.events],
                legend(seen),
            )
            for seen in found
        ]
        draw(panels, args.png)
        print(f"The picture is in {args.png}.")
