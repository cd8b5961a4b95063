"""A whole rule base in a dozen small files, sound in every check, for tests that break one thing in it."""

from __future__ import annotations

from pathlib import Path

FILES = {
    "words.yaml": """\
how_often: {often: 0.55, sometimes: 0.3, never: 0.003}
common: {common: 0.06, rare: 0.006}
how_much: {twice: 2}
base: {seldom: 0.025, exceptional: 0.01}
sources: [practice]
""",
    "sources.yaml": """\
sources:
  lid-book: {body: A committee, title: Oil lids, year: 2001, standing: read}
  jar-note: {body: A college, title: Jars, section: p. 4, standing: from_memory}
""",
    "vocabulary/seen.yaml": """\
observables:
  - id: surface
    kind: any_of
    name: surface
    role: sign
    question: What floats on it?
    look:
      - Look with the pump off.
    costly: What floats spoils every reading.
    sources: [practice]
    answers:
      oil_lid: {means: an oil lid, base: seldom}
      mats: {means: slimy mats, base: exceptional}
  - id: look
    kind: one_of
    name: look of the fluid
    role: sign
    question: How does it look?
    look:
      - Against the light, in a clear jar.
    costly: A parted fluid cannot be corrected.
    sources: [practice]
    answers:
      even: {means: even}
      parted: {means: in layers, base: seldom}
  - id: metal
    kind: any_of
    name: metal
    role: context
    question: Which metal is cut?
    look:
      - Read the job sheet.
    costly: The limits hang on the metal.
    sources: [practice]
    answers:
      steel: {means: steel}
  - id: acidity
    kind: quantity
    name: acidity
    role: reading
    unit: "pH"
    limits: [0, 14]
    question: What is the pH?
    look:
      - A fresh strip in a fresh sample.
    costly: One wrong pH costs a charge.
    sources: [practice]
  - id: acidity_band
    kind: one_of
    name: acidity
    role: sign
    answers:
      low: {means: too low, base: seldom}
      ok: {means: in range}
""",
    "bands/acidity.yaml": """\
bands:
  - fills: acidity_band
    of: acidity
    uncertainty: 0.1
    scales:
      - name: general
        steps:
          - {answer: low, below: 8.5}
          - {answer: ok}
    sources: [jar-note]
windows:
  - {name: general, low: 0.05, high: 0.1, sources: [practice]}
""",
    "findings/both.yaml": """\
findings:
  - id: lid_on_sour_fluid
    title: an oil lid on sour fluid
    when: {all: ["surface: oil_lid", "acidity_band: low"]}
    base: exceptional
    sources: [lid-book]
""",
    "causes/oil_lid.yaml": """\
id: oil_lid
version: 1
title: Oil lid
plain: oil lies on it
means: Oil floats on the fluid and shuts out the air.
common: common
run: limits
run_because: "Skim it, then run."
favoured_by:
  - {fact: "metal: steel", how_much: twice, sources: [practice]}
leads_to:
  - {cause: souring, how_often: sometimes, sources: [lid-book]}
signs:
  - finding: "surface: oil_lid"
    how_often: often
    because: It floats.
    sources: [lid-book]
look_alikes:
  - {cause: souring, tell_apart: A sour sump smells.}
prove_by: surface
proves_not:
  - A clean look from far away.
hold: skim
do: [skim]
never:
  - Do not stir it in.
recheck: Tomorrow.
dump_when: Never for this; it comes off.
prevent:
  - Mend the leak.
sources: [lid-book]
""",
    "causes/oil_lid.cases.yaml": """\
cases:
  - name: a lid is seen
    facts: {surface: oil_lid}
    lead: oil_lid
  - name: pH exactly at its limit
    facts: {acidity: 8.5}
    silent: [oil_lid]
  - name: something is in layers
    facts: {look: parted}
    asks: [surface]
""",
    "causes/souring.yaml": """\
id: souring
version: 1
title: Souring
plain: it has gone sour
means: The fluid has lost its alkalinity.
common: rare
run_because: It still runs.
signs:
  - {observable: acidity_band, answers: {low: often}, because: Acid is made., sources: [jar-note]}
  - {observable: look, answers: {parted: often}, because: Acid parts it., sources: [practice]}
  - {finding: "surface: mats", how_often: often, because: Slime grows., sources: [practice]}
  - {finding: lid_on_sour_fluid, how_often: sometimes, because: Both come together., sources: [practice]}
look_alikes:
  - {cause: oil_lid, tell_apart: A lid alone does not smell.}
prove_by: acidity
proves_not:
  - A clean look from far away.
hold: measure
do: [measure]
never:
  - Do not add vinegar.
recheck: In a week.
dump_when: It is in layers.
prevent:
  - Keep it aired.
sources: [jar-note]
""",
    "causes/souring.cases.yaml": """\
cases:
  - name: sour and in layers
    facts: {acidity: 7.5, look: parted}
    lead: souring
  - name: pH exactly at its limit
    facts: {acidity: 8.5}
    silent: [souring]
  - name: layers, nothing measured
    facts: {look: parted}
    asks: [acidity]
""",
    "cautions/slimy_floor.yaml": """\
id: slimy_floor
version: 1
level: warn
when: {any: ["surface: mats", {quantity: acidity, below: 6}]}
text: Slime makes the floor slippery.
covers: []
sources: [practice]
""",
    "cautions/slimy_floor.cases.yaml": """\
cases:
  - name: mats
    facts: {surface: mats}
    shows: [slimy_floor]
  - name: a lid only
    facts: {surface: oil_lid}
    hides: [slimy_floor]
""",
    "actions/skim.yaml": """\
id: skim
version: 1
text: Skim the oil with the pump off.
who: operator
sources: [lid-book]
""",
    "actions/measure.yaml": """\
id: measure
version: 1
text: Measure the pH in a fresh sample.
who: operator
measures: [acidity]
sources: [practice]
""",
}


def write(
    folder: Path, file: str = "", old: str = "", new: str = "", *, more: dict[str, str] | None = None
) -> Path:
    """The base under `folder`, with `old` replaced by `new` in one file and `more` files beside it."""
    for name, text in {**FILES, **(more or {})}.items():
        if name == file:
            assert text.count(old) == 1, f"{old!r} is in {name} {text.count(old)} times"
            text = text.replace(old, new)
        target = folder / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8")
    return folder


def line_of(folder: Path, file: str, text: str) -> int:
    """Number of the first line of a file that holds `text`."""
    lines = (folder / file).read_text(encoding="utf-8").splitlines()
    return next(i for i, line in enumerate(lines, 1) if text in line)
