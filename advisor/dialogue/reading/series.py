"""One quantity at several times: "pH 9.2 new, 8.6 last month, 8.3 now, should be 9".

Each number stands in a stretch of its own, parted by commas or an "and", and the words of that stretch say
when it was read or whether it is wanted. Where two stretches say so, no word reaches into another one.
"""

from __future__ import annotations

from collections.abc import Sequence

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import Reading, fits, fitting_units, is_time, with_unit
from advisor.dialogue.reading.times import aimed_at
from advisor.dialogue.reading.tokens import Token

_PARTING = frozenset({"and", "und", "then", "dann", "but", "aber", "sondern", "while", "ist"})
_NOW = frozenset({"now", "today", "currently", "jetzt", "heute", "aktuell"})
_SIGNS = frozenset({",", ";", "(", "–", "—", "-", ">"})
_THAT = frozenset({"that", "thats", "das", "those"})
_NAMED = {"before": "before", "before_series": "before", "was": "was", "now": "now", "target": "target",
          "first_fill": "first_fill", "first_series": "first_fill", "used_to_be": "before"}  # fmt: skip
_IS = frozenset(
    {
        "is",
        "ist",
        "its",
        "are",
        "reads",
        "read",
        "says",
        "at",
        "bei",
        "sind",
        "aber",
        "but",
        "only",
        "gemessen",
    }
)
#: Quantities of which several times are told.
SERIAL = frozenset(
    {"concentration", "reading", "ph", "refractometer_reading", "conductivity", "nitrite", "sump_hardness",
     "chloride", "titration", "alkalinity"}
)  # fmt: skip


def frame_series(
    tokens: Sequence[Token], readings: Sequence[Reading], marks: Sequence[Match], lexicon: Lexicon
) -> set[int]:
    """Dates the numbers of each series in the line; returns the places whose words have been used so."""
    settled: set[int] = set()
    for series in _series(tokens, readings, lexicon):
        spans = [_stretch(tokens, series, at) for at in range(len(series))]
        frames = [_frames_in(marks, tokens, span) for span in spans]
        for at, reading in enumerate(series):
            if aimed_at(tokens, reading, marks):
                frames[at].add("target")
        for at, moved in _redated(tokens, marks, series):
            frames[at] = moved
        dated = [f for f in frames if f - {"was"}]
        earlier = any(f & {"before", "first_fill"} for f in frames)
        earlier = earlier or ("was" in frames[0] and "now" in frames[-1])
        if _base(series) and "now" in frames[-1] and not any(frames[:-1]):
            frames = [{"before"}] * (len(series) - 1) + [frames[-1]]
            earlier = True
        wanted = any("target" in f for f in frames) and any(
            not f and _IS & {t.norm for t in tokens[a : b + 1]}
            for f, (a, b) in zip(frames, spans, strict=True)
        )
        if len(dated) < 2 and not earlier and not wanted:
            continue
        _settle(series, frames, lexicon)
        for first, last in spans:
            settled.update(range(first, last + 1))
        for reading, (first, last) in zip(series, spans, strict=True):
            inside = [m for m in marks if m.target.name in _NAMED and first <= m.first <= last]
            reading.places.update(*(m.places for m in inside))
    return settled


def _series(tokens: Sequence[Token], readings: Sequence[Reading], lexicon: Lexicon) -> list[list[Reading]]:
    """Runs of numbers of one sentence that can be one quantity, each in its own stretch."""
    runs: list[list[Reading]] = []
    for reading in readings:
        measure = reading.measure
        if is_time(measure) or measure.ratio is not None or measure.share or measure.change:
            continue
        run = runs[-1] if runs else []
        if run and _goes_on(tokens, run, reading, lexicon):
            run.append(reading)
        else:
            runs.append([reading])
    return [r for r in runs if len(r) > 1 and (_base(r) or _strengths(r))]


def _base(run: Sequence[Reading]) -> str:
    return next((r.base for r in run if r.base and r.base != "reading"), "") or run[0].base


def _strengths(run: Sequence[Reading]) -> bool:
    return any("fraction" in fitting_units(r.measure) for r in run)


def _goes_on(tokens: Sequence[Token], run: Sequence[Reading], reading: Reading, lexicon: Lexicon) -> bool:
    last, base = run[-1], _base(run)
    between = tokens[last.measure.last + 1 : reading.measure.first]
    start, end = last.measure.last + 1, reading.measure.first
    if any(t.hard for t in between) or not any(_parting(tokens, p, start) for p in range(start, end)):
        return False
    if base and base not in SERIAL:
        return False
    if reading.base not in ("", "reading", base) and not (base == "reading" and reading.base in SERIAL):
        return False
    unit = next((r.measure.unit for r in run if r.measure.unit), "")
    if unit and reading.measure.unit and fitting_units(reading.measure) != fitting_units(run[0].measure):
        return unit == reading.measure.unit
    return not base or fits(with_unit(reading.measure, run[0].measure), base, lexicon)


def _stretch(tokens: Sequence[Token], series: Sequence[Reading], at: int) -> tuple[int, int]:
    """First and last place of the words that stand with a number of a series."""
    measure = series[at].measure
    first = _edge(tokens, series[at - 1].measure.last + 1, measure.first, True) if at else measure.first
    if not at:
        while first > 0 and not (tokens[first - 1].hard or tokens[first - 1].text in (",", ";", "(", ")")):
            first -= 1
    last = measure.last
    if at + 1 < len(series):
        last = _edge(tokens, measure.last + 1, series[at + 1].measure.first, False) - 1
    else:
        while last + 1 < len(tokens) and not (
            tokens[last + 1].hard or tokens[last + 1].text in (",", ";", ")")
        ):
            last += 1
    return first, last


def _edge(tokens: Sequence[Token], first: int, end: int, behind: bool) -> int:
    """The parting sign between two numbers: the last one in front of the second, else the first one."""
    signs = [p for p in range(first, end) if _parting(tokens, p, first)]
    return (signs[-1] if behind else signs[0]) if signs else end


def _parting(tokens: Sequence[Token], place: int, first: int) -> bool:
    """A comma, an "and", or the "now" of "8 last week now 11"; `first` follows the earlier number."""
    token = tokens[place]
    return token.text in _SIGNS or token.norm in _PARTING or (token.norm in _NOW and place > first)


def _frames_in(marks: Sequence[Match], tokens: Sequence[Token], span: tuple[int, int]) -> set[str]:
    found = [m for m in marks if m.target.name in _NAMED and span[0] <= m.first <= m.last <= span[1]]
    wanted = {p for m in found if m.target.name == "target" for p in m.places}
    found = [m for m in found if m.target.name != "used_to_be" or wanted.isdisjoint(m.places)]
    # The "its" of "its 6 last month" dates nothing once another word does.
    weak = [m for m in found if m.target.name == "now" and tokens[m.first].norm in ("its", "only", "nur")]
    names = {_NAMED[m.target.name] for m in found if m not in weak} or {_NAMED[m.target.name] for m in weak}
    since = any(m.target.name == "before" and tokens[m.first - 1].norm in ("since", "seit") for m in found)
    return names - {"before"} if since else names


def _redated(
    tokens: Sequence[Token], marks: Sequence[Match], series: Sequence[Reading]
) -> list[tuple[int, set[str]]]:
    """ "4.5, no wait thats last weeks, its 5.4 now": the number dated by what is said of it behind it."""
    made = []
    for at in range(len(series) - 1):
        first, end = series[at].measure.last + 1, series[at + 1].measure.first
        inside = [m for m in marks if first <= m.first < end and m.target.name in ("before", "before_series")]
        for mark in inside:
            start = mark.first
            while start > first and tokens[start - 1].text not in (",", ";"):
                start -= 1
            if {t.norm for t in tokens[start : mark.first]} & _THAT:
                made.append((at, {"before"}))
                series[at].places.update(range(start, mark.last + 1))
    return made


def _settle(series: Sequence[Reading], frames: Sequence[set[str]], lexicon: Lexicon) -> None:
    """Gives each number its time and its quantity; of several before, the one next to now is kept."""
    base = _base(series) or "concentration"
    base = "concentration" if base == "reading" and _strengths(series) else base
    owner = next((r for r in series if r.base == base), series[0])
    told = [set(f) for f in frames]
    for at, (reading, names) in enumerate(zip(series, told, strict=True)):
        if not names and any(f & {"before", "was", "first_fill"} for f in told[:at] + told[at + 1 :]):
            names.add("now")
        measure = with_unit(reading.measure, owner.measure)
        if reading.base in ("", "reading") and fits(measure, base, lexicon):
            reading.base, reading.measure = base, measure
            reading.distance = min(reading.distance, owner.distance)
        if "target" in names and reading.base == "titration":
            reading.base = "concentration"
        if "first_fill" in names and base != "ph":
            names.discard("first_fill")
            names.add("before")
        if "now" in names:
            names -= {"before", "was", "first_fill"}
        if names & {"before", "first_fill"}:
            names.discard("was")
        reading.frames |= names
    now = next(
        (i for i, f in enumerate(told) if not f & {"before", "was", "first_fill", "target"}), len(series)
    )
    earlier = [i for i, f in enumerate(told) if f & {"before", "was"} and "first_fill" not in f]
    kept = min(earlier, key=lambda i: abs(i - now), default=-1)
    for i in earlier:
        if i != kept:
            series[i].base = "ignored"


def sole_quantity(readings: Sequence[Reading], cues: Sequence[Match], lexicon: Lexicon) -> None:
    """ "Dropped from 9.1 to 8.5, the ph that is": the one quantity a line names is that of its numbers."""
    names = {c.target.name for c in cues if not c.target.general}
    serial = names & (SERIAL - {"reading"})
    told = [r for r in readings if not is_time(r.measure)]
    if len(serial) != 1 or any(r.base for r in told) or any(r.measure.ratio or r.measure.share for r in told):
        return
    name = serial.pop()
    moved = len(told) == 2 and all(r.measure.change or r.frames for r in told)
    limits = {"ph": (4.0, 12.0), "concentration": (0.5, 25.0), "refractometer_reading": (0.5, 25.0)}
    low, high = limits.get(name, (0.0, 1e9))
    if (len(told) == 1 or moved) and all(low <= r.measure.number <= high for r in told):
        for reading in told:
            if fits(reading.measure, name, lexicon):
                reading.base = name


def name_series(
    tokens: Sequence[Token],
    readings: Sequence[Reading],
    cues: Sequence[Match],
    marks: Sequence[Match],
    lexicon: Lexicon,
) -> None:
    """ "Filled at 9.4, we are on 8.6 today, ph": dated numbers take the one quantity named."""
    names = {c.target.name for c in cues if not c.target.general} & (SERIAL - {"reading"})
    told = [r for r in readings if not is_time(r.measure)]
    if names != {"ph"} or len(told) < 2 or any(r.base or r.measure.unit or r.measure.share for r in told):
        return
    dated = any(m.target.name in ("before", "now", "first_fill", "was") for m in marks)
    if dated and all(6.0 <= r.measure.number <= 11.0 for r in told):
        for reading in told:
            reading.base, reading.distance = "ph", 1.0
