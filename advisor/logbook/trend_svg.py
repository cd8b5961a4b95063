"""Series as one SVG picture, written by hand: no library, every text escaped."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from advisor.logbook.moments import days_between, moment
from advisor.logbook.reading_lines import printable
from advisor.logbook.series import LETTERS, Series
from advisor.showing import local_time, show

if TYPE_CHECKING:
    from advisor.logbook.desk import Desk

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 800, 260, 70, 20, 40, 70
#: Labels nearer than this stand on each other.
CLOSE = 13
_STYLE = (
    "text{font:12px sans-serif;fill:#222}.t{font-size:14px}.axis{stroke:#888}.lim{stroke:#b00;"
    "stroke-dasharray:6 4}.line{fill:none;stroke:#456;stroke-width:1}.ok{fill:#246}.out{fill:#b00}"
    ".ev{stroke:#999;stroke-dasharray:2 3}"
)


def picture(desk: Desk, all_series: Sequence[Series]) -> str:
    """The picture: one panel for each series, limits dashed, readings outside them as squares."""
    panels = [_panel(desk, seen, n * HEIGHT) for n, seen in enumerate(all_series)]
    height = HEIGHT * len(panels)
    name = _safe(all_series[0].name) if all_series else ""
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" '
        f'viewBox="0 0 {WIDTH} {height}" role="img" aria-label="Readings of {name}">'
    )
    return "\n".join([head, f"<style>{_STYLE}</style>", *panels, "</svg>", ""])


class _Scale:
    """Where times and values of one panel lie in the picture."""

    def __init__(self, desk: Desk, seen: Series, top: int) -> None:
        self.low, self.high = seen.span
        self.begin, self.end = seen.readings[0].time, max(desk.time, seen.readings[-1].time)
        self.length = days_between(self.begin, self.end) or 1.0
        self.top, self.floor, self.right = top + TOP, top + HEIGHT - BOTTOM, WIDTH - RIGHT

    def x(self, time: str) -> float:
        """Place of a time, from the left."""
        share = min(1.0, max(0.0, days_between(self.begin, time) / self.length))
        return LEFT + share * (self.right - LEFT)

    def y(self, value: float) -> float:
        """Place of a value, from the top."""
        return self.top + (self.high - value) / (self.high - self.low) * (self.floor - self.top)


def _panel(desk: Desk, seen: Series, top: int) -> str:
    at = _Scale(desk, seen, top)
    dates = [f"{moment(t).astimezone(desk.now.tzinfo):%Y-%m-%d}" for t in (at.begin, at.end)]
    made = [
        f'<text class="t" x="{LEFT}" y="{top + 22}">{_safe(f"{seen.name}: {seen.title}")}</text>',
        f'<line class="axis" x1="{LEFT}" y1="{at.top}" x2="{LEFT}" y2="{at.floor}"/>',
        f'<line class="axis" x1="{LEFT}" y1="{at.floor}" x2="{at.right}" y2="{at.floor}"/>',
        *_ends(seen, at),
        f'<text x="{LEFT}" y="{at.floor + 50}">{_safe(legend(seen))}</text>',
        f'<text x="{LEFT}" y="{at.floor + 32}">{dates[0]}</text>',
        _label(at.right, at.floor + 32, dates[1]),
    ]
    for limit in (seen.limit.low, seen.limit.high):
        if limit is not None:
            y = f"{at.y(limit):.1f}"
            made.append(f'<line class="lim" x1="{LEFT}" y1="{y}" x2="{at.right}" y2="{y}"/>')
            made.append(_label(LEFT - 6, at.y(limit) + 4, _text(limit, seen.unit)))
    return "\n".join([*made, *_events(seen, at), *_points(seen, at)])


def _ends(seen: Series, at: _Scale) -> list[str]:
    """Labels of the axis' ends, where no limit stands close by."""
    limits = [at.y(end) for end in (seen.limit.low, seen.limit.high) if end is not None]
    free = [v for v in (at.low, at.high) if all(abs(at.y(v) - place) > CLOSE for place in limits)]
    return [_label(LEFT - 6, at.y(value) + 4, _text(value, seen.unit)) for value in free]


def legend(seen: Series) -> str:
    """What the marks of a panel stand for."""
    letters = dict.fromkeys(event.letter for event in seen.events)
    limits = seen.limit.low is not None or seen.limit.high is not None
    lines = ["dashed: limit", "square: outside it"] if limits else []
    return ", ".join([*lines, *(f"{letter}: {LETTERS[letter]}" for letter in letters)])


def _events(seen: Series, at: _Scale) -> list[str]:
    made = []
    for event in seen.events:
        x = at.x(event.time)
        made.append(
            f'<g><line class="ev" x1="{x:.1f}" y1="{at.top}" x2="{x:.1f}" y2="{at.floor}"/>'
            f'<text x="{x - 4:.1f}" y="{at.floor + 14}">{event.letter}</text>'
            f"<title>{_safe(f'{local_time(event.time)[:10]} {event.text}')}</title></g>"
        )
    return made


def _points(seen: Series, at: _Scale) -> list[str]:
    points = [(at.x(r.time), at.y(r.result), r.time, r.result) for r in seen.readings if r.result is not None]
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y, _, _ in points)
    made = [f'<polyline class="line" points="{path}"/>']
    for x, y, time, value in points:
        title = f"<title>{_safe(f'{local_time(time)} {_text(value, seen.unit)}')}</title>"
        if seen.limit.breach(value):
            place = f'x="{x - 4:.1f}" y="{y - 4:.1f}"'
            made.append(f'<rect class="out" {place} width="8" height="8">{title}</rect>')
        else:
            made.append(f'<circle class="ok" cx="{x:.1f}" cy="{y:.1f}" r="3">{title}</circle>')
    return made


def _label(x: float, y: float, text: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="end">{_safe(text)}</text>'


def _text(value: float, unit: str) -> str:
    return show(value, unit, digits=1 if unit == "fraction" else None)


def _safe(text: str) -> str:
    """Text that can stand in XML, in an attribute too."""
    return escape(printable(text), {'"': "&quot;", "'": "&apos;"})
