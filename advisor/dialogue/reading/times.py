"""Words for before, now, wanted and at first fill: which number each belongs to, and what it inherits."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from advisor.dialogue.reading.lexicon import Lexicon, Match
from advisor.dialogue.reading.measured import FAR, Reading, distance_between, fits, is_time, with_unit
from advisor.dialogue.reading.tokens import Token

FRAME_REACH = 5.0

FRAMES = ("target", "before", "was", "now", "first_fill", "down_to", "down", "left")

STYLE = 1.5

#: Last words of time marks that always stand before their number ("up from 3").
_LEADING = frozenset(
    {
        "month",
        "months",
        "week",
        "weeks",
        "day",
        "days",
        "from",
        "be",
        "read",
        "run",
        "sit",
        "to",
        "von",
        "originally",
        "previously",
        "only",
        "earlier",
    }
)

#: Words behind a date that carry it on to the next number ("30 mg/l, last week only 10").
_INTRODUCING = frozenset({"only", "nur", "was", "war", "it", "noch", "bei"})

#: Words that say that a number is as wanted, before the word for what is wanted.
_LIKENESS = frozenset({"as", "like", "where", "wie", "so"})

#: Verbs of bringing a strength to where it should be.
_MOVING = frozenset(
    {"down", "up", "bring", "get", "thin", "water", "dose", "raise", "lower", "drop", "push", "back",
     "bringen", "verduennen", "hoch", "runter", "anheben"}
)  # fmt: skip

#: Verbs that speak of now.
_PRESENT = frozenset({"reads", "is", "shows", "says", "sits", "zeigt", "ist"})

#: Times that cannot both hold of one number.
_OPPOSITE = {"before": frozenset({"now"}), "now": frozenset({"before", "was"}), "was": frozenset({"now"})}


def undated(marks: Sequence[Match]) -> list[Match]:
    """The marks without the "monday" of "last monday": the wider word of time says when."""
    times = [m for m in marks if m.target.name in ("before", "now", "before_series", "first_fill")]
    inner = [m for m in times if any({*m.places} < {*o.places} for o in times)]
    # "8 % on Monday and 10 now": with a word for now in the line, the day is one of before.
    days = [m for m in times if m.target.name == "now" and len(m.places) == 1]
    dated = [m for m in days if any({*m.places} == {*o.places} and o is not m for o in times)]
    if any(m.target.name == "now" and m not in dated for m in times):
        inner += dated
    return [m for m in marks if m not in inner]


def _is_purpose(mark: Match, tokens: Sequence[Token]) -> bool:
    """ "To get the pH down from 9.8": the figure it has now, to be changed."""
    if mark.target.name != "before" or tokens[mark.last].norm not in ("from", "von"):
        return False
    words = [t.norm for t in tokens[max(0, mark.first - 5) : mark.first + 1]]
    verbs = {"get", "bring", "drop", "lower", "raise", "take", "pull", "push", "lift", "knock"}
    asking = {"to", "i", "we", "you", "should", "can"}
    return any(a in asking and b in verbs for a, b in itertools.pairwise(words))


def give_frames(tokens: Sequence[Token], readings: Sequence[Reading], marks: Sequence[Match]) -> None:
    """Gives each frame word to the measure nearest to it.

    Where the first word of time follows a number ("6 % yesterday 9 % today"), so do the others.
    """
    times = [m.first for m in marks if m.target.name in ("before", "now")]
    numbers = [r.measure.first for r in readings if not is_time(r.measure)]
    behind_style = bool(times and numbers) and min(numbers) < min(times)
    pairs: list[tuple[float, int, int]] = []
    framing = [
        m
        for m in marks
        if m.target.name in FRAMES
        and not (_is_proposal(m, marks, tokens) or _is_span(m, tokens) or _is_purpose(m, tokens))
    ]
    aimed = {p for r in readings if "target" in r.frames for p in r.places}
    found = [a for a, b in itertools.pairwise(readings) if "target" in b.frames]
    for at, mark in enumerate(framing):
        if aimed.issuperset(mark.places):
            continue
        for r, reading in enumerate(readings):
            if reading.places and min(reading.places) < mark.first < max(reading.places):
                continue
            if mark.target.name == "target" and any(reading is a for a in found):
                continue
            far = _frame_distance(tokens, mark, reading, readings, behind_style)
            if far < FRAME_REACH:
                pairs.append((far, at, r))
    given: set[int] = set()
    for _, at, r in sorted(pairs):
        mark, name = framing[at], framing[at].target.name
        if at in given or readings[r].frames & _OPPOSITE.get(name, frozenset()):
            continue
        given.add(at)
        readings[r].frames.add("down_to" if name == "left" else name)
        readings[r].places.update(mark.places)
    for reading in readings:
        if reading.measure.change:
            reading.frames.add(reading.measure.change)
        elif aimed_at(tokens, reading, marks):
            reading.frames.add("target")


def _is_proposal(mark: Match, marks: Sequence[Match], tokens: Sequence[Token]) -> bool:
    """The "soll" of "soll ich" wants nothing of a number; that of "the boss wants 5" does."""
    if mark.last + 1 < len(tokens) and tokens[mark.last + 1].kind == "number":
        return False
    return mark.target.name == "target" and any(
        m.target.name == "proposal" and {*mark.places} < {*m.places} for m in marks
    )


def aimed_at(tokens: Sequence[Token], reading: Reading, marks: Sequence[Match]) -> bool:
    """ "Could we water it down to 5 %", "want to bring it up to 8": where a plan is to end."""
    first = reading.measure.first
    if reading.base not in ("", "concentration", "reading") or first < 2 or is_time(reading.measure):
        return False
    if tokens[first - 1].norm not in ("to", "auf"):
        return False
    words = {t.norm for t in tokens[max(0, first - 6) : reading.measure.last + 3]}
    plans = [m for m in marks if m.target.name == "proposal" and m.first < first]
    return bool(words & _MOVING) and any(not any(t.hard for t in tokens[m.last : first]) for m in plans)


def _is_span(mark: Match, tokens: Sequence[Token]) -> bool:
    """ "Since yesterday" lasts until now, so it dates no number to before."""
    before = tokens[mark.first - 1].norm if mark.first else ""
    return mark.target.name == "before" and before in ("since", "seit")


def _frame_distance(
    tokens: Sequence[Token], mark: Match, reading: Reading, readings: Sequence[Reading], behind_style: bool
) -> float:
    """How far a frame word stands from a measure; FAR when it cannot mean it."""
    name = mark.target.name
    if name != "now" and is_time(reading.measure):
        return FAR
    far = distance_between(tokens, mark, reading.measure, readings)
    behind = mark.first > reading.measure.last
    ahead = tokens[mark.first - 1].norm if mark.first else ""
    earlier = {t.norm for t in tokens[max(0, mark.first - 2) : mark.first]}
    if behind and "which" in {t.norm for t in tokens[max(0, mark.first - 3) : mark.first]}:
        earlier = earlier | {"so"}  # "8.8 which is our normal"
    if name == "target" and (ahead in ("on", "as", "auf") or (behind and earlier & _LIKENESS)):
        return FAR  # "strength 8 on target", "pH 9.1 as it should be" are what was found
    if name == "target" and behind and tokens[mark.last].norm == "book" and "in" in earlier:
        return FAR  # "wrote 5.0 in the book" is what was found
    if name == "target" and any(t.text == "?" for t in tokens[mark.last : reading.measure.first]):
        return FAR
    following = tokens[mark.last + 1].norm if mark.last + 1 < len(tokens) else ""
    dated = name in ("before", "now")
    if dated and name == "before" and following in _INTRODUCING:
        far += 2 * STYLE if behind else 0.0
    elif dated and behind != behind_style and tokens[mark.last].norm not in _LEADING:
        far += STYLE
    if name == "before" and not behind and tokens[mark.last].norm in ("ago", "back"):
        words = {t.norm for t in tokens[mark.last + 1 : reading.measure.first]}
        if words & _PRESENT:
            return FAR  # "new fill 2 weeks ago reads 9"
        opens = mark.first == 0 or tokens[mark.first - 1].kind == "mark"
        if not opens and any(t.text == "," for t in tokens[mark.last : reading.measure.first]):
            return FAR  # "filled 2 days ago, 7 %": a time ago dates its own clause only
    if name == "left" and not behind:
        return FAR
    if name in ("was", "down_to", "target") and behind:
        far += 1.0 if name == "target" else FAR
    return far


def inherit(tokens: Sequence[Token], readings: Sequence[Reading], lexicon: Lexicon) -> None:
    """A number without a cue takes the subject of its neighbour when a word compares the two."""
    for order, parted in ((range(len(readings)), 1), (range(len(readings) - 1, -1, -1), 0)):
        previous: Reading | None = None
        for r in order:
            reading = readings[r]
            if reading.base:
                previous = reading
            elif (
                previous is not None
                and not reading.measure.share
                and (reading.frames or previous.frames & {"before", "was"})
            ):
                units = {reading.measure.unit, previous.measure.unit}
                same = len(units) == 1 or "" in units
                comparable = (
                    bool(reading.frames & {"before", "was", "now", "target", "first_fill"})
                    or reading.measure.change
                )
                if "target" in reading.frames and previous.base not in ("concentration", "reading"):
                    continue
                if (
                    same
                    and comparable
                    and not _counted_base(previous.base, lexicon)
                    and _near(tokens, reading, previous, parted)
                ):
                    measure = with_unit(reading.measure, previous.measure)
                    if fits(measure, previous.base, lexicon):
                        reading.base, reading.measure = previous.base, measure


def join_pairs(readings: Sequence[Reading]) -> None:
    """Both ends of "from 5 to 30 ppm" are the quantity of the end that stands nearer its cue."""
    for one, two in itertools.pairwise(readings):
        if (one.measure.change, two.measure.change) != ("before", "now"):
            continue
        near, far = sorted((one, two), key=lambda r: r.distance)
        if near.base and near.base != far.base:
            # "Went from 7 to 3 %, the titration agrees": the method, yet the strength is what moved.
            near.base = "concentration" if near.base == "titration" else near.base
            far.base, far.distance = near.base, near.distance
            far.places = set()


def name_pair(readings: Sequence[Reading]) -> None:
    """ "Was 7 a month back, 5 now" with no subject at all is a strength, unless both could be a pH."""
    bare = [r for r in readings if not r.base and r.measure.bare and not r.measure.share and r.frames]
    if any(r.base and r.base not in ("fluid_age", "idle_time", "since_addition") for r in readings):
        return
    before = [r for r in bare if r.frames & {"before", "was"}]
    now = [r for r in bare if r not in before]
    if len(before) != 1 or len(now) != 1:
        return
    values = [before[0].measure.number, now[0].measure.number]
    if all(0.5 <= v <= 25 for v in values) and not all(7.0 <= v <= 10.5 for v in values):
        before[0].base = now[0].base = "concentration"


def _counted_base(base: str, lexicon: Lexicon) -> bool:
    return base in lexicon.settings.get("counts", ())


def _near(tokens: Sequence[Token], one: Reading, other: Reading, parted: int) -> bool:
    """True where at most `parted` ends of sentences stand between; nothing is told by a later sentence."""
    first, last = sorted((one.measure.first, other.measure.first))
    return sum(t.hard for t in tokens[first:last]) <= parted
